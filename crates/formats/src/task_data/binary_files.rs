//! The binary files that elements of the documents refer to: points of outlines and lines (PNT) and grids of rates
//! (GRD). They are read before their elements are looked at, each once.

use std::collections::HashMap;

use checkstrip_model::Problem;

use super::element::Element;
use super::{TaskSet, is_name};
use crate::FormatError;

/// Binary files of one kind that one set may refer to.
const MOST_FILES: usize = 10_000;

/// The content of binary files by their name in the document, such as `PNT00001`.
pub(crate) type BinaryFiles = HashMap<String, Vec<u8>>;

impl TaskSet {
    /// Reads the files that attribute `key` of the elements `tag` names; one that is not there is missed by
    /// [`binary_file`](Self::binary_file).
    ///
    /// # Errors
    /// When one cannot be read, or there are more than any set has.
    pub(super) fn read_binary_files(&mut self, tag: &str, key: &str) -> Result<(), Problem> {
        let mut names = Vec::new();
        collect_names(&self.root, tag, key, &mut names);
        names.retain(|name| is_name(name, Some(tag)));
        names.sort_unstable();
        names.dedup();
        let given = self.files.given.clone();
        if names.len() > MOST_FILES {
            let message = format!("refers to more than {MOST_FILES} files {tag}");
            return Err(Problem::new(given, message).hint("export one field at a time"));
        }
        for name in names {
            match self.files.read(&format!("{name}.BIN")) {
                Ok(Some(bytes)) => drop(self.binary_files.insert(name, bytes)),
                Ok(None) => {}
                Err(FormatError::Input(problem)) => return Err(problem),
                Err(error) => {
                    return Err(Problem::new(given, format!("{name}.BIN: {error}"))
                        .hint("copy the task data again"));
                }
            }
        }
        Ok(())
    }

    /// The content of the file that attribute `key` of `element` names.
    ///
    /// # Errors
    /// When it is not there, or its name is none of its kind.
    pub(super) fn binary_file(&self, element: &Element, key: &str) -> Result<&[u8], Problem> {
        let (tag, name) = (element.tag.as_str(), element.text(key).unwrap_or_default());
        self.binary_files
            .get(name)
            .map(Vec::as_slice)
            .ok_or_else(|| {
                let message = match is_name(name, Some(tag)) {
                    true => format!("{name}.BIN is not there"),
                    false => format!("expected a file such as {tag}00001, found {name:?}"),
                };
                Problem::new(self.files.given.as_str(), message)
                    .hint("export the task data again, with all its files")
            })
    }
}

/// What `key` of all elements `tag` below `element` says.
fn collect_names(element: &Element, tag: &str, key: &str, names: &mut Vec<String>) {
    for child in &element.children {
        if child.tag == tag {
            names.extend(child.text(key).map(str::to_owned));
        }
        collect_names(child, tag, key, names);
    }
}
