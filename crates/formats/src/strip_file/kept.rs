//! The earlier version of a file that is about to be written over, kept beside it.

use std::path::{Path, PathBuf};

use crate::{FormatError, write_bytes_atomically};

/// Copies the file at `path` beside it as `NAME.before-STAMP.EXTENSION` and returns the name of the copy; a
/// number is put behind the stamp where the name is taken. `None` when there is no such file.
///
/// # Errors
/// When the file cannot be read or the copy not written.
pub fn keep_earlier_version(path: &Path, stamp: &str) -> Result<Option<PathBuf>, FormatError> {
    match path.exists() {
        true => keep(path, &[path.to_owned()], stamp).map(Some),
        false => Ok(None),
    }
}

/// [`keep_earlier_version`] of a file that is made up of `parts`.
pub(super) fn keep(path: &Path, parts: &[PathBuf], stamp: &str) -> Result<PathBuf, FormatError> {
    let stem = path.file_stem().unwrap_or_default().to_string_lossy();
    let extension = path.extension().unwrap_or_default().to_string_lossy();
    let mut number = 1;
    let copy = loop {
        let again = match number {
            1 => String::new(),
            more => format!("-{more}"),
        };
        let copy = path.with_file_name(format!("{stem}.before-{stamp}{again}.{extension}"));
        if !copy.exists() {
            break copy;
        }
        number += 1;
    };
    for part in parts {
        let bytes = std::fs::read(part).map_err(|error| FormatError::reading(part, error))?;
        let extension = part.extension().unwrap_or_default();
        write_bytes_atomically(&copy.with_extension(extension), &bytes)?;
    }
    Ok(copy)
}
