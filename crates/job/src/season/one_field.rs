//! One field of a season: compared, written into its folder, and the stamp set that says it is finished.

use super::SeasonOptions;
use super::fields::Field;
use super::ledger::{FieldEntry, FieldStatus};
use super::season_folder::SeasonFolder;
use crate::compare::compare;
use crate::error::JobError;
use crate::outputs::write_comparison;
use crate::setup::TrialSetup;
use checkstrip_formats::sha256_of_file;
use checkstrip_model::contained;
use checkstrip_words::Reader;
use jiff::{Timestamp, Unit};
use std::time::Instant;

/// What a field that was done left.
struct Done {
    records: usize,
    warnings: usize,
    results_sha256: String,
}

/// Does a field and says what became of it. `memory` is what it is expected to take, bytes.
pub(super) fn do_field(
    field: &Field,
    folder: &SeasonFolder,
    options: &SeasonOptions,
    memory: u64,
    progress: &(dyn Fn(&str) + Sync),
) -> FieldEntry {
    let mut entry = FieldEntry {
        memory_expected: Some(memory),
        begun: Some(now()),
        ..FieldEntry::waiting(field)
    };
    let begun = Instant::now();
    let done = match &field.state {
        // What a library, or this program, holds for impossible must not stop the other fields.
        Ok((setup, words)) => contained(|| {
            let reader = Reader {
                units: options.units,
                words,
                paper: options.paper,
            };
            compared(field, setup, folder, options, reader, progress)
        })
        .unwrap_or_else(|| {
            Err(
                "checkstrip broke down on this field, which is a fault of the program\n\
                     hint: run checkstrip compare on the trial by itself and report what it says"
                    .to_owned(),
            )
        }),
        Err(problem) => Err(problem.to_string()),
    };
    entry.ended = Some(now());
    entry.seconds = Some((begun.elapsed().as_secs_f64() * 1e3).round() / 1e3);
    match done {
        Ok(done) => {
            entry.status = FieldStatus::Done;
            entry.records = Some(done.records);
            entry.warnings = Some(done.warnings);
            entry.results_sha256 = Some(done.results_sha256);
        }
        Err(reason) => {
            entry.status = FieldStatus::Failed;
            entry.reason = Some(reason);
        }
    }
    if entry.status == FieldStatus::Done
        && let Err(error) = folder.stamp(&entry)
    {
        entry.status = FieldStatus::Failed;
        entry.reason = Some(error.to_string());
    }
    entry
}

fn compared(
    field: &Field,
    setup: &TrialSetup,
    folder: &SeasonFolder,
    options: &SeasonOptions,
    reader: Reader,
    progress: &(dyn Fn(&str) + Sync),
) -> Result<Done, String> {
    let work = || -> Result<Done, JobError> {
        let out = folder.begin(field)?;
        let (cleaned, compared) = compare(setup, progress)?;
        let written =
            write_comparison(&cleaned, &compared, &out, &options.files, reader, progress)?;
        let results_sha256 = sha256_of_file(&out.join(SeasonFolder::RESULTS))?;
        Ok(Done {
            records: compared.results.input.records,
            warnings: compared.results.warnings.len() + written.warnings.len(),
            results_sha256,
        })
    };
    work().map_err(|error| error.to_string())
}

/// The moment, UTC, to the second.
fn now() -> String {
    let now = Timestamp::now();
    now.round(Unit::Second).unwrap_or(now).to_string()
}
