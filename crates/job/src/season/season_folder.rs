//! The folder of a season: one folder a field, the ledger, and the lock that keeps a second run out.
//!
//! A field is finished when its stamp `field.json` lies in its folder, written after everything else. It is
//! taken away before anything in the folder changes, and `results.json` with it, so that a run that is killed
//! at any moment leaves a field either finished or plainly not.

use super::fields::Field;
use super::ledger::{FieldEntry, Ledger};
use crate::error::JobError;
use crate::outputs::{make_folder, remove_stale, write_json};
use checkstrip_formats::{FormatError, remove_unfinished, sha256_of_file};
use checkstrip_model::Problem;
use std::fs::{File, TryLockError};
use std::path::{Path, PathBuf};

const STAMP: &str = "field.json";
const LEDGER: &str = "ledger.json";
const LOCK: &str = ".season-lock";

/// The folder of a season, which no other run writes to while this lives.
pub(super) struct SeasonFolder {
    path: PathBuf,
    // Held until the run ends, however it ends.
    _lock: File,
}

impl SeasonFolder {
    pub(super) const RESULTS: &str = "results.json";

    /// Makes the folder where there is none and locks it.
    ///
    /// # Errors
    /// When it cannot be made or written to, or another run holds it.
    pub(super) fn open(path: &Path) -> Result<SeasonFolder, JobError> {
        make_folder(path)?;
        let lock = path.join(LOCK);
        let failed = |source| FormatError::Io {
            path: lock.clone(),
            action: "written",
            source,
        };
        let mut open = File::options();
        let file = open.create(true).truncate(false).write(true).open(&lock);
        let file = file.map_err(failed)?;
        match file.try_lock() {
            Ok(()) => {}
            Err(TryLockError::WouldBlock) => {
                return Err(Problem::new(
                    path.display().to_string(),
                    "another run of checkstrip batch is writing to this folder",
                )
                .hint("wait for it or stop it; two runs at once would undo each other's work")
                .into());
            }
            Err(TryLockError::Error(source)) => return Err(failed(source).into()),
        }
        remove_unfinished(path)?;
        Ok(SeasonFolder {
            path: path.to_owned(),
            _lock: file,
        })
    }

    /// Where it is.
    pub(super) fn path(&self) -> &Path {
        &self.path
    }

    /// The results file of a field.
    pub(super) fn results_of(&self, field: &str) -> PathBuf {
        self.of(field).join(Self::RESULTS)
    }

    fn of(&self, field: &str) -> PathBuf {
        self.path.join(field)
    }

    /// What was said of a field when it was finished; `None` when it is not, or what it rests on has
    /// changed, or its results have.
    pub(super) fn finished(&self, field: &Field) -> Option<FieldEntry> {
        let folder = self.of(&field.name);
        let stamp = std::fs::read(folder.join(STAMP)).ok()?;
        let entry: FieldEntry = serde_json::from_slice(&stamp).ok()?;
        let results = sha256_of_file(&folder.join(Self::RESULTS)).ok()?;
        let same = entry.fingerprint == field.fingerprint && entry.results_sha256 == Some(results);
        same.then_some(entry)
    }

    /// Readies a field's folder: neither stamp nor results, and nothing that a killed run left unfinished.
    pub(super) fn begin(&self, field: &Field) -> Result<PathBuf, JobError> {
        let folder = self.of(&field.name);
        make_folder(&folder)?;
        remove_stale(folder.join(STAMP))?;
        remove_stale(folder.join(Self::RESULTS))?;
        remove_unfinished(&folder)?;
        let maps = folder.join("maps");
        if maps.is_dir() {
            remove_unfinished(&maps)?;
        }
        Ok(folder)
    }

    /// Says that a field is finished.
    pub(super) fn stamp(&self, entry: &FieldEntry) -> Result<(), JobError> {
        write_json(&self.of(&entry.folder).join(STAMP), entry)
    }

    pub(super) fn write_ledger(&self, ledger: &Ledger) -> Result<(), JobError> {
        write_json(&self.path.join(LEDGER), ledger)
    }
}
