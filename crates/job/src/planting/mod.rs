//! Planting quality row by row, for one field: the log read in pieces and put into its plane, every planter in
//! it judged by itself, tables, maps and report written.

mod maps;
mod outputs;
mod planters_being_read;
mod results;
mod settings_file;
mod tables;

pub use outputs::write_planting;
pub use results::{PLANTING_SCHEMA, PlantedField, PlanterFindings, PlantingInput, PlantingResults};
pub use settings_file::read_planting_settings;

use std::path::PathBuf;

use checkstrip_formats::{ReadOptions, read_log_in_pieces};
use checkstrip_model::{ColumnMap, Operation, Problem, Warning};
use checkstrip_planting::{Measure, PlantingError, PlantingRecords, PlantingSettings, analyse};

use crate::compare::{input_columns, unreadable_cells};
use crate::error::JobError;
use crate::outputs::this_tool;
use planters_being_read::PlantersBeingRead;

/// Which planting log to judge, and how.
#[derive(Debug, Clone)]
pub struct PlantingSetup {
    /// The files.
    pub files: Vec<PathBuf>,
    /// Columns named by hand.
    pub columns: ColumnMap,
    /// Name of the field.
    pub name: String,
    /// The settings.
    pub settings: PlantingSettings,
    /// The folder for what does not fit into memory, where the results will go; while it is not there, the one
    /// that it will be in.
    pub put_aside_in: PathBuf,
}

/// A planting log that was judged, ready to be written.
#[derive(Debug)]
pub struct Planted {
    /// The results.
    pub results: PlantingResults,
    /// The first of the log's files.
    file: String,
    /// For each planter of the results its records.
    records: Vec<PlantingRecords>,
}

/// Reads a planting log and judges it: nothing is written, and what does not fit into memory is put aside in a
/// file without a name. `progress` is told what is being done.
///
/// # Errors
/// When a file cannot be read, is of other work, or no planter in it can be judged row by row.
pub fn planting(
    setup: &PlantingSetup,
    progress: &(dyn Fn(&str) + Sync),
) -> Result<Planted, JobError> {
    progress("reading the log");
    let options = ReadOptions {
        operation: Some(Operation::Planting),
        columns: setup.columns.clone(),
        ..ReadOptions::default()
    };
    let first = setup.files.first();
    let given = first.map_or_else(String::new, |file| file.display().to_string());
    let mut read = PlantersBeingRead::new(&given, &setup.put_aside_in);
    let log = read_log_in_pieces(&setup.files, &options, |piece| read.push(&piece))?;
    let of_planters = read.finish()?;
    let file = log.first_path().to_owned();

    progress("judging row by row");
    let mut warnings: Vec<Warning> = unreadable_cells(&log.problems).into_iter().collect();
    let (mut planters, mut records, mut refused) = (Vec::new(), Vec::new(), Vec::new());
    for (machine, of_machine) in of_planters {
        let judged = of_machine
            .finish()
            .and_then(|records| Ok((analyse(&records, &setup.settings)?, records)));
        match judged {
            Ok((findings, of_machine)) => {
                planters.push(PlanterFindings { machine, findings });
                records.push(of_machine);
            }
            Err(source @ PlantingError::Scratch { .. }) => {
                return Err(JobError::Planting { file, source });
            }
            Err(source) => refused.push((machine, source)),
        }
    }
    let has_figures = |planter: &PlanterFindings| {
        let figures = &planter.findings.planter;
        Measure::ALL.iter().any(|&m| figures.get(m).is_some())
    };
    let refused_planters: Vec<Warning> = refused.iter().map(left_out).collect();
    if planters.is_empty()
        && let Some((_, source)) = refused.into_iter().next()
    {
        return Err(JobError::Planting { file, source });
    }
    if !planters.iter().any(has_figures) {
        let problem = Problem::new(
            file,
            "no row has a reading while the planter is planting, so that nothing can be judged",
        );
        let hint = "export the log with population, singulation, skips, downforce or the like; \
                    checkstrip inspect tells what it holds";
        return Err(problem.hint(hint).into());
    }
    warnings.extend(refused_planters);
    warnings.extend(planters.iter().filter_map(no_row_spacing));

    let results = PlantingResults {
        schema: PLANTING_SCHEMA.into(),
        tool: this_tool(),
        field: PlantedField {
            name: setup.name.clone(),
        },
        input: PlantingInput {
            records: log.files.iter().map(|file| file.records).sum(),
            files: log.files.clone(),
            columns: input_columns(&log),
        },
        planters,
        warnings,
    };
    Ok(Planted {
        results,
        file,
        records,
    })
}

fn left_out((machine, why): &(Option<String>, PlantingError)) -> Warning {
    let machine = machine.as_deref().unwrap_or("a machine without a name");
    let why = why.to_string();
    let said = why.lines().next().unwrap_or_default();
    Warning::new(
        "planter_not_judged",
        format!("The records of {machine} were left out: {said}."),
    )
}

fn no_row_spacing(planter: &PlanterFindings) -> Option<Warning> {
    planter.findings.row_spacing_m.is_none().then(|| {
        Warning::new(
            "no_row_spacing",
            "How far the rows are apart is not known: no ground, no seeds in a period, no maps. Give \
             --row-spacing \"30 in\" (yours).",
        )
    })
}

#[cfg(test)]
mod tests;
