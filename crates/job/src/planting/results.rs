//! `planting.json`: everything found in a planting log, for programs. Keys carry their unit; the schema's
//! name changes when a key changes its meaning.

use checkstrip_model::results::{InputColumn, Tool};
use checkstrip_model::{SourceFile, Warning};
use checkstrip_planting::PlantingFindings;
use serde::Serialize;

/// Name of this schema.
pub const PLANTING_SCHEMA: &str = "checkstrip-planting/1";

/// The whole file.
#[derive(Debug, Clone, Serialize)]
pub struct PlantingResults {
    /// [`PLANTING_SCHEMA`].
    pub schema: String,
    /// What wrote the file.
    pub tool: Tool,
    /// The field.
    pub field: PlantedField,
    /// What went in.
    pub input: PlantingInput,
    /// One entry a planter, in the order of the log.
    pub planters: Vec<PlanterFindings>,
    /// What a reader should know.
    pub warnings: Vec<Warning>,
}

/// The field.
#[derive(Debug, Clone, Serialize)]
pub struct PlantedField {
    /// Name as given, or the log's file name.
    pub name: String,
}

/// What the log held.
#[derive(Debug, Clone, Serialize)]
pub struct PlantingInput {
    /// Records, one a row and moment.
    pub records: usize,
    /// The files.
    pub files: Vec<SourceFile>,
    /// For each column that was read: its header and unit.
    pub columns: Vec<InputColumn>,
}

/// What was found of one planter, with the settings it rests on.
#[derive(Debug, Clone, Serialize)]
pub struct PlanterFindings {
    /// The machine, where the log names it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub machine: Option<String>,
    /// The findings.
    pub findings: PlantingFindings,
}
