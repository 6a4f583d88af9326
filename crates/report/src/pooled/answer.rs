//! The pooled answer in words: the mean, how sure it is, whether fields differ, what one further
//! field may bring and whether it pays.

use crate::answer::capitalised;
use crate::figures::Figures;
use checkstrip_model::results::{Pooled, PooledTreatment};
use checkstrip_words::say;

/// Below this p value the fields are said to differ.
const DIFFER: f64 = 0.05;

/// One paragraph per pooled treatment, then one for those that could not be pooled.
pub(crate) fn answer(pooled: &Pooled, figures: Figures) -> Vec<String> {
    let words = figures.words;
    let mut paragraphs: Vec<String> = pooled
        .treatments
        .iter()
        .map(|treatment| {
            [
                mean(treatment, figures),
                certainty(treatment, figures),
                fields_differ(treatment, figures),
                further_field(treatment, figures),
                worth(treatment, figures),
            ]
            .join(" ")
        })
        .collect();
    paragraphs.extend(pooled.not_pooled.iter().map(|not| {
        say!(
            words,
            "overall-nothing-said",
            treatment = &not.treatment,
            reason = words.carried("not-pooled", &not.reason, &not.reason_values)
        )
    }));
    paragraphs
}

/// The checks of all fields by name.
pub(crate) fn checks(treatment: &PooledTreatment, figures: Figures) -> String {
    let names = treatment.checks.iter().cloned();
    names
        .reduce(|first, second| say!(figures.words, "checks-or", first = first, second = second))
        .unwrap_or_default()
}

fn counted_fields(fields: usize, figures: Figures) -> String {
    figures.counted("count-fields", fields)
}

fn mean(treatment: &PooledTreatment, figures: Figures) -> String {
    let advantage = treatment.advantage_kg_ha;
    let size = figures.yields(advantage.abs());
    let outcome = match advantage {
        _ if size == figures.yields(0.0) => "same",
        more if more > 0.0 => "more",
        _ => "less",
    };
    let [low, high] = treatment.interval_95_kg_ha;
    capitalised(&say!(
        figures.words,
        "overall-strips",
        outcome = outcome,
        fields = counted_fields(treatment.fields, figures),
        treatment = &treatment.treatment,
        size = size,
        unit = figures.yield_unit(),
        checks = checks(treatment, figures),
        low = figures.yields(low),
        high = figures.yields(high)
    ))
}

fn certainty(treatment: &PooledTreatment, figures: Figures) -> String {
    let [low, high] = treatment.interval_95_kg_ha;
    if low <= 0.0 && high >= 0.0 {
        say!(figures.words, "overall-holds-zero")
    } else {
        say!(figures.words, "overall-leaves-zero-out")
    }
}

fn fields_differ(treatment: &PooledTreatment, figures: Figures) -> String {
    let differ = &treatment.heterogeneity;
    let words = figures.words;
    if differ.p_value < DIFFER {
        say!(
            words,
            "overall-fields-differ",
            tau = figures.yields(differ.tau_kg_ha),
            unit = figures.yield_unit()
        )
    } else if treatment.fields == 2 {
        say!(words, "overall-two-fields")
    } else {
        say!(words, "overall-fields-alike")
    }
}

fn further_field(treatment: &PooledTreatment, figures: Figures) -> String {
    match &treatment.prediction {
        Some(next) => {
            let [low, high] = next.interval_95_kg_ha;
            say!(
                figures.words,
                "overall-further",
                low = figures.yields(low),
                high = figures.yields(high),
                unit = figures.yield_unit()
            )
        }
        None => say!(figures.words, "overall-no-further"),
    }
}

fn worth(treatment: &PooledTreatment, figures: Figures) -> String {
    let words = figures.words;
    let Some(payoff) = &treatment.payoff else {
        let costed =
            |entry: &checkstrip_model::results::PooledEntry| entry.break_even_bu_ac.is_some();
        return if treatment.entries.iter().any(costed) {
            say!(words, "overall-costed-differently")
        } else {
            say!(words, "overall-no-money")
        };
    };
    let gain = figures.break_even(payoff.break_even_bu_ac);
    let Some(mean) = figures.odds(payoff.odds_mean_pays) else {
        return say!(words, "overall-break-even", gain = gain);
    };
    let next = payoff
        .odds_next_field_pays
        .and_then(|odds| figures.odds(odds));
    match next {
        Some(next) => say!(
            words,
            "overall-worth-further",
            gain = gain,
            odds = mean,
            next = next
        ),
        None => say!(words, "overall-worth", gain = gain, odds = mean),
    }
}

/// What the measures of heterogeneity mean, in plain words.
pub(super) fn how_fields_differ(treatment: &PooledTreatment, figures: Figures) -> String {
    let differ = &treatment.heterogeneity;
    let (words, unit) = (figures.words, figures.yield_unit());
    let [_, most] = differ.tau_interval_95_kg_ha;
    let said = if differ.tau2_kg2_ha2 > 0.0 {
        say!(
            words,
            "overall-scatter",
            between = figures.number(differ.i2_pct, 0),
            within = figures.number(100.0 - differ.i2_pct, 0),
            tau = figures.yields(differ.tau_kg_ha),
            unit = unit,
            most = figures.yields(most)
        )
    } else {
        say!(
            words,
            "overall-no-scatter",
            most = figures.yields(most),
            unit = unit
        )
    };
    if treatment.fields < FEW_FIELDS {
        let fields = counted_fields(treatment.fields, figures);
        let rough = say!(words, "overall-rough", fields = fields);
        format!("{said} {rough}")
    } else {
        said
    }
}

/// Fewer fields than this hardly tell how much effects differ.
const FEW_FIELDS: usize = 10;

/// The forest plot for readers who cannot see it.
pub(crate) fn plot_in_words(pooled: &Pooled, figures: Figures) -> String {
    let words = figures.words;
    let mut said = Vec::new();
    for treatment in &pooled.treatments {
        let entries = treatment.entries.iter().map(|entry| {
            format!(
                "{} {}",
                entry.field,
                entry
                    .advantage_kg_ha
                    .map_or(String::new(), |kg_ha| figures.yields(kg_ha))
            )
        });
        said.push(say!(
            words,
            "forest-says-treatment",
            treatment = &treatment.treatment,
            unit = figures.yield_unit(),
            fields = entries.collect::<Vec<_>>().join(", "),
            mean = figures.yields(treatment.advantage_kg_ha)
        ));
    }
    say!(words, "forest-says", said = said.join(". "))
}
