//! Bytes put aside while a log is judged, so that memory does not grow with the log: readings row by row, and
//! the spectra of its windows. They are in memory while they are few and in one file without a name
//! afterwards, which is gone with the last [`Scratch`] that leads to it, however the program ends.

use std::fmt;
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::path::Path;
use std::sync::{Arc, Mutex, PoisonError};

use tempfile::SpooledTempFile;

use crate::PlantingError;

/// So many bytes are put aside in memory.
const IN_MEMORY: usize = 32 << 20;

/// A place to put bytes aside; clones lead to the same one.
#[derive(Clone)]
pub struct Scratch(Arc<Mutex<Held>>);

struct Held {
    file: SpooledTempFile,
    end: u64,
}

impl Default for Scratch {
    /// In the system's folder for temporary files.
    fn default() -> Scratch {
        Scratch::of(SpooledTempFile::new(IN_MEMORY))
    }
}

impl fmt::Debug for Scratch {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str("Scratch")
    }
}

impl Scratch {
    /// In `folder`, which is asked only when the bytes do not fit into memory.
    pub fn in_folder(folder: &Path) -> Scratch {
        Scratch::of(SpooledTempFile::new_in(IN_MEMORY, folder))
    }

    fn of(file: SpooledTempFile) -> Scratch {
        Scratch(Arc::new(Mutex::new(Held { file, end: 0 })))
    }

    /// Puts `bytes` aside and says where they begin.
    pub(crate) fn put(&self, bytes: &[u8]) -> Result<u64, PlantingError> {
        let mut held = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let start = held.end;
        held.file.seek(SeekFrom::Start(start)).map_err(refused)?;
        held.file.write_all(bytes).map_err(refused)?;
        held.end += bytes.len() as u64;
        Ok(start)
    }

    /// The `length` bytes that begin at `start`.
    pub(crate) fn get(&self, start: u64, length: usize) -> Result<Vec<u8>, PlantingError> {
        let mut bytes = vec![0; length];
        let mut held = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        held.file.seek(SeekFrom::Start(start)).map_err(refused)?;
        held.file.read_exact(&mut bytes).map_err(refused)?;
        Ok(bytes)
    }
}

fn refused(error: io::Error) -> PlantingError {
    PlantingError::Scratch {
        why: error.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bytes_come_back_from_memory_and_from_the_file() {
        let folder = tempfile::tempdir().unwrap();
        let scratch = Scratch::in_folder(folder.path());
        let piece = |number: u8| vec![number; IN_MEMORY / 3];
        let starts: Vec<u64> = (0..5).map(|n| scratch.put(&piece(n)).unwrap()).collect();
        for (number, &start) in starts.iter().enumerate() {
            assert_eq!(
                scratch.get(start, IN_MEMORY / 3).unwrap(),
                piece(number as u8)
            );
        }
        assert!(scratch.get(starts[4] + 1, IN_MEMORY / 3).is_err());
        // Nothing of it can be seen.
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 0);
    }

    #[test]
    fn a_folder_that_is_not_there_is_asked_only_when_memory_does_not_do() {
        let scratch = Scratch::in_folder(Path::new("not there"));
        assert!(scratch.put(&[1]).is_ok());
        let error = scratch.put(&vec![0; IN_MEMORY]).unwrap_err();
        assert!(matches!(error, PlantingError::Scratch { .. }), "{error}");
    }
}
