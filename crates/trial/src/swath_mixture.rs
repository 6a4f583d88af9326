//! What the treatment does to ground that is wholly treated, although headers straddled strips: the
//! yield of each piece of a pass is a mixture of treated and untreated ground in known shares, so
//! that regressing it on the shares gives back the undiluted effect. A smooth trend over the field,
//! an effect of each pass, one of each strip where the data speak for it, and errors alike by distance
//! take up the soil, the combine and what else befell a strip as a whole.
//!
//! The mixture is that of a mixed support regression; the covariance model and its fit are those of
//! [`spatial_reml`](crate::spatial_reml()).

use crate::cell::FieldCell;
use crate::mixed_model::Grouping;
use crate::plot::Layout;
use crate::spatial_reml::FieldFit;
use checkstrip_model::results::Comparison;
use nalgebra::DMatrix;

/// Pieces of passes that a regression needs at least.
const FEWEST_CELLS: usize = 30;
/// Shares must differ this much between pieces, as a standard deviation, to say anything.
const LEAST_SPREAD: f64 = 0.1;
/// An effect of strips is fitted when twice the gain of the log-likelihood exceeds this. Fitted always,
/// it makes intervals too wide where strips have none; never, too narrow where they have one: see
/// `docs/calibration.md`.
const LEAST_STRIP_GAIN: f64 = 1.0;

/// Every treatment against the check from one regression of the cells of passes on the treatments'
/// shares of their ground.
///
/// A cell's `line` is its pass. Empty when there are too few cells, the shares hardly differ or fewer
/// than two blocks hold a treatment and the check.
/// `dilution` is 1: the effect is that on wholly treated ground.
pub fn swath_mixture(layout: &Layout, cells: &[FieldCell], bushel_kg: f64) -> Vec<Comparison> {
    let used: Vec<&FieldCell> = cells.iter().collect();
    let spread = |treatment: usize| {
        let count = used.len() as f64;
        let mean = used.iter().map(|cell| cell.shares[treatment]).sum::<f64>() / count;
        let squares: f64 = used
            .iter()
            .map(|cell| (cell.shares[treatment] - mean).powi(2))
            .sum();
        (squares / count).sqrt()
    };
    let treated: Vec<usize> = layout
        .treated()
        .filter(|&t| layout.contrast(t).differences.len() > 1 && spread(t) > LEAST_SPREAD)
        .collect();
    if used.len() < FEWEST_CELLS || treated.is_empty() {
        return Vec::new();
    }
    let (middle, half) = frame(&used);
    let scaled = |cell: &FieldCell, axis: usize| (cell.place_m[axis] - middle[axis]) / half[axis];
    let trend = |cell: &FieldCell| {
        let (along, across) = (scaled(cell, 0), scaled(cell, 1));
        [1.0, along, across, along * along, across * across]
    };
    const TREND: usize = 5;
    let fixed = DMatrix::from_fn(used.len(), TREND + treated.len(), |row, column| {
        let cell = used[row];
        if column < TREND {
            trend(cell)[column]
        } else {
            cell.shares[treated[column - TREND]]
        }
    });
    let Some(field) = FieldFit::new(&used, fixed) else {
        return Vec::new();
    };
    let strips = Grouping::of_shares(used.iter().map(|cell| cell.strip_shares.as_slice()));
    let mut found = field.with_grouping(strips, LEAST_STRIP_GAIN).comparisons(
        layout,
        &treated,
        "swath_mixture",
        bushel_kg,
    );
    for comparison in &mut found {
        comparison.dilution = 1.0;
    }
    found
}

/// Middle and half extent of the cells, along and across, m.
fn frame(cells: &[&FieldCell]) -> ([f64; 2], [f64; 2]) {
    let mut low = [f64::INFINITY; 2];
    let mut high = [f64::NEG_INFINITY; 2];
    for cell in cells {
        for axis in 0..2 {
            low[axis] = low[axis].min(cell.place_m[axis]);
            high[axis] = high[axis].max(cell.place_m[axis]);
        }
    }
    let middle = [0, 1].map(|axis| (low[axis] + high[axis]) / 2.0);
    let half = [0, 1].map(|axis| ((high[axis] - low[axis]) / 2.0).max(1.0));
    (middle, half)
}
