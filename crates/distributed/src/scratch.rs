//! The scratch folder of one step: files of a store under their own keys, or empty ones in their places. It is
//! gone when the step is over; a step that is killed leaves it where temporary files go.

use crate::store::{Key, StoreError, parts};
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::time::SystemTime;
use tempfile::TempDir;

/// A folder below the scratch folder that mirrors a part of a store.
pub(crate) struct Mirror<'a> {
    base: PathBuf,
    root: &'a Key,
}

/// How the files of a mirror stood at a moment: length and time of change.
pub(crate) type Standing = BTreeMap<PathBuf, (u64, Option<SystemTime>)>;

/// A new scratch folder.
pub(crate) fn scratch_folder() -> Result<TempDir, StoreError> {
    tempfile::Builder::new()
        .prefix("checkstrip-season-")
        .tempdir()
        .map_err(|source| StoreError::Scratch {
            path: std::env::temp_dir(),
            action: "written to",
            source,
        })
}

impl Mirror<'_> {
    /// Everything below `root` of a store is mirrored below `base`.
    pub(crate) fn new(base: PathBuf, root: &Key) -> Mirror<'_> {
        Mirror { base, root }
    }

    /// Where a file of the store, below the root, lies here.
    pub(crate) fn path(&self, key: &Key) -> PathBuf {
        let above = parts(self.root).len();
        let inside = parts(key).into_iter().skip(above);
        inside.fold(self.base.clone(), |path, part| path.join(part))
    }

    /// Which file of the store lies here; `None` outside the mirror.
    pub(crate) fn key(&self, path: &Path) -> Option<Key> {
        let inside = path.strip_prefix(&self.base).ok()?;
        let mut parts = parts(self.root);
        for part in inside.components() {
            parts.push(part.as_os_str().to_str()?.to_owned());
        }
        Key::parse(parts.join("/")).ok()
    }

    /// Makes the folder that a file lies in.
    pub(crate) fn make_room(&self, key: &Key) -> Result<(), StoreError> {
        let path = self.path(key);
        let folder = path.parent().unwrap_or(&self.base);
        std::fs::create_dir_all(folder).map_err(on_disk(folder, "made"))
    }

    /// Puts empty files where those of the store would lie.
    pub(crate) fn sketch(&self, keys: &BTreeSet<Key>) -> Result<(), StoreError> {
        for key in keys {
            self.make_room(key)?;
            let path = self.path(key);
            std::fs::write(&path, []).map_err(on_disk(&path, "written"))?;
        }
        Ok(())
    }

    /// Takes files away that were sketched and are not wanted.
    pub(crate) fn clear<'k>(
        &self,
        keys: impl IntoIterator<Item = &'k Key>,
    ) -> Result<(), StoreError> {
        for key in keys {
            let path = self.path(key);
            std::fs::remove_file(&path).map_err(on_disk(&path, "removed"))?;
        }
        Ok(())
    }

    /// How all files stand now.
    pub(crate) fn standing(&self) -> Result<Standing, StoreError> {
        let mut found = Standing::new();
        let mut folders = vec![self.base.clone()];
        while let Some(folder) = folders.pop() {
            if !folder.is_dir() {
                continue;
            }
            let entries =
                std::fs::read_dir(&folder).and_then(Iterator::collect::<Result<Vec<_>, _>>);
            for entry in entries.map_err(on_disk(&folder, "listed"))? {
                let path = entry.path();
                let about = entry.metadata().map_err(on_disk(&path, "read"))?;
                if about.is_dir() {
                    folders.push(path);
                } else {
                    found.insert(path, (about.len(), about.modified().ok()));
                }
            }
        }
        Ok(found)
    }
}

fn on_disk(path: &Path, action: &'static str) -> impl FnOnce(std::io::Error) -> StoreError {
    let path = path.to_owned();
    move |source| StoreError::Scratch {
        path,
        action,
        source,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Law: there and back.
    #[test]
    fn a_file_lies_under_its_own_key() {
        let root = Key::parse("farm/out").unwrap();
        let mirror = Mirror::new(PathBuf::from("/scratch"), &root);
        let key = Key::parse("farm/out/home/maps/a b.png").unwrap();
        let path = mirror.path(&key);
        assert_eq!(path, Path::new("/scratch/home/maps/a b.png"));
        assert_eq!(mirror.key(&path), Some(key));
        assert_eq!(mirror.key(Path::new("/elsewhere/home")), None);
    }
}
