//! Footprints laid over strips: which record harvested how much of which strip, and how its ground
//! was shared among the treatments. Strip sums and the cells of the spatial methods are added up
//! from this one overlay.

use crate::convex::{self, ClipScratch};
use crate::strip_ground::StripField;
use checkstrip_model::CleanLog;
use rayon::prelude::*;

/// Shares are kept for this many treatments; more are refused before they get here.
pub const MOST_TREATMENTS: usize = 16;

/// A footprint that reaches less than this into a strip only touches it, m².
const TOUCH_M2: f64 = 0.01;

/// A record whose ground lies at least partly in a strip as drawn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Touched {
    /// The record.
    pub record: u32,
    /// For each treatment, the share of the whole footprint drawn as it. What is missing to 1 lies in
    /// no strip.
    pub shares: [f32; MOST_TREATMENTS],
}

/// The part of a record's footprint inside one inset strip.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Part {
    /// Place in [`Overlay::touched`].
    pub touched: u32,
    /// Place of the strip.
    pub strip: u32,
    /// Area of the footprint inside the inset strip, m².
    pub inside_m2: f64,
}

/// The share of a record's footprint that lies in one strip as drawn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DrawnShare {
    /// Place in [`Overlay::touched`].
    pub touched: u32,
    /// Place of the strip.
    pub strip: u32,
    /// The share.
    pub share: f32,
}

/// All records over all strips, in the order of the records.
#[derive(Debug, Clone, Default)]
pub struct Overlay {
    /// Records that touch a strip.
    pub touched: Vec<Touched>,
    /// Their shares in strips as drawn.
    pub drawn: Vec<DrawnShare>,
    /// Their parts in inset strips.
    pub parts: Vec<Part>,
}

/// What a record that counts harvested of one inset strip.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct KeptPart<'a> {
    /// The record.
    pub record: usize,
    /// Place of the strip.
    pub strip: usize,
    /// Area of the footprint inside the inset strip, m².
    pub inside_m2: f64,
    /// Newly harvested ground of it, m².
    pub area_m2: f64,
    /// Grain from that ground at market moisture, kg.
    pub mass_kg: f64,
    /// For each treatment, the share of the whole footprint drawn as it.
    pub shares: &'a [f32; MOST_TREATMENTS],
}

impl Overlay {
    /// The strips as drawn that a record of [`Overlay::touched`] lies in, with its share in each.
    pub fn drawn_of(&self, touched: u32) -> &[DrawnShare] {
        let first = self.drawn.partition_point(|drawn| drawn.touched < touched);
        let count = self.drawn[first..]
            .iter()
            .take_while(|drawn| drawn.touched == touched)
            .count();
        &self.drawn[first..first + count]
    }

    /// The parts of records whose status is kept and whose yield is known, in the order of the records.
    /// Within a footprint, grain and newly harvested ground are taken to lie evenly.
    pub fn kept_parts<'a>(&'a self, log: &'a CleanLog) -> impl Iterator<Item = KeptPart<'a>> + 'a {
        self.parts.iter().filter_map(|part| {
            let touched = &self.touched[part.touched as usize];
            let record = touched.record as usize;
            let yield_kg_ha = log.yield_kg_ha[record];
            if !log.status[record].is_kept() || !yield_kg_ha.is_finite() {
                return None;
            }
            let area_m2 = part.inside_m2 * log.new_area_m2(record) / log.footprint_m2[record];
            Some(KeptPart {
                record,
                strip: part.strip as usize,
                inside_m2: part.inside_m2,
                area_m2,
                mass_kg: area_m2 * yield_kg_ha / 1e4,
                shares: &touched.shares,
            })
        })
    }
}

/// Lays the footprints of all cutting records over the strips, whatever became of the records.
///
/// The order is that of the records whatever the number of threads. Complexity: records × strips
/// whose bounds they meet.
pub fn overlay(log: &CleanLog, field: &StripField) -> Overlay {
    const CHUNK: usize = 4096;
    let boxes: Vec<[f64; 4]> = field
        .strips
        .iter()
        .map(|strip| strip.drawn.bounds())
        .collect();
    let all = convex::bounds_of_all(boxes.iter().copied());
    let chunks: Vec<Overlay> = (0..log.len().div_ceil(CHUNK))
        .into_par_iter()
        .map_init(ClipScratch::default, |scratch, chunk| {
            let mut found = Overlay::default();
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
                let mut touched = Touched {
                    record: record as u32,
                    shares: [0.0; MOST_TREATMENTS],
                };
                let mut touches = false;
                for (place, strip) in field.strips.iter().enumerate() {
                    if !convex::bounds_meet(&bounds, &boxes[place]) {
                        continue;
                    }
                    let drawn = strip.drawn.area_under(&corners, scratch);
                    if drawn <= 0.0 {
                        continue;
                    }
                    touches = true;
                    let share = (drawn / whole) as f32;
                    touched.shares[strip.treatment] += share;
                    found.drawn.push(DrawnShare {
                        touched: found.touched.len() as u32,
                        strip: place as u32,
                        share,
                    });
                    let inside_m2 = strip.inset.area_under(&corners, scratch);
                    if inside_m2 > TOUCH_M2 {
                        found.parts.push(Part {
                            touched: found.touched.len() as u32,
                            strip: place as u32,
                            inside_m2,
                        });
                    }
                }
                if touches {
                    found.touched.push(touched);
                }
            }
            found
        })
        .collect();
    let mut overlay = Overlay::default();
    for chunk in chunks {
        let before = overlay.touched.len() as u32;
        overlay.touched.extend(chunk.touched);
        let drawn = chunk.drawn.into_iter();
        overlay.drawn.extend(drawn.map(|drawn| DrawnShare {
            touched: drawn.touched + before,
            ..drawn
        }));
        let parts = chunk.parts.into_iter();
        overlay.parts.extend(parts.map(|part| Part {
            touched: part.touched + before,
            ..part
        }));
    }
    overlay
}
