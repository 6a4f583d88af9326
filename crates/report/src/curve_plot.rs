//! The chart of yield on rate: the rates tried as dots, the curve through them, the best rate as an
//! upright line. Places are worked out here in the units of the drawing; the template turns them into
//! SVG.

use crate::figures::{Figures, number};
use crate::rate_response::rate_text;
use crate::row_plot::{place_to_tenths, round_step};
use checkstrip_model::results::RateResponse;
use serde::Serialize;

const WIDTH: f64 = 560.0;
const HEIGHT: f64 = 330.0;
const LEFT: f64 = 74.0;
const RIGHT: f64 = 24.0;
const TOP: f64 = 14.0;
const BOTTOM: f64 = 56.0;

#[derive(Debug, Serialize)]
pub(crate) struct Tick {
    pub(crate) at: f64,
    pub(crate) label: String,
}

#[derive(Debug, Serialize)]
struct Dot {
    x: f64,
    y: f64,
    says: String,
}

#[derive(Debug, Serialize)]
struct Band {
    at: f64,
    from: f64,
    to: f64,
    says: String,
}

/// The chart, ready for the template.
#[derive(Debug, Serialize)]
pub(crate) struct CurvePlot {
    width: f64,
    height: f64,
    left: f64,
    right: f64,
    top: f64,
    bottom: f64,
    x_label: String,
    y_label: String,
    x_ticks: Vec<Tick>,
    y_ticks: Vec<Tick>,
    /// The points of the curve as SVG writes them.
    curve: String,
    dots: Vec<Dot>,
    /// The best rate with its interval.
    best: Option<Band>,
}

/// Round values between `low` and `high`, about `wanted` of them, with the decimals they need.
pub(crate) fn round_values(low: f64, high: f64, wanted: f64) -> (Vec<f64>, usize) {
    let (step, decimals) = round_step((high - low) / wanted);
    let values = ((low / step).ceil() as i64)..=((high / step).floor() as i64);
    (values.map(|k| k as f64 * step).collect(), decimals)
}

impl CurvePlot {
    /// The chart of these curves; `None` when there is nothing finite to show.
    pub(crate) fn new(response: &RateResponse, figures: Figures) -> Option<CurvePlot> {
        let rates = response.rates.iter().map(|rate| rate.rate);
        let (x_low, x_high) = ends(rates)?;
        let yields = response
            .rates
            .iter()
            .map(|rate| rate.yield_kg_ha)
            .chain(response.course.iter().map(|point| point[1]))
            .map(|kg_ha| figures.shown_yield(kg_ha));
        let (y_low, y_high) = ends(yields)?;
        if x_high <= x_low {
            return None;
        }
        let margin = |low: f64, high: f64| if high > low { (high - low) * 0.08 } else { 1.0 };
        let (x_margin, y_margin) = (margin(x_low, x_high), margin(y_low, y_high));
        let (x_from, x_to) = (x_low - x_margin, x_high + x_margin);
        let (y_from, y_to) = (y_low - y_margin, y_high + y_margin);
        let (right, bottom) = (WIDTH - RIGHT, HEIGHT - BOTTOM);
        let x =
            |rate: f64| place_to_tenths(LEFT + (rate - x_from) / (x_to - x_from) * (right - LEFT));
        let y = |shown: f64| {
            place_to_tenths(bottom - (shown - y_from) / (y_to - y_from) * (bottom - TOP))
        };
        let (x_values, x_decimals) = round_values(x_from.max(0.0), x_to, 6.0);
        let (y_values, y_decimals) = round_values(y_from, y_to, 5.0);
        let curve: Vec<String> = response
            .course
            .iter()
            .map(|point| format!("{},{}", x(point[0]), y(figures.shown_yield(point[1]))))
            .collect();
        let best = response
            .curves
            .first()
            .and_then(|curve| curve.best_rate.as_ref());
        let unit = figures.yield_unit();
        Some(CurvePlot {
            width: WIDTH,
            height: HEIGHT,
            left: LEFT,
            right,
            top: TOP,
            bottom,
            x_label: if response.rate_unit.is_empty() {
                "rate".to_owned()
            } else {
                format!("rate, {}", response.rate_unit)
            },
            y_label: format!("yield, {unit}"),
            x_ticks: x_values
                .iter()
                .map(|&rate| Tick {
                    at: x(rate),
                    label: number(rate, x_decimals),
                })
                .collect(),
            y_ticks: y_values
                .iter()
                .map(|&shown| Tick {
                    at: y(shown),
                    label: number(shown, y_decimals),
                })
                .collect(),
            curve: curve.join(" "),
            dots: response
                .rates
                .iter()
                .filter(|rate| rate.yield_kg_ha.is_finite())
                .map(|rate| Dot {
                    x: x(rate.rate),
                    y: y(figures.shown_yield(rate.yield_kg_ha)),
                    says: format!(
                        "{}: {} {unit}",
                        rate_text(response, rate.rate),
                        figures.yields(rate.yield_kg_ha)
                    ),
                })
                .collect(),
            best: best.map(|best| Band {
                at: x(best.rate),
                from: x(best.interval_95[0]),
                to: x(best.interval_95[1]),
                says: format!("best rate: {}", rate_text(response, best.rate)),
            }),
        })
    }
}

/// The least and greatest of finite values.
pub(crate) fn ends(values: impl Iterator<Item = f64>) -> Option<(f64, f64)> {
    values
        .filter(|value| value.is_finite())
        .fold(None, |ends, value| match ends {
            None => Some((value, value)),
            Some((low, high)) => Some((f64::min(low, value), f64::max(high, value))),
        })
}
