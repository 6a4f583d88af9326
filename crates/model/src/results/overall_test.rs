//! Whether any of several treatments differs, all of them and the check taken together.

use serde::{Deserialize, Serialize};

/// The test that no treatment differs from any other, the check among them.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct OverallTest {
    /// F of treatments in the fit of blocks and treatments.
    pub statistic: f64,
    /// Its degrees of freedom: treatments less 1, the check counted.
    pub df_treatments: f64,
    /// Degrees of freedom of the noise.
    pub df_residual: f64,
    /// p value by the F distribution.
    pub p_value_f: f64,
    /// p value by the orders that the strips could have had within their blocks.
    pub p_value_permutation: f64,
    /// Orders tried.
    pub orders: u64,
    /// Whether these were all there are; otherwise they were drawn.
    pub all_orders: bool,
    /// Seed of the draws; absent when all orders were tried.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub seed: Option<u64>,
    /// Smallest p value that so many blocks can give.
    pub smallest_p: f64,
    /// Treatments, the check counted.
    pub treatments: usize,
    /// Blocks.
    pub blocks: usize,
}
