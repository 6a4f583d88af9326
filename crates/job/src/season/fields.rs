//! The fields of a season: each trial with the name of its folder, everything it reads, and what that comes
//! to as one figure.

use super::SeasonOptions;
use super::fingerprint::{Input, fingerprint, inputs_of};
use super::season_file::SeasonSetup;
use super::summary::POOLED;
use crate::error::JobError;
use crate::setup::TrialSetup;
use crate::trial_file::read_trial_file;
use checkstrip_model::Problem;
use checkstrip_words::Words;
use std::collections::BTreeMap;
use std::path::{Component, Path, PathBuf};

/// A field of a season.
#[derive(Debug)]
pub(super) struct Field {
    /// The name of its folder.
    pub(super) name: String,
    /// The trial file.
    pub(super) trial: PathBuf,
    /// What it says, and the words of its report; or why it cannot be used.
    pub(super) state: Result<(TrialSetup, Words), JobError>,
    /// Every file that it rests on.
    pub(super) inputs: Vec<Input>,
    /// The inputs' contents as one figure.
    pub(super) fingerprint: String,
}

/// The fields of these trial files.
///
/// # Errors
/// When two trials would share a folder.
pub(super) fn find_fields(
    setup: &SeasonSetup,
    trials: &[PathBuf],
    options: &SeasonOptions,
) -> Result<Vec<Field>, JobError> {
    let named = with_folders(setup, trials)?.into_iter();
    Ok(named
        .map(|(name, trial)| field(name, &trial, options))
        .collect())
}

/// The trials of a season that are there, sorted, each with the name of its folder; none of them is read. For
/// runs that do the fields elsewhere, one by one.
///
/// # Errors
/// When a pattern matches no file, or two trials would share a folder.
pub fn season_trials(setup: &SeasonSetup) -> Result<Vec<(String, PathBuf)>, JobError> {
    with_folders(setup, &setup.trials()?)
}

fn with_folders(
    setup: &SeasonSetup,
    trials: &[PathBuf],
) -> Result<Vec<(String, PathBuf)>, JobError> {
    let mut names: BTreeMap<String, &PathBuf> = BTreeMap::new();
    let mut named = Vec::with_capacity(trials.len());
    for trial in trials {
        let name = folder_name(setup.folder(), trial);
        if name == POOLED {
            let message = format!(
                "the results of {} would go to the folder {POOLED}, where the pooled answers go",
                trial.display()
            );
            return Err(Problem::new(setup.file.display().to_string(), message)
                .hint("call the trial's file or folder otherwise")
                .into());
        }
        if let Some(other) = names.insert(name.clone(), trial) {
            let message = format!(
                "the results of {} and of {} would go to one folder, {name}",
                other.display(),
                trial.display()
            );
            return Err(Problem::new(setup.file.display().to_string(), message)
                .hint("call one of the two files or folders otherwise")
                .into());
        }
        named.push((name, trial.clone()));
    }
    Ok(named)
}

fn field(name: String, trial: &Path, options: &SeasonOptions) -> Field {
    let read = read_trial_file(trial).and_then(|setup| {
        let inputs = inputs_of(trial, &setup)?;
        let words = options.language.or(&setup.language).read()?;
        Ok((setup, words, inputs))
    });
    let (state, inputs) = match read {
        Ok((setup, words, inputs)) => (Ok((setup, words)), inputs),
        Err(error) => (Err(error), Vec::new()),
    };
    let words = state.as_ref().ok().map(|(_, words)| words);
    Field {
        name,
        trial: trial.to_owned(),
        fingerprint: fingerprint(&inputs, options, words),
        state,
        inputs,
    }
}

/// The name of a trial's folder: its path from the season file with two hyphens between folders, without
/// the file's own name where that is `trial.toml`. It stays the same whatever other trials there are.
fn folder_name(base: &Path, trial: &Path) -> String {
    let path = trial.strip_prefix(base).unwrap_or(trial);
    let mut path = path.with_extension("");
    if path.file_name().is_some_and(|name| name == "trial") && path.components().count() > 1 {
        path.pop();
    }
    let parts: Vec<String> = path
        .components()
        .filter_map(|part| match part {
            Component::Normal(name) => Some(name.to_string_lossy().into_owned()),
            Component::ParentDir => Some("up".to_owned()),
            _ => None,
        })
        .collect();
    parts.join("--")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn folders_are_named_by_the_path_from_the_season_file() {
        let name = |trial: &str| folder_name(Path::new("farm/2026"), Path::new(trial));
        assert_eq!(name("farm/2026/home/trial.toml"), "home");
        assert_eq!(name("farm/2026/north/home/trial.toml"), "north--home");
        assert_eq!(name("farm/2026/home/late.toml"), "home--late");
        assert_eq!(name("farm/2026/trial.toml"), "trial");
        assert_eq!(name("../other/trial.toml"), "up--other");
    }
}
