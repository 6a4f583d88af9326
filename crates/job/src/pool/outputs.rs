//! What pooling leaves in its folder: the answer for programs, a table, the forest plot and the
//! report. `pooled.json` comes last: where it is, the rest is complete.

use crate::error::JobError;
use crate::outputs::{make_folder, quoted, write_json};
use crate::report_files::write_report;
use checkstrip_formats::write_bytes_atomically;
use checkstrip_model::results::{Pooled, PooledEntry, PooledTreatment};
use checkstrip_report::{forest_plot, render_pooled};
use checkstrip_words::Reader;
use std::path::{Path, PathBuf};

/// Writes `pooled.json`, `pooled.csv`, `forest.png`, `report.html` and `report.pdf`. Returns the files written, the
/// report first.
///
/// # Errors
/// When the folder cannot be made or written, or the plot or the report cannot be made.
pub fn write_pooled(pooled: &Pooled, dir: &Path, reader: Reader) -> Result<Vec<PathBuf>, JobError> {
    make_folder(dir)?;
    let [json, table, plot] =
        ["pooled.json", "pooled.csv", "forest.png"].map(|name| dir.join(name));
    let png = forest_plot(pooled, reader)?;
    write_bytes_atomically(&plot, &png)?;
    let [report, paper] = write_report(dir, &render_pooled(pooled, &png, reader)?, reader)?;
    write_bytes_atomically(&table, csv(pooled).as_bytes())?;
    write_json(&json, pooled)?;
    Ok(vec![report, paper, json, table, plot])
}

/// `pooled.csv`: for each treatment a row per field, the pooled mean and the prediction.
fn csv(pooled: &Pooled) -> String {
    let mut table = String::from(
        "treatment,row,field,check,method,blocks,advantage_kg_ha,std_error_kg_ha,df,\
         low_95_kg_ha,high_95_kg_ha,advantage_bu_ac,std_error_bu_ac,low_95_bu_ac,high_95_bu_ac,\
         weight_pct,dilution,break_even_bu_ac,path,sha256,reason\n",
    );
    for treatment in &pooled.treatments {
        for entry in treatment.entries.iter().chain(&treatment.left_out) {
            table.push_str(&field_row(&treatment.treatment, entry, pooled));
        }
        table.push_str(&pooled_row(treatment));
        if let Some(next) = &treatment.prediction {
            let figures = Figures {
                df: Some(next.df),
                interval_kg_ha: Some(next.interval_95_kg_ha),
                interval_bu_ac: Some(next.interval_95_bu_ac),
                ..Figures::default()
            };
            table.push_str(&row(
                [&treatment.treatment, "prediction", "", "", "", ""],
                &figures,
                ["", "", ""],
            ));
        }
    }
    for not in &pooled.not_pooled {
        for entry in &not.entries {
            table.push_str(&field_row(&not.treatment, entry, pooled));
        }
    }
    table
}

/// The figures of one row; what is absent is an empty cell.
#[derive(Default)]
struct Figures {
    advantage_kg_ha: Option<f64>,
    advantage_bu_ac: Option<f64>,
    std_error_kg_ha: Option<f64>,
    std_error_bu_ac: Option<f64>,
    df: Option<f64>,
    interval_kg_ha: Option<[f64; 2]>,
    interval_bu_ac: Option<[f64; 2]>,
    weight_pct: Option<f64>,
    dilution: Option<f64>,
    break_even_bu_ac: Option<f64>,
}

fn field_row(treatment: &str, entry: &PooledEntry, pooled: &Pooled) -> String {
    let input = pooled.inputs.get(entry.input);
    let figures = Figures {
        advantage_kg_ha: entry.advantage_kg_ha,
        advantage_bu_ac: entry.advantage_bu_ac,
        std_error_kg_ha: entry.std_error_kg_ha,
        std_error_bu_ac: entry.std_error_bu_ac,
        df: entry.df,
        interval_kg_ha: entry.interval_95_kg_ha,
        interval_bu_ac: entry.interval_95_bu_ac,
        weight_pct: Some(entry.weight_pct),
        dilution: entry.dilution,
        break_even_bu_ac: entry.break_even_bu_ac,
    };
    let (kind, reason) = match &entry.left_out {
        Some(left_out) => ("left_out", left_out.reason.as_str()),
        None => ("field", ""),
    };
    row(
        [
            treatment,
            kind,
            &entry.field,
            &entry.check,
            &entry.method,
            &entry.blocks.to_string(),
        ],
        &figures,
        [
            input.map_or("", |input| &input.path),
            input.map_or("", |input| &input.sha256),
            reason,
        ],
    )
}

fn pooled_row(treatment: &PooledTreatment) -> String {
    let figures = Figures {
        advantage_kg_ha: Some(treatment.advantage_kg_ha),
        advantage_bu_ac: Some(treatment.advantage_bu_ac),
        std_error_kg_ha: Some(treatment.std_error_kg_ha),
        std_error_bu_ac: Some(treatment.std_error_bu_ac),
        df: Some(treatment.df),
        interval_kg_ha: Some(treatment.interval_95_kg_ha),
        interval_bu_ac: Some(treatment.interval_95_bu_ac),
        weight_pct: Some(100.0),
        break_even_bu_ac: treatment.payoff.as_ref().map(|p| p.break_even_bu_ac),
        ..Figures::default()
    };
    let names = [
        &treatment.treatment,
        "pooled",
        "",
        "",
        &treatment.method,
        "",
    ];
    row(names, &figures, ["", "", ""])
}

fn row(names: [&str; 6], figures: &Figures, source: [&str; 3]) -> String {
    let number = |value: Option<f64>, decimals: usize| {
        value
            .filter(|value| value.is_finite())
            .map_or(String::new(), |value| format!("{value:.decimals$}"))
    };
    let end = |ends: Option<[f64; 2]>, end: usize| ends.map(|ends| ends[end]);
    let mut cells: Vec<String> = names.iter().map(|name| quoted(name)).collect();
    cells.extend([
        number(figures.advantage_kg_ha, 3),
        number(figures.std_error_kg_ha, 3),
        number(figures.df, 2),
        number(end(figures.interval_kg_ha, 0), 3),
        number(end(figures.interval_kg_ha, 1), 3),
        number(figures.advantage_bu_ac, 4),
        number(figures.std_error_bu_ac, 4),
        number(end(figures.interval_bu_ac, 0), 4),
        number(end(figures.interval_bu_ac, 1), 4),
        number(figures.weight_pct, 2),
        number(figures.dilution, 4),
        number(figures.break_even_bu_ac, 4),
    ]);
    cells.extend(source.iter().map(|cell| quoted(cell)));
    format!("{}\n", cells.join(","))
}
