//! The bytes of a file, as they stand and unpacked. Packed files are unpacked within limits, so that
//! a small file made to fill the memory is refused.

use std::fs::File;
use std::io::{self, BufReader, Read};
use std::path::{Path, PathBuf};

use checkstrip_model::Problem;
use sha2::{Digest, Sha256};

use crate::FormatError;

/// No file may unpack to more than this many bytes (2 GiB).
pub(crate) const UNPACKED_LIMIT: u64 = 2 << 30;
/// Nor to more than this many times its packed size: logs shrink 5 to 20 times, and the format
/// allows about 1000.
const UNPACKED_RATIO: u64 = 200;
/// Small files may unpack to this much whatever the ratio (16 MiB).
const UNPACKED_FLOOR: u64 = 16 << 20;

/// The bytes of the file at `path`.
pub(crate) fn read(path: &Path) -> Result<Vec<u8>, FormatError> {
    let bytes = std::fs::read(path).map_err(|error| FormatError::reading(path, error))?;
    not_empty(path, bytes)
}

/// At most the first `most` bytes of the file at `path`.
pub(crate) fn read_start(path: &Path, most: usize) -> Result<Vec<u8>, FormatError> {
    let mut start = Vec::new();
    File::open(path)
        .and_then(|file| file.take(most as u64).read_to_end(&mut start))
        .map_err(|error| FormatError::reading(path, error))?;
    not_empty(path, start)
}

fn not_empty(path: &Path, bytes: Vec<u8>) -> Result<Vec<u8>, FormatError> {
    if bytes.is_empty() {
        return Err(
            Problem::new(path.display().to_string(), "the file is empty")
                .hint("export it again, or leave it out")
                .into(),
        );
    }
    Ok(bytes)
}

/// The content of the file at `path`, called `file` in messages, a piece at a time; unpacked where it is in
/// gzip, within [`limit_in_pieces`].
pub(crate) struct Pieces {
    file: String,
    path: PathBuf,
    content: Box<dyn Read>,
    /// What a packed file may still unpack to.
    left: Option<u64>,
    packed_len: u64,
}

impl Pieces {
    /// Opens the file at its beginning.
    ///
    /// # Errors
    /// When the operating system refuses.
    pub(crate) fn open(file: &str, path: &Path, gzip: bool) -> Result<Pieces, FormatError> {
        let refuse = |error| FormatError::reading(path, error);
        let content = File::open(path).map_err(refuse)?;
        let packed_len = content.metadata().map_err(refuse)?.len();
        Ok(Pieces {
            file: file.to_owned(),
            path: path.to_owned(),
            left: gzip.then(|| limit_in_pieces(packed_len)),
            content: match gzip {
                true => Box::new(flate2::read::MultiGzDecoder::new(BufReader::new(content))),
                false => Box::new(content),
            },
            packed_len,
        })
    }

    /// Appends up to `most` bytes to `into`; `false` at the end of the content.
    ///
    /// # Errors
    /// When the file cannot be read, is damaged, or unpacks to more than it may.
    pub(crate) fn read(&mut self, into: &mut Vec<u8>, most: usize) -> Result<bool, FormatError> {
        let read = self.content.by_ref().take(most as u64).read_to_end(into);
        let read = match (read, &mut self.left) {
            (Ok(read), None) => read,
            (Err(error), None) => return Err(FormatError::reading(&self.path, error)),
            (Ok(read), Some(left)) => {
                let later = left.checked_sub(read as u64);
                let limit = limit_in_pieces(self.packed_len);
                *left = later.ok_or_else(|| too_large(&self.file, self.packed_len, limit))?;
                read
            }
            (Err(error), Some(_)) => return Err(cannot_unpack(&self.file, &error).into()),
        };
        Ok(read == most)
    }
}

/// SHA-256 in lower-case hexadecimal.
pub fn sha256(bytes: &[u8]) -> String {
    hexadecimal(&Sha256::digest(bytes))
}

/// The same of the file at `path`, a piece at a time.
///
/// # Errors
/// When the operating system refuses.
pub fn sha256_of_file(path: &Path) -> Result<String, FormatError> {
    let refuse = |error| FormatError::reading(path, error);
    let mut file = File::open(path).map_err(refuse)?;
    let mut hash = Sha256::new();
    let mut piece = vec![0; HASHED];
    loop {
        match file.read(&mut piece) {
            Ok(0) => return Ok(hexadecimal(&hash.finalize())),
            Ok(read) => hash.update(&piece[..read]),
            Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
            Err(error) => return Err(refuse(error)),
        }
    }
}

/// Bytes that are hashed at a time.
const HASHED: usize = 1 << 20;

fn hexadecimal(digest: &[u8]) -> String {
    digest.iter().map(|byte| format!("{byte:02x}")).collect()
}

/// How many bytes a part packed into `packed` bytes may hold.
pub(crate) fn limit(packed: u64) -> u64 {
    UNPACKED_LIMIT.min(limit_in_pieces(packed))
}

/// The same where no more than a piece of it will be in memory.
pub(crate) fn limit_in_pieces(packed: u64) -> u64 {
    UNPACKED_FLOOR.max(packed.saturating_mul(UNPACKED_RATIO))
}

/// Everything `packed` unpacks to, where the packed part is `packed_len` bytes long.
pub(crate) fn unpack(file: &str, packed: impl Read, packed_len: u64) -> Result<Vec<u8>, Problem> {
    let limit = limit(packed_len);
    let mut bytes = Vec::new();
    packed
        .take(limit + 1)
        .read_to_end(&mut bytes)
        .map_err(|error| cannot_unpack(file, &error))?;
    if bytes.len() as u64 > limit {
        return Err(too_large(file, packed_len, limit));
    }
    Ok(bytes)
}

fn cannot_unpack(file: &str, error: &io::Error) -> Problem {
    Problem::new(file, format!("cannot be unpacked: {error}"))
        .hint("the file is damaged or was cut off: copy it again from where it came from")
}

fn too_large(file: &str, packed_len: u64, limit: u64) -> Problem {
    let message = format!(
        "{packed_len} packed bytes unpack to more than {limit}, which no log does ({UNPACKED_RATIO} \
         times the packed size; where it is read whole, at most 2 GiB)"
    );
    Problem::new(file, message).hint("unpack it yourself and give the plain file")
}

/// The content of a gzip file (all its members).
pub(crate) fn gunzip(file: &str, bytes: &[u8]) -> Result<Vec<u8>, Problem> {
    unpack(
        file,
        flate2::read::MultiGzDecoder::new(bytes),
        bytes.len() as u64,
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::Write;

    #[test]
    fn a_file_made_to_fill_the_memory_is_refused() {
        let mut packer = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::best());
        packer.write_all(&vec![b'0'; 40 << 20]).unwrap();
        let packed = packer.finish().unwrap();
        assert!(packed.len() < 64 << 10);
        let problem = gunzip("log.csv.gz", &packed).unwrap_err();
        assert!(problem.message.contains("unpack to more than"), "{problem}");
    }

    #[test]
    fn a_cut_off_file_is_refused() {
        let mut packer = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::fast());
        packer.write_all(b"lon,lat\n1,2\n").unwrap();
        let packed = packer.finish().unwrap();
        assert_eq!(gunzip("a", &packed).unwrap(), b"lon,lat\n1,2\n");
        assert!(gunzip("a", &packed[..packed.len() - 9]).is_err());
    }

    /// FIPS 180-4 example "abc".
    #[test]
    fn sha256_of_abc() {
        let expected = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
        assert_eq!(sha256(b"abc"), expected);
    }
}
