//! The bytes of a Parquet file where they are asked for. Columns are decoded side by side: each reads from a place
//! of its own, which a plain file, whose copies share one place, does not let them.

use std::fs::File;
use std::io::{self, BufReader, Read, Seek, SeekFrom};
use std::sync::{Arc, Mutex, PoisonError};

use bytes::Bytes;
use parquet::errors::{ParquetError, Result};
use parquet::file::reader::{ChunkReader, Length};

/// A file that many may read at once.
#[derive(Clone)]
pub(super) struct FileChunks {
    file: Arc<Mutex<File>>,
    length: u64,
}

/// The file from one place on.
pub(super) struct FromPlace {
    file: Arc<Mutex<File>>,
    place: u64,
}

impl FileChunks {
    pub(super) fn new(file: File) -> io::Result<FileChunks> {
        Ok(FileChunks {
            length: file.metadata()?.len(),
            file: Arc::new(Mutex::new(file)),
        })
    }
}

impl Read for FromPlace {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        let mut file = self.file.lock().unwrap_or_else(PoisonError::into_inner);
        file.seek(SeekFrom::Start(self.place))?;
        let read = file.read(into)?;
        self.place += read as u64;
        Ok(read)
    }
}

impl Length for FileChunks {
    fn len(&self) -> u64 {
        self.length
    }
}

impl ChunkReader for FileChunks {
    type T = BufReader<FromPlace>;

    fn get_read(&self, start: u64) -> Result<BufReader<FromPlace>> {
        Ok(BufReader::new(FromPlace {
            file: Arc::clone(&self.file),
            place: start,
        }))
    }

    fn get_bytes(&self, start: u64, length: usize) -> Result<Bytes> {
        // What a damaged file says of its lengths is not believed.
        let end = start.checked_add(length as u64);
        if end.is_none_or(|end| end > self.length) {
            return Err(ParquetError::EOF(format!(
                "{length} bytes at {start} are beyond its end"
            )));
        }
        let mut bytes = vec![0; length];
        let mut file = self.file.lock().unwrap_or_else(PoisonError::into_inner);
        file.seek(SeekFrom::Start(start))?;
        file.read_exact(&mut bytes)?;
        Ok(bytes.into())
    }
}
