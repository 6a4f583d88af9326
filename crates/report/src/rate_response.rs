//! The section on rates: which rate paid best, in words, the curve as a chart, and every curve that
//! was tried.

use crate::curve_plot::CurvePlot;
use crate::figures::{Figures, UNKNOWN};
use crate::tables::{Table, figures_under, words_under};
use checkstrip_model::results::{BestRate, RateCurve, RateResponse};
use checkstrip_words::{say, why_curve};
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
    let tried: Vec<(&str, Option<f64>)> = response
        .curves
        .iter()
        .map(|curve| (curve.curve.as_str(), curve.aicc))
        .collect();
    RateSection {
        words: rate_words(response, figures),
        why: why_curve(figures.words, &tried, response.rates.len()),
        chart: CurvePlot::new(response, figures),
        curves: curves(response, figures),
    }
}

/// A rate with its unit, to about a hundredth of the span tried.
pub(crate) fn rate_text(response: &RateResponse, rate: f64, figures: Figures) -> String {
    let text = bare_rate(response, rate, figures);
    if response.rate_unit.is_empty() {
        text
    } else {
        format!("{text} {}", response.rate_unit)
    }
}

fn bare_rate(response: &RateResponse, rate: f64, figures: Figures) -> String {
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
    figures.number(round, decimals)
}

/// Which rate paid best, for the answer and the section.
pub(crate) fn rate_words(response: &RateResponse, figures: Figures) -> String {
    let Some(first) = response.curves.first() else {
        return String::new();
    };
    let words = figures.words;
    let mut said = vec![match (
        &first.best_rate,
        response.price_per_bu,
        response.cost_per_unit,
    ) {
        (Some(best), Some(price), Some(cost)) => best_words(response, best, price, cost, figures),
        _ if first.curve == "flat" => say!(words, "rates-none-clear"),
        _ => say!(words, "rates-no-money"),
    }];
    if let (Some(join), Some([low, high])) = (first.join_rate, first.join_interval_95) {
        said.push(say!(
            words,
            "rates-join",
            rate = rate_text(response, join, figures),
            low = bare_rate(response, low, figures),
            high = rate_text(response, high, figures)
        ));
    }
    said.push(say!(
        words,
        "rates-basis",
        curve = words.curve_name(&first.curve),
        strips = response.plots,
        blocks = response.blocks
    ));
    said.join(" ")
}

fn best_words(
    response: &RateResponse,
    best: &BestRate,
    price_per_bu: f64,
    cost_per_unit: f64,
    figures: Figures,
) -> String {
    let words = figures.words;
    let rate = |rate: f64| rate_text(response, rate, figures);
    let lowest = response.rates.first().map_or(0.0, |lowest| lowest.rate);
    let [low, high] = best.interval_95;
    let interval = say!(
        words,
        "answer-interval",
        low = bare_rate(response, low, figures),
        high = rate(high)
    );
    let unit = if response.rate_unit.is_empty() {
        say!(words, "rates-unit")
    } else {
        response.rate_unit.clone()
    };
    // The price of a seed is less than a cent.
    let cost = if cost_per_unit > 0.0 && cost_per_unit < 0.1 {
        figures.money_to(cost_per_unit, 5)
    } else {
        figures.money(cost_per_unit)
    };
    let price = figures.price(price_per_bu);
    let more = figures.money_an_area(best.net_over_lowest_per_ac);
    match best.at_end.as_deref() {
        Some(end) if end != "highest" => say!(
            words,
            if lowest > 0.0 {
                "rates-best-lowest-open"
            } else {
                "rates-best-lowest"
            },
            price = price,
            cost = cost,
            unit = unit,
            rate = rate(best.rate),
            interval = interval
        ),
        end => say!(
            words,
            if end.is_some() {
                "rates-best-highest"
            } else {
                "rates-best"
            },
            price = price,
            cost = cost,
            unit = unit,
            rate = rate(best.rate),
            interval = interval,
            more = more,
            lowest = rate(lowest)
        ),
    }
}

fn curves(response: &RateResponse, figures: Figures) -> Table {
    let words = figures.words;
    let bare = |rate: f64| bare_rate(response, rate, figures);
    let lowest = response.curves.first().and_then(|curve| curve.aicc);
    let row = |curve: &RateCurve| {
        let interval = |[low, high]: [f64; 2]| figures.range(&bare(low), &bare(high));
        let or_unknown = |text: Option<String>| text.unwrap_or_else(|| UNKNOWN.to_owned());
        let best = curve.best_rate.as_ref();
        vec![
            words.curve_name(&curve.curve),
            or_unknown(
                curve
                    .aicc
                    .zip(lowest)
                    .map(|(aicc, lowest)| figures.number(aicc - lowest, 1)),
            ),
            figures.yields((curve.residual_squares / curve.df).sqrt()),
            or_unknown(curve.join_rate.map(bare)),
            or_unknown(best.map(|best| bare(best.rate))),
            or_unknown(best.map(|best| interval(best.interval_95))),
            or_unknown(best.map(|best| figures.money_per_area(best.net_over_lowest_per_ac))),
        ]
    };
    let unit = &response.rate_unit;
    let (plateau, best) = if unit.is_empty() {
        (
            say!(words, "rates-column-plateau"),
            say!(words, "rates-column-best"),
        )
    } else {
        (
            say!(words, "rates-column-plateau-unit", unit = unit),
            say!(words, "rates-column-best-unit", unit = unit),
        )
    };
    Table::new(
        say!(words, "rates-table"),
        vec![
            words_under(say!(words, "rates-column-curve")),
            figures_under(say!(words, "rates-column-aicc")),
            figures_under(say!(
                words,
                "rates-column-scatter",
                unit = figures.yield_unit()
            )),
            figures_under(plateau),
            figures_under(best),
            figures_under(say!(words, "column-interval")),
            figures_under(say!(words, "rates-column-more", unit = figures.area_unit())),
        ],
        response.curves.iter().map(row).collect(),
    )
}
