//! `checkstrip planting`: which rows are in trouble, what repeats, what to do.

use crate::arguments::PlantingArguments;
use crate::console::Console;
use crate::meaning::planting_setup;
use checkstrip_job::{PlantingResults, planting, write_planting};
use checkstrip_model::units::UnitSystem;
use checkstrip_report::planting_in_words;

pub(crate) fn run(arguments: &PlantingArguments, console: &Console) -> anyhow::Result<()> {
    let setup = planting_setup(arguments)?;
    let progress = |what: &str| console.progress(what);
    let planted = planting(&setup, &progress)?;
    let written = write_planting(&planted, &arguments.out, console.units, &progress)?;
    console.finish();
    let results = &planted.results;
    console.warn(&results.warnings);
    console.result(results, || {
        let mut lines = words(results, console.units);
        lines.push(String::new());
        if let Some(report) = written.first() {
            lines.push(format!("Report: {}", report.display()));
        }
        lines.push(format!(
            "Every row, every pass, maps and planting.json: {}",
            arguments.out.display()
        ));
        lines.join("\n")
    })
}

fn words(results: &PlantingResults, units: UnitSystem) -> Vec<String> {
    let mut lines = Vec::new();
    for planter in &results.planters {
        if !lines.is_empty() {
            lines.push(String::new());
        }
        lines.push(match &planter.machine {
            Some(machine) => format!("{}, {machine}", results.field.name),
            None => results.field.name.clone(),
        });
        lines.extend(planting_in_words(&planter.findings, units));
    }
    lines
}
