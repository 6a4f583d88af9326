//! Files and folders appear whole or not at all: they are written under a temporary name in the same folder and
//! renamed at the end, so that a killed run leaves no half file. (The rename is not held back until
//! the disk has the bytes: a power cut right after may still lose the file.)

use std::io::{self, BufWriter, Write};
use std::path::Path;

use checkstrip_model::Problem;
use tempfile::NamedTempFile;

use crate::FormatError;

/// How temporary names begin.
const PREFIX: &str = ".checkstrip-";

/// Bytes collected before they go to the operating system.
const BUFFER: usize = 256 << 10;

/// Writes the file at `path` with `write`; when that fails, `path` is as it was before.
///
/// # Errors
/// When the folder is not there or cannot be written to, the disk is full, or `write` fails.
pub fn write_atomically(
    path: &Path,
    write: impl FnOnce(&mut (dyn Write + Send)) -> io::Result<()>,
) -> Result<(), FormatError> {
    let refuse = |error| FormatError::writing(path, error);
    let mut file = temporary(path)?;
    let mut writer = BufWriter::with_capacity(BUFFER, file.as_file_mut());
    write(&mut writer).map_err(refuse)?;
    writer.flush().map_err(refuse)?;
    drop(writer);
    file.persist(path).map_err(|error| refuse(error.error))?;
    Ok(())
}

/// Makes the file at `path` with `write`, which is told under which name in the same folder; when that
/// fails, `path` is as it was before.
///
/// # Errors
/// As [`write_atomically`].
pub(super) fn write_beside(
    path: &Path,
    write: impl FnOnce(&Path) -> io::Result<()>,
) -> Result<(), FormatError> {
    let refuse = |error| FormatError::writing(path, error);
    let file = temporary(path)?;
    write(file.path()).map_err(refuse)?;
    file.persist(path).map_err(|error| refuse(error.error))?;
    Ok(())
}

/// An empty file beside `path`, which goes away unless it gets its name.
fn temporary(path: &Path) -> Result<NamedTempFile, FormatError> {
    let folder = match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    };
    let mut builder = tempfile::Builder::new();
    builder.prefix(PREFIX);
    // A temporary file is private by default; the result is to be an ordinary file.
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(std::fs::Permissions::from_mode(0o666));
    }
    // The temporary name, which this error would tell, means nothing to a reader.
    builder
        .tempfile_in(folder)
        .map_err(|error| FormatError::writing(path, error.kind().into()))
}

/// Takes away what killed runs left unfinished in a folder: files under temporary names. Only for a folder
/// that no other run writes to.
///
/// # Errors
/// When the folder cannot be listed or a file cannot be removed.
pub fn remove_unfinished(folder: &Path) -> Result<(), FormatError> {
    let refuse = |path: &Path, source| FormatError::Io {
        path: path.to_owned(),
        action: "cleared",
        source,
    };
    let entries = std::fs::read_dir(folder).map_err(|error| refuse(folder, error))?;
    for entry in entries {
        let path = entry.map_err(|error| refuse(folder, error))?.path();
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        if name.starts_with(PREFIX) && path.is_file() {
            std::fs::remove_file(&path).map_err(|error| refuse(&path, error))?;
        }
    }
    Ok(())
}

/// Writes `bytes` as the file at `path`, whole or not at all.
///
/// # Errors
/// As [`write_atomically`].
pub fn write_bytes_atomically(path: &Path, bytes: &[u8]) -> Result<(), FormatError> {
    write_atomically(path, |writer| writer.write_all(bytes))
}

/// Writes the folder `path` with `files`, each a name and its content, whole or not at all: it is put together under
/// a temporary name beside it. A folder or file that is there already is left alone.
///
/// # Errors
/// When `path` is there already, or as [`write_atomically`].
pub(crate) fn write_folder_atomically(
    path: &Path,
    files: &[(String, Vec<u8>)],
) -> Result<(), FormatError> {
    let refuse = |error| FormatError::writing(path, error);
    if path.symlink_metadata().is_ok() {
        return Err(Problem::new(path.display().to_string(), "is there already")
            .hint("a folder is never written over: remove it, or give another place")
            .into());
    }
    let parent = match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    };
    let mut builder = tempfile::Builder::new();
    builder.prefix(PREFIX);
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(std::fs::Permissions::from_mode(0o777));
    }
    let folder = builder
        .tempdir_in(parent)
        .map_err(|error| refuse(error.kind().into()))?;
    for (name, content) in files {
        std::fs::write(folder.path().join(name), content).map_err(refuse)?;
    }
    std::fs::rename(folder.path(), path).map_err(refuse)?;
    // It has another name now: nothing is left to remove.
    let _ = folder.keep();
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_folder_is_whole_and_never_written_over() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("TASKDATA");
        let files = [("A.XML".to_owned(), b"<A/>".to_vec())];
        write_folder_atomically(&path, &files).unwrap();
        assert_eq!(std::fs::read(path.join("A.XML")).unwrap(), b"<A/>");
        let error = write_folder_atomically(&path, &[]).unwrap_err().to_string();
        assert!(error.contains("is there already"), "{error}");
        let bad = [("no/such/A.XML".to_owned(), Vec::new())];
        assert!(write_folder_atomically(&dir.path().join("other"), &bad).is_err());
        assert_eq!(std::fs::read_dir(dir.path()).unwrap().count(), 1);
    }

    #[test]
    fn a_failed_write_leaves_what_was_there() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("results.json");
        write_bytes_atomically(&path, b"first").unwrap();
        let failed = write_atomically(&path, |writer| {
            writer.write_all(b"half")?;
            Err(io::Error::other("the power went"))
        });
        assert!(
            failed
                .unwrap_err()
                .to_string()
                .contains("cannot be written: the power went")
        );
        assert_eq!(std::fs::read(&path).unwrap(), b"first");
        assert_eq!(std::fs::read_dir(dir.path()).unwrap().count(), 1);
    }

    #[test]
    fn a_missing_folder_is_said() {
        let error = write_bytes_atomically(Path::new("no-such-folder/a.json"), b"").unwrap_err();
        assert!(error.to_string().contains("check the spelling"), "{error}");
    }
}
