//! The fields of a season in a store, for whoever hands them out.

use crate::listing::{self, Named};
use crate::outcome::FieldPlace;
use crate::scratch::{Mirror, scratch_folder};
use crate::store::{Key, Store};
use anyhow::{Context, bail};
use checkstrip_job::{SeasonSetup, read_season_file, season_trials};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

/// The fields, by their trial files. No trial file is read.
///
/// # Errors
/// When the season file or a listing cannot be read, a pattern matches nothing, or two trials would share a folder.
pub(crate) fn fields(season_url: &str) -> anyhow::Result<Vec<FieldPlace>> {
    let scratch = scratch_folder()?;
    let (season, file) = Store::open(season_url)?;
    let root = Key::default();
    let mirror = Mirror::new(scratch.path().canonicalize()?, &root);
    let setup = read_setup(&season, &file, &mirror)?;
    let folder = listing::folder_of(&file);
    let Named { files, .. } = match listing::named(&season, &folder, &setup.trials)? {
        Ok(named) => named,
        Err(name) => bail!(
            "{season_url}: {name:?} leads out of the store\n\
             hint: put the trials below the folder of the season file"
        ),
    };
    // A season has many more logs than trial files: only what has the name of one is sketched.
    let names: Vec<glob::Pattern> = setup
        .trials
        .iter()
        .filter_map(|pattern| glob::Pattern::new(pattern.rsplit('/').next()?).ok())
        .collect();
    let may_be_trial = |key: &Key| {
        let name = key.filename().unwrap_or_default();
        names
            .iter()
            .any(|pattern| pattern.as_str() == name || pattern.matches(name))
    };
    let trials: BTreeSet<Key> = files
        .into_iter()
        .filter(|key| may_be_trial(key) && *key != file)
        .collect();
    mirror.sketch(&trials)?;
    std::env::set_current_dir(mirror.path(&folder))?;
    let named = season_trials(&setup)?.into_iter();
    named
        .map(|(folder, trial)| {
            let trial = trial.to_str().context("a file name is no text")?.to_owned();
            Ok(FieldPlace { folder, trial })
        })
        .collect()
}

/// Reads the season file, as it would be read in its own folder.
pub(crate) fn read_setup(
    season: &Store,
    file: &Key,
    mirror: &Mirror,
) -> anyhow::Result<SeasonSetup> {
    mirror.make_room(file)?;
    let copied = season.fetch(&BTreeSet::from([file.clone()]), |key| mirror.path(key))?;
    if copied.is_empty() {
        bail!("{file} is not in the store\nhint: give the URL of the season file itself");
    }
    std::env::set_current_dir(mirror.path(&listing::folder_of(file)))?;
    let name = PathBuf::from(file.filename().unwrap_or_default());
    Ok(read_season_file(Path::new(&name))?)
}
