//! What a log holds, before anything is done with it: columns and their ranges, machines, time,
//! place, passes, and what a comparison would stumble over.

use crate::compare::{cleaned, cleaning, input, read};
use crate::error::JobError;
use crate::setup::LogSetup;
use checkstrip_model::results::{Cleaning, Input};
use checkstrip_model::{Column, FieldLog, Problem, Warning};
use serde::Serialize;

/// What `inspect` found.
#[derive(Debug, Clone, Serialize)]
pub struct Inspection {
    /// Files, records, totals, columns read and derived.
    pub input: Input,
    /// Every column the log has or was given.
    pub columns: Vec<ColumnSummary>,
    /// Headers that mean nothing to checkstrip.
    pub unrecognised: Vec<String>,
    /// Machines.
    pub machines: Vec<String>,
    /// First and last moment, seconds (Unix time when the log has one), when it has any.
    pub time_span_s: Option<[f64; 2]>,
    /// West, south, east, north, degrees.
    pub extent_deg: [f64; 4],
    /// What cleaning with the usual settings would do.
    pub cleaning: Cleaning,
    /// Places in the files that could not be read.
    pub problems: Vec<Problem>,
    /// What looks wrong.
    pub warnings: Vec<Warning>,
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
}

/// Reads a log and tells what is in it.
///
/// A log without a width is looked at as if its header were 30 ft wide, and the warnings say so.
///
/// # Errors
/// When a file cannot be read or holds nothing that a harvest log is made of.
pub fn inspect(setup: &LogSetup) -> Result<Inspection, JobError> {
    /// 30 ft, m.
    const USUAL_HEADER_M: f64 = 9.144;
    let log = read(setup)?;
    let mut warnings = missing(&log, setup);
    let all_zero = |widths: &[f64]| widths.iter().all(|w| w.is_nan() || *w <= 0.0);
    if setup.header_width_m.is_none() && log.numbers(Column::Width).is_some_and(all_zero) {
        warnings.push(Warning::new(
            "no_width",
            "Every cutting width in the log is zero or missing; 30 ft was assumed here. A comparison \
             needs width = \"…\" under [harvest] or --width.",
        ));
    }
    let setup = &LogSetup {
        header_width_m: setup.header_width_m.or(Some(USUAL_HEADER_M)),
        ..setup.clone()
    };
    let mut outcome = cleaned(log, setup)?;
    warnings.append(&mut outcome.warnings);
    let log = &outcome.log.log;
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
    let timed = log
        .sources
        .iter()
        .any(|source| source.0 == Column::Timestamp);
    Ok(Inspection {
        input: input(&outcome, &setup.crop),
        columns: columns(log),
        unrecognised: log.unrecognised.clone(),
        machines: outcome.machines.clone(),
        time_span_s: timed.then(|| span(Column::Timestamp)),
        extent_deg: [lon[0], lat[0], lon[1], lat[1]],
        cleaning: cleaning(&outcome, setup)?,
        problems: log.problems.clone(),
        warnings,
    })
}

/// What a comparison would miss.
fn missing(log: &FieldLog, setup: &LogSetup) -> Vec<Warning> {
    let mut warnings = Vec::new();
    let mut warn = |code: &str, message: &str| warnings.push(Warning::new(code, message));
    if !log.has(Column::Width) && setup.header_width_m.is_none() {
        warn(
            "no_width",
            "The log does not say how wide the header cut; 30 ft was assumed here. A comparison \
             needs width = \"…\" under [harvest] or --width.",
        );
    }
    if !log.has(Column::Moisture) {
        warn(
            "no_moisture",
            "The log has no moisture: yields would be taken as market moisture.",
        );
    }
    if !log.has(Column::Timestamp) {
        warn(
            "no_time",
            "The log has no time: records are taken in file order.",
        );
    }
    if !log.has(Column::HeaderDown) {
        warn(
            "no_header_state",
            "The log does not say when the header was down.",
        );
    }
    if !log.has(Column::Distance) && !log.has(Column::Speed) {
        warn(
            "no_distance",
            "The log has neither distance nor speed: both come from positions.",
        );
    }
    warnings
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
            }
            summary
        })
        .collect()
}
