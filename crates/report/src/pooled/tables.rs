//! The tables of a pooled report.

use crate::figures::{Figures, UNKNOWN, count, number, p_value, percent};
use crate::tables::{Table, method_words};
use checkstrip_model::results::{Pooled, PooledEntry, PooledTreatment};

fn interval(ends: Option<[f64; 2]>, figures: Figures) -> String {
    ends.map_or(UNKNOWN.to_owned(), |[low, high]| {
        format!("{} to {}", figures.yields(low), figures.yields(high))
    })
}

fn yields(kg_ha: Option<f64>, figures: Figures) -> String {
    kg_ha.map_or(UNKNOWN.to_owned(), |kg_ha| figures.yields(kg_ha))
}

/// Field by field, then all together.
pub(super) fn fields(treatment: &PooledTreatment, figures: Figures) -> Table {
    let mut rows: Vec<Vec<String>> = treatment
        .entries
        .iter()
        .map(|entry| {
            vec![
                entry.field.clone(),
                method_words(&entry.method).0.to_owned(),
                yields(entry.advantage_kg_ha, figures),
                yields(entry.std_error_kg_ha, figures),
                entry.df.map_or(UNKNOWN.to_owned(), |df| number(df, 1)),
                interval(entry.interval_95_kg_ha, figures),
                entry.dilution.map_or(UNKNOWN.to_owned(), percent),
                format!("{} %", number(entry.weight_pct, 1)),
                entry.without.as_ref().map_or(UNKNOWN.to_owned(), |rest| {
                    format!(
                        "{} ({})",
                        figures.yields(rest.advantage_kg_ha),
                        interval(Some(rest.interval_95_kg_ha), figures)
                    )
                }),
            ]
        })
        .collect();
    rows.push(vec![
        "all together".to_owned(),
        "random effects".to_owned(),
        figures.yields(treatment.advantage_kg_ha),
        figures.yields(treatment.std_error_kg_ha),
        number(treatment.df, 1),
        interval(Some(treatment.interval_95_kg_ha), figures),
        String::new(),
        "100 %".to_owned(),
        String::new(),
    ]);
    let unit = figures.yield_unit();
    Table::new(
        &format!(
            "{} less {}",
            treatment.treatment,
            treatment.checks.join(" or ")
        ),
        &[
            "Field",
            "Method",
            &format!("#Difference, {unit}"),
            "#Standard error",
            "#Degrees of freedom",
            "#95 % interval",
            "#Contrast carried",
            "#Weight",
            "#All without it",
        ],
        rows,
    )
}

/// How far fields differ, in figures.
pub(super) fn heterogeneity(treatment: &PooledTreatment, figures: Figures) -> Table {
    let differ = &treatment.heterogeneity;
    let ends = |[low, high]: [f64; 2], decimals| {
        format!("{} to {}", number(low, decimals), number(high, decimals))
    };
    let unit = figures.yield_unit();
    let row = |name: String, value: String, interval: String| vec![name, value, interval];
    let rows = vec![
        row(
            format!("standard deviation between fields (τ), {unit}"),
            figures.yields(differ.tau_kg_ha),
            interval(Some(differ.tau_interval_95_kg_ha), figures),
        ),
        row(
            "share of the scatter that is between fields (I²), %".to_owned(),
            number(differ.i2_pct, 0),
            ends(differ.i2_interval_95_pct, 0),
        ),
        row(
            "all scatter over noise alone (H²)".to_owned(),
            number(differ.h2, 2),
            ends(differ.h2_interval_95, 2),
        ),
        row(
            format!("Q, {} degrees of freedom", number(differ.df, 0)),
            number(differ.q, 2),
            String::new(),
        ),
        row(
            "p of such a Q if all fields had one effect".to_owned(),
            p_value(differ.p_value),
            String::new(),
        ),
    ];
    Table::new(
        "How far the fields differ",
        &["Measure", "#Estimate", "#95 % interval"],
        rows,
    )
}

/// The headline interval, the prediction, and what other rules would give.
pub(super) fn intervals(treatment: &PooledTreatment, figures: Figures) -> Table {
    let other = &treatment.other_intervals;
    let mut rows = vec![vec![
        "mean of all fields: Hartung and Knapp, never below the fields' own noise (the headline)"
            .to_owned(),
        number(treatment.df, 0),
        interval(Some(treatment.interval_95_kg_ha), figures),
    ]];
    if let Some(next) = &treatment.prediction {
        rows.push(vec![
            "one further field: Higgins, Thompson and Spiegelhalter".to_owned(),
            number(next.df, 0),
            interval(Some(next.interval_95_kg_ha), figures),
        ]);
    }
    rows.push(vec![
        format!(
            "mean, Hartung and Knapp as it is (ratio {})",
            number(other.hartung_knapp_ratio, 2)
        ),
        number(treatment.df, 0),
        interval(Some(other.hartung_knapp_interval_95_kg_ha), figures),
    ]);
    rows.push(vec![
        "mean, all variances taken as known (Wald)".to_owned(),
        "∞".to_owned(),
        interval(Some(other.wald_interval_95_kg_ha), figures),
    ]);
    Table::new(
        "Intervals",
        &[
            "Of",
            "#Degrees of freedom",
            &format!("#95 % interval, {}", figures.yield_unit()),
        ],
        rows,
    )
}

/// What did not enter, and why.
pub(super) fn left_out(pooled: &Pooled, figures: Figures) -> Table {
    let mut rows = Vec::new();
    for input in &pooled.inputs {
        if let Some(left_out) = &input.left_out {
            rows.push(vec![
                input.field.clone(),
                "all of it".to_owned(),
                UNKNOWN.to_owned(),
                left_out.reason.clone(),
            ]);
        }
    }
    let mut row = |treatment: &str, entry: &PooledEntry, reason: &str| {
        rows.push(vec![
            entry.field.clone(),
            treatment.to_owned(),
            yields(entry.advantage_kg_ha, figures),
            reason.to_owned(),
        ]);
    };
    for treatment in &pooled.treatments {
        for entry in &treatment.left_out {
            let reason = entry.left_out.as_ref().map_or("", |left| &left.reason);
            row(&treatment.treatment, entry, reason);
        }
    }
    for not in &pooled.not_pooled {
        for entry in &not.entries {
            let reason = entry
                .left_out
                .as_ref()
                .map_or(&not.reason, |left| &left.reason);
            row(&not.treatment, entry, reason);
        }
    }
    Table::new(
        "What did not enter",
        &[
            "Field",
            "Treatment",
            &format!("#Difference, {}", figures.yield_unit()),
            "Why",
        ],
        rows,
    )
}

/// The files that went in.
pub(super) fn files(pooled: &Pooled) -> Table {
    let rows = pooled
        .inputs
        .iter()
        .enumerate()
        .map(|(place, input)| {
            vec![
                count(place + 1),
                input.field.clone(),
                input.path.clone(),
                input.sha256.clone(),
            ]
        })
        .collect();
    Table::new("Files", &["File", "Field", "Path", "SHA-256"], rows)
}
