//! The files of one set of task data: a folder, or a zip archive of one. Names are looked up in any
//! case and only beside `TASKDATA.XML`; no name from inside a file is ever joined to a path.

use std::collections::HashMap;
use std::io::{Cursor, Read};
use std::path::{Path, PathBuf};

use checkstrip_model::Problem;
use sha2::{Digest, Sha256};
use zip::ZipArchive;

use crate::{FormatError, file_bytes};

/// The document that every set of task data has.
const MAIN: &str = "taskdata.xml";

/// An archive with more entries than this holds no task data: a season's logs are some hundred files.
const MOST_ENTRIES: usize = 20_000;

/// The files of one set, read when they are asked for.
pub(crate) struct TaskFiles {
    /// The set as given, for messages.
    pub(crate) given: String,
    source: Source,
    /// Bytes unpacked so far.
    unpacked: u64,
    digest: Sha256,
}

enum Source {
    /// Lower-case name to path.
    Folder(HashMap<String, PathBuf>),
    Zip {
        archive: ZipArchive<Cursor<Vec<u8>>>,
        /// SHA-256 of the archive and its bytes' number.
        sha256: String,
        length: u64,
        /// Lower-case name to place in the archive.
        entries: HashMap<String, usize>,
    },
}

impl TaskFiles {
    /// The set at `path`: a folder that holds `TASKDATA.XML` or a folder `TASKDATA` with it, that file
    /// itself, or a zip archive of either. `None` when `path` is something else.
    ///
    /// # Errors
    /// When a folder or an archive that holds task data cannot be read, or an archive holds several
    /// sets or names that point out of it.
    pub(crate) fn find(path: &Path) -> Result<Option<TaskFiles>, FormatError> {
        let given = path.display().to_string();
        let source = if path.is_dir() {
            set_folder(path)?.map(Source::Folder)
        } else if named(path, MAIN) {
            let folder = match path.parent() {
                Some(parent) if !parent.as_os_str().is_empty() => parent,
                _ => Path::new("."),
            };
            Some(Source::Folder(listing(folder)?))
        } else if named_zip(path) && begins_like_zip(path)? {
            in_zip(&given, file_bytes::read(path)?)?
        } else {
            None
        };
        Ok(source.map(|source| TaskFiles {
            given,
            source,
            unpacked: 0,
            digest: Sha256::new(),
        }))
    }

    /// Whether `path` is a folder that holds task data.
    pub(crate) fn is_set_folder(path: &Path) -> bool {
        path.is_dir() && set_folder(path).is_ok_and(|found| found.is_some())
    }

    /// The content of the file called `name`, in any case; `None` when there is none.
    ///
    /// # Errors
    /// When it cannot be read, or is or unpacks to more than any log does.
    pub(crate) fn read(&mut self, name: &str) -> Result<Option<Vec<u8>>, FormatError> {
        let name = name.to_lowercase();
        let content = match &mut self.source {
            Source::Folder(files) => {
                let Some(path) = files.get(&name) else {
                    return Ok(None);
                };
                let io = |error| FormatError::reading(path, error);
                let file = std::fs::File::open(path).map_err(io)?;
                let mut content = Vec::new();
                file.take(file_bytes::UNPACKED_LIMIT + 1)
                    .read_to_end(&mut content)
                    .map_err(io)?;
                content
            }
            Source::Zip {
                archive,
                length,
                entries,
                ..
            } => {
                let Some(&at) = entries.get(&name) else {
                    return Ok(None);
                };
                let entry = archive.by_index(at).map_err(|e| damaged(&self.given, &e))?;
                let packed = entry.compressed_size().min(*length);
                file_bytes::unpack(&self.given, entry, packed)?
            }
        };
        self.unpacked += content.len() as u64;
        if self.unpacked > file_bytes::UNPACKED_LIMIT {
            let message = "the task data is larger than 2 GiB";
            return Err(Problem::new(self.given.as_str(), message)
                .hint("export the logs of one field at a time")
                .into());
        }
        self.digest.update(&content);
        Ok(Some(content))
    }

    /// The content of `TASKDATA.XML`.
    ///
    /// # Errors
    /// As [`read`](Self::read).
    pub(crate) fn main(&mut self) -> Result<Vec<u8>, FormatError> {
        let found = self.read(MAIN)?;
        found.filter(|bytes| !bytes.is_empty()).ok_or_else(|| {
            Problem::new(self.given.as_str(), "TASKDATA.XML is empty or gone")
                .hint("export the task data again")
                .into()
        })
    }

    /// SHA-256 of an archive's bytes or, of a folder, of everything read so far, one file after another;
    /// lower-case hexadecimal.
    pub(crate) fn sha256(&self) -> String {
        match &self.source {
            Source::Zip { sha256, .. } => sha256.clone(),
            Source::Folder(_) => self
                .digest
                .clone()
                .finalize()
                .iter()
                .map(|byte| format!("{byte:02x}"))
                .collect(),
        }
    }
}

fn named(path: &Path, wanted: &str) -> bool {
    path.file_name()
        .is_some_and(|name| name.to_string_lossy().eq_ignore_ascii_case(wanted))
}

fn named_zip(path: &Path) -> bool {
    path.extension()
        .is_some_and(|extension| extension.eq_ignore_ascii_case("zip"))
}

/// A missing file is left for the reader that follows, which says so.
fn begins_like_zip(path: &Path) -> Result<bool, FormatError> {
    let Ok(mut file) = std::fs::File::open(path) else {
        return Ok(false);
    };
    let mut start = [0; 4];
    match file.read_exact(&mut start) {
        Ok(()) => Ok(&start == b"PK\x03\x04"),
        Err(_) => Ok(false),
    }
}

/// The files beside the main document in `folder`, or in its folder called `TASKDATA`.
fn set_folder(folder: &Path) -> Result<Option<HashMap<String, PathBuf>>, FormatError> {
    let files = listing(folder)?;
    if files.get(MAIN).is_some_and(|path| path.is_file()) {
        return Ok(Some(files));
    }
    match files.get("taskdata") {
        Some(inner) if inner.is_dir() => {
            let files = listing(inner)?;
            Ok(files.contains_key(MAIN).then_some(files))
        }
        _ => Ok(None),
    }
}

fn listing(folder: &Path) -> Result<HashMap<String, PathBuf>, FormatError> {
    let io = |error| FormatError::reading(folder, error);
    let mut files = HashMap::new();
    for entry in std::fs::read_dir(folder).map_err(io)? {
        let path = entry.map_err(io)?.path();
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        files.insert(name.to_lowercase(), path);
    }
    Ok(files)
}

fn damaged(file: &str, error: &zip::result::ZipError) -> Problem {
    Problem::new(file, format!("the zip archive cannot be read: {error}"))
        .hint("it is damaged or was cut off: copy it again from where it came from")
}

/// The one set in a zip archive; `None` when it holds none.
fn in_zip(file: &str, bytes: Vec<u8>) -> Result<Option<Source>, Problem> {
    let (sha256, length) = (file_bytes::sha256(&bytes), bytes.len() as u64);
    // What is no archive, or holds something else, is left for the reader that follows.
    let Ok(mut archive) = ZipArchive::new(Cursor::new(bytes)) else {
        return Ok(None);
    };
    let mut names = Vec::new();
    for at in 0..archive.len().min(MOST_ENTRIES + 1) {
        let entry = archive.by_index_raw(at).map_err(|e| damaged(file, &e))?;
        let name = entry.name().map_err(|e| damaged(file, &e))?;
        names.push(name.replace('\\', "/").to_lowercase());
    }
    let mains: Vec<&String> = names
        .iter()
        .filter(|name| !name.starts_with("__macosx/"))
        .filter(|name| name.rsplit('/').next() == Some(MAIN))
        .collect();
    if mains.is_empty() {
        return Ok(None);
    }
    if names.len() > MOST_ENTRIES {
        let message = format!("expected at most {MOST_ENTRIES} files in the archive");
        return Err(Problem::new(file, message).hint("pack one set of task data alone"));
    }
    let outside =
        |name: &&String| name.starts_with('/') || name.split('/').any(|part| part == "..");
    if let Some(name) = names.iter().find(outside) {
        let message = format!("the archive's entry {name:?} points out of the archive");
        return Err(Problem::new(file, message).hint("pack the folder TASKDATA again"));
    }
    let &[main] = &mains[..] else {
        let message = format!(
            "expected one TASKDATA.XML in the archive, found {}",
            mains.len()
        );
        return Err(Problem::new(file, message).hint("pack one folder TASKDATA into one archive"));
    };
    let folder = main.strip_suffix(MAIN).unwrap_or_default();
    let entries = names
        .iter()
        .enumerate()
        .filter_map(|(at, name)| Some((name.strip_prefix(folder)?, at)))
        .filter(|(name, _)| !name.is_empty() && !name.contains('/'))
        .map(|(name, at)| (name.to_owned(), at))
        .collect();
    Ok(Some(Source::Zip {
        archive,
        sha256,
        length,
        entries,
    }))
}
