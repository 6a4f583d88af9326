//! A season that is watched: fields are done as their logs are copied in, and done again when one changes.
//! Files are looked at by their size and time of change; looking works on every kind of drive, where being
//! told of changes does not. What is still being copied is left alone until it has kept still for a while.

use super::fields::find_fields;
use super::fingerprint::files_of;
use super::ledger::{FieldEntry, Ledger};
use super::season_file::SeasonSetup;
use super::season_folder::SeasonFolder;
use super::summary::write_summary;
use super::{Patience, SeasonListener, SeasonOptions, round};
use crate::error::JobError;
use crate::trial_file::read_trial_file;
use std::collections::BTreeMap;
use std::convert::Infallible;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant, SystemTime};

/// A file that did not change for so long is whole, s. Common practice, no source: drives tell sizes as
/// they are written, within a second or two.
pub const SETTLED_S: f64 = 4.0;
/// How often files are looked at.
const EVERY: Duration = Duration::from_secs(1);

/// A file as it was seen.
type Seen = Vec<(PathBuf, u64, Option<SystemTime>)>;

/// Does a season's fields as their files come and change, until the program is stopped.
///
/// # Errors
/// As [`run_season`](super::run_season), but that a pattern which matches no file yet is waited for.
pub fn watch_season(
    setup: &SeasonSetup,
    out: &Path,
    options: &SeasonOptions,
    listener: SeasonListener,
) -> Result<Infallible, JobError> {
    let folder = SeasonFolder::open(out)?;
    let mut ledger = Ledger::new(setup, options);
    // What was seen of each trial's files and since when, and as what they were done.
    let mut seen: BTreeMap<PathBuf, (Seen, Instant)> = BTreeMap::new();
    let mut done: BTreeMap<PathBuf, Seen> = BTreeMap::new();
    loop {
        let trials = setup.trials_so_far();
        let now = Instant::now();
        for trial in &trials {
            let sight = look(trial);
            match seen.get(trial) {
                Some((before, _)) if *before == sight => {}
                _ => {
                    seen.insert(trial.clone(), (sight, now));
                }
            }
        }
        seen.retain(|trial, _| trials.contains(trial));
        let is_still = |trial: &PathBuf| {
            seen.get(trial)
                .is_some_and(|(_, since)| now.duration_since(*since).as_secs_f64() >= SETTLED_S)
        };
        let (still, moving): (Vec<PathBuf>, Vec<PathBuf>) = trials.into_iter().partition(is_still);
        let sight_of = |trial: &PathBuf| seen.get(trial).map(|(sight, _)| sight);
        if still.iter().any(|trial| sight_of(trial) != done.get(trial)) {
            let fields = find_fields(setup, &still, options)?;
            round(
                fields,
                &folder,
                options,
                Patience::Waits,
                &mut ledger,
                listener,
            )?;
            for trial in &still {
                if let Some(sight) = sight_of(trial) {
                    done.insert(trial.clone(), sight.clone());
                }
            }
            for field in find_fields(setup, &moving, options)? {
                ledger.put(FieldEntry::waiting(&field));
            }
            folder.write_ledger(&ledger)?;
            write_summary(&folder, &ledger, options)?;
        }
        std::thread::sleep(EVERY);
    }
}

/// A trial's files as they are now; of a trial that cannot be read yet, the trial file alone.
fn look(trial: &Path) -> Seen {
    let files = read_trial_file(trial).and_then(|setup| files_of(trial, &setup));
    let files = files.unwrap_or_else(|_| vec![trial.to_owned()]);
    let sight = files.into_iter().filter_map(|file| {
        let about = std::fs::metadata(&file).ok()?;
        Some((file, about.len(), about.modified().ok()))
    });
    sight.collect()
}
