//! Reading logs: each file in whichever format it is, all of them joined to one log, or handed over in pieces
//! ([`pieces`]).

mod file_checks;
mod pieces;

use std::path::{Path, PathBuf};

use checkstrip_model::{Column, ColumnMap, FieldLog, Operation, Problem, SourceFile, Status};
use rayon::prelude::*;

use crate::column_builder::Values;
use crate::delimited::DelimitedLog;
use crate::export::EXPORT_ONLY;
use crate::geopackage::Wanted;
use crate::geoparquet::ParquetLog;
use crate::kind::{self, Kind, Opened};
use crate::log_part::LogPart;
use crate::raw_table::RawTable;
use crate::shapefile::Bundle;
use crate::task_data::{TaskLog, TaskSet};
use crate::{FormatError, file_bytes, flatgeobuf, geojson, geopackage, header, shapefile};
use file_checks::FileChecks;
pub use pieces::read_log_in_pieces;

/// What a log's headers may leave open.
#[derive(Debug, Clone)]
pub struct ReadOptions {
    /// What the log must be of; with none, whatever its columns tell.
    pub operation: Option<Operation>,
    /// Columns named by hand: these beat what the headers say.
    pub columns: ColumnMap,
    /// Weight of one bushel, kg, for flows and yields in bushels; `NaN` when the crop is not known,
    /// and then such units are refused.
    pub bushel_kg: f64,
}

impl Default for ReadOptions {
    fn default() -> Self {
        ReadOptions {
            operation: None,
            columns: ColumnMap::new(),
            bushel_kg: f64::NAN,
        }
    }
}

/// Reads the files `paths` as one log of a harvest, a planting or an application, in SI units, records in the order of the files.
///
/// Each file is delimited text (`.csv`, `.txt`, `.tsv`, `.dat`) or GeoJSON points, either of them in
/// gzip, a Shapefile of points, alone or zipped, GeoPackage (`field.gpkg:layer` where several layers
/// fit), GeoParquet, FlatGeobuf or ISO 11783-10 task data. Headers are understood as `docs/reading.md`
/// says. What is wrong with single records is in [`FieldLog::problems`]: their values are `NaN`.
/// Several files are read side by side.
///
/// # Errors
/// When a file cannot be read, is of no known kind, lacks a position or the grain, has a needed
/// column without a unit, or an entry of the columns table is in no file.
///
/// ```
/// use checkstrip_formats::{ReadOptions, read_log};
/// use checkstrip_model::Column;
///
/// let dir = tempfile::tempdir()?;
/// let path = dir.path().join("invented.csv");
/// std::fs::write(&path, "lon,lat,Flow (lb/s),Speed (mph)\n-93.1,43.2,20,4.5\n")?;
/// let log = read_log(&[path], &ReadOptions::default())?;
/// assert_eq!(log.numbers(Column::MassFlow), Some(&[20.0 * 0.45359237][..]));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn read_log(paths: &[PathBuf], options: &ReadOptions) -> Result<FieldLog, FormatError> {
    if paths.is_empty() {
        return Err(no_log().into());
    }
    let opened: Vec<Result<OpenLog, FormatError>> = paths
        .par_iter()
        .map(|path| OpenLog::open(path, options))
        .collect();
    let opened: Vec<OpenLog> = opened.into_iter().collect::<Result<_, _>>()?;
    let headers: Vec<&[String]> = opened.iter().map(OpenLog::headers).collect();
    check_table(paths, &headers, options)?;
    let parts: Vec<Result<LogPart, Problem>> = opened
        .into_par_iter()
        .map(|log| log.read(options))
        .collect();
    let parts: Vec<LogPart> = parts.into_iter().collect::<Result<_, _>>()?;
    Ok(join(parts)?)
}

fn no_log() -> Problem {
    Problem::new("", "no log was given").hint("give at least one file")
}

/// A file whose headers are known and whose records wait to be understood.
enum OpenLog {
    Delimited(DelimitedLog),
    Parquet(Box<ParquetLog>),
    Task(Box<TaskLog>),
    Table {
        file: String,
        sha256: String,
        table: RawTable,
    },
}

impl OpenLog {
    fn open(given: &Path, options: &ReadOptions) -> Result<OpenLog, FormatError> {
        if let Some(set) = TaskSet::open(given)? {
            return Ok(OpenLog::Task(Box::new(TaskLog::open(set)?)));
        }
        let Opened {
            file,
            path,
            layer,
            bytes,
            found,
        } = kind::open(given)?;
        // The hash is worked out beside the reading.
        let hashed = |bytes: &[u8], read: &(dyn Fn() -> Result<RawTable, Problem> + Sync)| {
            rayon::join(|| file_bytes::sha256(bytes), read)
        };
        let is_needed = |name: &str| header::is_needed(name, options);
        let (sha256, table) = match found.kind {
            Kind::Delimited => {
                let (bytes, packed) = match found.gzip {
                    true => (file_bytes::gunzip(&file, &bytes)?, Some(bytes)),
                    false => (bytes, None),
                };
                return Ok(OpenLog::Delimited(DelimitedLog::open(
                    &file, bytes, packed,
                )?));
            }
            Kind::GeoParquet => {
                let log = ParquetLog::open(&file, bytes, options)?;
                return Ok(OpenLog::Parquet(Box::new(log)));
            }
            Kind::Shapefile => {
                let bundle = Bundle::beside(&path, bytes)?;
                hashed(&bundle.shp, &|| shapefile::read_points(&file, &bundle))
            }
            Kind::ZippedShapefile => hashed(&bytes, &|| {
                shapefile::read_points(&file, &Bundle::in_zip(&file, &bytes)?)
            }),
            Kind::GeoPackage => hashed(&bytes, &|| {
                let (layer, wanted) = (layer.as_deref(), Wanted::Points);
                geopackage::read(&path, &bytes, layer, wanted, &is_needed)?.into_points(&file)
            }),
            Kind::FlatGeobuf => hashed(&bytes, &|| {
                flatgeobuf::read(&file, &bytes, &is_needed)?.into_points(&file)
            }),
            Kind::GeoJson | Kind::GeoJsonSequence => hashed(&bytes, &|| {
                let read = match found.kind {
                    Kind::GeoJsonSequence => geojson::text_sequence::read_points,
                    _ => geojson::points::read,
                };
                match found.gzip {
                    true => read(&file, &file_bytes::gunzip(&file, &bytes)?),
                    false => read(&file, &bytes),
                }
            }),
        };
        Ok(OpenLog::Table {
            file,
            sha256,
            table: table?,
        })
    }

    fn headers(&self) -> &[String] {
        match self {
            OpenLog::Delimited(log) => log.headers(),
            OpenLog::Parquet(log) => log.headers(),
            OpenLog::Task(log) => log.headers(),
            OpenLog::Table { table, .. } => &table.headers,
        }
    }

    fn read(self, options: &ReadOptions) -> Result<LogPart, Problem> {
        let mut part = self.part(options)?;
        let mut checks = FileChecks::default();
        checks.look(&mut part);
        checks.finish(&mut part)?;
        Ok(part)
    }

    /// The records as the file holds them.
    fn part(self, options: &ReadOptions) -> Result<LogPart, Problem> {
        match self {
            OpenLog::Delimited(log) => log.read(options),
            OpenLog::Parquet(log) => log.read(options),
            OpenLog::Task(log) => log.read(options),
            OpenLog::Table {
                file,
                sha256,
                table,
            } => table.into_part(&file, sha256, options),
        }
    }
}

/// Every entry of the columns table must be in some file.
fn check_table(
    paths: &[PathBuf],
    of_files: &[&[String]],
    options: &ReadOptions,
) -> Result<(), Problem> {
    for (column, source) in &options.columns {
        if of_files
            .iter()
            .any(|headers| header::find_header(headers, &source.column).is_some())
        {
            continue;
        }
        let mut headers: Vec<String> = Vec::new();
        for header in of_files.iter().copied().flatten() {
            if !headers.contains(header) {
                headers.push(header.clone());
            }
        }
        let file = paths
            .first()
            .map(|path| path.display().to_string())
            .unwrap_or_default();
        let message = format!(
            "the columns table says that {} is in {:?}, but no file has this header",
            column.key(),
            source.column
        );
        return Err(Problem::new(file, message).hint(format!(
            "mend [harvest.columns]; the headers are {}",
            header::quoted(&headers)
        )));
    }
    Ok(())
}

/// What the files are logs of.
///
/// # Errors
/// When they are of different work.
fn one_operation(parts: &[LogPart]) -> Result<Operation, Problem> {
    let Some(first) = parts.first() else {
        return Ok(Operation::default());
    };
    match parts.iter().find(|part| part.operation != first.operation) {
        None => Ok(first.operation),
        Some(other) => {
            let message = format!(
                "expected {} as {} is, found {}",
                first.operation.log_in_words(),
                first.source.path,
                other.operation.log_in_words()
            );
            Err(Problem::new(other.source.path.as_str(), message)
                .hint("give the files of one operation at a time"))
        }
    }
}

/// Joins the records of all files; a column that a file lacks has no reading there.
fn join(mut parts: Vec<LogPart>) -> Result<FieldLog, Problem> {
    let total: usize = parts.iter().map(|part| part.rows.len()).sum();
    let in_files: usize = parts.iter().map(|part| part.source.records).sum();
    if u32::try_from(in_files).is_err() {
        return Err(Problem::new(
            "",
            format!("{in_files} records are more than one log can hold"),
        )
        .hint("read the files of one field at a time"));
    }
    let mut log = FieldLog::with_records(total);
    log.operation = one_operation(&parts)?;
    let is_cleaned = parts.iter().all(|part| part.status.is_some());
    let mut status: Vec<Status> = Vec::new();
    let mut record = 0;
    for (at, part) in parts.iter_mut().enumerate() {
        let records = part.rows.len();
        log.file[record..record + records].fill(at as u32);
        log.row[record..record + records].copy_from_slice(&part.rows);
        record += records;
        if is_cleaned {
            status.extend(part.status.iter().flatten());
        }
        for source in part.sources.drain(..) {
            if !log.sources.contains(&source) {
                log.sources.push(source);
            }
        }
        for header in part.unrecognised.drain(..) {
            let is_ours = is_cleaned && EXPORT_ONLY.contains(&header.as_str());
            if !is_ours && !log.unrecognised.contains(&header) {
                log.unrecognised.push(header);
            }
        }
        for fact in part.facts.drain(..) {
            if !log.facts.contains(&fact) {
                log.facts.push(fact);
            }
        }
        log.problems.append(&mut part.problems);
    }
    log.sources.sort_by_key(|source| source.0);
    log.cleaned_status = is_cleaned.then_some(status);

    for &column in Column::ALL {
        let holders = parts
            .iter()
            .filter(|p| p.columns.iter().any(|(c, _)| *c == column))
            .count();
        if holders == 0 {
            continue;
        }
        let mut joined: Option<Values> = None;
        let mut records = 0;
        for part in &mut parts {
            records += part.rows.len();
            let place = part.columns.iter().position(|(c, _)| *c == column);
            match (
                place.map(|place| part.columns.swap_remove(place).1),
                &mut joined,
            ) {
                (Some(values), None) if values.len() == records => joined = Some(values),
                (values, joined) => {
                    let joined = joined.get_or_insert_with(|| Values::empty(column));
                    joined.pad(records - part.rows.len());
                    if let Some(values) = values {
                        joined.append(values);
                    } else {
                        log.problems.push(
                            Problem::new(
                                part.source.path.as_str(),
                                format!("has no {}, which other files have", column.key()),
                            )
                            .hint("its records have no reading there"),
                        );
                    }
                    joined.pad(records);
                }
            }
        }
        match joined {
            Some(Values::Numbers(numbers)) => log.set_numbers(column, numbers),
            Some(Values::Names(names)) => log.set_labels(column, names.finish()),
            // A log has no column of cells as they stand.
            Some(Values::Cells(_) | Values::Kinds(_)) | None => {}
        }
    }
    for (at, part) in parts.iter().enumerate() {
        let mut earlier = parts[..at].iter();
        if let Some(same) = earlier.find(|other| other.source.sha256 == part.source.sha256) {
            let message = format!("holds the same as {}", same.source.path);
            log.problems.push(
                Problem::new(part.source.path.as_str(), message)
                    .hint("leave one of them out: its records are in the log twice"),
            );
        }
    }
    log.files = parts
        .into_iter()
        .map(|part| part.source)
        .collect::<Vec<SourceFile>>();
    Ok(log)
}

#[cfg(test)]
mod tests;
