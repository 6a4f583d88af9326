//! Which curve is used, and why, in words. The lowest AICc wins; curves within two of it are about as
//! good (Burnham, K. P. and Anderson, D. R., 2002, *Model Selection and Multimodel Inference*,
//! Springer, section 2.6), and a reader is told so, because their best rates may differ.

use super::curve::Curve;

/// AICc further apart than this tells curves apart.
const ABOUT_AS_GOOD: f64 = 2.0;

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
    let Some((first, Some(lowest))) = ranked.first() else {
        return String::new();
    };
    let mut text = format!(
        "The {} has the lowest AICc of the curves tried",
        first.kind.words()
    );
    let above = |aicc: &Option<f64>| aicc.map(|aicc| aicc - lowest);
    let others: Vec<String> = ranked[1..]
        .iter()
        .filter_map(|(curve, aicc)| {
            Some(format!("{} {:.1} higher", curve.kind.words(), above(aicc)?))
        })
        .collect();
    if !others.is_empty() {
        text.push_str(&format!(" ({})", others.join(", ")));
    }
    text.push('.');
    let near: Vec<&str> = ranked[1..]
        .iter()
        .filter(|(_, aicc)| above(aicc).is_some_and(|above| above < ABOUT_AS_GOOD))
        .map(|(curve, _)| curve.kind.words())
        .collect();
    if !near.is_empty() {
        text.push_str(&format!(
            " Less than {ABOUT_AS_GOOD:.0} apart means about as good: the {} cannot be ruled out.",
            near.join(" and the ")
        ));
    }
    if first.kind.columns() == 0 {
        text.push_str(
            " These strips do not show that yield follows the rate, so no rate is called the best.",
        );
    }
    if rates < 4 {
        text.push_str(" A plateau can be told from a curve only with four or more rates.");
    }
    text
}
