//! The covariance parameters at which the restricted likelihood is highest. In real fields the
//! correlation range is often not identified: the likelihood is a flat ridge or rises without end.
//! The search therefore keeps every parameter between stated bounds, starts from several places and
//! takes the best; effects and standard errors on the ridge are all but the same.
//!
//! Each parameter is searched on a logistic scale between its bounds by the simplex method of Nelder,
//! J. A. and Mead, R. (1965), *A simplex method for function minimization*, The Computer Journal 7,
//! 308–313.

use super::likelihood::{Covariance, Evaluation, MixedModel};
use argmin::core::{CostFunction, Executor};
use argmin::solver::neldermead::NelderMead;

/// Between what the parameters are searched.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Bounds {
    /// Shortest and longest range, in the unit of the places.
    pub range: [f64; 2],
    /// Smallest and largest share of the nugget.
    pub nugget: [f64; 2],
    /// Largest variance of a grouping over σ²; the smallest is nothing.
    pub group_ratio: f64,
}

/// A fitted model.
#[derive(Debug, Clone)]
pub(crate) struct Fitted {
    pub covariance: Covariance,
    pub evaluation: Evaluation,
}

/// Ratios are searched on the logarithm down to this share of their bound; below it they are nothing.
const SMALLEST_RATIO: f64 = 1e-5;

impl Bounds {
    /// Parameters at `search`, one number each without limits: ratios, then range and nugget.
    fn covariance(&self, model: &MixedModel, search: &[f64]) -> Covariance {
        let within = |x: f64, low: f64, high: f64| low + (high - low) / (1.0 + (-x).exp());
        let groups = model.groupings.len();
        let group_ratios = search[..groups]
            .iter()
            .map(|&x| {
                let low = (SMALLEST_RATIO * self.group_ratio).ln();
                within(x, low, self.group_ratio.ln()).exp()
            })
            .collect();
        if model.spatial.is_none() {
            return Covariance {
                group_ratios,
                range: 1.0,
                nugget: 1.0,
            };
        }
        let [short, long] = self.range;
        let [least, most] = self.nugget;
        Covariance {
            group_ratios,
            range: within(search[groups], short.ln(), long.ln()).exp(),
            nugget: within(search[groups + 1], least, most),
        }
    }
}

struct Search<'a> {
    model: &'a MixedModel,
    bounds: &'a Bounds,
}

impl CostFunction for Search<'_> {
    type Param = Vec<f64>;
    type Output = f64;

    fn cost(&self, search: &Vec<f64>) -> Result<f64, argmin::core::Error> {
        let at = self.bounds.covariance(self.model, search);
        // A place where the covariance cannot be inverted is as bad as can be, not an error.
        Ok(self
            .model
            .evaluate(&at)
            .map_or(f64::MAX, |found| -found.log_likelihood))
    }
}

/// Evaluations a start may take.
const MOST_STEPS: u64 = 200;
/// The simplex is done when the likelihoods at its corners differ by less than this.
const TOLERANCE: f64 = 1e-5;

/// Fits `model` from each of `starts` (ratios, range and nugget as shares from 0 to 1 of the way
/// between their bounds) and returns the best; `None` when no start leads anywhere.
pub(crate) fn fit(model: &MixedModel, bounds: &Bounds, starts: &[&[f64]]) -> Option<Fitted> {
    let mut best: Option<(f64, Vec<f64>)> = None;
    for start in starts {
        let logit = |share: f64| (share / (1.0 - share)).ln();
        let origin: Vec<f64> = start.iter().map(|&share| logit(share)).collect();
        let mut simplex = vec![origin.clone()];
        for axis in 0..origin.len() {
            let mut corner = origin.clone();
            corner[axis] += if corner[axis] > 0.0 { -1.0 } else { 1.0 };
            simplex.push(corner);
        }
        let Ok(solver) = NelderMead::new(simplex).with_sd_tolerance(TOLERANCE) else {
            continue;
        };
        let search = Search { model, bounds };
        let run = Executor::new(search, solver)
            .configure(|state| state.max_iters(MOST_STEPS))
            .run();
        let Ok(run) = run else { continue };
        if let Some(found) = run.state.best_param
            && best
                .as_ref()
                .is_none_or(|(cost, _)| run.state.best_cost < *cost)
        {
            best = Some((run.state.best_cost, found));
        }
    }
    let covariance = bounds.covariance(model, &best?.1);
    let evaluation = model.evaluate(&covariance)?;
    Some(Fitted {
        covariance,
        evaluation,
    })
}
