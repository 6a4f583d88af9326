//! Grain and ground added up strip by strip: every kept footprint is clipped against the inset
//! strips, and the part inside brings its share of the record's grain and newly harvested ground.
//! How much of each footprint lay in which treatment is kept too, because a header that straddles
//! two treatments mixes them, and the comparison must know by how much.

use crate::convex::{self, ClipScratch};
use crate::strip_ground::StripField;
use checkstrip_model::CleanLog;
use rayon::prelude::*;

/// What was harvested on one strip.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct StripSum {
    /// Kept records whose footprint meets the inset strip.
    pub records: usize,
    /// Newly harvested ground of those records inside the inset strip, m².
    pub area_m2: f64,
    /// Grain from that ground at market moisture, kg.
    pub dry_mass_kg: f64,
    /// Mean moisture of that grain weighted by its mass, percent; `NaN` without grain.
    pub moisture_pct: f64,
    /// For each treatment, the share of the ground under these footprints (weighted by their part
    /// in the inset strip) that was drawn as that treatment. What is missing to 1 lay in no strip.
    pub treatment_shares: Vec<f64>,
    /// Ground under records with a footprint in the inset strip that were dropped, m².
    pub dropped_area_m2: f64,
}

impl StripSum {
    /// Yield at market moisture, kg/ha; `None` when nothing was harvested.
    pub fn yield_kg_ha(&self) -> Option<f64> {
        (self.area_m2 > 0.0).then(|| self.dry_mass_kg / self.area_m2 * 1e4)
    }
}

/// One footprint's part in one strip.
struct Part {
    strip: usize,
    kept: bool,
    area_m2: f64,
    mass_kg: f64,
    moisture_pct: f64,
    weight_m2: f64,
    shares: [f32; MOST_TREATMENTS],
}

/// Shares are kept for this many treatments; more are refused before they get here.
pub const MOST_TREATMENTS: usize = 16;

/// Adds the records of `log` up over `field`, one sum per strip in the order of the strips.
///
/// A record counts when its status is kept and its yield is known. Within a footprint, grain and
/// newly harvested ground are taken to lie evenly. Sums run in record order whatever the number of
/// threads, so that figures repeat to the last digit.
pub fn strip_sums(log: &CleanLog, field: &StripField) -> Vec<StripSum> {
    let strips = &field.strips;
    let boxes: Vec<[f64; 4]> = strips.iter().map(|strip| strip.drawn.bounds()).collect();
    let all = boxes.iter().fold(
        [
            f64::INFINITY,
            f64::INFINITY,
            f64::NEG_INFINITY,
            f64::NEG_INFINITY,
        ],
        |b, c| {
            [
                b[0].min(c[0]),
                b[1].min(c[1]),
                b[2].max(c[2]),
                b[3].max(c[3]),
            ]
        },
    );
    const CHUNK: usize = 4096;
    let chunks = log.len().div_ceil(CHUNK);
    let parts: Vec<Vec<Part>> = (0..chunks)
        .into_par_iter()
        .map_init(
            || (ClipScratch::default(), Vec::<(usize, f64)>::new()),
            |(scratch, meets), chunk| {
                let mut parts = Vec::new();
                for record in chunk * CHUNK..((chunk + 1) * CHUNK).min(log.len()) {
                    let whole = log.footprint_m2[record];
                    if log.pass[record] == 0 || whole.is_nan() || whole <= 0.0 {
                        continue;
                    }
                    let corners = log.footprint(record);
                    let bounds = convex::bounds(&corners);
                    if !convex::bounds_meet(&bounds, &all) {
                        continue;
                    }
                    let mut shares = [0f32; MOST_TREATMENTS];
                    meets.clear();
                    for (place, strip) in strips.iter().enumerate() {
                        if !convex::bounds_meet(&bounds, &boxes[place]) {
                            continue;
                        }
                        let drawn = strip.drawn.area_under(&corners, scratch);
                        if drawn <= 0.0 {
                            continue;
                        }
                        shares[strip.treatment] += (drawn / whole) as f32;
                        let inside = strip.inset.area_under(&corners, scratch);
                        if inside > TOUCH_M2 {
                            meets.push((place, inside));
                        }
                    }
                    let new_share = log.new_area_m2(record) / whole;
                    let kept = log.status[record].is_kept() && log.yield_kg_ha[record].is_finite();
                    parts.extend(meets.iter().map(|&(strip, inside)| {
                        let area_m2 = inside * new_share;
                        let mass_kg = if kept {
                            area_m2 * log.yield_kg_ha[record] / 1e4
                        } else {
                            0.0
                        };
                        Part {
                            strip,
                            kept,
                            area_m2,
                            mass_kg,
                            moisture_pct: log.moisture_pct[record],
                            weight_m2: inside,
                            shares,
                        }
                    }));
                }
                parts
            },
        )
        .collect();

    let mut sums = vec![
        StripSum {
            treatment_shares: vec![0.0; field.treatments.len()],
            ..StripSum::default()
        };
        strips.len()
    ];
    let mut weights = vec![0.0; strips.len()];
    for part in parts.into_iter().flatten() {
        let sum = &mut sums[part.strip];
        if !part.kept {
            sum.dropped_area_m2 += part.area_m2;
            continue;
        }
        sum.records += 1;
        sum.area_m2 += part.area_m2;
        sum.dry_mass_kg += part.mass_kg;
        if part.moisture_pct.is_finite() {
            sum.moisture_pct += part.mass_kg * part.moisture_pct;
        }
        weights[part.strip] += part.weight_m2;
        for (total, share) in sum.treatment_shares.iter_mut().zip(part.shares) {
            *total += part.weight_m2 * f64::from(share);
        }
    }
    for (sum, weight) in sums.iter_mut().zip(weights) {
        sum.moisture_pct /= sum.dry_mass_kg;
        if weight > 0.0 {
            sum.treatment_shares
                .iter_mut()
                .for_each(|share| *share /= weight);
        }
    }
    sums
}

/// A footprint that reaches less than this into a strip only touches it, m².
const TOUCH_M2: f64 = 0.01;
