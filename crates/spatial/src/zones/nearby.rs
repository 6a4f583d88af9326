//! A value smoothed over the ground: what the records around a place say of it. Receiver heights are
//! noisy and single yields more so; a zone should be the lie of the land, not the noise of a record.

use crate::point_grid::PointGrid;
use rayon::prelude::*;

/// Median of `values` at the points within `radius_m` of each target; `NaN` where there is none. Points,
/// values and targets that are not finite count for nothing.
///
/// A median, so that a receiver's zeros and jumps do not move it.
pub fn local_median(
    points: &[[f64; 2]],
    values: &[f64],
    targets: &[[f64; 2]],
    radius_m: f64,
) -> Vec<f64> {
    around(points, values, targets, radius_m, |nearby| {
        let middle = nearby.len() / 2;
        let is_even = nearby.len().is_multiple_of(2);
        let (below, upper, _) = nearby.select_nth_unstable_by(middle, f64::total_cmp);
        if is_even {
            let lower = below.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            0.5 * (lower + *upper)
        } else {
            *upper
        }
    })
}

/// Mean of `values` at the points within `radius_m` of each target; `NaN` where there are fewer than
/// `fewest`. Points, values and targets that are not finite count for nothing.
pub fn local_mean(
    points: &[[f64; 2]],
    values: &[f64],
    targets: &[[f64; 2]],
    radius_m: f64,
    fewest: usize,
) -> Vec<f64> {
    around(points, values, targets, radius_m, |nearby| {
        if nearby.len() < fewest {
            return f64::NAN;
        }
        nearby.iter().sum::<f64>() / nearby.len() as f64
    })
}

/// What `says` of the values around each target. Complexity: targets × points within the radius.
fn around(
    points: &[[f64; 2]],
    values: &[f64],
    targets: &[[f64; 2]],
    radius_m: f64,
    says: impl Fn(&mut [f64]) -> f64 + Sync,
) -> Vec<f64> {
    let is_known = |point: &[f64; 2]| point[0].is_finite() && point[1].is_finite();
    let known: Vec<usize> = (0..points.len())
        .filter(|&at| values[at].is_finite() && is_known(&points[at]))
        .collect();
    let grid = PointGrid::new(known.iter().map(|&at| points[at]), radius_m);
    targets
        .par_iter()
        .map_init(Vec::new, |nearby, target| {
            nearby.clear();
            if is_known(target) {
                grid.within(*target, radius_m, |at| {
                    nearby.push(values[known[at as usize]]);
                });
            }
            if nearby.is_empty() {
                return f64::NAN;
            }
            says(nearby)
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn medians_of_odd_and_even_numbers() {
        let points = [
            [0.0, 0.0],
            [1.0, 0.0],
            [2.0, 0.0],
            [50.0, 0.0],
            [f64::NAN, 0.0],
        ];
        let values = [3.0, 9.0, 4.0, 100.0, 5.0];
        let targets = [
            [1.0, 0.0],
            [51.0, 0.0],
            [0.5, 0.0],
            [500.0, 0.0],
            [f64::NAN, 0.0],
        ];
        let found = local_median(&points, &values, &targets, 1.2);
        assert_eq!(found[..3], [4.0, 100.0, 6.0]);
        assert!(found[3].is_nan() && found[4].is_nan());
    }

    #[test]
    fn means_ask_for_enough_records() {
        let points = [[0.0, 0.0], [1.0, 0.0], [30.0, 0.0]];
        let values = [1.0, 2.0, 7.0];
        let found = local_mean(&points, &values, &[[0.0, 0.0], [30.0, 0.0]], 5.0, 2);
        assert!(found[0] == 1.5 && found[1].is_nan());
    }
}
