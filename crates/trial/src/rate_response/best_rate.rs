//! The rate that pays best: where the last unit of rate brings just what it costs, never outside the
//! rates tried.
//!
//! The interval is a profile one: all curves of the kind whose squares exceed the best fit's by no
//! more than t² × the noise's variance are believable, and the interval spans their best rates. For
//! the plain quadratic, where the best rate is a ratio of coefficients, that is Fieller's interval
//! (Fieller, E. C., 1954, *Some problems in interval estimation*, Journal of the Royal Statistical
//! Society B 16, 175–185), cut off at the rates tried.

use super::curve::{Curve, Kind};
use super::plateau::with_join;
use super::within_blocks::WithinBlocks;
use crate::student;

/// Curves tried around the edge of the believable ones.
const TRIED: usize = 3600;

/// Squares beyond the best fit's up to which a curve is believable at 95 %; 0 without degrees of
/// freedom.
fn slack(curve: &Curve) -> f64 {
    let t = student::quantile_975(curve.df);
    let slack = t * t * curve.residual_squares / curve.df;
    if slack.is_finite() { slack } else { 0.0 }
}

/// The share of the way from lowest to highest rate at which slope × share + bend × share², level
/// beyond the join, is furthest above `cost` × share.
fn best_share(slope: f64, bend: f64, join: f64, cost: f64) -> f64 {
    if bend < 0.0 {
        return ((cost - slope) / (2.0 * bend)).clamp(0.0, join);
    }
    // A line, or a curve that bends upward, is best at one of its ends.
    if slope * join + bend * join * join > cost * join {
        join
    } else {
        0.0
    }
}

/// The best share under `curve` when the whole way costs `cost` (kg/ha of grain, 0 or more), with the
/// ends of its 95 % interval; `None` for a flat line, which has no best rate.
pub(super) fn best_rate(
    within: &WithinBlocks,
    curve: &Curve,
    cost: f64,
) -> Option<(f64, [f64; 2])> {
    let best = best_share(curve.slope, curve.bend, curve.join, cost);
    let slack = slack(curve);
    let mut ends = [best, best];
    let mut believe = |share: f64| ends = [ends[0].min(share), ends[1].max(share)];
    match curve.kind {
        Kind::Flat => return None,
        Kind::Linear => {
            let half = (slack / within.one(|share| share).squares).sqrt();
            for slope in [curve.slope - half, curve.slope + half] {
                believe(best_share(slope, 0.0, 1.0, cost));
            }
        }
        Kind::Quadratic => {
            let fit = within.two()?;
            let first_half = (slack / fit.first_squares).sqrt();
            let second_half = (slack / fit.second_squares).sqrt();
            // At a fixed bend the best rate moves one way with the slope, so its extremes lie on
            // the edge of the ellipse of believable coefficients.
            for step in 0..TRIED {
                let angle = std::f64::consts::TAU * step as f64 / TRIED as f64;
                let bend = fit.second + second_half * angle.sin();
                let slope = fit.first + first_half * angle.cos() - fit.slant * bend;
                believe(best_share(slope, bend, 1.0, cost));
            }
        }
        Kind::QuadraticPlateau => {
            for (join, bends) in believable_joins(within, curve, slack) {
                for bend in bends {
                    believe(if bend < 0.0 {
                        best_share(-2.0 * join * bend, bend, join, cost)
                    } else {
                        0.0
                    });
                }
            }
        }
    }
    Some((best, ends))
}

/// The 95 % profile interval of the share at which the plateau begins.
pub(super) fn join_interval(within: &WithinBlocks, curve: &Curve) -> Option<[f64; 2]> {
    if curve.kind != Kind::QuadraticPlateau {
        return None;
    }
    let mut ends = [curve.join, curve.join];
    for (join, _) in believable_joins(within, curve, slack(curve)) {
        ends = [ends[0].min(join), ends[1].max(join)];
    }
    // Any join short of the second rate fits as well as the first one tried.
    if ends[0] <= 1.5 / TRIED as f64 {
        ends[0] = 0.0;
    }
    Some(ends)
}

/// Joins at which some curve is believable, each with the least and the greatest bend there.
fn believable_joins(
    within: &WithinBlocks,
    curve: &Curve,
    slack: f64,
) -> impl Iterator<Item = (f64, [f64; 2])> {
    let most = curve.residual_squares + slack;
    (1..=TRIED)
        .map(|step| step as f64 / TRIED as f64)
        .chain([curve.join])
        .filter_map(move |join| {
            let fit = with_join(within, join);
            let spare = most - fit.residual_squares;
            let half = (spare / fit.squares).sqrt();
            half.is_finite()
                .then_some((join, [fit.coefficient - half, fit.coefficient + half]))
        })
}
