//! The settings of a planting log's judgement, as a grower writes them in a file of their own.

use crate::error::JobError;
use crate::toml_file::read_toml;
use checkstrip_model::Problem;
use checkstrip_planting::PlantingSettings;
use std::path::Path;

/// Reads a file of settings; what it does not name stays at its default.
///
/// # Errors
/// A file that cannot be read, is no TOML, or has a key or value that is none, with its row.
pub fn read_planting_settings(path: &Path) -> Result<PlantingSettings, JobError> {
    let settings: PlantingSettings = read_toml(path, "docs/planting.md")?;
    settings
        .check()
        .map_err(|error| Problem::new(path.display().to_string(), error.to_string()))?;
    Ok(settings)
}
