//! The quadratic that levels off: with its top at the join it is bend × (u² − 2 × join × u), u the
//! rate or the join, whichever is less. Once the join is fixed one coefficient is left, so the fit is
//! a search over the join alone. Cerrato, M. E. and Blackmer, A. M. (1990), *Comparison of models for
//! describing corn yield response to nitrogen fertilizer*, Agronomy Journal 82, 138–143.

use super::curve::{Curve, Kind};
use super::within_blocks::{OneColumn, WithinBlocks};
use crate::golden_section::golden_section;

/// Fewer different rates than this are met exactly by the plain quadratic.
const FEWEST_RATES: usize = 4;
/// Joins tried between the second-lowest rate and the highest before the search closes in.
const TRIED: usize = 400;

/// The curve at a given join.
pub(super) fn with_join(within: &WithinBlocks, join: f64) -> OneColumn {
    within.one(|share| {
        let u = share.min(join);
        u * (u - 2.0 * join)
    })
}

/// The best quadratic with plateau, or `None` when the yields do not rise and level off within the
/// rates tried, or when there are fewer than four rates. `shares` are the different rates' shares,
/// rising.
///
/// Any join between the lowest two rates fits the same; the second-lowest rate then stands for all.
pub(super) fn quadratic_plateau(within: &WithinBlocks, shares: &[f64]) -> Option<Curve> {
    if shares.len() < FEWEST_RATES {
        return None;
    }
    let low = shares[1];
    let at = |place: usize| low + (1.0 - low) * place as f64 / TRIED as f64;
    let squares = |join: f64| with_join(within, join).residual_squares;
    let (best, _) = (0..=TRIED)
        .map(|place| (place, squares(at(place))))
        .min_by(|a, b| a.1.total_cmp(&b.1))?;
    // Beyond the last rate there is no plateau to be seen.
    if best == TRIED {
        return None;
    }
    let join = golden_section(at(best.saturating_sub(1)), at(best + 1), squares);
    let fit = with_join(within, join);
    if fit.coefficient.is_nan() || fit.coefficient >= 0.0 {
        return None;
    }
    Some(Curve {
        kind: Kind::QuadraticPlateau,
        slope: -2.0 * join * fit.coefficient,
        bend: fit.coefficient,
        join,
        residual_squares: fit.residual_squares,
        df: within.df(2),
    })
}
