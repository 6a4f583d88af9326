//! `rows.csv` and `passes.csv`: the figures of every row, over the log and pass by pass, in SI units under
//! the keys of the results file.

use checkstrip_planting::{Measure, PlantingFindings, RowFigures};
use serde_json::Value;

use super::results::PlanterFindings;
use crate::error::JobError;
use crate::outputs::quoted;

/// The headers of a row's figures: the keys that they have in `planting.json`.
fn figure_keys() -> Result<Vec<String>, serde_json::Error> {
    let figures = serde_json::to_value(RowFigures::default())?;
    let keys = figures.as_object().map(|map| map.keys().cloned().collect());
    Ok(keys.unwrap_or_default())
}

/// A row's figures in the order of [`figure_keys`]; empty where the log has none.
fn figures(of_row: &RowFigures) -> Result<Vec<String>, serde_json::Error> {
    let cell = |value: &Value| value.as_f64().map_or(String::new(), |v| format!("{v:.4}"));
    let figures = serde_json::to_value(of_row)?;
    let cells = figures
        .as_object()
        .map(|map| map.values().map(cell).collect());
    Ok(cells.unwrap_or_default())
}

/// One line a row, the one in most trouble first.
pub(super) fn rows(planters: &[PlanterFindings]) -> Result<String, JobError> {
    let mut table = format!(
        "planter,place,row,trouble,{},called,repeating_faults\n",
        figure_keys()?.join(",")
    );
    for planter in planters {
        let findings = &planter.findings;
        for (place, row, score) in order(findings) {
            let called = findings
                .deviations
                .iter()
                .filter(|d| d.row == row && d.called);
            let called: Vec<String> = called.map(|d| key(d.measure)).collect::<Result<_, _>>()?;
            let faults = findings.repeating_faults.iter();
            let faults = faults.filter(|fault| fault.rows.contains(&row)).count();
            let mut cells = vec![
                quoted(planter.machine.as_deref().unwrap_or_default()),
                place,
                row.to_string(),
                score,
            ];
            cells.extend(figures(&findings.row_figures[row - 1])?);
            cells.extend([called.join(" "), faults.to_string()]);
            table.push_str(&cells.join(","));
            table.push('\n');
        }
    }
    Ok(table)
}

/// Place, row and score; rows that were not compared have neither place nor score.
fn order(findings: &PlantingFindings) -> Vec<(String, usize, String)> {
    if findings.deviations.is_empty() {
        let rows = 1..=findings.row_figures.len();
        return rows
            .map(|row| (String::new(), row, String::new()))
            .collect();
    }
    let in_order = findings.trouble.iter().enumerate();
    in_order
        .map(|(at, of_row)| {
            let score = format!("{:.4}", of_row.score.abs());
            ((at + 1).to_string(), of_row.row, score)
        })
        .collect()
}

/// A measure as `planting.json` calls it.
fn key(measure: Measure) -> Result<String, serde_json::Error> {
    let name = serde_json::to_value(measure)?;
    Ok(name.as_str().unwrap_or_default().to_owned())
}

/// One line a row of a pass.
pub(super) fn passes(planters: &[PlanterFindings]) -> Result<String, JobError> {
    let mut table = format!(
        "planter,pass,from_s,to_s,pass_length_m,mean_speed_m_s,row,{}\n",
        figure_keys()?.join(",")
    );
    for planter in planters {
        for pass in &planter.findings.passes {
            let [from, to] = pass.time_s;
            let of_pass = format!(
                "{},{},{from:.1},{to:.1},{:.2},{:.3}",
                quoted(planter.machine.as_deref().unwrap_or_default()),
                pass.pass,
                pass.length_m,
                pass.mean_speed_m_s
            );
            for (at, row) in pass.rows.iter().enumerate() {
                let figures = figures(row)?.join(",");
                table.push_str(&format!("{of_pass},{},{figures}\n", at + 1));
            }
        }
    }
    Ok(table)
}
