//! Which curve is used, and why, in words. The lowest AICc wins; curves within two of it are about as
//! good (Burnham, K. P. and Anderson, D. R., 2002, *Model Selection and Multimodel Inference*,
//! Springer, section 2.6), and a reader is told so, because their best rates may differ.

use super::curve::Curve;
use checkstrip_words::{Words, why_curve};

/// Curves with their AICc, best first; those without AICc come last and keep their order.
pub(super) fn ranked(
    curves: Vec<Curve>,
    strips: usize,
    blocks: usize,
) -> Vec<(Curve, Option<f64>)> {
    let mut ranked: Vec<(Curve, Option<f64>)> = curves
        .into_iter()
        .map(|curve| {
            let aicc = curve.aicc(strips, blocks);
            (curve, aicc)
        })
        .collect();
    ranked.sort_by(|a, b| {
        let cost = |aicc: Option<f64>| aicc.unwrap_or(f64::INFINITY);
        cost(a.1).total_cmp(&cost(b.1))
    });
    ranked
}

/// Why the first of the ranked curves is used.
pub(super) fn why(ranked: &[(Curve, Option<f64>)], rates: usize) -> String {
    let tried: Vec<(&str, Option<f64>)> = ranked
        .iter()
        .map(|(curve, aicc)| (curve.kind.key(), *aicc))
        .collect();
    why_curve(Words::english(), &tried, rates)
}
