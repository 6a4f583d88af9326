//! The pooled answer in words: the mean, how sure it is, whether fields differ, what one further
//! field may bring and whether it pays.

use super::counted_fields;
use crate::figures::{Figures, number, odds};
use checkstrip_model::results::{Pooled, PooledTreatment};

/// Below this p value the fields are said to differ.
const DIFFER: f64 = 0.05;

/// One paragraph per pooled treatment, then one for those that could not be pooled.
pub(super) fn answer(pooled: &Pooled, figures: Figures) -> Vec<String> {
    let mut paragraphs: Vec<String> = pooled
        .treatments
        .iter()
        .map(|treatment| {
            [
                mean(treatment, figures),
                certainty(treatment).to_owned(),
                fields_differ(treatment, figures),
                further_field(treatment, figures),
                worth(treatment, figures),
            ]
            .join(" ")
        })
        .collect();
    paragraphs.extend(pooled.not_pooled.iter().map(|not| {
        format!(
            "Nothing is said of {} over fields: {}.",
            not.treatment, not.reason
        )
    }));
    paragraphs
}

fn mean(treatment: &PooledTreatment, figures: Figures) -> String {
    let advantage = treatment.advantage_kg_ha;
    let size = figures.yields(advantage.abs());
    let unit = figures.yield_unit();
    let (much, than) = match advantage {
        _ if size == figures.yields(0.0) => ("the same".to_owned(), "as"),
        more if more > 0.0 => (format!("{size} {unit} more"), "than"),
        _ => (format!("{size} {unit} less"), "than"),
    };
    let [low, high] = treatment.interval_95_kg_ha;
    format!(
        "Over {}, {} strips yielded {much} {than} the {} strips beside them on average (95 % \
         interval {} to {} {unit}).",
        counted_fields(treatment.fields),
        treatment.treatment,
        treatment.checks.join(" or "),
        figures.yields(low),
        figures.yields(high)
    )
}

fn certainty(treatment: &PooledTreatment) -> &'static str {
    let [low, high] = treatment.interval_95_kg_ha;
    if low <= 0.0 && high >= 0.0 {
        "The interval holds zero: these fields together cannot tell it from no difference."
    } else {
        "The interval leaves zero out: a treatment that does nothing on average would rarely look \
         like this."
    }
}

fn fields_differ(treatment: &PooledTreatment, figures: Figures) -> String {
    let differ = &treatment.heterogeneity;
    let tau = format!(
        "{} {}",
        figures.yields(differ.tau_kg_ha),
        figures.yield_unit()
    );
    if differ.p_value < DIFFER {
        format!(
            "Its effect differs from field to field, with a standard deviation of about {tau}: the \
             mean is not what every field gets."
        )
    } else if treatment.fields == 2 {
        "Two fields cannot tell whether its effect differs from field to field.".to_owned()
    } else {
        "The fields do not clearly differ from one another beyond their own noise.".to_owned()
    }
}

fn further_field(treatment: &PooledTreatment, figures: Figures) -> String {
    match &treatment.prediction {
        Some(next) => {
            let [low, high] = next.interval_95_kg_ha;
            format!(
                "In one further field like these its own effect would lie between {} and {} {}, 19 \
                 times in 20.",
                figures.yields(low),
                figures.yields(high),
                figures.yield_unit()
            )
        }
        None => "What one further field would bring cannot be said from two.".to_owned(),
    }
}

fn worth(treatment: &PooledTreatment, figures: Figures) -> String {
    let Some(payoff) = &treatment.payoff else {
        let costed =
            |entry: &&checkstrip_model::results::PooledEntry| entry.break_even_bu_ac.is_some();
        return if treatment.entries.iter().any(|entry| costed(&entry)) {
            "The fields were costed differently, so whether it pays is not said in one figure."
        } else {
            "No price and cost were given for it, so whether it pays is not said."
        }
        .to_owned();
    };
    let gain = figures.break_even(payoff.break_even_bu_ac);
    let Some(mean) = odds(payoff.odds_mean_pays) else {
        return format!("The break-even gain is {gain}.");
    };
    let next = payoff
        .odds_next_field_pays
        .and_then(odds)
        .map_or(String::new(), |next| {
            format!(", and that it pays in one further field {next}")
        });
    format!(
        "The break-even gain is {gain}: the odds that the average gain pays for it are {mean}{next}."
    )
}

/// What the measures of heterogeneity mean, in plain words.
pub(super) fn how_fields_differ(treatment: &PooledTreatment, figures: Figures) -> String {
    let differ = &treatment.heterogeneity;
    let unit = figures.yield_unit();
    let [_, most] = differ.tau_interval_95_kg_ha;
    let noise = 100.0 - differ.i2_pct;
    if differ.tau2_kg2_ha2 > 0.0 {
        format!(
            "Of the scatter among the fields' results about {} % is put down to fields truly \
             responding differently and {} % to the noise within each field. The true effects are \
             estimated to spread about their mean with a standard deviation of {} {unit}; up to {} \
             {unit} cannot be ruled out. {}",
            number(differ.i2_pct, 0),
            number(noise, 0),
            figures.yields(differ.tau_kg_ha),
            figures.yields(most),
            few_fields(treatment)
        )
    } else {
        format!(
            "The fields' results scatter no more than the noise within each field explains, so \
             no spread of the true effects is estimated. Up to {} {unit} (standard deviation) cannot \
             be ruled out. {}",
            figures.yields(most),
            few_fields(treatment)
        )
    }
}

/// Fewer fields than this hardly tell how much effects differ.
const FEW_FIELDS: usize = 10;

fn few_fields(treatment: &PooledTreatment) -> String {
    if treatment.fields < FEW_FIELDS {
        format!(
            "With {} these figures are rough.",
            counted_fields(treatment.fields)
        )
    } else {
        String::new()
    }
}

/// The forest plot for readers who cannot see it.
pub(super) fn plot_in_words(pooled: &Pooled, figures: Figures) -> String {
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
        said.push(format!(
            "{}, {}: {}; all together {}",
            treatment.treatment,
            figures.yield_unit(),
            entries.collect::<Vec<_>>().join(", "),
            figures.yields(treatment.advantage_kg_ha)
        ));
    }
    format!("Forest plot. {}.", said.join(". "))
}
