//! Planting quality row by row, for one field: the log read and put into its plane, every planter in it
//! judged by itself, tables, maps and report written.

mod maps;
mod outputs;
mod results;
mod settings_file;
mod tables;

pub use outputs::write_planting;
pub use results::{PLANTING_SCHEMA, PlantedField, PlanterFindings, PlantingInput, PlantingResults};
pub use settings_file::read_planting_settings;

use std::path::PathBuf;

use checkstrip_cleaning::plane_of;
use checkstrip_formats::{ReadOptions, read_log};
use checkstrip_model::{Column, ColumnMap, FieldLog, Operation, Problem, Warning};
use checkstrip_planting::{Measure, PlantingError, PlantingLog, PlantingSettings, analyse};

use crate::compare::{input_columns, unreadable_cells};
use crate::error::JobError;
use crate::outputs::this_tool;

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
}

/// A planting log that was judged, ready to be written.
#[derive(Debug)]
pub struct Planted {
    /// The results.
    pub results: PlantingResults,
    log: FieldLog,
    east_north_m: [Vec<f64>; 2],
    /// For each planter of the results its records; `None`: all.
    records: Vec<Option<Vec<u32>>>,
}

impl Planted {
    /// The first of the log's files.
    fn file(&self) -> String {
        self.log.first_path().to_owned()
    }

    /// The log of one planter as it was judged.
    fn planter(&self, place: usize) -> PlantingLog<'_> {
        of_records(
            &self.log,
            &self.east_north_m,
            self.records[place].as_deref(),
        )
    }
}

fn of_records<'a>(
    log: &'a FieldLog,
    [east, north]: &'a [Vec<f64>; 2],
    records: Option<&'a [u32]>,
) -> PlantingLog<'a> {
    PlantingLog {
        records,
        ..PlantingLog::of(log, Some([east, north]))
    }
}

/// Reads a planting log and judges it in memory: nothing is written. `progress` is told what is being
/// done.
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
    let log = read_log(&setup.files, &options)?;
    let file = log.first_path().to_owned();
    let of_log = |source| JobError::Cleaning {
        file: file.clone(),
        source,
    };
    let plane = plane_of(&log).map_err(of_log)?;
    let places = |column: Column| log.numbers(column).unwrap_or_default();
    let (east, north) = plane.to_plane(places(Column::Lon), places(Column::Lat))?;
    let east_north_m = [east, north];

    progress("judging row by row");
    let mut warnings: Vec<Warning> = unreadable_cells(&log.problems).into_iter().collect();
    let (mut planters, mut records, mut refused) = (Vec::new(), Vec::new(), Vec::new());
    for (machine, of_machine) in machines(&log) {
        let columns = of_records(&log, &east_north_m, of_machine.as_deref());
        match analyse(&columns, &setup.settings) {
            Ok(findings) => {
                planters.push(PlanterFindings { machine, findings });
                records.push(of_machine);
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
            records: log.len(),
            files: log.files.clone(),
            columns: input_columns(&log),
        },
        planters,
        warnings,
    };
    Ok(Planted {
        results,
        log,
        east_north_m,
        records,
    })
}

/// The machines of the log, each with its records; one for all records where the log names at most one.
fn machines(log: &FieldLog) -> Vec<(Option<String>, Option<Vec<u32>>)> {
    let Some(machines) = log.labels(Column::Machine) else {
        return vec![(None, None)];
    };
    let mut of_each: Vec<Vec<u32>> = vec![Vec::new(); machines.names.len()];
    for (record, &machine) in machines.index.iter().enumerate() {
        of_each[machine as usize].push(record as u32);
    }
    let name = |name: &String| (!name.is_empty()).then(|| name.clone());
    let mut found: Vec<(Option<String>, Option<Vec<u32>>)> = machines
        .names
        .iter()
        .map(name)
        .zip(of_each)
        .filter(|(_, records)| !records.is_empty())
        .map(|(name, records)| (name, Some(records)))
        .collect();
    if let [(_, records)] = &mut found[..] {
        *records = None;
    }
    found
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
