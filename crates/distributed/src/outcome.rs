//! What the steps of a run hand to each other, a JSON line each: from the list of fields to their steps, and from
//! these to the ledger.

use checkstrip_job::{FieldEntry, FieldStatus};
use serde::{Deserialize, Serialize};

/// A field to do.
#[derive(Debug, Serialize)]
pub(crate) struct FieldPlace {
    /// The name of its folder in the results.
    pub(crate) folder: String,
    /// Its trial file, from the folder of the season file.
    pub(crate) trial: String,
}

/// What became of a field. Short for a field that is done: its stamp in the store says the rest.
#[derive(Debug, Serialize, Deserialize)]
pub(crate) struct FieldOutcome {
    /// The name of its folder in the results.
    pub(crate) folder: String,
    /// Its trial file, from the folder of the season file.
    pub(crate) trial: String,
    /// Done, unchanged or failed.
    pub(crate) status: FieldStatus,
    /// Why it failed; the only thing that is known of a field whose step broke down.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub(crate) reason: Option<String>,
    /// What the ledger says of a field that failed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub(crate) entry: Option<Box<FieldEntry>>,
}

impl From<FieldEntry> for FieldOutcome {
    fn from(entry: FieldEntry) -> FieldOutcome {
        FieldOutcome {
            folder: entry.folder.clone(),
            trial: entry.trial.clone(),
            status: entry.status,
            reason: entry.reason.clone(),
            entry: (entry.status == FieldStatus::Failed).then(|| Box::new(entry)),
        }
    }
}
