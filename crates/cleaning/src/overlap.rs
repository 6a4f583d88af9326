//! Ground already harvested: each footprint loses what other passes cut before it, by exact polygon
//! area in driving order, so that a half-full header is not mistaken for half a crop. Records whose
//! footprint was mostly bare ground are dropped, because a small rest makes a wild yield.
//!
//! Exact areas follow the polygon method of Drummond, S. T., Fraisse, C. W. and Sudduth, K. A.
//! (1999), *Combine harvest area determination by vector processing of GPS position data*,
//! Transactions of the ASAE 42(5), 1221–1227.

use crate::drive::Drive;
use checkstrip_model::rectangle_behind;
use checkstrip_spatial::convex;
use checkstrip_spatial::harvested_ground::{Covered, Footprint, harvested_before};

/// Area of each footprint and how much of it had been harvested before, in driving order, m².
pub(crate) struct Ground {
    pub footprint_m2: Vec<f64>,
    pub covered: Vec<Covered>,
}

/// Footprints of all cutting records against all earlier ones, every machine's, in order of time.
pub(crate) fn ground(drive: &Drive, pass: &[u32]) -> Ground {
    let n = drive.len();
    // A record alone between two breaks may have no place or no heading: it has no footprint either.
    let is_placed = |at: usize| {
        let place = [drive.east_m[at], drive.north_m[at], drive.heading_deg[at]];
        place.iter().all(|value| value.is_finite())
    };
    let mut cutting: Vec<usize> = (0..n)
        .filter(|&at| pass[at] > 0 && drive.distance_m[at] > 0.0)
        .filter(|&at| (drive.distance_m[at] * drive.width_m[at]).is_finite() && is_placed(at))
        .collect();
    if drive.order.machines.len() > 1 {
        cutting.sort_by(|&a, &b| drive.order.time_s[a].total_cmp(&drive.order.time_s[b]));
    }
    let mut path_m = vec![0.0; n];
    let mut travelled = 0.0;
    for at in 0..n {
        let step = drive.distance_m[at];
        travelled += if step.is_finite() { step.max(0.0) } else { 0.0 };
        path_m[at] = travelled;
    }
    let footprints: Vec<Footprint> = cutting
        .iter()
        .map(|&at| Footprint {
            corners: rectangle_behind(
                [drive.east_m[at], drive.north_m[at]],
                drive.heading_deg[at],
                drive.distance_m[at],
                drive.width_m[at],
            ),
            pass: pass[at],
            path_m: path_m[at],
        })
        .collect();
    let found = harvested_before(&footprints, drive.typical_width_m);
    let mut ground = Ground {
        footprint_m2: vec![0.0; n],
        covered: vec![Covered::default(); n],
    };
    for ((&at, footprint), covered) in cutting.iter().zip(&footprints).zip(found) {
        ground.footprint_m2[at] = convex::area(&footprint.corners);
        ground.covered[at] = covered;
    }
    ground
}
