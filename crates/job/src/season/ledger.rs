//! The ledger: what a season's run did with each field, for people's other programs.

use super::SeasonOptions;
use super::fields::Field;
use super::season_file::SeasonSetup;
use crate::outputs::this_tool;
use checkstrip_model::results::Tool;
use checkstrip_model::units::UnitSystem;
use serde::{Deserialize, Serialize};

/// The name under which a ledger says what it is.
pub const LEDGER_SCHEMA: &str = "checkstrip-ledger/1";

/// What became of a field.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum FieldStatus {
    /// It was done in this run.
    Done,
    /// It had been done before, and nothing that it rests on has changed.
    Unchanged,
    /// It could not be done; `reason` says why.
    Failed,
    /// Its turn has not come, or its logs are not there yet.
    Waiting,
}

/// A file that a field rests on.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FieldInput {
    /// Where it is.
    pub path: String,
    /// Its digest.
    pub sha256: String,
}

/// A field in the ledger.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FieldEntry {
    /// The name of its folder.
    pub folder: String,
    /// The trial file.
    pub trial: String,
    /// The field's name in its trial; empty when the trial cannot be read.
    pub name: String,
    /// What became of it.
    pub status: FieldStatus,
    /// Why it failed, with a hint in a line of its own.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reason: Option<String>,
    /// The contents of all inputs, the version and the settings of the run as one figure.
    pub fingerprint: String,
    /// Everything that it rests on, the trial file first.
    pub inputs: Vec<FieldInput>,
    /// The version of checkstrip that did it.
    pub version: String,
    /// When it was begun and ended, UTC.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub begun: Option<String>,
    /// See `begun`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ended: Option<String>,
    /// How long it took, s.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub seconds: Option<f64>,
    /// Memory that it was expected to take, bytes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub memory_expected: Option<u64>,
    /// Records of its log.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub records: Option<usize>,
    /// Digest of its `results.json`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub results_sha256: Option<String>,
    /// How many warnings its results hold.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub warnings: Option<usize>,
}

impl FieldEntry {
    /// A field that failed before anything of it could be read, or of which nothing more is known.
    pub fn failed(folder: &str, trial: &str, reason: String) -> FieldEntry {
        FieldEntry {
            folder: folder.to_owned(),
            trial: trial.to_owned(),
            status: FieldStatus::Failed,
            reason: Some(reason),
            ..FieldEntry::unread()
        }
    }

    /// Nothing is known of the field.
    fn unread() -> FieldEntry {
        FieldEntry {
            folder: String::new(),
            trial: String::new(),
            name: String::new(),
            status: FieldStatus::Waiting,
            reason: None,
            fingerprint: String::new(),
            inputs: Vec::new(),
            version: this_tool().version,
            begun: None,
            ended: None,
            seconds: None,
            memory_expected: None,
            records: None,
            results_sha256: None,
            warnings: None,
        }
    }

    /// A field whose turn has not come.
    pub(super) fn waiting(field: &Field) -> FieldEntry {
        let input = |input: &super::fingerprint::Input| FieldInput {
            path: input.path.display().to_string(),
            sha256: input.sha256.clone(),
        };
        FieldEntry {
            folder: field.name.clone(),
            trial: field.trial.display().to_string(),
            name: match &field.state {
                Ok((setup, _)) => setup.name.clone(),
                Err(_) => String::new(),
            },
            fingerprint: field.fingerprint.clone(),
            inputs: field.inputs.iter().map(input).collect(),
            ..FieldEntry::unread()
        }
    }
}

/// What was done.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Ledger {
    /// `checkstrip-ledger/1`.
    pub schema: String,
    /// The program that wrote it.
    pub tool: Tool,
    /// The season's name.
    pub season: String,
    /// The season file.
    pub file: String,
    /// Units of maps and reports.
    pub units: UnitSystem,
    /// Fields done at once.
    pub at_once: usize,
    /// The limit of memory, bytes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub memory: Option<u64>,
    /// The fields, by the names of their folders.
    pub fields: Vec<FieldEntry>,
}

impl Ledger {
    /// The ledger of a run in which nothing is done yet.
    pub fn new(setup: &SeasonSetup, options: &SeasonOptions) -> Ledger {
        Ledger {
            schema: LEDGER_SCHEMA.to_owned(),
            tool: this_tool(),
            season: setup.name.clone(),
            file: setup.file.display().to_string(),
            units: options.units,
            at_once: options.at_once,
            memory: options.memory,
            fields: Vec::new(),
        }
    }

    /// Puts a field's entry in place of an earlier one.
    pub fn put(&mut self, entry: FieldEntry) {
        match self
            .fields
            .binary_search_by(|other| other.folder.cmp(&entry.folder))
        {
            Ok(at) => self.fields[at] = entry,
            Err(at) => self.fields.insert(at, entry),
        }
    }

    /// How many fields have this status.
    pub fn count(&self, status: FieldStatus) -> usize {
        self.fields
            .iter()
            .filter(|field| field.status == status)
            .count()
    }
}
