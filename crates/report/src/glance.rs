//! The first page: the answer in one sentence per treatment, the gain, the odds and the money at a glance. The
//! answer in full follows it; this says no more than that carries.

use crate::answer::{capitalised, headline_comparisons, payoff_of};
use crate::figures::{Figures, UNKNOWN};
use crate::rate_response::rate_words;
use crate::tables::{Table, figures_under, words_under};
use checkstrip_model::results::{Comparison, Payoff, Results};
use checkstrip_words::say;
use serde::Serialize;

/// What the first page shows.
#[derive(Debug, Serialize)]
pub(crate) struct Glance {
    /// The answer, a sentence for each treatment.
    lead: Vec<String>,
    /// Gain, odds and money of the one treatment.
    facts: Vec<Fact>,
    /// The same of several treatments.
    table: Option<Table>,
    /// That there are warnings, when there are.
    mind: Option<String>,
}

/// A figure that stands by itself.
#[derive(Debug, Serialize)]
struct Fact {
    label: String,
    figure: String,
    note: String,
}

/// The first page of these results; `None` when nothing could be compared.
pub(crate) fn glance(results: &Results, figures: Figures) -> Option<Glance> {
    let headlines = headline_comparisons(results);
    let (first, more) = headlines.split_first()?;
    let of = |comparison: &Comparison| payoff_of(results, &comparison.treatment);
    let lead = match &results.rate_response {
        Some(response) => vec![rate_words(response, figures)],
        None => headlines
            .iter()
            .map(|comparison| sentence(comparison, of(comparison), figures))
            .collect(),
    };
    let (facts, table) = if more.is_empty() {
        (facts(first, of(first), figures), None)
    } else {
        let rows = headlines
            .iter()
            .map(|comparison| row(comparison, of(comparison), figures));
        (Vec::new(), Some(table(rows.collect(), figures)))
    };
    let warnings = results.warnings.len();
    Some(Glance {
        lead,
        facts,
        table,
        mind: (warnings > 0).then(|| figures.counted("glance-mind", warnings)),
    })
}

/// How a treatment came off, as the odds that it paid tell; without odds, as the interval of its gain tells. The
/// words for each stand in `glance-verdict`.
fn verdict(comparison: &Comparison, payoff: Option<&Payoff>) -> &'static str {
    let [low, high] = comparison.interval_95_kg_ha;
    if comparison.blocks == 1 || !low.is_finite() || !high.is_finite() {
        return "unjudged";
    }
    match payoff.map(|payoff| payoff.odds_it_pays) {
        Some(odds) if odds > 0.95 => "paid",
        Some(odds) if odds > 0.8 => "probably",
        Some(odds) if odds >= 0.2 => "open",
        Some(odds) if odds >= 0.05 => "probably-not",
        Some(odds) if odds < 0.05 => "not",
        _ if low > 0.0 => "more",
        _ if high < 0.0 => "less",
        _ => "same",
    }
}

fn sentence(comparison: &Comparison, payoff: Option<&Payoff>, figures: Figures) -> String {
    let words = figures.words;
    let treatment = &comparison.treatment;
    let verdict = say!(
        words,
        "glance-verdict",
        verdict = verdict(comparison, payoff)
    );
    let advantage = comparison.advantage_kg_ha;
    let outcome = if advantage < 0.0 { "less" } else { "more" };
    let size = figures.yields(advantage.abs());
    let unit = figures.yield_unit();
    let check = &comparison.check;
    capitalised(&match payoff {
        _ if !advantage.is_finite() => say!(
            words,
            "glance-sentence-bare",
            treatment = treatment,
            verdict = verdict
        ),
        Some(payoff) => say!(
            words,
            "glance-sentence-pays",
            treatment = treatment,
            verdict = verdict,
            outcome = outcome,
            size = size,
            unit = unit,
            check = check,
            gain = figures.break_even(payoff.break_even_bu_ac)
        ),
        None => say!(
            words,
            "glance-sentence",
            treatment = treatment,
            verdict = verdict,
            outcome = outcome,
            size = size,
            unit = unit,
            check = check
        ),
    })
}

fn odds_of(comparison: &Comparison, payoff: Option<&Payoff>, figures: Figures) -> String {
    payoff
        .filter(|_| comparison.blocks != 1)
        .and_then(|payoff| figures.odds(payoff.odds_it_pays))
        .unwrap_or_else(|| UNKNOWN.to_owned())
}

fn facts(comparison: &Comparison, payoff: Option<&Payoff>, figures: Figures) -> Vec<Fact> {
    let words = figures.words;
    let within = |interval: String| say!(words, "glance-interval", interval = interval);
    let mut facts = vec![Fact {
        label: say!(words, "glance-gain", check = &comparison.check),
        figure: format!(
            "{} {}",
            figures.gain(comparison.advantage_kg_ha),
            figures.yield_unit()
        ),
        note: within(figures.yield_interval(comparison.interval_95_kg_ha)),
    }];
    let Some(payoff) = payoff else {
        return facts;
    };
    let area = figures.area_unit();
    let gain = figures.break_even(payoff.break_even_bu_ac);
    let net = |per_ac| figures.money_per_area(per_ac);
    facts.extend([
        Fact {
            label: say!(words, "column-odds"),
            figure: odds_of(comparison, Some(payoff), figures),
            note: say!(words, "glance-break-even", gain = gain),
        },
        Fact {
            label: say!(words, "column-net-per", unit = area),
            figure: net(payoff.net_per_ac),
            note: within(figures.interval(payoff.net_interval_95_per_ac, net)),
        },
        Fact {
            label: say!(words, "column-cost-per", unit = area),
            figure: net(payoff.cost_per_ac),
            note: say!(
                words,
                "glance-price",
                price = figures.price(payoff.price_per_bu)
            ),
        },
    ]);
    facts
}

fn row(comparison: &Comparison, payoff: Option<&Payoff>, figures: Figures) -> Vec<String> {
    let money = |per_ac: fn(&Payoff) -> f64| {
        let per_ac = payoff.map_or(f64::NAN, per_ac);
        figures.money_per_area(per_ac)
    };
    vec![
        comparison.treatment.clone(),
        figures.gain(comparison.advantage_kg_ha),
        figures.yield_interval(comparison.interval_95_kg_ha),
        odds_of(comparison, payoff, figures),
        money(|payoff| payoff.net_per_ac),
        money(|payoff| payoff.cost_per_ac),
    ]
}

fn table(rows: Vec<Vec<String>>, figures: Figures) -> Table {
    let words = figures.words;
    let area = figures.area_unit();
    Table::new(
        say!(words, "report-glance"),
        vec![
            words_under(say!(words, "column-treatment")),
            figures_under(say!(
                words,
                "column-difference",
                unit = figures.yield_unit()
            )),
            figures_under(say!(words, "column-interval")),
            figures_under(say!(words, "column-odds")),
            figures_under(say!(words, "column-net-per", unit = area)),
            figures_under(say!(words, "column-cost-per", unit = area)),
        ],
        rows,
    )
}
