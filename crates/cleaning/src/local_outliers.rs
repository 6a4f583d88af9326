//! Records far from what the ground around them says. A record is compared with the median of its
//! neighbours within a stated distance, on its own and on other passes, and dropped when it lies
//! more than so many robust standard deviations away. Medians on both sides keep a cluster of wild
//! records from hiding itself.
//!
//! The comparison with a neighbourhood follows Spekken, M., Anselmi, A. A. and Molin, J. P. (2013),
//! *A simple method for filtering spatial data*, in: Precision Agriculture '13, Wageningen, 259–266;
//! the scale is the median absolute deviation (Hampel 1974), and the limit of 3.5 that of Iglewicz,
//! B. and Hoaglin, D. C. (1993), *How to Detect and Handle Outliers*.

use crate::robust::{MAD_TO_SD, median};
use checkstrip_spatial::point_grid::PointGrid;
use rayon::prelude::*;

/// With fewer neighbours than this a record is not judged.
const FEWEST_NEIGHBOURS: usize = 8;
/// The scale is at least this share of the neighbours' median: where neighbours agree to the last
/// digit, a small difference is no outlier.
const LEAST_SCALE_SHARE: f64 = 0.03;

/// For each point, whether its yield is an outlier among the points within `distance_m`.
///
/// `points` (east, north, m) and `yields` (kg/ha) are finite and of one length. The cost grows with
/// the number of neighbours found.
pub(crate) fn local_outliers(
    points: &[[f64; 2]],
    yields: &[f64],
    distance_m: f64,
    deviations: f64,
) -> Vec<bool> {
    let grid = PointGrid::new(points.iter().copied(), distance_m / 2.0);
    points
        .par_iter()
        .enumerate()
        .map_init(Vec::<f64>::new, |around, (at, &point)| {
            around.clear();
            grid.within(point, distance_m, |other| {
                if other as usize != at {
                    around.push(yields[other as usize]);
                }
            });
            if around.len() < FEWEST_NEIGHBOURS {
                return false;
            }
            let middle = median(around);
            for value in around.iter_mut() {
                *value = (*value - middle).abs();
            }
            let scale = (MAD_TO_SD * median(around)).max(LEAST_SCALE_SHARE * middle.abs());
            (yields[at] - middle).abs() > deviations * scale
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_wild_record_is_found_and_its_neighbours_stay() {
        let mut points = Vec::new();
        let mut yields = Vec::new();
        for row in 0..10 {
            for column in 0..10 {
                points.push([f64::from(column) * 2.0, f64::from(row) * 9.0]);
                yields.push(4000.0 + 40.0 * f64::from((row * 7 + column * 3) % 5));
            }
        }
        yields[55] = 1500.0;
        let found = local_outliers(&points, &yields, 14.0, 3.5);
        let places: Vec<usize> = (0..100).filter(|&i| found[i]).collect();
        assert_eq!(places, [55]);
    }

    #[test]
    fn lonely_records_are_not_judged() {
        let points: Vec<[f64; 2]> = (0..5).map(|i| [f64::from(i), 0.0]).collect();
        assert_eq!(
            local_outliers(&points, &[1., 1., 1., 1., 99.], 10.0, 3.5),
            [false; 5]
        );
    }
}
