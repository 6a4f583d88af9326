//! The chart of yield on rate: the rates tried as dots, the curve through them, the best rate as an
//! upright line. Places are worked out here in the units of the drawing; the template turns them into
//! SVG.

use crate::axes::{Axes, Axis, Dot, ends};
use crate::figures::Figures;
use crate::rate_response::rate_text;
use checkstrip_model::results::RateResponse;
use checkstrip_words::say;
use serde::Serialize;

/// Width and height of the drawing.
const SIZE: [f64; 2] = [560.0, 330.0];

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
    #[serde(flatten)]
    axes: Axes,
    /// The points of the curve as SVG writes them.
    curve: String,
    dots: Vec<Dot>,
    /// The best rate with its interval.
    best: Option<Band>,
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
        let (words, unit) = (figures.words, figures.yield_unit());
        let axes = Axes::new(
            SIZE,
            Axis {
                from: x_from,
                to: x_to,
                ticks_from: x_from.max(0.0),
                ticks: 6.0,
                label: if response.rate_unit.is_empty() {
                    say!(words, "rates-axis")
                } else {
                    say!(words, "rates-axis-unit", unit = &response.rate_unit)
                },
            },
            Axis {
                from: y_from,
                to: y_to,
                ticks_from: y_from,
                ticks: 5.0,
                label: say!(words, "plot-yields-axis", unit = unit),
            },
            words.marks(),
        );
        let x = |rate: f64| axes.x(rate);
        let y = |shown: f64| axes.y(shown);
        let curve: Vec<String> = response
            .course
            .iter()
            .map(|point| format!("{},{}", x(point[0]), y(figures.shown_yield(point[1]))))
            .collect();
        let best = response
            .curves
            .first()
            .and_then(|curve| curve.best_rate.as_ref());
        Some(CurvePlot {
            curve: curve.join(" "),
            dots: response
                .rates
                .iter()
                .filter(|rate| rate.yield_kg_ha.is_finite())
                .map(|rate| Dot {
                    x: x(rate.rate),
                    y: y(figures.shown_yield(rate.yield_kg_ha)),
                    says: say!(
                        words,
                        "rates-dot",
                        rate = rate_text(response, rate.rate, figures),
                        yield = figures.yields(rate.yield_kg_ha),
                        unit = unit
                    ),
                })
                .collect(),
            best: best.map(|best| Band {
                at: x(best.rate),
                from: x(best.interval_95[0]),
                to: x(best.interval_95[1]),
                says: say!(
                    words,
                    "rates-best-mark",
                    rate = rate_text(response, best.rate, figures)
                ),
            }),
            axes,
        })
    }
}
