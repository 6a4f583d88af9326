//! What a log holds, before anything is done with it: machines, crop, time, place, columns and their ranges,
//! and what a comparison would miss. A harvest log is cleaned as well, to tell what cleaning would keep.

use crate::compare::{cleaned, cleaning, input, read_any};
use crate::error::JobError;
use crate::setup::LogSetup;
use checkstrip_cleaning::BesideTheRecords;
use checkstrip_formats::format_in_words;
use checkstrip_model::results::{Cleaning, Input};
use checkstrip_model::{Column, Crop, FieldLog, Operation, Problem, SourceFile, Warning};
use serde::Serialize;

/// What a log holds.
#[derive(Debug, Clone, Serialize)]
pub struct LogInspection {
    /// Which work it is of.
    pub operation: Operation,
    /// Records, over all files.
    pub records: usize,
    /// The files.
    pub files: Vec<SourceFile>,
    /// For each file its format, in words.
    pub formats: Vec<String>,
    /// What the files say beside their records: crop, field, task, totals.
    pub facts: Vec<(String, String)>,
    /// The crop that the log was looked at with, of a harvest.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub crop: Option<Crop>,
    /// The machines that the log names.
    pub machines: Vec<MachineSummary>,
    /// Products, varieties or hybrids that the log names, at most twenty.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub products: Vec<String>,
    /// Rows of the planter that the log tells apart.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub planter_rows: Option<usize>,
    /// First and last moment, seconds (Unix time when the log has one), when it has any.
    pub time_span_s: Option<[f64; 2]>,
    /// West, south, east, north, degrees.
    pub extent_deg: [f64; 4],
    /// Every column the log has or was given.
    pub columns: Vec<ColumnSummary>,
    /// Headers that mean nothing to checkstrip.
    pub unrecognised: Vec<String>,
    /// What a comparison would lack.
    pub missing: Vec<Warning>,
    /// Of a harvest log, its totals and what cleaning would do.
    #[serde(flatten)]
    pub harvest: Option<HarvestInspection>,
    /// Places in the files that could not be read.
    pub problems: Vec<Problem>,
    /// What looks wrong.
    pub warnings: Vec<Warning>,
}

/// What is told of harvest logs only.
#[derive(Debug, Clone, Serialize)]
pub struct HarvestInspection {
    /// Files, records, totals, columns read and derived.
    pub input: Input,
    /// What cleaning with the usual settings would do.
    pub cleaning: Cleaning,
}

/// One machine.
#[derive(Debug, Clone, Serialize)]
pub struct MachineSummary {
    /// Its name.
    pub name: String,
    /// Its records.
    pub records: usize,
}

/// One column's numbers.
#[derive(Debug, Clone, Serialize)]
pub struct ColumnSummary {
    /// Canonical name.
    pub name: String,
    /// Header in the file; empty when derived.
    pub header: String,
    /// Unit in the file.
    pub unit: String,
    /// How it was derived; empty when read.
    pub derived: String,
    /// Records without a value.
    pub missing: usize,
    /// Smallest, median and largest value in the canonical unit; absent for names.
    pub range: Option<[f64; 3]>,
    /// The names, for columns of names, at most twenty.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub names: Vec<String>,
    /// How many names differ.
    #[serde(skip_serializing_if = "is_zero")]
    pub distinct: usize,
}

fn is_zero(count: &usize) -> bool {
    *count == 0
}

/// Reads a log and tells what is in it.
///
/// A harvest log without a width is looked at as if its header were 30 ft wide, and `missing` says so.
///
/// # Errors
/// When a file cannot be read or holds nothing that a log is made of.
pub(super) fn inspect(setup: &LogSetup) -> Result<LogInspection, JobError> {
    /// 30 ft, m.
    const USUAL_HEADER_M: f64 = 9.144;
    let log = read_any(setup)?;
    let missing = match log.operation {
        Operation::Harvest => missing(&log, setup),
        Operation::Planting | Operation::Application | Operation::StandCount => Vec::new(),
    };
    if log.operation != Operation::Harvest {
        return described(&log, missing, None, Vec::new());
    }
    let mut setup = LogSetup {
        header_width_m: setup.header_width_m.or(Some(USUAL_HEADER_M)),
        ..setup.clone()
    };
    let said = log.facts.iter().find(|(what, _)| what == "crop");
    if let (true, Some(crop)) = (
        setup.crop_assumed,
        said.and_then(|(_, name)| Crop::known(name)),
    ) {
        (setup.crop, setup.crop_assumed) = (crop, false);
    }
    let mut outcome = cleaned(log, &setup, BesideTheRecords::default())?;
    let warnings = std::mem::take(&mut outcome.warnings);
    let harvest = HarvestInspection {
        input: input(&outcome, &setup.crop),
        cleaning: cleaning(&outcome, &setup)?,
    };
    let crop = setup.crop.clone();
    described(&outcome.log.log, missing, Some((harvest, crop)), warnings)
}

/// What `log` holds, with what was found out about a harvest.
fn described(
    log: &FieldLog,
    missing: Vec<Warning>,
    harvest: Option<(HarvestInspection, Crop)>,
    warnings: Vec<Warning>,
) -> Result<LogInspection, JobError> {
    let span = |column: Column| {
        let values = log.numbers(column).unwrap_or_default();
        values
            .iter()
            .filter(|v| v.is_finite())
            .fold([f64::INFINITY, f64::NEG_INFINITY], |s, &v| {
                [s[0].min(v), s[1].max(v)]
            })
    };
    let (lon, lat) = (span(Column::Lon), span(Column::Lat));
    let is_read = |column: Column| log.sources.iter().any(|source| source.0 == column);
    let machines = match log.labels(Column::Machine) {
        Some(machines) if is_read(Column::Machine) => {
            let mut counts = vec![0; machines.names.len()];
            machines
                .index
                .iter()
                .for_each(|&at| counts[at as usize] += 1);
            let named = machines.names.iter().zip(counts);
            named
                .filter(|(name, _)| !name.is_empty())
                .map(|(name, records)| MachineSummary {
                    name: name.clone(),
                    records,
                })
                .collect()
        }
        _ => Vec::new(),
    };
    let products = log.labels(Column::Product).map(|labels| {
        let named = labels.names.iter().filter(|name| !name.is_empty());
        named.take(20).cloned().collect()
    });
    let planter_rows = log.numbers(Column::Row).map(|rows| {
        let mut rows: Vec<u64> = rows.iter().map(|row| row.to_bits()).collect();
        rows.sort_unstable();
        rows.dedup();
        rows.len()
    });
    let formats: Result<Vec<String>, _> = log
        .files
        .iter()
        .map(|file| format_in_words(file.path.as_ref()))
        .collect();
    let (harvest, crop) = harvest.unzip();
    Ok(LogInspection {
        operation: log.operation,
        records: log.len(),
        files: log.files.clone(),
        formats: formats?,
        facts: log.facts.clone(),
        crop,
        machines,
        products: products.unwrap_or_default(),
        planter_rows,
        time_span_s: is_read(Column::Timestamp).then(|| span(Column::Timestamp)),
        extent_deg: [lon[0], lat[0], lon[1], lat[1]],
        columns: columns(log),
        unrecognised: log.unrecognised.clone(),
        missing,
        harvest,
        problems: log.problems.clone(),
        warnings,
    })
}

/// What a comparison would miss in a harvest log, each with what to do.
fn missing(log: &FieldLog, setup: &LogSetup) -> Vec<Warning> {
    let mut missing = Vec::new();
    let mut lacks = |code: &str, message: &str| missing.push(Warning::new(code, message));
    let no_width = |widths: &[f64]| widths.iter().all(|w| w.is_nan() || *w <= 0.0);
    if setup.header_width_m.is_none() && log.numbers(Column::Width).is_none_or(no_width) {
        lacks(
            "no_width",
            "how wide the header cut. A comparison stops without it: write width = \"30 ft\" (yours) under \
             [harvest], or give --width. 30 ft was taken here.",
        );
    }
    if !log.has(Column::MassFlow) {
        lacks(
            "no_flow",
            "grain flow: the log carries yields only. The grain delay cannot be found, and what the machine \
             made of width and overlap stays. Export flow if the monitor can.",
        );
    }
    if !log.has(Column::Moisture) {
        lacks(
            "no_moisture",
            "moisture: yields would be taken as market moisture. Export it if there is one.",
        );
    }
    if !log.has(Column::Timestamp) {
        lacks(
            "no_time",
            "time: records are taken in file order. Export it, or make sure that the files are in order.",
        );
    }
    if !log.has(Column::HeaderDown) {
        lacks(
            "no_header_state",
            "when the header was down: turns may pass for crop. Export it if the monitor can.",
        );
    }
    if !log.has(Column::Distance) && !log.has(Column::Speed) {
        lacks(
            "no_distance",
            "distance and speed: both come from positions, which are rougher. Export one of them.",
        );
    }
    missing
}

fn columns(log: &FieldLog) -> Vec<ColumnSummary> {
    Column::ALL
        .iter()
        .copied()
        .filter(|&column| log.has(column))
        .map(|column| {
            let source = log.sources.iter().find(|source| source.0 == column);
            let derived = log.derived.iter().find(|derived| derived.0 == column);
            let mut summary = ColumnSummary {
                name: column.canonical_name().into(),
                header: source.map_or(String::new(), |source| source.1.clone()),
                unit: source.map_or(String::new(), |source| source.2.clone()),
                derived: derived.map_or(String::new(), |derived| derived.1.clone()),
                missing: 0,
                range: None,
                names: Vec::new(),
                distinct: 0,
            };
            if let Some(values) = log.numbers(column) {
                let mut finite: Vec<f64> =
                    values.iter().copied().filter(|v| v.is_finite()).collect();
                summary.missing = values.len() - finite.len();
                finite.sort_unstable_by(f64::total_cmp);
                if let (Some(&low), Some(&high)) = (finite.first(), finite.last()) {
                    summary.range = Some([low, finite[finite.len() / 2], high]);
                }
            }
            if let Some(labels) = log.labels(column) {
                summary.names = labels.names.iter().take(20).cloned().collect();
                summary.distinct = labels.names.len();
            }
            summary
        })
        .collect()
}
