//! Which files of a store names and patterns may mean: never fewer than those that are meant. What they mean
//! exactly is decided by the code that reads them, on empty files in the places of those found here, so that
//! patterns have one meaning in a store and on a disk.

use crate::store::{Inside, Key, Store, StoreError, parts};
use std::collections::{BTreeMap, BTreeSet};

/// Files that are in the store and may be meant.
#[derive(Debug, Default)]
pub(crate) struct Named {
    /// All of them.
    pub(crate) files: BTreeSet<Key>,
    /// Those that have to be looked into to know whether they are meant: archives of task data of which a part is
    /// named.
    pub(crate) looked_into: BTreeSet<Key>,
}

/// The files that `names`, taken from `folder`, may mean; or the name that leads out of the store.
pub(crate) fn named(
    store: &Store,
    folder: &Key,
    names: &[String],
) -> Result<Result<Named, String>, StoreError> {
    let mut named = Named::default();
    let mut seen: BTreeMap<Key, Inside> = BTreeMap::new();
    let mut inside = |folder: &Key| -> Result<Inside, StoreError> {
        if let Some(listed) = seen.get(folder) {
            return Ok(listed.clone());
        }
        let listed = store.inside(folder)?;
        seen.insert(folder.clone(), listed.clone());
        Ok(listed)
    };
    for name in names {
        let Some(place) = place(folder, name) else {
            return Ok(Err(name.clone()));
        };
        let Place { folder, rest } = place;
        let Some(file) = rest else {
            named.files.extend(store.below(&folder)?);
            continue;
        };
        let listed = inside(&folder)?;
        let behind_a_colon =
            |key: &&Key| is_before_colon(key.filename().unwrap_or_default(), &file);
        let looked_into = listed.files.iter().filter(behind_a_colon).cloned();
        named.looked_into.extend(looked_into);
        let meant = |key: &&Key| {
            let called = key.filename().unwrap_or_default();
            called == file || is_before_colon(called, &file)
        };
        // A folder of task data, which may lie one folder deeper.
        for folder in listed.folders.iter().filter(meant) {
            named.files.extend(store.below(folder)?);
        }
        // All files, because a Shapefile is several of them.
        named.files.extend(listed.files);
    }
    Ok(Ok(named))
}

/// The folder that a file lies in.
pub(crate) fn folder_of(file: &Key) -> Key {
    file.parent().unwrap_or_default()
}

/// What is called `name` in a folder.
///
/// # Errors
/// When nothing in a store can be called so.
pub(crate) fn in_folder(folder: &Key, name: &str) -> Result<Key, StoreError> {
    Key::parse(format!("{folder}/{name}")).map_err(|error| StoreError::Address {
        url: format!("{folder}/{name}"),
        said: error.to_string(),
    })
}

/// The file at the path `name` from `folder`, whatever characters it holds; `None` when that leads out of the store.
pub(crate) fn file_at(folder: &Key, name: &str) -> Option<Key> {
    if name.starts_with('/') {
        return None;
    }
    Key::parse(way(folder, name)?.join("/")).ok()
}

/// Folders and file on the way to `name` from `folder`, from the root of the store; `None` when that leads out.
fn way(folder: &Key, name: &str) -> Option<Vec<String>> {
    let mut parts = parts(folder);
    for part in name.split('/') {
        match part {
            "" | "." => {}
            ".." => {
                parts.pop()?;
            }
            part => parts.push(part.to_owned()),
        }
    }
    Some(parts)
}

/// A file or folder, with a part of it named behind a colon.
fn is_before_colon(called: &str, name: &str) -> bool {
    name.strip_prefix(called)
        .is_some_and(|rest| rest.starts_with(':'))
}

/// Where a name leads.
#[derive(Debug, PartialEq)]
struct Place {
    /// The folder that holds no wildcard.
    folder: Key,
    /// The name in it; `None` for a pattern, which may mean anything below the folder.
    rest: Option<String>,
}

/// Where `name` leads from `folder`; `None` when that is out of the store.
fn place(folder: &Key, name: &str) -> Option<Place> {
    if name.starts_with('/') {
        return None;
    }
    let wildcard = name.find(['*', '?', '[']);
    // Up to the last slash before the first wildcard; the whole name where there is none.
    let literal = wildcard.map_or(name, |at| &name[..name[..at].rfind('/').unwrap_or(0)]);
    let mut parts = way(folder, literal)?;
    let rest = match wildcard {
        Some(_) => None,
        None => Some(parts.pop()?),
    };
    Some(Place {
        folder: Key::parse(parts.join("/")).ok()?,
        rest,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_lead_to_folders_that_hold_no_wildcard() {
        let from = Key::parse("farm/2026/home").unwrap();
        let to = |folder: &str, rest: Option<&str>| {
            Some(Place {
                folder: Key::parse(folder).unwrap(),
                rest: rest.map(str::to_owned),
            })
        };
        for (name, expected) in [
            ("log.csv", to("farm/2026/home", Some("log.csv"))),
            ("./logs/a.csv", to("farm/2026/home/logs", Some("a.csv"))),
            ("logs/*.csv", to("farm/2026/home/logs", None)),
            ("l?gs/a.csv", to("farm/2026/home", None)),
            (
                "../shared/strips.shp",
                to("farm/2026/shared", Some("strips.shp")),
            ),
            ("../../../strips.shp", to("", Some("strips.shp"))),
            ("../../../../strips.shp", None),
            ("/strips.shp", None),
        ] {
            assert_eq!(place(&from, name), expected, "{name}");
        }
    }

    /// Patterns are what they mean on a disk, whatever the store: those that `glob` takes for wildcards, and
    /// nothing else, lead to everything below.
    #[test]
    fn wildcards_are_those_of_glob() {
        for text in ["a*", "a?", "[ab]"] {
            assert_ne!(glob::Pattern::escape(text), text);
        }
        for text in ["a{b}", "a~", "a!b", "a]"] {
            assert_eq!(
                place(&Key::default(), text).unwrap().rest.as_deref(),
                Some(text)
            );
        }
    }

    #[test]
    fn parts_are_named_behind_a_colon() {
        assert!(is_before_colon("x.gpkg", "x.gpkg:harvest"));
        assert!(is_before_colon("TASKDATA", "TASKDATA:North forty"));
        assert!(!is_before_colon("x.gpkg", "x.gpkg"));
        assert!(!is_before_colon("x", "xy:z"));
    }
}
