//! Yields and moistures that no crop has. The upper yield limit is the crop's; the lower one is a
//! share of the log's own median, so that the same setting serves a poor year and a good one.
//! Drowned or hailed-out spots yield nothing for good reason: where they matter, set
//! `lowest_yield_share = 0`.
//!
//! Limits of both kinds: Blackmore, S. and Moore, M. (1999), *Remedial correction of yield map
//! data*, Precision Agriculture 1, 53–66.

use crate::recipe::Recipe;
use checkstrip_model::Crop;

/// Yields that are believed, kg/ha, given the median of the log.
pub(crate) fn yield_limits(median_kg_ha: f64, crop: &Crop, recipe: &Recipe) -> [f64; 2] {
    let low = recipe.lowest_yield_share * median_kg_ha;
    [
        low.max(0.0),
        recipe
            .highest_yield_kg_ha
            .unwrap_or(crop.highest_yield_kg_ha),
    ]
}

/// Moistures that are believed, percent.
pub(crate) fn moisture_limits(crop: &Crop, recipe: &Recipe) -> [f64; 2] {
    [
        recipe
            .lowest_moisture_pct
            .unwrap_or(crop.lowest_moisture_pct),
        recipe
            .highest_moisture_pct
            .unwrap_or(crop.highest_moisture_pct),
    ]
}
