//! Odds that a treatment leaves money, for several amounts, prices and costs.

use serde::{Deserialize, Serialize};

/// The odds that a treatment leaves at least so much.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct OddsAtLeast {
    /// Worth of the gain less the cost, per acre.
    pub net_per_ac: f64,
    /// The yield gain that leaves it, bu/ac.
    pub gain_bu_ac: f64,
    /// Probability of at least that gain.
    pub odds: f64,
}

/// The odds that a treatment pays over a grid of prices and costs.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct OddsGrid {
    /// Prices of a bushel, rising; the trial's own price is among them.
    pub prices_per_bu: Vec<f64>,
    /// Costs per acre, rising; the trial's own cost is among them.
    pub costs_per_ac: Vec<f64>,
    /// One row per cost, one column per price.
    pub odds: Vec<Vec<f64>>,
}
