//! Ground that was harvested before: for each footprint, in the order they were driven, how much of
//! it earlier footprints had already covered. The area is exact polygon area, found by taking the
//! earlier footprints away from this one piece by piece; the earlier ones are found through an
//! R-tree over short runs of footprints, so that the cost grows as n log n.
//!
//! Ground covered twice comes in two kinds. Behind a moving header, each rectangle overlaps the one
//! before it a little on the inner side of a curve, or by the noise of the position, and leaves as
//! large a gap on the outer side: width × distance is the true area of the swath (the second theorem
//! of Pappus), so that this *wake* must not be taken from it. Ground that another pass cut, or this
//! one cut long before, holds no crop any more and must be.

use crate::convex::{self, Point, Remainder};
use rayon::prelude::*;
use rstar::primitives::{GeomWithData, Rectangle};
use rstar::{AABB, RTree};

/// One footprint in driving order.
#[derive(Debug, Clone, Copy)]
pub struct Footprint {
    /// Corners, counter-clockwise, m.
    pub corners: [Point; 4],
    /// The pass it belongs to; the wake never reaches across passes.
    pub pass: u32,
    /// Length of the machine's path up to here, m.
    pub path_m: f64,
}

/// What earlier footprints had covered of one footprint, m².
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Covered {
    /// By other passes, or by this one long before.
    pub harvested_m2: f64,
    /// By anything earlier, the wake included.
    pub any_m2: f64,
}

/// Footprints per box of the tree.
const RUN: usize = 16;

/// For each footprint, how much of it earlier ones had covered.
///
/// Footprints come in driving order. Earlier footprints of the same pass whose path lies less than
/// `wake_m` behind count as the wake. Degenerate footprints (no area) cover nothing. Complexity: n
/// log n plus the footprints that really meet.
///
/// ```
/// use checkstrip_spatial::harvested_ground::{Footprint, harvested_before};
/// let swath = |east: f64, pass| Footprint {
///     corners: [[east, 0.], [east + 9., 0.], [east + 9., 2.], [east, 2.]],
///     pass,
///     path_m: 0.0,
/// };
/// // The second pass overlaps the first by one metre of its nine.
/// let covered = harvested_before(&[swath(0.0, 1), swath(8.0, 2)], 9.0);
/// assert_eq!(covered[0].harvested_m2, 0.0);
/// assert!((covered[1].harvested_m2 - 2.0).abs() < 1e-12);
/// ```
pub fn harvested_before(footprints: &[Footprint], wake_m: f64) -> Vec<Covered> {
    let boxes: Vec<[f64; 4]> = footprints
        .par_iter()
        .map(|footprint| convex::bounds(&footprint.corners))
        .collect();
    let runs: Vec<_> = boxes
        .chunks(RUN)
        .enumerate()
        .map(|(run, chunk)| {
            let all = convex::bounds_of_all(chunk.iter().copied());
            GeomWithData::new(
                Rectangle::from_corners([all[0], all[1]], [all[2], all[3]]),
                run,
            )
        })
        .collect();
    let tree = RTree::bulk_load(runs);

    (0..footprints.len())
        .into_par_iter()
        .map_init(
            || (Remainder::default(), Vec::new(), Vec::new()),
            |(rest, others, wake), at| {
                let this = &footprints[at];
                let whole = convex::area(&this.corners);
                if !whole.is_finite() || whole <= 0.0 {
                    return Covered::default();
                }
                others.clear();
                wake.clear();
                let bounds = boxes[at];
                let window = AABB::from_corners([bounds[0], bounds[1]], [bounds[2], bounds[3]]);
                for run in tree.locate_in_envelope_intersecting(&window) {
                    let from = run.data * RUN;
                    for earlier in from..(from + RUN).min(at) {
                        if !convex::bounds_meet(&boxes[earlier], &bounds) {
                            continue;
                        }
                        let before = &footprints[earlier];
                        let behind = this.path_m - before.path_m;
                        if before.pass == this.pass && behind < wake_m {
                            wake.push(earlier);
                        } else {
                            others.push(earlier);
                        }
                    }
                }
                rest.reset(&this.corners);
                let mut take = |list: &mut Vec<usize>| {
                    // The tree's order is not the driving order; a fixed order makes the last digits
                    // the same in every run.
                    list.sort_unstable();
                    for &earlier in list.iter() {
                        rest.take(&footprints[earlier].corners);
                        if rest.is_empty() {
                            break;
                        }
                    }
                    (whole - rest.area()).clamp(0.0, whole)
                };
                let harvested_m2 = take(others);
                let any_m2 = take(wake);
                Covered {
                    harvested_m2,
                    any_m2,
                }
            },
        )
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::{Area, BooleanOps, Coord, LineString, MultiPolygon, Polygon};

    fn polygon(ring: &[Point]) -> Polygon {
        Polygon::new(
            ring.iter()
                .map(|p| Coord { x: p[0], y: p[1] })
                .collect::<LineString>(),
            vec![],
        )
    }

    /// A wandering drive that crosses itself: the sum of new areas must be the area of the union.
    #[test]
    fn new_ground_adds_up_to_the_union() {
        let (mut east, mut north, mut heading) = (0.0f64, 0.0f64, 0.3f64);
        let mut drive = Vec::new();
        for step in 0..150 {
            heading += 0.11 * ((step as f64) * 0.37).sin() + 0.03;
            let (sin, cos) = heading.sin_cos();
            east += 2.0 * sin;
            north += 2.0 * cos;
            let (right, back) = ([cos * 3.0, -sin * 3.0], [-sin * 2.2, -cos * 2.2]);
            drive.push(Footprint {
                corners: [
                    [east + right[0] + back[0], north + right[1] + back[1]],
                    [east + right[0], north + right[1]],
                    [east - right[0], north - right[1]],
                    [east - right[0] + back[0], north - right[1] + back[1]],
                ],
                pass: 1,
                path_m: 2.0 * step as f64,
            });
        }
        let covered = harvested_before(&drive, 6.0);
        let new: f64 = drive
            .iter()
            .zip(&covered)
            .map(|(footprint, covered)| convex::area(&footprint.corners) - covered.any_m2)
            .sum();
        let mut union = MultiPolygon::new(vec![]);
        for footprint in &drive {
            union = union.union(&polygon(&footprint.corners));
        }
        assert!((new / union.unsigned_area() - 1.0).abs() < 1e-6, "{new}");
        let wake_only = covered
            .iter()
            .filter(|c| c.any_m2 > 0.0 && c.harvested_m2 == 0.0)
            .count();
        assert!(wake_only > 50, "{wake_only}");
    }

    #[test]
    fn standing_still_covers_nothing() {
        let still = Footprint {
            corners: [[1., 1.], [1., 1.], [0., 1.], [0., 1.]],
            pass: 1,
            path_m: 0.,
        };
        assert_eq!(
            harvested_before(&[still, still], 9.0),
            [Covered::default(); 2]
        );
    }
}
