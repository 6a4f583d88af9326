//! Which record counts, and why another does not. A step only judges records that earlier steps
//! kept, so that every record carries the first reason it met and the counts add up to the number of
//! records. The order of the steps is the order of this file.

use crate::drive::Drive;
use crate::grain_delay::GrainDelay;
use crate::limits::yield_limits;
use crate::local_outliers::local_outliers;
use crate::overlap::Ground;
use crate::pass_ends::pass_ends;
use crate::recipe::Recipe;
use crate::robust::median;
use crate::speed::speed_faults;
use crate::transport::Grain;
use checkstrip_model::{Crop, Status};

/// Grain and yield of the ground under each record, in driving order; `NaN` where unknown.
pub(crate) struct Grown {
    pub wet_kg: Vec<f64>,
    pub moisture_pct: Vec<f64>,
    /// At market moisture, over the newly harvested part of the footprint.
    pub yield_kg_ha: Vec<f64>,
}

/// The grain of each record's ground over the ground harvested for the first time.
pub(crate) fn yields_of_ground(
    drive: &Drive,
    grain: &[Grain],
    ground: &Ground,
    crop: &Crop,
) -> Grown {
    let unknown = || vec![f64::NAN; grain.len()];
    let mut grown = Grown {
        wet_kg: unknown(),
        moisture_pct: unknown(),
        yield_kg_ha: unknown(),
    };
    for (at, grain) in grain.iter().enumerate() {
        let Grain::Known {
            wet_kg,
            moisture_pct,
        } = *grain
        else {
            continue;
        };
        grown.wet_kg[at] = wet_kg;
        grown.moisture_pct[at] = moisture_pct;
        let area = ground.footprint_m2[at] - ground.covered[at].harvested_m2;
        if area > 0.0 {
            grown.yield_kg_ha[at] = drive.at_market(crop, wet_kg, moisture_pct) / area * 1e4;
        }
    }
    grown
}

/// What records are judged by, all in driving order.
#[derive(Clone, Copy)]
pub(crate) struct Evidence<'a> {
    pub drive: &'a Drive,
    pub pass: &'a [u32],
    pub ground: &'a Ground,
    pub grain: &'a [Grain],
    pub grain_delay: &'a GrainDelay,
    pub flow_ok: &'a [bool],
    pub moisture_ok: &'a [bool],
    pub yields: &'a [f64],
}

/// How long after entering the crop records are dropped, s: as set, or until the stream has filled.
pub(crate) fn pass_start_s(recipe: &Recipe, grain_delay: &GrainDelay) -> f64 {
    recipe
        .pass_start_s
        .max(3.0 * grain_delay.smear_s.unwrap_or(0.0))
}

/// The status of every record in driving order.
pub(crate) fn statuses(evidence: &Evidence, crop: &Crop, recipe: &Recipe) -> Vec<Status> {
    let mut status = statuses_before_neighbours(evidence, crop, recipe);
    judge_neighbourhoods(evidence, recipe, &mut status);
    status
}

/// The same before records are held against their neighbours: machines that read differently would make outliers of
/// each other's.
pub(crate) fn statuses_before_neighbours(
    evidence: &Evidence,
    crop: &Crop,
    recipe: &Recipe,
) -> Vec<Status> {
    let &Evidence { drive, pass, .. } = evidence;
    // Times and positions were judged while the drive was put together.
    let mut status = drive.order.status.clone();
    let mut mark = |at: usize, reason: Status| {
        if status[at].is_kept() {
            status[at] = reason;
        }
    };
    for (at, &pass) in pass.iter().enumerate() {
        if pass == 0 {
            mark(at, Status::HeaderUp);
        }
    }
    for (at, faulty) in speed_faults(drive, pass, recipe).into_iter().enumerate() {
        if faulty {
            mark(at, Status::Speed);
        }
    }
    let start_s = pass_start_s(recipe, evidence.grain_delay);
    pass_ends(drive, pass, start_s, recipe.pass_end_s, &mut mark);
    judge_readings(evidence, &mut mark);
    for (at, covered) in evidence.ground.covered.iter().enumerate() {
        if covered.harvested_m2 > recipe.most_overlap_share * evidence.ground.footprint_m2[at] {
            mark(at, Status::Overlap);
        }
    }
    judge_yields(evidence, crop, recipe, &mut status);
    status
}

/// A reading that is not believed condemns the record that holds it and the ground whose grain it
/// should have measured.
fn judge_readings(evidence: &Evidence, mut mark: impl FnMut(usize, Status)) {
    for (at, grain) in evidence.grain.iter().enumerate() {
        if !evidence.moisture_ok[at] {
            mark(at, Status::Moisture);
        }
        match grain {
            Grain::Known { moisture_pct, .. } if moisture_pct.is_nan() => {
                mark(at, Status::Moisture)
            }
            Grain::Known { .. } => {}
            Grain::NotLogged if evidence.grain_delay.delay_s >= 0.0 => mark(at, Status::PassEnd),
            Grain::NotLogged => mark(at, Status::PassStart),
            Grain::NotBelieved => mark(at, Status::LocalOutlier),
        }
        if !evidence.flow_ok[at] {
            let flow = evidence.drive.flow_kg_s[at];
            let missing = flow.is_nan() || flow < 0.0;
            mark(
                at,
                if missing {
                    Status::YieldLimit
                } else {
                    Status::LocalOutlier
                },
            );
        }
    }
}

fn judge_yields(evidence: &Evidence, crop: &Crop, recipe: &Recipe, status: &mut [Status]) {
    let yields = evidence.yields;
    let mut kept: Vec<f64> = (0..yields.len())
        .filter(|&at| status[at].is_kept() && yields[at].is_finite())
        .map(|at| yields[at])
        .collect();
    let [lowest, highest] = yield_limits(median(&mut kept), crop, recipe);
    for (status, yields) in status.iter_mut().zip(yields) {
        if status.is_kept() && !(lowest..=highest).contains(yields) {
            *status = Status::YieldLimit;
        }
    }
}

fn judge_neighbourhoods(evidence: &Evidence, recipe: &Recipe, status: &mut [Status]) {
    let &Evidence { drive, yields, .. } = evidence;
    let judged: Vec<usize> = (0..yields.len())
        .filter(|&at| status[at].is_kept())
        .collect();
    let points: Vec<[f64; 2]> = judged
        .iter()
        .map(|&at| [drive.east_m[at], drive.north_m[at]])
        .collect();
    let judged_yields: Vec<f64> = judged.iter().map(|&at| yields[at]).collect();
    let distance = recipe.neighbour_header_widths * drive.typical_width_m;
    let wild = local_outliers(&points, &judged_yields, distance, recipe.outlier_deviations);
    for (&at, wild) in judged.iter().zip(wild) {
        if wild {
            status[at] = Status::LocalOutlier;
        }
    }
}
