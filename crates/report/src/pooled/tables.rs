//! The tables of a pooled report.

use super::answer::checks;
use crate::figures::{Figures, UNKNOWN};
use crate::tables::{Table, figures_under, method_name, words_under};
use checkstrip_model::results::{LeftOut, Pooled, PooledEntry, PooledTreatment};
use checkstrip_words::{Words, say};

fn interval(ends: Option<[f64; 2]>, figures: Figures) -> String {
    ends.map_or(UNKNOWN.to_owned(), |[low, high]| {
        figures.range(&figures.yields(low), &figures.yields(high))
    })
}

fn yields(kg_ha: Option<f64>, figures: Figures) -> String {
    kg_ha.map_or(UNKNOWN.to_owned(), |kg_ha| figures.yields(kg_ha))
}

/// Field by field, then all together.
pub(super) fn fields(treatment: &PooledTreatment, figures: Figures) -> Table {
    let words = figures.words;
    let unknown = || UNKNOWN.to_owned();
    let mut rows: Vec<Vec<String>> = treatment
        .entries
        .iter()
        .map(|entry| {
            vec![
                entry.field.clone(),
                method_name(&entry.method, figures),
                yields(entry.advantage_kg_ha, figures),
                yields(entry.std_error_kg_ha, figures),
                entry.df.map_or_else(unknown, |df| figures.number(df, 1)),
                interval(entry.interval_95_kg_ha, figures),
                entry
                    .dilution
                    .map_or_else(unknown, |share| figures.percent(share)),
                figures.percentage(entry.weight_pct, 1),
                entry.without.as_ref().map_or_else(unknown, |rest| {
                    say!(
                        words,
                        "fields-without",
                        size = figures.yields(rest.advantage_kg_ha),
                        interval = interval(Some(rest.interval_95_kg_ha), figures)
                    )
                }),
            ]
        })
        .collect();
    rows.push(vec![
        say!(words, "fields-all"),
        say!(words, "fields-random-effects"),
        figures.yields(treatment.advantage_kg_ha),
        figures.yields(treatment.std_error_kg_ha),
        figures.number(treatment.df, 1),
        interval(Some(treatment.interval_95_kg_ha), figures),
        String::new(),
        figures.percentage(100.0, 0),
        String::new(),
    ]);
    Table::new(
        figures.difference_name(&treatment.treatment, &checks(treatment, figures)),
        vec![
            words_under(say!(words, "column-field")),
            words_under(say!(words, "column-method")),
            figures_under(say!(
                words,
                "column-difference",
                unit = figures.yield_unit()
            )),
            figures_under(say!(words, "column-standard-error")),
            figures_under(say!(words, "column-degrees-of-freedom")),
            figures_under(say!(words, "column-interval")),
            figures_under(say!(words, "column-contrast-carried")),
            figures_under(say!(words, "column-weight")),
            figures_under(say!(words, "column-without")),
        ],
        rows,
    )
}

/// How far fields differ, in figures.
pub(super) fn heterogeneity(treatment: &PooledTreatment, figures: Figures) -> Table {
    let differ = &treatment.heterogeneity;
    let words = figures.words;
    let ends = |[low, high]: [f64; 2], decimals| {
        figures.range(
            &figures.number(low, decimals),
            &figures.number(high, decimals),
        )
    };
    let row = |name: String, value: String, interval: String| vec![name, value, interval];
    let rows = vec![
        row(
            say!(words, "fields-tau", unit = figures.yield_unit()),
            figures.yields(differ.tau_kg_ha),
            interval(Some(differ.tau_interval_95_kg_ha), figures),
        ),
        row(
            say!(words, "fields-i2"),
            figures.number(differ.i2_pct, 0),
            ends(differ.i2_interval_95_pct, 0),
        ),
        row(
            say!(words, "fields-h2"),
            figures.number(differ.h2, 2),
            ends(differ.h2_interval_95, 2),
        ),
        row(
            say!(words, "fields-q", df = figures.number(differ.df, 0)),
            figures.number(differ.q, 2),
            String::new(),
        ),
        row(
            say!(words, "fields-p"),
            figures.p_value(differ.p_value),
            String::new(),
        ),
    ];
    Table::new(
        say!(words, "fields-table"),
        vec![
            words_under(say!(words, "column-measure")),
            figures_under(say!(words, "column-estimate")),
            figures_under(say!(words, "column-interval")),
        ],
        rows,
    )
}

/// The headline interval, the prediction, and what other rules would give.
pub(super) fn intervals(treatment: &PooledTreatment, figures: Figures) -> Table {
    let other = &treatment.other_intervals;
    let words = figures.words;
    let df = figures.number(treatment.df, 0);
    let mut rows = vec![vec![
        say!(words, "fields-headline"),
        df.clone(),
        interval(Some(treatment.interval_95_kg_ha), figures),
    ]];
    if let Some(next) = &treatment.prediction {
        rows.push(vec![
            say!(words, "fields-next"),
            figures.number(next.df, 0),
            interval(Some(next.interval_95_kg_ha), figures),
        ]);
    }
    rows.push(vec![
        say!(
            words,
            "fields-knapp",
            ratio = figures.number(other.hartung_knapp_ratio, 2)
        ),
        df,
        interval(Some(other.hartung_knapp_interval_95_kg_ha), figures),
    ]);
    rows.push(vec![
        say!(words, "fields-wald"),
        "∞".to_owned(),
        interval(Some(other.wald_interval_95_kg_ha), figures),
    ]);
    Table::new(
        say!(words, "fields-intervals"),
        vec![
            words_under(say!(words, "column-of")),
            figures_under(say!(words, "column-degrees-of-freedom")),
            figures_under(say!(
                words,
                "column-interval-unit",
                unit = figures.yield_unit()
            )),
        ],
        rows,
    )
}

/// Why something was left out.
fn why(left_out: &LeftOut, words: &Words) -> String {
    words.carried("left-out", &left_out.reason, &left_out.values)
}

/// What did not enter, and why.
pub(super) fn left_out(pooled: &Pooled, figures: Figures) -> Table {
    let words = figures.words;
    let mut rows = Vec::new();
    for input in &pooled.inputs {
        if let Some(left_out) = &input.left_out {
            rows.push(vec![
                input.field.clone(),
                say!(words, "fields-left-out-whole"),
                UNKNOWN.to_owned(),
                why(left_out, words),
            ]);
        }
    }
    let mut row = |treatment: &str, entry: &PooledEntry, reason: String| {
        rows.push(vec![
            entry.field.clone(),
            treatment.to_owned(),
            yields(entry.advantage_kg_ha, figures),
            reason,
        ]);
    };
    for treatment in &pooled.treatments {
        for entry in &treatment.left_out {
            let reason = entry.left_out.as_ref().map(|left| why(left, words));
            row(&treatment.treatment, entry, reason.unwrap_or_default());
        }
    }
    for not in &pooled.not_pooled {
        for entry in &not.entries {
            let reason = entry.left_out.as_ref().map_or_else(
                || words.carried("not-pooled", &not.reason, &not.reason_values),
                |left| why(left, words),
            );
            row(&not.treatment, entry, reason);
        }
    }
    Table::new(
        say!(words, "fields-left-out"),
        vec![
            words_under(say!(words, "column-field")),
            words_under(say!(words, "column-treatment")),
            figures_under(say!(
                words,
                "column-difference",
                unit = figures.yield_unit()
            )),
            words_under(say!(words, "column-why")),
        ],
        rows,
    )
}

/// The files that went in.
pub(super) fn files(pooled: &Pooled, figures: Figures) -> Table {
    let words = figures.words;
    let rows = pooled
        .inputs
        .iter()
        .enumerate()
        .map(|(place, input)| {
            vec![
                figures.count(place + 1),
                input.field.clone(),
                input.path.clone(),
                input.sha256.clone(),
            ]
        })
        .collect();
    Table::new(
        say!(words, "table-files"),
        vec![
            words_under(say!(words, "column-file")),
            words_under(say!(words, "column-field")),
            words_under(say!(words, "column-path")),
            words_under(say!(words, "column-sha256")),
        ],
        rows,
    )
}
