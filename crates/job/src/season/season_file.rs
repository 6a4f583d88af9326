//! `SEASON.toml`: which trials belong to a season. Paths in it are relative to the file itself.

use crate::error::JobError;
use crate::toml_file::read_toml;
use checkstrip_formats::expand_globs;
use checkstrip_model::Problem;
use serde::Deserialize;
use std::path::{Path, PathBuf};

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct SeasonFile {
    season: SeasonTable,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct SeasonTable {
    name: String,
    trials: Vec<String>,
}

/// The season to do.
#[derive(Debug, Clone)]
pub struct SeasonSetup {
    /// The season file.
    pub file: PathBuf,
    /// The season's name.
    pub name: String,
    /// Trial files, or patterns of them, relative to the folder of the season file.
    pub trials: Vec<String>,
}

/// Reads a season file.
///
/// # Errors
/// A file that cannot be read, is no TOML, has an unknown or missing key (with its row), or lists no trial.
pub fn read_season_file(path: &Path) -> Result<SeasonSetup, JobError> {
    let file: SeasonFile = read_toml(path, "docs/season.md")?;
    if file.season.trials.is_empty() {
        let shown = path.display().to_string();
        return Err(
            Problem::new(shown, "trials is empty: no field belongs to the season")
                .hint("list trial files or patterns, such as trials = [\"fields/*/trial.toml\"]")
                .into(),
        );
    }
    Ok(SeasonSetup {
        file: path.to_owned(),
        name: file.season.name,
        trials: file.season.trials,
    })
}

impl SeasonSetup {
    /// The folder that paths are relative to.
    pub(super) fn folder(&self) -> &Path {
        self.file.parent().unwrap_or(Path::new(""))
    }

    /// The trial files that are there, sorted, each once.
    ///
    /// # Errors
    /// When a pattern matches no file.
    pub(super) fn trials(&self) -> Result<Vec<PathBuf>, JobError> {
        Ok(expand_globs(&self.trials, self.folder())?)
    }

    /// The trial files that are there by now; a pattern may still match none.
    pub(super) fn trials_so_far(&self) -> Vec<PathBuf> {
        let found = self
            .trials
            .iter()
            .filter_map(|pattern| expand_globs(std::slice::from_ref(pattern), self.folder()).ok());
        let mut trials: Vec<PathBuf> = found.flatten().collect();
        trials.sort();
        trials.dedup();
        trials
    }
}
