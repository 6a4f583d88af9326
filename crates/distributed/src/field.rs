//! One field of a season, wherever its files lie: what it rests on is copied to a scratch folder, the season's own
//! run does it there as the only field, and what that changed is carried into the store, the stamp last. A step
//! that is killed at any moment leaves a field in the store that is finished or plainly not, and two steps that do
//! one field at once write the same bytes.

use crate::listing::{self, Named, in_folder};
use crate::outcome::FieldOutcome;
use crate::scratch::{Mirror, Standing, scratch_folder};
use crate::store::{Key, Store};
use anyhow::Context;
use checkstrip_job::{
    FieldEntry, FieldStatus, JobError, SeasonOptions, SeasonSetup, files_of_trial,
    names_in_trial_file, run_season, season_trials,
};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

/// Stamp and results, without which a field is not finished.
const PROOFS: [&str; 2] = ["results.json", "field.json"];

/// Does the field of `trial`, a path from the folder of the season file, unless it is finished. Paths in results
/// are those that `checkstrip batch` writes in that folder; for that the working folder of the process changes.
///
/// # Errors
/// When a store cannot be read or written, or the trial file is not there. A field that fails is no error.
pub(crate) fn do_field(
    season_url: &str,
    trial: &str,
    out_url: &str,
    options: &SeasonOptions,
) -> anyhow::Result<FieldOutcome> {
    let scratch = scratch_folder()?;
    let base = scratch.path().canonicalize()?;
    let (season, season_file) = Store::open(season_url)?;
    let root = Key::default();
    let inputs = Mirror::new(base.join("season"), &root);
    let here = inputs.path(&listing::folder_of(&season_file));
    std::fs::create_dir_all(&here)?;
    std::env::set_current_dir(&here)?;
    let setup = SeasonSetup {
        file: PathBuf::from(season_file.filename().unwrap_or_default()),
        // Neither results nor stamp of a field tell it.
        name: String::new(),
        trials: vec![trial.to_owned()],
    };
    let trial_key = listing::file_at(&listing::folder_of(&season_file), trial)
        .with_context(|| format!("{trial} leads out of the store"))?;
    inputs.make_room(&trial_key)?;
    let copied = season.fetch(&BTreeSet::from([trial_key.clone()]), |key| inputs.path(key))?;
    anyhow::ensure!(!copied.is_empty(), "{trial} is not in the store");
    let (folder, path) = season_trials(&setup)?.remove(0);
    if let Err(refusal) = copy_inputs(&season, &inputs, &trial_key, &path)? {
        return Ok(FieldEntry::failed(&folder, trial, refusal).into());
    }

    let (out, out_key) = Store::open(out_url)?;
    let out_key = in_folder(&out_key, &folder)?;
    let results = Mirror::new(base.join("out").join(&folder), &out_key);
    // Empty files stand for those of an earlier run, so that the run takes those away that it would on a disk.
    let earlier: BTreeSet<Key> = out.below(&out_key)?.into_iter().collect();
    results.sketch(&earlier)?;
    let is_proof = |key: &&Key| PROOFS.iter().any(|name| results.path(key).ends_with(name));
    let proofs: BTreeSet<Key> = earlier.iter().filter(is_proof).cloned().collect();
    out.fetch(&proofs, |key| results.path(key))?;
    let before = results.standing()?;
    let mut ledger = run_season(&setup, &base.join("out"), options, &|_| {})?;
    let entry = ledger.fields.pop().context("the season has no field")?;
    if entry.status != FieldStatus::Unchanged {
        carry(&out, &results, &before, &results.standing()?)?;
    }
    Ok(entry.into())
}

/// Copies what a trial rests on. What cannot be found is left for the run to tell; a name that leads out of the
/// store, which on a disk could be anything, is refused in words.
fn copy_inputs(
    season: &Store,
    inputs: &Mirror,
    trial: &Key,
    path: &Path,
) -> anyhow::Result<Result<(), String>> {
    let Ok(names) = names_in_trial_file(path) else {
        return Ok(Ok(()));
    };
    let folder = listing::folder_of(trial);
    let Named {
        mut files,
        looked_into,
    } = match listing::named(season, &folder, &names)? {
        Ok(named) => named,
        Err(name) => {
            return Ok(Err(format!(
                "{}: {name:?} leads out of the store\n\
                 hint: put the file beside the trial file and name it from there",
                path.display()
            )));
        }
    };
    files.remove(trial);
    inputs.sketch(&files)?;
    season.fetch(&looked_into, |key| inputs.path(key))?;
    let found: Result<Vec<PathBuf>, JobError> = files_of_trial(path);
    let Ok(found) = found else {
        // A pattern that matches nothing, say: the run says which, on the same names.
        return Ok(Ok(()));
    };
    // A name may lead up and down again.
    let meant = found
        .iter()
        .filter_map(|file| inputs.key(&file.canonicalize().ok()?));
    let meant: BTreeSet<Key> = meant.filter(|key| key != trial).collect();
    season.fetch(&meant, |key| inputs.path(key))?;
    inputs.clear(files.difference(&meant))?;
    Ok(Ok(()))
}

/// Carries what a run changed into the store: first the proofs of an earlier run are taken away, last those of this
/// one are written.
fn carry(out: &Store, results: &Mirror, before: &Standing, after: &Standing) -> anyhow::Result<()> {
    let is_proof = |path: &Path| PROOFS.iter().any(|name| path.ends_with(name));
    let changed = |path: &Path| before.get(path) != after.get(path);
    let keys = |paths: &mut dyn Iterator<Item = &PathBuf>| -> Vec<Key> {
        paths.filter_map(|path| results.key(path)).collect()
    };
    let mut earlier: Vec<&PathBuf> = before.keys().filter(|path| changed(path)).collect();
    earlier.sort_by_key(|path| !path.ends_with("field.json"));
    let proofs = keys(&mut earlier.iter().copied().filter(|path| is_proof(path)));
    out.remove(&proofs)?;
    let gone = keys(
        &mut earlier
            .iter()
            .copied()
            .filter(|path| !after.contains_key(*path)),
    );
    out.remove(&gone)?;
    let written = after.keys().filter(|path| changed(path));
    let (proofs, others): (Vec<&PathBuf>, Vec<&PathBuf>) = written.partition(|path| is_proof(path));
    let addressed = |path: &PathBuf| Some((path.clone(), results.key(path)?));
    let others: Vec<_> = others.into_iter().filter_map(addressed).collect();
    out.put_files(&others)?;
    for name in PROOFS {
        let proof = proofs.iter().copied().filter(|path| path.ends_with(name));
        let proof: Vec<_> = proof.filter_map(addressed).collect();
        out.put_files(&proof)?;
    }
    Ok(())
}
