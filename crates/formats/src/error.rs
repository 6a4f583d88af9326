//! What can go wrong when a file is read or written: the operating system refused, or the content
//! cannot be used. Both say where, and what to do next.

use std::io;
use std::path::{Path, PathBuf};

use checkstrip_model::Problem;

/// Why a file could not be read or written.
#[derive(Debug, thiserror::Error)]
pub enum FormatError {
    /// The operating system refused.
    #[error("{}: cannot be {action}: {source}\nhint: {}", path.display(), hint(source))]
    Io {
        /// The file or directory.
        path: PathBuf,
        /// What was tried: `read`, `written`, `created`.
        action: &'static str,
        /// What the operating system said.
        source: io::Error,
    },
    /// The content cannot be used.
    #[error(transparent)]
    Input(#[from] Problem),
}

impl FormatError {
    pub(crate) fn reading(path: &Path, source: io::Error) -> FormatError {
        FormatError::Io {
            path: path.to_owned(),
            action: "read",
            source,
        }
    }

    pub(crate) fn writing(path: &Path, source: io::Error) -> FormatError {
        FormatError::Io {
            path: path.to_owned(),
            action: "written",
            source,
        }
    }
}

fn hint(error: &io::Error) -> &'static str {
    match error.kind() {
        io::ErrorKind::NotFound => "check the spelling, and that the folder exists",
        io::ErrorKind::PermissionDenied => "check who may read and write there",
        io::ErrorKind::StorageFull => "make room on the disk, then run again",
        io::ErrorKind::IsADirectory => "give a file, not a folder",
        io::ErrorKind::NotADirectory => "a part of the path is a file, not a folder",
        io::ErrorKind::InvalidData => "save it as UTF-8 text",
        _ => "check that the disk is there and that no other program holds the file",
    }
}
