//! What a reader should know before believing a pooled answer.

use super::listed;
use checkstrip_model::results::{NotPooled, PooledEntry, PooledTreatment, UNDILUTED};
use checkstrip_model::{SaidText, SaidValue, SaidValues, Warning};
use checkstrip_words::{said_values, warning};

/// Standard errors with fewer degrees of freedom than this are themselves poorly known.
const FEW_DF: f64 = 5.0;

/// Warnings of one pooled treatment.
pub(super) fn of_treatment(treatment: &PooledTreatment, warnings: &mut Vec<Warning>) {
    let name = &treatment.treatment;
    let mut warn = |code: &str, values: SaidValues| warnings.push(warning(code, values));
    for entry in &treatment.left_out {
        if let Some(left_out) = &entry.left_out {
            warn(
                &left_out.code,
                said_values!(
                    treatment = name,
                    field = &entry.field,
                    reason = left_out.said(),
                ),
            );
        }
    }
    if treatment.fields == 2 {
        warn("two_fields", said_values!(treatment = name));
    }
    let few = fields_where(treatment, |entry| entry.df.is_some_and(|df| df < FEW_DF));
    if !few.is_empty() {
        warn(
            "few_degrees_of_freedom",
            said_values!(
                treatment = name,
                least = FEW_DF.to_string(),
                fields = which(&few, treatment),
            ),
        );
    }
    if treatment.checks.len() > 1 {
        let checks = listed(treatment.checks.iter().map(String::as_str));
        warn(
            "checks_differ",
            said_values!(treatment = name, checks = checks),
        );
    }
    let mut methods: Vec<&str> = Vec::new();
    for entry in &treatment.entries {
        if !methods.contains(&entry.method.as_str()) {
            methods.push(&entry.method);
        }
    }
    if methods.len() > 1 {
        warn(
            "methods_differ",
            said_values!(treatment = name, methods = methods.join(", ")),
        );
    }
    let diluted = fields_where(treatment, |entry| {
        entry.method != "swath_mixture" && entry.dilution.is_some_and(|share| share < UNDILUTED)
    });
    if !diluted.is_empty() {
        warn(
            "straddling_headers",
            said_values!(
                variant = "pooled",
                treatment = name,
                fields = which(&diluted, treatment),
            ),
        );
    }
    if treatment.payoff.is_none()
        && treatment
            .entries
            .iter()
            .any(|e| e.break_even_bu_ac.is_some())
    {
        warn("break_evens_differ", said_values!(treatment = name));
    }
    if let Some(field) = rests_on_one_field(treatment) {
        warn(
            "rests_on_one_field",
            said_values!(treatment = name, field = field),
        );
    }
}

/// The warning of a treatment that could not be pooled.
pub(super) fn not_pooled(not: &NotPooled, warnings: &mut Vec<Warning>) {
    warnings.push(warning(
        "not_pooled",
        said_values!(treatment = &not.treatment, reason = not.said()),
    ));
}

/// Some of a treatment's fields by name, unless it is all of them.
fn which(some: &[&str], treatment: &PooledTreatment) -> SaidValue {
    if some.len() == treatment.fields {
        SaidText::new("fields-every-one", said_values!()).into()
    } else {
        listed(some.iter().copied())
    }
}

fn fields_where(treatment: &PooledTreatment, holds: impl Fn(&PooledEntry) -> bool) -> Vec<&str> {
    let entries = treatment.entries.iter().filter(|entry| holds(entry));
    entries.map(|entry| entry.field.as_str()).collect()
}

/// The heaviest field without which a clear answer would be none.
fn rests_on_one_field(treatment: &PooledTreatment) -> Option<&str> {
    let holds_zero = |[low, high]: [f64; 2]| low <= 0.0 && high >= 0.0;
    if holds_zero(treatment.interval_95_kg_ha) {
        return None;
    }
    treatment
        .entries
        .iter()
        .filter(|entry| {
            entry
                .without
                .as_ref()
                .is_some_and(|rest| holds_zero(rest.interval_95_kg_ha))
        })
        .max_by(|a, b| a.weight_pct.total_cmp(&b.weight_pct))
        .map(|entry| entry.field.as_str())
}
