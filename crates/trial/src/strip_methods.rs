//! The methods that need nothing but one figure a strip: what the harvest compares first, and all that can be said of
//! other responses, such as counts of plants.

use crate::paired_strips::paired_strips;
use crate::permutation::permutations;
use crate::plot::Layout;
use crate::randomized_blocks::randomized_blocks;
use checkstrip_model::results::{Comparison, OverallTest};

/// Every treatment against the check: where there are several treatments each by one fit of blocks and treatments first,
/// then in pairs, then all by permutation; with the test whether any treatment differs.
pub fn strip_methods(layout: &Layout, bushel_kg: f64) -> (Vec<Comparison>, Option<OverallTest>) {
    let treated: Vec<usize> = layout.treated().collect();
    let mut blocked = match treated.len() {
        0 | 1 => Vec::new(),
        _ => randomized_blocks(layout, bushel_kg),
    };
    let mut found = Vec::new();
    for treatment in treated {
        let name = &layout.treatments[treatment];
        if let Some(place) = blocked.iter().position(|c| c.treatment == *name) {
            found.push(blocked.remove(place));
        }
        found.extend(paired_strips(layout, treatment, bushel_kg));
    }
    let (permuted, overall_test) = permutations(layout, bushel_kg);
    found.extend(permuted);
    (found, overall_test)
}
