//! A season of fields in one run: every trial that a season file lists or finds is compared into a folder
//! of its own, several at once within a limit of memory. What was finished stays finished: a run that was
//! killed goes on where it stopped, a field whose inputs did not change is not done again, and one that
//! fails stops no other. The ledger says what was done with each.

mod fields;
mod fingerprint;
mod ledger;
mod memory;
mod one_field;
mod season_file;
mod season_folder;
mod summary;
mod watch;

pub use fields::season_trials;
pub use fingerprint::files_of_trial;
pub use ledger::{FieldEntry, FieldInput, FieldStatus, LEDGER_SCHEMA, Ledger};
pub use memory::parse_memory;
pub use season_file::{SeasonSetup, read_season_file};
pub use watch::{SETTLED_S, watch_season};

use crate::error::JobError;
use crate::outputs::WantedFiles;
use crate::setup::LanguageSetup;
use checkstrip_model::results::Season;
use checkstrip_model::units::{Paper, UnitSystem};
use fields::{Field, find_fields};
use memory::MemoryGate;
use one_field::do_field;
use season_folder::SeasonFolder;
use std::path::Path;
use std::sync::Mutex;
use std::time::Instant;
use summary::write_summary;

/// How the fields of a season are done; none of it but `files`, `units`, `language`
/// and `paper` changes a figure or a file.
#[derive(Debug, Clone)]
pub struct SeasonOptions {
    /// What is written for each field, beside what always is.
    pub files: WantedFiles,
    /// Units of maps and reports.
    pub units: UnitSystem,
    /// Language of maps and reports, in place of what trials say.
    pub language: LanguageSetup,
    /// What reports are printed on.
    pub paper: Paper,
    /// Fields done at once; at least 1.
    pub at_once: usize,
    /// Memory that the fields done at once may take together, bytes; `None`: as much as they take.
    pub memory: Option<u64>,
}

/// What a run tells while it goes on.
#[derive(Debug)]
pub enum SeasonEvent<'a> {
    /// Fields were found, so many of which have to be done.
    Found {
        /// All fields.
        fields: usize,
        /// Those that are not done yet.
        to_do: usize,
    },
    /// A field is begun, or goes on to its next step.
    Doing {
        /// Its folder's name.
        field: &'a str,
        /// What is being done.
        what: &'a str,
    },
    /// A field is over.
    Ended {
        /// What the ledger says of it.
        entry: &'a FieldEntry,
        /// Fields over in this run, this one among them.
        over: usize,
        /// Fields that this run has to do.
        to_do: usize,
        /// Time that the rest is expected to take, s; `None` while nothing tells.
        left_s: Option<f64>,
    },
}

/// Whoever listens to a run.
pub type SeasonListener<'a> = &'a (dyn Fn(&SeasonEvent) + Sync);

/// Does every field of a season that is not done yet.
///
/// # Errors
/// When the season names no trial, two trials would share a folder, or the folder cannot be written or is
/// being written by another run. A field that fails is no error: the ledger tells it.
pub fn run_season(
    setup: &SeasonSetup,
    out: &Path,
    options: &SeasonOptions,
    listener: SeasonListener,
) -> Result<Ledger, JobError> {
    let folder = SeasonFolder::open(out)?;
    let trials = setup.trials()?;
    let fields = find_fields(setup, &trials, options)?;
    let mut ledger = Ledger::new(setup, options);
    round(
        fields,
        &folder,
        options,
        Patience::Fails,
        &mut ledger,
        listener,
    )?;
    Ok(ledger)
}

/// Writes what a season says when its fields are done, as far as `ledger` knows of results in the folder `out`.
///
/// # Errors
/// When the folder is being written by another run, results cannot be read back, or a file cannot be made.
pub fn summarise_season(
    out: &Path,
    ledger: &Ledger,
    options: &SeasonOptions,
) -> Result<Season, JobError> {
    write_summary(&SeasonFolder::open(out)?, ledger, options)
}

/// What becomes of a field whose trial cannot be used.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Patience {
    /// It has failed.
    Fails,
    /// It waits: its logs may still come.
    Waits,
}

/// Does the fields that have to be done, the others as they are; the ledger is written whenever one ends.
fn round(
    fields: Vec<Field>,
    folder: &SeasonFolder,
    options: &SeasonOptions,
    patience: Patience,
    ledger: &mut Ledger,
    listener: SeasonListener,
) -> Result<(), JobError> {
    let mut to_do: Vec<(Field, u64)> = Vec::new();
    let all = fields.len();
    ledger.fields.clear();
    for field in fields {
        if let Some(entry) = folder.finished(&field) {
            ledger.put(FieldEntry {
                status: FieldStatus::Unchanged,
                ..entry
            });
            continue;
        }
        let reason = field.state.as_ref().err().map(ToString::to_string);
        let waits = reason.is_some() && patience == Patience::Waits;
        ledger.put(FieldEntry {
            reason,
            ..FieldEntry::waiting(&field)
        });
        if !waits {
            let bytes = memory::expected(&field);
            to_do.push((field, bytes));
        }
    }
    listener(&SeasonEvent::Found {
        fields: all,
        to_do: to_do.len(),
    });
    folder.write_ledger(ledger)?;
    let begun = Instant::now();
    let work: u64 = to_do.iter().map(|(_, bytes)| bytes).sum();
    let count = to_do.len();
    let gate = MemoryGate::new(options.memory);
    let least = to_do.iter().map(|(_, bytes)| *bytes).min().unwrap_or(0);
    let threads = options.at_once.min(gate.most_at_once(least));
    to_do.reverse();
    let waiting = Mutex::new(to_do);
    let over = Mutex::new(Over {
        ledger,
        fields: 0,
        work: 0,
        failed: None,
    });
    std::thread::scope(|scope| {
        for _ in 0..threads.clamp(1, count.max(1)) {
            scope.spawn(|| {
                loop {
                    let next = locked(&waiting).pop();
                    let Some((field, bytes)) = next else { break };
                    if locked(&over).failed.is_some() {
                        break;
                    }
                    let _room = gate.room(bytes);
                    let progress = |what: &str| {
                        listener(&SeasonEvent::Doing {
                            field: &field.name,
                            what,
                        });
                    };
                    let entry = do_field(&field, folder, options, bytes, &progress);
                    let mut over = locked(&over);
                    over.fields += 1;
                    over.work += bytes;
                    let gone = begun.elapsed().as_secs_f64();
                    let left = (work - over.work) as f64 / over.work as f64 * gone;
                    listener(&SeasonEvent::Ended {
                        entry: &entry,
                        over: over.fields,
                        to_do: count,
                        left_s: left.is_finite().then_some(left),
                    });
                    over.ledger.put(entry);
                    if let Err(error) = folder.write_ledger(over.ledger) {
                        over.failed = Some(error);
                    }
                }
            });
        }
    });
    let failed = over
        .into_inner()
        .map_or_else(|poisoned| poisoned.into_inner().failed, |over| over.failed);
    failed.map_or(Ok(()), Err)
}

/// What the threads of a round share.
struct Over<'a> {
    ledger: &'a mut Ledger,
    fields: usize,
    work: u64,
    failed: Option<JobError>,
}

/// A panic of another thread, which scope() hands on, is no reason to lose what was done.
fn locked<T>(mutex: &Mutex<T>) -> std::sync::MutexGuard<'_, T> {
    mutex
        .lock()
        .unwrap_or_else(std::sync::PoisonError::into_inner)
}
