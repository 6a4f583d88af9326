//! Inverse distance weighting: a cell's value is the mean of the nearest samples, each weighing as the inverse square of
//! its distance. It asks for no model, and says nothing of how sure the value is.
//!
//! # Source
//! Shepard, D. (1968), *A two-dimensional interpolation function for irregularly-spaced data*, Proceedings of the 23rd
//! ACM National Conference, 517–524; the power of 2 is his.

/// The value at the place whose neighbours (square of the distance, place among `values`) these are; `NaN` without any.
/// A sample at the very place is the value.
pub(super) fn inverse_distance(neighbours: &[(f64, u32)], values: &[f64]) -> f64 {
    let (mut weights, mut sum) = (0.0, 0.0);
    for &(squared_m2, at) in neighbours {
        let value = values[at as usize];
        if squared_m2 == 0.0 {
            return value;
        }
        weights += 1.0 / squared_m2;
        sum += value / squared_m2;
    }
    sum / weights
}
