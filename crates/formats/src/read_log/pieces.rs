//! Logs in pieces, so that neither the files nor their records stand in memory: delimited text and GeoParquet a
//! piece at a time, every other format as one piece a file.

use std::path::{Path, PathBuf};
use std::sync::mpsc::{SyncSender, sync_channel};

use checkstrip_model::{FieldLog, Problem};

use super::file_checks::FileChecks;
use super::{OpenLog, ReadOptions, check_table, join, no_log};
use crate::delimited::DelimitedPieces;
use crate::geoparquet::ParquetPieces;
use crate::kind::{self, Kind, Looked};
use crate::log_part::LogPart;
use crate::problem_list::ProblemList;
use crate::task_data::{TaskLog, TaskSet};
use crate::{FormatError, file_bytes};

/// Reads the files `paths` as [`read_log`](super::read_log) does, and hands their records over in pieces, in the
/// order of the files. A piece has the columns of its file and not its [`FieldLog::files`]. Returned is the log
/// without its records: operation, files, headers and units, problems. The next piece is read while `each` has one.
///
/// Delimited text and GeoParquet are in memory a piece at a time; a file of another format is one piece.
///
/// # Errors
/// As [`read_log`](super::read_log), though pieces may have been handed over before a file is refused, and those
/// of `each`.
pub fn read_log_in_pieces<E: From<FormatError>>(
    paths: &[PathBuf],
    options: &ReadOptions,
    mut each: impl FnMut(FieldLog) -> Result<(), E>,
) -> Result<FieldLog, E> {
    if paths.is_empty() {
        return Err(FormatError::from(no_log()).into());
    }
    std::thread::scope(|scope| {
        let (send, received) = sync_channel(0);
        let reading = scope.spawn(move || read(paths, options, &send));
        for piece in received {
            each(piece)?;
        }
        let parts = match reading.join() {
            Ok(parts) => parts?,
            Err(panic) => std::panic::resume_unwind(panic),
        };
        Ok(join(parts).map_err(FormatError::from)?)
    })
}

/// The files without their records, which go to `send`.
fn read(
    paths: &[PathBuf],
    options: &ReadOptions,
    send: &SyncSender<FieldLog>,
) -> Result<Vec<LogPart>, FormatError> {
    let opened = paths.iter().map(|path| OpenPieces::open(path, options));
    let opened: Vec<OpenPieces> = opened.collect::<Result<_, _>>()?;
    let headers: Vec<&[String]> = opened.iter().map(OpenPieces::headers).collect();
    check_table(paths, &headers, options)?;
    opened
        .into_iter()
        .map(|file| file.read(options, send))
        .collect()
}

/// A file whose headers are known and whose records wait to be read.
enum OpenPieces {
    Delimited(PathBuf, DelimitedPieces),
    Parquet(PathBuf, Box<ParquetPieces>),
    Whole(OpenLog),
}

impl OpenPieces {
    fn open(given: &Path, options: &ReadOptions) -> Result<OpenPieces, FormatError> {
        if let Some(set) = TaskSet::open(given)? {
            let log = OpenLog::Task(Box::new(TaskLog::open(set)?));
            return Ok(OpenPieces::Whole(log));
        }
        let Looked {
            file, path, found, ..
        } = kind::look(given)?;
        Ok(match found.kind {
            Kind::Delimited => {
                let pieces = DelimitedPieces::open(&file, &path, found.gzip)?;
                OpenPieces::Delimited(path, pieces)
            }
            Kind::GeoParquet => {
                let pieces = ParquetPieces::open(&file, &path, options)?;
                OpenPieces::Parquet(path, Box::new(pieces))
            }
            _ => OpenPieces::Whole(OpenLog::open(given, options)?),
        })
    }

    fn headers(&self) -> &[String] {
        match self {
            OpenPieces::Delimited(_, log) => log.headers(),
            OpenPieces::Parquet(_, log) => log.headers(),
            OpenPieces::Whole(log) => log.headers(),
        }
    }

    /// The file without its records, which go to `send`.
    fn read(
        self,
        options: &ReadOptions,
        send: &SyncSender<FieldLog>,
    ) -> Result<LogPart, FormatError> {
        let mut checks = FileChecks::default();
        let mut whole: Option<LogPart> = None;
        let mut push = |mut part: LogPart| {
            checks.look(&mut part);
            let records = part.take_records();
            match &mut whole {
                None => whole = Some(part),
                Some(whole) => whole.count(&part),
            }
            send.send(records).map_err(|_| FormatError::from(stopped()))
        };
        let (problems, sha256) = match self {
            OpenPieces::Delimited(path, log) => {
                beside_hash(&path, || log.read(options, &mut push))?
            }
            OpenPieces::Parquet(path, log) => beside_hash(&path, || log.read(options, &mut push))?,
            OpenPieces::Whole(log) => {
                push(log.part(options)?)?;
                (ProblemList::default(), None)
            }
        };
        let mut whole = whole.ok_or_else(stopped)?;
        whole.found(problems);
        if let Some(sha256) = sha256 {
            whole.source.sha256 = sha256;
        }
        checks.finish(&mut whole)?;
        Ok(whole)
    }
}

/// What `read` gives, and the hash of the file at `path`, worked out beside it.
fn beside_hash(
    path: &Path,
    read: impl FnOnce() -> Result<ProblemList, FormatError>,
) -> Result<(ProblemList, Option<String>), FormatError> {
    std::thread::scope(|scope| {
        let hashing = scope.spawn(|| file_bytes::sha256_of_file(path));
        let problems = read()?;
        match hashing.join() {
            Ok(sha256) => Ok((problems, Some(sha256?))),
            Err(panic) => std::panic::resume_unwind(panic),
        }
    })
}

/// Nobody takes the records any more: whoever took them has the reason.
fn stopped() -> Problem {
    Problem::new("", "the reading was stopped")
}
