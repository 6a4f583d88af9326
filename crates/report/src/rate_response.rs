//! The section on rates: which rate paid best, in words, the curve as a chart, and every curve that
//! was tried.

use crate::curve_plot::CurvePlot;
use crate::figures::{Figures, UNKNOWN, money, number};
use crate::tables::Table;
use checkstrip_model::results::{BestRate, RateCurve, RateResponse};
use serde::Serialize;

/// The section, ready for the template.
#[derive(Debug, Serialize)]
pub(crate) struct RateSection {
    words: String,
    why: String,
    chart: Option<CurvePlot>,
    curves: Table,
}

/// The section for these curves.
pub(crate) fn rate_section(response: &RateResponse, figures: Figures) -> RateSection {
    RateSection {
        words: rate_words(response, figures),
        why: response.why.clone(),
        chart: CurvePlot::new(response, figures),
        curves: curves(response, figures),
    }
}

/// A curve's name.
fn curve_words(curve: &str) -> &str {
    match curve {
        "flat" => "flat line",
        "linear" => "straight line",
        "quadratic" => "quadratic curve",
        "quadratic_plateau" => "quadratic curve with a plateau",
        other => other,
    }
}

/// A rate with its unit, to about a hundredth of the span tried.
pub(crate) fn rate_text(response: &RateResponse, rate: f64) -> String {
    let text = bare_rate(response, rate);
    if response.rate_unit.is_empty() {
        text
    } else {
        format!("{text} {}", response.rate_unit)
    }
}

fn bare_rate(response: &RateResponse, rate: f64) -> String {
    let ends = [response.rates.first(), response.rates.last()];
    let [low, high] = ends.map(|end| end.map_or(0.0, |end| end.rate));
    let step = ((high - low) / 100.0).max(1e-6);
    let power = step.log10().round();
    let decimals = (-power).clamp(0.0, 6.0) as usize;
    // Spans of many thousands are not told to the unit.
    let coarse = 10f64.powf(power.max(0.0));
    let round = if decimals == 0 {
        (rate / coarse).round() * coarse
    } else {
        rate
    };
    number(round, decimals)
}

/// Which rate paid best, for the answer and the section.
pub(crate) fn rate_words(response: &RateResponse, figures: Figures) -> String {
    let Some(first) = response.curves.first() else {
        return String::new();
    };
    let name = curve_words(&first.curve);
    let rate = |rate: f64| rate_text(response, rate);
    let mut text = match (
        &first.best_rate,
        response.price_per_bu,
        response.cost_per_unit,
    ) {
        (Some(best), Some(price), Some(cost)) => {
            let unit = if response.rate_unit.is_empty() {
                "unit of rate"
            } else {
                &response.rate_unit
            };
            // The price of a seed is less than a cent.
            let cost = if cost > 0.0 && cost < 0.1 {
                format!("${}", number(cost, 5))
            } else {
                money(cost)
            };
            format!(
                "At {} and {cost} a {unit}, {}",
                figures.price(price),
                best_words(response, best, figures)
            )
        }
        _ if first.curve == "flat" => {
            "Yield did not follow the rate clearly enough to call any rate the best.".to_owned()
        }
        _ => "Which rate paid best is not said: that takes price_per_bu and cost_per_unit under \
              [payoff]."
            .to_owned(),
    };
    if let (Some(join), Some([low, high])) = (first.join_rate, first.join_interval_95) {
        text.push_str(&format!(
            " Yield levels off from {} on (95 % interval {} to {}).",
            rate(join),
            bare_rate(response, low),
            rate(high)
        ));
    }
    text.push_str(&format!(
        " This rests on a {name} through {} strips in {} blocks.",
        response.plots, response.blocks
    ));
    text
}

fn best_words(response: &RateResponse, best: &BestRate, figures: Figures) -> String {
    let rate = |rate: f64| rate_text(response, rate);
    let area = figures.area_word();
    let article = if area.starts_with('a') { "an" } else { "a" };
    let lowest = response.rates.first().map_or(0.0, |lowest| lowest.rate);
    let [low, high] = best.interval_95;
    let interval = format!(
        "95 % interval {} to {}",
        bare_rate(response, low),
        rate(high)
    );
    match best.at_end.as_deref() {
        Some("highest") => format!(
            "the highest rate tried, {}, paid best of those tried ({interval}), {} {article} {area} \
             more than {}. Whether a higher rate pays more these strips cannot say.",
            rate(best.rate),
            figures.money_per_area(best.net_over_lowest_per_ac),
            rate(lowest)
        ),
        Some(_) => format!(
            "the lowest rate tried, {}, paid best of those tried ({interval}).{}",
            rate(best.rate),
            if lowest > 0.0 {
                " Whether a lower rate pays more these strips cannot say."
            } else {
                ""
            }
        ),
        None => format!(
            "the rate that paid best was {} ({interval}); it left {} {article} {area} more than {}.",
            rate(best.rate),
            figures.money_per_area(best.net_over_lowest_per_ac),
            rate(lowest)
        ),
    }
}

fn curves(response: &RateResponse, figures: Figures) -> Table {
    let lowest = response.curves.first().and_then(|curve| curve.aicc);
    let row = |curve: &RateCurve| {
        let interval = |[low, high]: [f64; 2]| {
            format!(
                "{} to {}",
                bare_rate(response, low),
                bare_rate(response, high)
            )
        };
        let or_unknown = |text: Option<String>| text.unwrap_or_else(|| UNKNOWN.to_owned());
        let best = curve.best_rate.as_ref();
        vec![
            curve_words(&curve.curve).to_owned(),
            or_unknown(
                curve
                    .aicc
                    .zip(lowest)
                    .map(|(aicc, lowest)| number(aicc - lowest, 1)),
            ),
            figures.yields((curve.residual_squares / curve.df).sqrt()),
            or_unknown(curve.join_rate.map(|join| bare_rate(response, join))),
            or_unknown(best.map(|best| bare_rate(response, best.rate))),
            or_unknown(best.map(|best| interval(best.interval_95))),
            or_unknown(best.map(|best| figures.money_per_area(best.net_over_lowest_per_ac))),
        ]
    };
    let unit = if response.rate_unit.is_empty() {
        String::new()
    } else {
        format!(", {}", response.rate_unit)
    };
    Table::new(
        "Every curve that could be fitted, the one used first",
        &[
            "Curve",
            "#AICc above the lowest",
            &format!("#Scatter about it, {}", figures.yield_unit()),
            &format!("#Plateau from{unit}"),
            &format!("#Best rate{unit}"),
            "#95 % interval",
            &format!("#More per {} than the lowest rate", figures.area_unit()),
        ],
        response.curves.iter().map(row).collect(),
    )
}
