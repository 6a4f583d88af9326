//! What files hold, before anything is done with them: logs ([`log`]) with machines, crop, time, place and
//! columns, files of polygons ([`polygons`]) with what they can serve as, and what a comparison would lack.

mod log;
mod polygons;

use std::path::Path;

use checkstrip_formats::read_polygon_contents;
use serde::Serialize;

use crate::error::JobError;
use crate::setup::LogSetup;

pub use log::{ColumnSummary, HarvestInspection, LogInspection, MachineSummary};
pub use polygons::{PolygonInspection, StripUse, TreatmentCount};

/// What `inspect` found.
#[derive(Debug, Clone, Serialize)]
pub struct Inspection {
    /// The log that the files make together, when any of them is one.
    #[serde(flatten)]
    pub log: Option<LogInspection>,
    /// The files of polygons.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub polygons: Vec<PolygonInspection>,
}

/// Reads files and tells what is in them: those of polygons one by one, the others as one log.
///
/// # Errors
/// When a file cannot be read, or is neither polygons nor what a log is made of.
pub fn inspect(setup: &LogSetup) -> Result<Inspection, JobError> {
    let mut polygons = Vec::new();
    let mut logs = Vec::new();
    for file in &setup.files {
        match read_polygon_contents(Path::new(file))? {
            Some(contents) => polygons.push(polygons::inspect(file, contents)?),
            None => logs.push(file.clone()),
        }
    }
    let log = match logs.is_empty() {
        true => None,
        false => Some(log::inspect(&LogSetup {
            files: logs,
            ..setup.clone()
        })?),
    };
    Ok(Inspection { log, polygons })
}
