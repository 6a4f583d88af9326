//! How yield follows the rate of what was put on, and which rate pays best.

use serde::{Deserialize, Serialize};

/// Curves of yield on rate, fitted within blocks.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RateResponse {
    /// Unit of the rates as the treatments' names write it; empty when they write none.
    pub rate_unit: String,
    /// The rates tried, rising.
    pub rates: Vec<RateYield>,
    /// Blocks the curves rest on.
    pub blocks: usize,
    /// Strips (all of one treatment in one block added up) the curves rest on.
    pub plots: usize,
    /// Every curve that could be fitted, the one used first.
    pub curves: Vec<RateCurve>,
    /// Why the first curve is used, in words.
    pub why: String,
    /// The first curve's course over the rates tried: rate and kg/ha at the mean of the blocks.
    pub course: Vec<[f64; 2]>,
    /// Price of the crop, per bushel, where given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub price_per_bu: Option<f64>,
    /// Cost of one unit of rate, per acre, where given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cost_per_unit: Option<f64>,
}

/// One rate's yield.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RateYield {
    /// The treatment, as the strips name it.
    pub treatment: String,
    /// Its rate.
    pub rate: f64,
    /// Blocks in which it was harvested.
    pub blocks: usize,
    /// Its yield at the mean of the blocks, kg/ha.
    pub yield_kg_ha: f64,
}

/// One curve.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RateCurve {
    /// `flat`, `linear`, `quadratic` or `quadratic_plateau`.
    pub curve: String,
    /// Yield added by the first unit of rate above 0, kg/ha per unit; 0 when flat.
    pub slope_kg_ha: f64,
    /// Coefficient of the squared rate, kg/ha per unit squared; 0 when flat or linear.
    pub bend_kg_ha: f64,
    /// Rate at which the plateau begins.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub join_rate: Option<f64>,
    /// 95 % profile interval of it, cut off at the rates tried.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub join_interval_95: Option<[f64; 2]>,
    /// Sum of squared residuals, (kg/ha)².
    pub residual_squares: f64,
    /// Degrees of freedom of the residuals.
    pub df: f64,
    /// Akaike's information criterion with the correction for few plots; absent where the plots are
    /// too few for it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub aicc: Option<f64>,
    /// The rate that pays best under this curve, where price and cost are given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub best_rate: Option<BestRate>,
}

/// The rate that pays best, never outside the rates tried.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BestRate {
    /// The rate.
    pub rate: f64,
    /// 95 % profile interval of it, cut off at the rates tried.
    pub interval_95: [f64; 2],
    /// `lowest` or `highest` when the best lies at that end of the rates tried: the true best may
    /// lie beyond it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at_end: Option<String>,
    /// Worth of the grain over the lowest rate's, less what the rate costs more, per acre.
    pub net_over_lowest_per_ac: f64,
}
