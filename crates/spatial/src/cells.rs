//! Records gathered to cells: pieces of strips, or of single passes, some tens of metres long. The
//! spatial comparison methods work on cells, because neighbouring records of one pass repeat each
//! other's noise, and a covariance between all records of a field would not fit in any memory.

use crate::overlay::Overlay;
use crate::strip_ground::{StripField, StripOnGround};
use checkstrip_model::CleanLog;
use geo::{Area, Euclidean, Length, MinimumRotatedRect};
use std::collections::BTreeMap;

/// One cell.
#[derive(Debug, Clone, PartialEq)]
pub struct Cell {
    /// Its strip, by place; `None` for cells of passes.
    pub strip: Option<usize>,
    /// Its pass; 0 for cells of strips, which gather several.
    pub pass: u32,
    /// Centre of the harvested ground: along the strips and across them, m.
    pub along_m: f64,
    /// Across the strips, m.
    pub across_m: f64,
    /// Newly harvested ground, m².
    pub area_m2: f64,
    /// Yield at market moisture, kg/ha.
    pub yield_kg_ha: f64,
    /// For each treatment, the share of the ground drawn as it.
    pub shares: Vec<f64>,
    /// The strips as drawn that the ground of a cell of passes lies in, with the share in each; empty
    /// for cells of strips.
    pub strip_shares: Vec<(usize, f64)>,
}

/// Direction the strips run, radians clockwise from north of the plane, from 0 to π: that of their
/// smallest enclosing rectangles' long sides, weighted by area.
pub fn strip_direction(field: &StripField) -> f64 {
    let (mut sin, mut cos) = (0.0, 0.0);
    for strip in &field.strips {
        if let Some(direction) = direction_of(strip) {
            // Doubled, so that a side counts the same whichever way it is walked.
            let area = strip.drawn.polygon().unsigned_area();
            sin += area * (2.0 * direction).sin();
            cos += area * (2.0 * direction).cos();
        }
    }
    (sin.atan2(cos) / 2.0).rem_euclid(std::f64::consts::PI)
}

/// Direction of one strip: that of the long side of its smallest enclosing rectangle, radians
/// clockwise from north of the plane, either way along; `None` for a strip without ground.
pub(crate) fn direction_of(strip: &StripOnGround) -> Option<f64> {
    let rectangle = strip.drawn.polygon().minimum_rotated_rect()?;
    let sides = rectangle.exterior().lines();
    let longest = sides.max_by(|a, b| Euclidean.length(a).total_cmp(&Euclidean.length(b)))?;
    Some(longest.dx().atan2(longest.dy()))
}

/// Cells of strips: the kept ground of each inset strip in lengths that give about `most` cells in
/// all, none shorter than `shortest_m`.
pub fn strip_cells(
    log: &CleanLog,
    field: &StripField,
    overlay: &Overlay,
    most: usize,
    shortest_m: f64,
) -> Vec<Cell> {
    let rows = overlay.parts.iter().map(|part| {
        let touched = &overlay.touched[part.touched as usize];
        (
            touched.record as usize,
            Some(part.strip as usize),
            part.inside_m2,
            part.touched,
        )
    });
    gather(
        log,
        field,
        overlay,
        rows,
        field.strips.len(),
        most,
        shortest_m,
    )
}

/// Ground of a record must lie in strips by at least this share for the record to say something
/// about treatments: nobody says what was done outside.
const LEAST_IN_STRIPS: f32 = 0.95;

/// Cells of passes: the kept ground of each pass across the strips, of records whose whole footprint
/// lies in drawn strips, whichever; in lengths that give about `most` cells in all.
pub fn pass_cells(
    log: &CleanLog,
    field: &StripField,
    overlay: &Overlay,
    most: usize,
    shortest_m: f64,
) -> Vec<Cell> {
    let inside = |shares: &[f32]| shares.iter().sum::<f32>() >= LEAST_IN_STRIPS;
    let rows = overlay
        .touched
        .iter()
        .zip(0..)
        .filter(|(touched, _)| inside(&touched.shares))
        .map(|(touched, place)| {
            let record = touched.record as usize;
            (record, None, log.footprint_m2[record], place)
        });
    let mut passes: Vec<u32> = rows.clone().map(|row| log.pass[row.0]).collect();
    passes.sort_unstable();
    passes.dedup();
    gather(log, field, overlay, rows, passes.len(), most, shortest_m)
}

/// A cell whose ground is less than this share of the usual one says too little.
const LEAST_AREA_SHARE: f64 = 0.4;

fn gather(
    log: &CleanLog,
    field: &StripField,
    overlay: &Overlay,
    rows: impl Iterator<Item = (usize, Option<usize>, f64, u32)> + Clone,
    lines: usize,
    most: usize,
    shortest_m: f64,
) -> Vec<Cell> {
    let (sin, cos) = strip_direction(field).sin_cos();
    let place = |record: usize| {
        let [east, north] = log.footprint_middle(record);
        (east * sin + north * cos, east * cos - north * sin)
    };
    let kept = rows.filter(|(record, ..)| {
        log.status[*record].is_kept() && log.yield_kg_ha[*record].is_finite()
    });
    let (low, high) = kept
        .clone()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |span, row| {
            let along = place(row.0).0;
            (span.0.min(along), span.1.max(along))
        });
    if lines == 0 || low > high {
        return Vec::new();
    }
    let per_line = (most / lines).max(1) as f64;
    let length = ((high - low) / per_line).max(shortest_m);
    // Keyed by strip or pass and by place along: the order of the cells is that of the keys.
    let mut sums: BTreeMap<(usize, u32, usize), Sum> = BTreeMap::new();
    for (record, strip, inside_m2, touched) in kept {
        let (along, across) = place(record);
        let segment = ((along - low) / length) as usize;
        let pass = if strip.is_some() { 0 } else { log.pass[record] };
        let area_m2 = inside_m2 * log.new_area_m2(record) / log.footprint_m2[record];
        let sum = sums.entry((strip.unwrap_or(0), pass, segment)).or_default();
        sum.strip = strip;
        sum.area += area_m2;
        sum.mass += area_m2 * log.yield_kg_ha[record] / 1e4;
        sum.along += area_m2 * along;
        sum.across += area_m2 * across;
        sum.shares.resize(field.treatments.len(), 0.0);
        let shares = overlay.touched[touched as usize].shares;
        for (total, share) in sum.shares.iter_mut().zip(shares) {
            *total += area_m2 * f64::from(share);
        }
        if strip.is_none() {
            for drawn in overlay.drawn_of(touched) {
                let held = sum.strips.entry(drawn.strip as usize).or_default();
                *held += area_m2 * f64::from(drawn.share);
            }
        }
    }
    let mut areas: Vec<f64> = sums.values().map(|sum| sum.area).collect();
    areas.sort_unstable_by(f64::total_cmp);
    let least = LEAST_AREA_SHARE * areas[areas.len() / 2];
    sums.into_iter()
        .filter(|(_, sum)| sum.area >= least && sum.area > 0.0)
        .map(|((_, pass, _), sum)| Cell {
            strip: sum.strip,
            pass,
            along_m: sum.along / sum.area,
            across_m: sum.across / sum.area,
            area_m2: sum.area,
            yield_kg_ha: sum.mass / sum.area * 1e4,
            shares: sum.shares.iter().map(|share| share / sum.area).collect(),
            strip_shares: sum
                .strips
                .iter()
                .map(|(&strip, area)| (strip, area / sum.area))
                .collect(),
        })
        .collect()
}

#[derive(Default)]
struct Sum {
    strip: Option<usize>,
    area: f64,
    mass: f64,
    along: f64,
    across: f64,
    shares: Vec<f64>,
    strips: BTreeMap<usize, f64>,
}
