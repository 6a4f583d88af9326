//! Yield on rate, where the treatments are rates of one thing: curves fitted within blocks, the one
//! that fits best for what it costs in parameters, and the rate that pays best. How it is done and
//! what it rests on is in `docs/rate-response.md`.

mod best_rate;
mod choice;
mod curve;
mod plateau;
mod rates;
#[cfg(test)]
mod reference;
mod within_blocks;

pub use rates::{Rates, number_and_unit};

use crate::plot::Layout;
use best_rate::{best_rate, join_interval};
use checkstrip_model::results::{BestRate, RateCurve, RateResponse, RateYield};
use checkstrip_model::units::{bu_per_acre, kg_per_ha};
use choice::{ranked, why};
use curve::{Curve, Kind};
use plateau::quadratic_plateau;
use within_blocks::{Observation, WithinBlocks};

/// Fewer blocks than this cannot tell a rate from a better piece of ground.
const FEWEST_BLOCKS: usize = 2;
/// Points of the curve's course between the lowest rate and the highest.
const COURSE: usize = 60;

/// What the crop brings and one unit of rate costs.
#[derive(Debug, Clone, Copy)]
pub(crate) struct RateMoney {
    pub price_per_bu: f64,
    pub cost_per_unit: f64,
}

/// The rates tried, as shares of the way from the lowest to the highest.
struct Span {
    lowest: f64,
    width: f64,
}

/// Fits the curves to the layout's strips, whose treatments are `rates`. `None` when fewer than two
/// blocks hold more than one rate, fewer than three different rates were harvested in them, or too
/// few strips are left for the smallest curve.
pub(crate) fn rate_response(
    layout: &Layout,
    rates: &Rates,
    bushel_kg: f64,
    money: Option<RateMoney>,
) -> Option<RateResponse> {
    let strips = strips(layout);
    let blocks = strips.last()?.block + 1;
    let mut different: Vec<f64> = strips.iter().map(|s| rates.values[s.treatment]).collect();
    different.sort_by(f64::total_cmp);
    different.dedup();
    if blocks < FEWEST_BLOCKS || different.len() < 3 {
        return None;
    }
    let lowest = different[0];
    let span = Span {
        lowest,
        width: different[different.len() - 1] - lowest,
    };
    let share = |rate: f64| (rate - span.lowest) / span.width;
    let observations: Vec<Observation> = strips
        .iter()
        .map(|strip| Observation {
            block: strip.block,
            share: share(rates.values[strip.treatment]),
            yield_kg_ha: strip.yield_kg_ha,
        })
        .collect();
    let within = WithinBlocks::new(&observations, blocks);
    let shares: Vec<f64> = different.iter().map(|&rate| share(rate)).collect();
    let ranked = ranked(curves(&within, &shares), strips.len(), blocks);
    let (chosen, Some(_)) = *ranked.first()? else {
        return None;
    };

    let level = level(&within, &chosen);
    let course = (0..=COURSE)
        .map(|place| place as f64 / COURSE as f64)
        .map(|share| [span.rate(share), level + chosen.gain(share)])
        .collect();
    Some(RateResponse {
        rate_unit: rates.unit.clone(),
        rates: rate_yields(layout, rates, &strips, &within, &chosen, level),
        blocks,
        plots: strips.len(),
        curves: ranked
            .iter()
            .map(|&(curve, aicc)| RateCurve {
                aicc,
                ..described(&within, &curve, &span, bushel_kg, money)
            })
            .collect(),
        why: why(&ranked, different.len()),
        course,
        price_per_bu: money.map(|money| money.price_per_bu),
        cost_per_unit: money.map(|money| money.cost_per_unit),
    })
}

impl Span {
    fn rate(&self, share: f64) -> f64 {
        self.lowest + share * self.width
    }
}

/// All strips of one treatment in one block.
struct Strip {
    block: usize,
    treatment: usize,
    yield_kg_ha: f64,
}

/// The harvested strips of blocks that hold at least two treatments, block after block from 0.
fn strips(layout: &Layout) -> Vec<Strip> {
    let mut strips = Vec::new();
    let mut number = 0;
    for block in layout.blocks() {
        let harvested: Vec<Strip> = (0..layout.treatments.len())
            .filter_map(|treatment| {
                Some(Strip {
                    block: number,
                    treatment,
                    yield_kg_ha: layout.cell(block, treatment, treatment)?.yield_kg_ha,
                })
            })
            .collect();
        if harvested.len() > 1 {
            number += 1;
            strips.extend(harvested);
        }
    }
    strips
}

/// Every curve that the strips allow.
fn curves(within: &WithinBlocks, shares: &[f64]) -> Vec<Curve> {
    let curve = |kind: Kind, slope: f64, bend: f64, residual_squares: f64| Curve {
        kind,
        slope,
        bend,
        join: 1.0,
        residual_squares,
        df: within.df(kind.columns()),
    };
    let line = within.one(|share| share);
    let mut found = vec![
        curve(Kind::Flat, 0.0, 0.0, within.squares()),
        curve(Kind::Linear, line.coefficient, 0.0, line.residual_squares),
    ];
    found.extend(within.two().map(|fit| {
        let slope = fit.first - fit.slant * fit.second;
        curve(Kind::Quadratic, slope, fit.second, fit.residual_squares)
    }));
    found.extend(quadratic_plateau(within, shares));
    found.retain(|curve| curve.df > 0.0);
    found
}

/// Yield of the lowest rate at the mean of the blocks, kg/ha.
fn level(within: &WithinBlocks, curve: &Curve) -> f64 {
    let mut sums = vec![(0.0, 0.0); within.blocks];
    for o in within.observations {
        sums[o.block].0 += o.yield_kg_ha - curve.gain(o.share);
        sums[o.block].1 += 1.0;
    }
    sums.iter().map(|(sum, count)| sum / count).sum::<f64>() / within.blocks as f64
}

/// Each rate's yield at the mean of the blocks: the curve there and what its strips lie off it.
fn rate_yields(
    layout: &Layout,
    rates: &Rates,
    strips: &[Strip],
    within: &WithinBlocks,
    curve: &Curve,
    level: f64,
) -> Vec<RateYield> {
    let block_level: Vec<f64> = (0..within.blocks)
        .map(|block| {
            let (mut sum, mut count) = (0.0, 0.0);
            for o in within.observations.iter().filter(|o| o.block == block) {
                sum += o.yield_kg_ha - curve.gain(o.share);
                count += 1.0;
            }
            sum / count
        })
        .collect();
    let mut found: Vec<RateYield> = (0..layout.treatments.len())
        .filter_map(|treatment| {
            let above: Vec<f64> = strips
                .iter()
                .filter(|strip| strip.treatment == treatment)
                .map(|strip| strip.yield_kg_ha - block_level[strip.block])
                .collect();
            (!above.is_empty()).then(|| RateYield {
                treatment: layout.treatments[treatment].clone(),
                rate: rates.values[treatment],
                blocks: above.len(),
                yield_kg_ha: level + above.iter().sum::<f64>() / above.len() as f64,
            })
        })
        .collect();
    found.sort_by(|a, b| a.rate.total_cmp(&b.rate));
    found
}

/// A curve as the results file holds it, in the rates' own unit.
fn described(
    within: &WithinBlocks,
    curve: &Curve,
    span: &Span,
    bushel_kg: f64,
    money: Option<RateMoney>,
) -> RateCurve {
    let bend = curve.bend / span.width.powi(2);
    let best = money.and_then(|money| {
        let whole_way = kg_per_ha(
            money.cost_per_unit * span.width / money.price_per_bu,
            bushel_kg,
        );
        let (share, interval) = best_rate(within, curve, whole_way)?;
        let gain_bu_ac = bu_per_acre(curve.gain(share), bushel_kg);
        Some(BestRate {
            rate: span.rate(share),
            interval_95: interval.map(|share| span.rate(share)),
            at_end: match share {
                s if s <= 0.0 => Some("lowest".to_owned()),
                s if s >= 1.0 => Some("highest".to_owned()),
                _ => None,
            },
            // A zero without a sign where nothing is gained.
            net_over_lowest_per_ac: gain_bu_ac * money.price_per_bu
                - money.cost_per_unit * span.width * share
                + 0.0,
        })
    });
    let plateau = curve.kind == Kind::QuadraticPlateau;
    RateCurve {
        curve: curve.kind.key().to_owned(),
        slope_kg_ha: curve.slope / span.width - 2.0 * bend * span.lowest,
        bend_kg_ha: bend,
        join_rate: plateau.then(|| span.rate(curve.join)),
        join_interval_95: join_interval(within, curve)
            .map(|ends| ends.map(|share| span.rate(share))),
        residual_squares: curve.residual_squares,
        df: curve.df,
        aicc: None,
        best_rate: best,
    }
}
