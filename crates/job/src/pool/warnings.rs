//! What a reader should know before believing a pooled answer.

use super::listed;
use checkstrip_model::Warning;
use checkstrip_model::results::{NotPooled, PooledEntry, PooledTreatment, UNDILUTED};

/// Standard errors with fewer degrees of freedom than this are themselves poorly known.
const FEW_DF: f64 = 5.0;

/// Warnings of one pooled treatment.
pub(super) fn of_treatment(treatment: &PooledTreatment, warnings: &mut Vec<Warning>) {
    let name = &treatment.treatment;
    let mut warn = |code: &str, message: String| warnings.push(Warning::new(code, message));
    for entry in &treatment.left_out {
        if let Some(left_out) = &entry.left_out {
            warn(
                &left_out.code,
                format!("{name}, {}: left out, {}.", entry.field, left_out.reason),
            );
        }
    }
    if treatment.fields == 2 {
        warn(
            "two_fields",
            format!(
                "{name}: two fields can hardly tell how much fields differ. The interval is honest \
                 and very wide; what a further field will do is not said. Add fields or years."
            ),
        );
    }
    let few = fields_where(treatment, |entry| entry.df.is_some_and(|df| df < FEW_DF));
    if !few.is_empty() {
        warn(
            "few_degrees_of_freedom",
            format!(
                "{name}: the standard error rests on fewer than {FEW_DF} degrees of freedom, that is \
                 on few blocks, in {}. Pooling takes it as known, so weights and intervals are surer \
                 than they should be.",
                which(&few, treatment)
            ),
        );
    }
    if treatment.checks.len() > 1 {
        warn(
            "checks_differ",
            format!(
                "{name} is compared with checks called {}. Pooling makes sense only if they were \
                 treated alike.",
                listed(treatment.checks.iter().map(String::as_str))
            ),
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
            format!(
                "{name}: the fields' headline methods differ ({}). Methods that allow for straddling \
                 headers and methods that do not answer slightly different questions.",
                methods.join(", ")
            ),
        );
    }
    let diluted = fields_where(treatment, |entry| {
        entry.method != "swath_mixture" && entry.dilution.is_some_and(|share| share < UNDILUTED)
    });
    if !diluted.is_empty() {
        warn(
            "straddling_headers",
            format!(
                "{name}: headers reached across strip edges in {}. Differences carry only part of the \
                 true contrast there, and so does the pooled one.",
                which(&diluted, treatment)
            ),
        );
    }
    if treatment.payoff.is_none()
        && treatment
            .entries
            .iter()
            .any(|e| e.break_even_bu_ac.is_some())
    {
        warn(
            "break_evens_differ",
            format!(
                "{name}: the fields were costed at different break-even gains, so no common line is \
                 drawn and no odds are given. Compare again with one price and cost to get them."
            ),
        );
    }
    if let Some(field) = rests_on_one_field(treatment) {
        warn(
            "rests_on_one_field",
            format!(
                "{name}: without {field:?} the interval would hold zero. The answer hangs on that \
                 field."
            ),
        );
    }
}

/// The warning of a treatment that could not be pooled.
pub(super) fn not_pooled(not: &NotPooled, warnings: &mut Vec<Warning>) {
    warnings.push(Warning::new(
        "not_pooled",
        format!("{} was not pooled: {}.", not.treatment, not.reason),
    ));
}

/// Some of a treatment's fields by name, unless it is all of them.
fn which(some: &[&str], treatment: &PooledTreatment) -> String {
    if some.len() == treatment.fields {
        "all fields".to_owned()
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
