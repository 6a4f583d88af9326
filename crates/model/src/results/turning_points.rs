//! Prices and costs at which the answer about money turns.

use serde::{Deserialize, Serialize};

/// The price and the cost at which one treatment's answer turns, each with everything else as it is.
/// A point that does not exist is absent: a loss of grain pays at no price.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
pub struct TurningPoints {
    /// Price of a bushel at which the net is zero and the odds that it pays are even.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub even_price_per_bu: Option<f64>,
    /// Cost per acre at which the net is zero and the odds are even; negative when the treatment
    /// would have to save money.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub even_cost_per_ac: Option<f64>,
    /// Price of a bushel at which the lower end of the net's 95 % interval is zero.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sure_price_per_bu: Option<f64>,
    /// Cost per acre at which the lower end of the net's 95 % interval is zero; negative when the
    /// treatment would have to save money.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sure_cost_per_ac: Option<f64>,
}
