//! Treatments compared through a model of the soil: pieces of strips carry their block's level,
//! their treatment, an effect of their strip and an error that is alike where pieces lie close
//! together, fitted by restricted maximum likelihood. Strips that lie side by side on one good spot
//! are thereby not taken for a treatment effect, and the strip effect keeps the strip the unit.
//!
//! Gilmour, A. R., Cullis, B. R. and Verbyla, A. P. (1997), *Accounting for natural and extraneous
//! variation in the analysis of field experiments*, Journal of Agricultural, Biological, and
//! Environmental Statistics 2, 269–293.

use crate::cell::{FieldCell, relative_noise};
use crate::dunnett::allow_for_all;
use crate::mixed_model::{
    Bounds, Correlation, Fitted, Grouping, MixedModel, Spatial, degrees_of_freedom, fit,
};
use crate::paired_strips::{Parts, comparison};
use crate::plot::Layout;
use checkstrip_model::results::{Comparison, SoilModel};
use nalgebra::{DMatrix, DVector};
use rayon::prelude::*;

/// Pieces of strips that a comparison within blocks needs at least.
const FEWEST_CELLS: usize = 30;

/// Every treatment against the check from one fit of the cells of strips.
///
/// A cell's `line` is the place of its strip in the layout. Strips without a block take no part.
/// Empty when there are too few cells, or fewer than two blocks that hold a treatment and the check.
pub fn spatial_reml(layout: &Layout, cells: &[FieldCell], bushel_kg: f64) -> Vec<Comparison> {
    let blocks = layout.blocks();
    let block_of = |cell: &FieldCell| {
        let block = layout.plots[cell.line].block.as_deref()?;
        blocks.iter().position(|b| *b == block)
    };
    let used: Vec<&FieldCell> = cells
        .iter()
        .filter(|cell| block_of(cell).is_some())
        .collect();
    let treated: Vec<usize> = layout
        .treated()
        .filter(|&t| layout.contrast(t).differences.len() > 1)
        .collect();
    if used.len() < FEWEST_CELLS || blocks.len() < 2 || treated.is_empty() {
        return Vec::new();
    }
    let columns = blocks.len() + treated.len();
    let mut fixed = DMatrix::zeros(used.len(), columns);
    for (row, cell) in used.iter().enumerate() {
        if let Some(block) = block_of(cell) {
            fixed[(row, block)] = 1.0;
        }
        let treatment = layout.plots[cell.line].treatment;
        if let Some(place) = treated.iter().position(|&t| t == treatment) {
            fixed[(row, blocks.len() + place)] = 1.0;
        }
    }
    let Some(field) = FieldFit::new(&used, fixed) else {
        return Vec::new();
    };
    field.comparisons(layout, &treated, "spatial_reml", bushel_kg)
}

/// Cells fitted with an effect of their line and errors alike by distance.
pub(crate) struct FieldFit {
    model: MixedModel,
    bounds: Bounds,
    fitted: Fitted,
}

impl FieldFit {
    /// Fits every correlation function and keeps the likeliest; `None` when none can be fitted.
    pub(crate) fn new(cells: &[&FieldCell], fixed: DMatrix<f64>) -> Option<FieldFit> {
        let places: Vec<[f64; 2]> = cells.iter().map(|cell| cell.place_m).collect();
        let (shortest, longest) = spread(&places)?;
        let level = cells.iter().map(|cell| cell.yield_kg_ha).sum::<f64>() / cells.len() as f64;
        let yields = cells.iter().map(|cell| cell.yield_kg_ha - level);
        let response = DVector::from_iterator(cells.len(), yields);
        let bounds = Bounds {
            // Shorter than half the way to the nearest cell, or longer than the field, cannot be
            // seen.
            range: [0.5 * shortest, longest],
            nugget: [0.0, 1.0],
            group_ratio: 100.0,
        };
        let fits = Correlation::ALL.into_par_iter().filter_map(|correlation| {
            let line = cells.iter().map(|cell| cell.line).collect();
            let model = MixedModel {
                response: response.clone(),
                fixed: fixed.clone(),
                groupings: vec![Grouping::Whole(line)],
                spatial: Some(Spatial::new(&places, correlation)),
                noise: relative_noise(cells),
            };
            let fitted = fit_from_within(&model, &bounds)?;
            Some(FieldFit {
                model,
                bounds,
                fitted,
            })
        });
        let fits: Vec<FieldFit> = fits.collect();
        fits.into_iter().max_by(|a, b| {
            let likelihood = |fit: &FieldFit| fit.fitted.evaluation.log_likelihood;
            likelihood(a).total_cmp(&likelihood(b))
        })
    }

    /// The same fit with an effect of `grouping` besides, where the data speak for one: when twice the
    /// gain of the log-likelihood exceeds `least_gain`.
    pub(crate) fn with_grouping(mut self, grouping: Grouping, least_gain: f64) -> FieldFit {
        self.model.groupings.push(grouping);
        let before = self.fitted.evaluation.log_likelihood;
        match fit_from_within(&self.model, &self.bounds) {
            Some(found) if 2.0 * (found.evaluation.log_likelihood - before) > least_gain => {
                self.fitted = found;
            }
            _ => {
                self.model.groupings.pop();
            }
        }
        self
    }

    /// The comparisons of the `treated` with the check, whose effects are the last of the fixed ones in
    /// the same order, with the soil as fitted.
    pub(crate) fn comparisons(
        &self,
        layout: &Layout,
        treated: &[usize],
        method: &'static str,
        bushel_kg: f64,
    ) -> Vec<Comparison> {
        let evaluation = &self.fitted.evaluation;
        let first = evaluation.effects.len() - treated.len();
        let mut found: Vec<Comparison> = treated
            .iter()
            .zip(first..)
            .map(|(&treatment, effect)| {
                let contrast = layout.contrast(treatment);
                let mut comparison = comparison(Parts {
                    layout,
                    treatment,
                    method,
                    bushel_kg,
                    advantage: evaluation.effects[effect],
                    std_error: evaluation.std_error(effect),
                    df: degrees_of_freedom(&self.model, &self.fitted, effect),
                    dilution: contrast.dilution,
                    differences: contrast.differences,
                });
                comparison.soil = Some(self.soil());
                comparison
            })
            .collect();
        let size = (treated.len(), treated.len());
        let covariance = evaluation.unscaled.view((first, first), size).into_owned();
        // One number stands for all: that of the effect whose error is known least.
        let df = found.iter().map(|c| c.df).fold(f64::INFINITY, f64::min);
        allow_for_all(&mut found, &covariance, df, bushel_kg);
        found
    }

    fn soil(&self) -> SoilModel {
        let covariance = &self.fitted.covariance;
        let sd = self.fitted.evaluation.variance.sqrt();
        let of_grouping = |place: usize| {
            let ratio = covariance.group_ratios.get(place)?;
            Some(sd * ratio.sqrt())
        };
        SoilModel {
            correlation: self.model.correlation_key().to_owned(),
            range_m: covariance.range,
            nugget: covariance.nugget,
            residual_sd_kg_ha: sd,
            line_sd_kg_ha: of_grouping(0).unwrap_or(0.0),
            strip_sd_kg_ha: of_grouping(1),
            cells: self.model.len(),
            log_likelihood: self.fitted.evaluation.log_likelihood,
        }
    }
}

/// Fits from one start, a third of the way between the bounds: ratios, range and nugget.
fn fit_from_within(model: &MixedModel, bounds: &Bounds) -> Option<Fitted> {
    fit(model, bounds, &[&vec![0.3; model.groupings.len() + 2]])
}

/// Shortest distance between two cells and the longest extent of them all, m.
fn spread(places: &[[f64; 2]]) -> Option<(f64, f64)> {
    let mut shortest = f64::INFINITY;
    let mut longest: f64 = 0.0;
    for (i, a) in places.iter().enumerate() {
        for b in &places[..i] {
            let distance = (a[0] - b[0]).hypot(a[1] - b[1]);
            longest = longest.max(distance);
            if distance > 0.0 {
                shortest = shortest.min(distance);
            }
        }
    }
    (shortest.is_finite() && longest > shortest).then_some((shortest, longest))
}
