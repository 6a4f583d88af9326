//! The fit of a model with one random grouping and independent errors: a single ratio is searched, so
//! that its best value, nothing included, is found to the last digits instead of by the simplex that
//! several parameters need.

use super::fit::Fitted;
use super::likelihood::{Covariance, Evaluation, MixedModel};
use crate::golden_section::golden_section;

/// The share of the variance that groups may take at most: beyond it errors cannot be told from none.
const HIGHEST_SHARE: f64 = 0.9999;

/// Places at which the share is tried before the best of them is refined.
const TRIED: usize = 40;

/// Fits `model`, which has one grouping and no spatial errors, by restricted maximum likelihood over
/// the share ρ = ratio/(1 + ratio) of the grouping's variance from 0 to 0.9999; `None` when the fixed
/// effects are not of full rank.
pub(crate) fn fit_ratio(model: &MixedModel) -> Option<Fitted> {
    let covariance = |share: f64| Covariance {
        group_ratios: vec![share / (1.0 - share)],
        range: 1.0,
        nugget: 1.0,
    };
    let evaluate = |share: f64| -> Option<Evaluation> { model.evaluate(&covariance(share)) };
    let cost = |share: f64| evaluate(share).map_or(f64::MAX, |found| -found.log_likelihood);
    // The likelihood may have two tops when noise differs much: the search starts from the best of
    // places spread over the whole span.
    let place = |at: usize| HIGHEST_SHARE * at as f64 / TRIED as f64;
    let best = (0..=TRIED).min_by(|&a, &b| cost(place(a)).total_cmp(&cost(place(b))))?;
    let ends = [place(best.saturating_sub(1)), place((best + 1).min(TRIED))];
    let share = golden_section(ends[0], ends[1], cost);
    Some(Fitted {
        covariance: covariance(share),
        evaluation: evaluate(share)?,
    })
}
