//! The end of a season that was done field by field: the ledger, from what became of the fields and their stamps in
//! the store, and the summary, from their results, as `checkstrip batch` writes both.

use crate::fields::read_setup;
use crate::listing::in_folder;
use crate::outcome::FieldOutcome;
use crate::scratch::{Mirror, scratch_folder};
use crate::store::{Key, Store};
use anyhow::Context;
use checkstrip_job::{FieldEntry, FieldStatus, Ledger, SeasonOptions, summarise_season};
use std::collections::BTreeSet;
use std::io::BufRead;
use std::path::{Path, PathBuf};

/// Writes `ledger.json` and the season's summary beside the fields' folders and returns the ledger.
///
/// # Errors
/// When a line of `outcomes` is none, or the store cannot be read or written.
pub(crate) fn gather(
    season_url: &str,
    out_url: &str,
    options: &SeasonOptions,
    outcomes: impl BufRead,
) -> anyhow::Result<Ledger> {
    let scratch = scratch_folder()?;
    let (season, file) = Store::open(season_url)?;
    let root = Key::default();
    let mirror = Mirror::new(scratch.path().canonicalize()?, &root);
    let setup = read_setup(&season, &file, &mirror)?;
    let mut ledger = Ledger::new(&setup, options);
    let (out, out_key) = Store::open(out_url)?;
    let mut finished: Vec<(Key, FieldStatus)> = Vec::new();
    let summary_folder = scratch_folder()?;
    let summary = Mirror::new(summary_folder.path().canonicalize()?, &out_key);
    let mut results: BTreeSet<Key> = BTreeSet::new();
    for (row, line) in outcomes.lines().enumerate() {
        let line = line?;
        let outcome: FieldOutcome = serde_json::from_str(&line)
            .with_context(|| format!("row {} of the outcomes: {line}", row + 1))?;
        match (outcome.status, outcome.entry) {
            (FieldStatus::Done | FieldStatus::Unchanged, _) => {
                let folder = in_folder(&out_key, &outcome.folder)?;
                let stamp = in_folder(&folder, "field.json")?;
                results.insert(in_folder(&folder, "results.json")?);
                finished.push((stamp, outcome.status));
            }
            (_, Some(entry)) => ledger.put(*entry),
            (_, None) => {
                let reason = outcome.reason.unwrap_or_default();
                let entry = FieldEntry::failed(&outcome.folder, &outcome.trial, reason);
                ledger.put(entry);
            }
        }
    }
    let stamps: Vec<Key> = finished.iter().map(|(stamp, _)| stamp.clone()).collect();
    for (bytes, (stamp, status)) in out.read(&stamps)?.into_iter().zip(finished) {
        let entry: FieldEntry =
            serde_json::from_slice(&bytes).with_context(|| format!("{stamp} is no stamp"))?;
        ledger.put(FieldEntry { status, ..entry });
    }
    let mut text = serde_json::to_vec_pretty(&ledger)?;
    text.push(b'\n');
    out.put(&in_folder(&out_key, "ledger.json")?, text)?;
    for key in &results {
        summary.make_room(key)?;
    }
    out.fetch(&results, |key| summary.path(key))?;
    let before = summary.standing()?;
    summarise_season(&summary.path(&out_key), &ledger, options)?;
    let made = summary.standing()?.into_keys();
    let made = made.filter(|path| !before.contains_key(path) && !is_hidden(path));
    let made: Vec<(PathBuf, Key)> = made
        .filter_map(|path| Some((path.clone(), summary.key(&path)?)))
        .collect();
    out.put_files(&made)?;
    let stale = earlier_summary(&out, &out_key)?;
    let stale = stale
        .into_iter()
        .filter(|key| made.iter().all(|(_, written)| written != key));
    out.remove(&stale.collect::<Vec<_>>())?;
    Ok(ledger)
}

/// The lock of the season's folder is of this machine alone.
fn is_hidden(path: &Path) -> bool {
    let name = path.file_name().and_then(|name| name.to_str());
    name.is_some_and(|name| name.starts_with('.'))
}

/// What an earlier summary may have left that this one does not write: maps of further treatments, pooled answers.
fn earlier_summary(out: &Store, out_key: &Key) -> anyhow::Result<Vec<Key>> {
    let is_map = |key: &Key| {
        let name = key.filename().unwrap_or_default();
        name.starts_with("fields") && name.ends_with(".png")
    };
    let mut found = out.below(&in_folder(out_key, "pooled")?)?;
    found.extend(out.inside(out_key)?.files.into_iter().filter(is_map));
    Ok(found)
}
