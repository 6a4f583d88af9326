//! File name patterns such as `harvest/*.csv`, as trial files and the command line give them.

use std::path::{Path, PathBuf};

use checkstrip_model::Problem;

use crate::geopackage::split_layer;
use crate::{FormatError, task_data};

/// The files that `patterns` name, relative patterns taken from `base_dir`: sorted, each once.
///
/// A pattern that is the name of an existing file is that file, whatever characters it holds; so is one
/// with a layer behind it, as in `field.gpkg:harvest`, and so is that of a folder of task data.
///
/// # Errors
/// When a pattern matches no file, is not a pattern, or a folder cannot be listed.
pub fn expand_globs(patterns: &[String], base_dir: &Path) -> Result<Vec<PathBuf>, FormatError> {
    let mut files = Vec::new();
    for pattern in patterns {
        let whole = base_dir.join(pattern);
        let (file, _) = split_layer(&whole);
        if file.is_file() || task_data::is_set(&whole) {
            files.push(whole);
            continue;
        }
        // Only the pattern may hold wildcards: the folder it starts from is taken literally.
        let joined = if Path::new(pattern).is_absolute() || base_dir.as_os_str().is_empty() {
            pattern.clone()
        } else {
            let base = glob::Pattern::escape(&base_dir.to_string_lossy());
            Path::new(&base)
                .join(pattern)
                .to_string_lossy()
                .into_owned()
        };
        let found = glob::glob(&joined).map_err(|error| {
            Problem::new(
                pattern.as_str(),
                format!("not a file name pattern: {}", error.msg),
            )
            .hint("write a file name, or a pattern such as \"harvest/*.csv\"")
        })?;
        let before = files.len();
        for entry in found {
            let path = entry.map_err(|error| {
                let folder = error.path().to_owned();
                FormatError::reading(&folder, error.into())
            })?;
            if path.is_file() || task_data::is_set(&path) {
                files.push(path);
            }
        }
        if files.len() == before {
            let place = if base_dir.as_os_str().is_empty() {
                Path::new(".")
            } else {
                base_dir
            };
            return Err(Problem::new(
                pattern.as_str(),
                format!(
                    "expected at least one file, found none from {}",
                    place.display()
                ),
            )
            .hint("check the spelling; in a trial file, paths are taken from the folder it lies in")
            .into());
        }
    }
    files.sort();
    files.dedup();
    Ok(files)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn patterns_give_sorted_files_once() {
        let dir = tempfile::tempdir().unwrap();
        for name in ["b.csv", "a.csv", "c[1].csv", "notes.md"] {
            std::fs::write(dir.path().join(name), "x").unwrap();
        }
        let patterns = [
            "*.csv".to_owned(),
            "a.csv".to_owned(),
            "c[1].csv".to_owned(),
        ];
        let files = expand_globs(&patterns, dir.path()).unwrap();
        let names: Vec<_> = files
            .iter()
            .map(|f| f.file_name().unwrap().to_owned())
            .collect();
        assert_eq!(names, ["a.csv", "b.csv", "c[1].csv"]);
        let error = expand_globs(&["*.shp".to_owned()], dir.path())
            .unwrap_err()
            .to_string();
        assert!(
            error.starts_with("*.shp: expected at least one file"),
            "{error}"
        );
        assert!(expand_globs(&["a**b".to_owned()], dir.path()).is_err());
    }
}
