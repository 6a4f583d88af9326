//! What a field rests on: the content of every file that its trial names, and that as one figure, so that a
//! field is done again when any of it changes and only then.

use super::SeasonOptions;
use crate::error::JobError;
use crate::setup::{TrialSetup, ZoneSetup};
use crate::trial_file::read_trial_file;
use checkstrip_formats::{FormatError, sha256, sha256_of_file};
use checkstrip_words::Words;
use std::path::{Path, PathBuf};

/// A file that a field rests on.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Input {
    pub(super) path: PathBuf,
    pub(super) bytes: u64,
    pub(super) sha256: String,
}

/// Every file that a trial names, the trial file first: logs, scale tickets, strips, zones, past harvests, stand
/// counts and words, with what belongs to them (the parts of a Shapefile, the files of a folder of task data).
///
/// # Errors
/// When a folder cannot be listed.
pub(super) fn files_of(trial: &Path, setup: &TrialSetup) -> Result<Vec<PathBuf>, JobError> {
    let mut named: Vec<PathBuf> = vec![trial.to_owned()];
    named.extend(setup.log.files.iter().cloned());
    named.extend(setup.log.tickets.iter().cloned());
    named.push(setup.strips.file.clone());
    match &setup.zones {
        Some(ZoneSetup::Drawn { file, .. }) => named.push(file.clone()),
        Some(ZoneSetup::YieldHistory { harvests, .. }) => {
            named.extend(harvests.iter().flatten().cloned());
        }
        Some(ZoneSetup::Elevation { .. }) | None => {}
    }
    named.extend(
        setup
            .stand
            .iter()
            .flat_map(|stand| stand.files.iter().cloned()),
    );
    named.extend(setup.language.words.iter().cloned());
    let mut files: Vec<PathBuf> = Vec::new();
    for path in named {
        for file in whole(&path)? {
            if !files.contains(&file) {
                files.push(file);
            }
        }
    }
    Ok(files)
}

/// Every file that a trial rests on, the trial file first. Nothing but the trial file is read, so that whoever
/// knows which files there are elsewhere can ask with empty ones in their places.
///
/// # Errors
/// As [`read_trial_file`], and when a folder cannot be listed.
pub fn files_of_trial(trial: &Path) -> Result<Vec<PathBuf>, JobError> {
    files_of(trial, &read_trial_file(trial)?)
}

/// The files of [`files_of`] with their contents' digests.
///
/// # Errors
/// When one cannot be read.
pub(super) fn inputs_of(trial: &Path, setup: &TrialSetup) -> Result<Vec<Input>, JobError> {
    let input = |path: PathBuf| {
        Ok(Input {
            sha256: sha256_of_file(&path)?,
            bytes: std::fs::metadata(&path).map_or(0, |about| about.len()),
            path,
        })
    };
    files_of(trial, setup)?.into_iter().map(input).collect()
}

/// The files that a named path stands for.
fn whole(path: &Path) -> Result<Vec<PathBuf>, JobError> {
    let listed = |folder: &Path| -> Result<Vec<PathBuf>, FormatError> {
        let entries = std::fs::read_dir(folder).and_then(Iterator::collect::<Result<Vec<_>, _>>);
        let entries = entries.map_err(|source| FormatError::Io {
            path: folder.to_owned(),
            action: "listed",
            source,
        })?;
        let mut files: Vec<PathBuf> = entries.iter().map(|entry| entry.path()).collect();
        files.sort();
        Ok(files)
    };
    let path = &checkstrip_formats::without_choice(path);
    if path.is_dir() {
        let mut files = Vec::new();
        for entry in listed(path)? {
            // A terminal's export may hold the task data in a folder of its own.
            let is_task_data = entry
                .file_name()
                .is_some_and(|name| name.eq_ignore_ascii_case("taskdata"));
            if entry.is_file() {
                files.push(entry);
            } else if is_task_data && entry.is_dir() {
                files.extend(listed(&entry)?.into_iter().filter(|file| file.is_file()));
            }
        }
        return Ok(files);
    }
    let is_shapefile = path
        .extension()
        .is_some_and(|e| e.eq_ignore_ascii_case("shp"));
    if is_shapefile && let Some(folder) = path.parent() {
        let folder = if folder.as_os_str().is_empty() {
            Path::new(".")
        } else {
            folder
        };
        let stem = path.file_stem();
        let parts = listed(folder)?.into_iter();
        return Ok(parts
            .filter(|file| file.file_stem() == stem && file.is_file())
            .collect());
    }
    Ok(vec![checkstrip_formats::without_layer(path)])
}

/// One figure for all contents, the version of this program and what a run is asked to write. Paths do not
/// count: a season may move.
pub(super) fn fingerprint(
    inputs: &[Input],
    options: &SeasonOptions,
    words: Option<&Words>,
) -> String {
    let mut text = format!(
        "checkstrip {} {:?} {:?} {:?}\n",
        env!("CARGO_PKG_VERSION"),
        options.units,
        options.files,
        options.paper
    );
    if let Some(words) = words {
        let own = words.own().map(|content| sha256(content.as_bytes()));
        text.push_str(&format!("{} {own:?}\n", words.language().key()));
    }
    for input in inputs {
        text.push_str(&input.sha256);
        text.push('\n');
    }
    sha256(text.as_bytes())
}
