//! A harvest log as ISO 11783-10 task data, version 4: `TASKDATA.XML` with a finished task and its machines, and for
//! each machine a binary time log with the document that says what stands in it. What the format cannot hold is
//! left out and told.
//!
//! # Source
//! ISO 11783-10:2015, annex D and its clause on the binary format of time logs; entries and steps are those of the
//! reader. Checked in tests against independent readers.

use std::io::{self, Cursor, Write as _};
use std::path::Path;

use checkstrip_model::{Column, FieldLog, Labels, Problem};

use super::atomic::write_folder_atomically;
use super::task_data::{Xml, main_document, name, xml_document};
use super::write_bytes_atomically;
use crate::FormatError;
use crate::task_data::data_dictionary;
use crate::task_data::device::{OFFSET_X, OFFSET_Y};
use crate::task_data::quantities::{
    ACTUAL_WORK_STATE, ACTUAL_WORKING_WIDTH, MM_IN_M, SINGLE_ENTRIES,
};

/// A folder of task data, or a zip archive of one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum TaskDataTarget {
    Folder,
    Zip,
}

/// What was written.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct WrittenTaskData {
    pub(crate) records: usize,
    /// The entries of the data dictionary that columns went to, with their units.
    pub(crate) columns: Vec<String>,
    /// What the format could not hold as it was.
    pub(crate) changes: Vec<String>,
}

/// Time logs are numbered in five digits, machines here in two.
const MOST_MACHINES: usize = 99;
/// Seconds from 1970-01-01 to 1980-01-01, from which a time log counts its days.
const TO_1980_S: f64 = 3_652.0 * 86_400.0;
const DAY_MS: u64 = 86_400_000;
/// Steps of a position in a degree.
const STEPS_IN_DEGREE: f64 = 1e7;
/// PositionStatus: no fix, and not available.
const NO_FIX: u8 = 0;
const UNKNOWN: u8 = 15;

/// A column and the process data it becomes.
struct Logged<'l> {
    column: Column,
    entry: u16,
    /// How many steps of the whole number make one in SI.
    steps: f64,
    values: &'l [f64],
    /// How people read it: unit, and decimals.
    shown: (&'static str, u8),
}

/// Writes `log` at `path`; `task` names the task. A folder is written only where nothing of its name is, an archive
/// replaces a file of its name; both appear whole or not at all.
///
/// # Errors
/// When the log has no times, or only such as the format cannot count; when it is of more machines than are numbered;
/// when the folder is there already or nothing can be written.
pub(crate) fn write_task_data_log(
    path: &Path,
    target: TaskDataTarget,
    task: &str,
    log: &FieldLog,
) -> Result<WrittenTaskData, FormatError> {
    let file = path.display().to_string();
    let refuse = |message: String, hint: &str| Problem::new(file.as_str(), message).hint(hint);
    let time = log.numbers(Column::Timestamp).ok_or_else(|| {
        refuse(
            "task data has the time of every record, and the log has none".to_owned(),
            "name its times under [harvest.columns] or in the header timestamp, or write another format",
        )
    })?;
    let logged = logged(log);
    let one_machine = Labels {
        names: vec![String::new()],
        index: vec![0; log.len()],
    };
    let machines = log.labels(Column::Machine).unwrap_or(&one_machine);
    if machines.names.len() > MOST_MACHINES {
        return Err(refuse(
            format!(
                "expected at most {MOST_MACHINES} machines, found {}",
                machines.names.len()
            ),
            "check the column machine: it may hold something else",
        )
        .into());
    }
    let mut losses = Losses::new(&logged);
    let mut time_logs = Vec::new();
    for machine in 0..machines.names.len() as u32 {
        let records = (0..log.len()).filter(|&record| machines.index[record] == machine);
        time_logs.push(time_log(log, time, &logged, records, &mut losses));
    }
    let records = losses.written;
    if records == 0 {
        return Err(refuse(
            "no record has a time from 1980 to 2159, which task data can hold".to_owned(),
            "check the unit of the timestamps, or write another format",
        )
        .into());
    }
    let writing = |error| FormatError::writing(path, error);
    let sizes: Vec<usize> = time_logs.iter().map(Vec::len).collect();
    let main = main_document(|xml| {
        for (at, machine) in machines.names.iter().enumerate() {
            device(xml, at, machine, &logged)?;
        }
        finished_task(xml, task, &sizes)
    });
    let mut files = vec![("TASKDATA.XML".to_owned(), main.map_err(writing)?)];
    for (at, time_log) in time_logs.into_iter().enumerate() {
        let header = header(log, at, &logged).map_err(writing)?;
        files.push((format!("{}.XML", log_name(at)), header));
        files.push((format!("{}.BIN", log_name(at)), time_log));
    }
    match target {
        TaskDataTarget::Folder => write_folder_atomically(path, &files)?,
        TaskDataTarget::Zip => {
            let archive = zipped(&files).map_err(|error| writing(io::Error::other(error)))?;
            write_bytes_atomically(path, &archive)?;
        }
    }
    let columns = logged.iter().map(|logged| {
        let unit = data_dictionary::entry(logged.entry).map_or("", |entry| entry.unit);
        format!("{} {unit}", data_dictionary::name(logged.entry))
            .trim_end()
            .to_owned()
    });
    Ok(WrittenTaskData {
        records,
        columns: columns.collect(),
        changes: losses.told(log, &logged, machines),
    })
}

/// The columns of `log` that have an entry in the dictionary.
fn logged(log: &FieldLog) -> Vec<Logged<'_>> {
    let single = SINGLE_ENTRIES.map(|(column, entry, steps, _)| (column, entry, steps));
    let others = [
        (Column::Width, ACTUAL_WORKING_WIDTH, MM_IN_M),
        (Column::HeaderDown, ACTUAL_WORK_STATE, 1.0),
    ];
    let all = single.into_iter().chain(others);
    all.filter_map(|(column, entry, steps)| {
        Some(Logged {
            column,
            entry,
            steps,
            values: log.numbers(column)?,
            shown: match column {
                Column::MassFlow => ("kg/s", 3),
                Column::Yield => ("kg/ha", 0),
                Column::Moisture => ("%", 2),
                Column::Speed => ("m/s", 2),
                Column::Width => ("m", 2),
                _ => ("", 0),
            },
        })
    })
    .collect()
}

/// What was lost on the way, counted.
struct Losses {
    written: usize,
    without_time: usize,
    without_place: usize,
    /// Whether times, positions, heights were between two steps.
    rounded: [bool; 3],
    /// For each logged column: rounded, readings beyond the format's range, and empty ones behind a reading.
    columns: Vec<(bool, usize, usize)>,
}

impl Losses {
    fn new(logged: &[Logged<'_>]) -> Losses {
        Losses {
            written: 0,
            without_time: 0,
            without_place: 0,
            rounded: [false; 3],
            columns: vec![(false, 0, 0); logged.len()],
        }
    }

    /// In words, what a reader of the task data will not find.
    fn told(&self, log: &FieldLog, logged: &[Logged<'_>], machines: &Labels) -> Vec<String> {
        let mut told = Vec::new();
        let mut tell = |is_so: bool, words: String| told.extend(is_so.then_some(words));
        tell(
            self.without_time > 0,
            format!(
                "records: {} without a time from 1980 to 2159 are left out",
                self.without_time
            ),
        );
        let logs = machines.names.len();
        tell(
            logs > 1,
            format!("records: in {logs} time logs, one for each machine"),
        );
        tell(
            self.without_place > 0,
            format!(
                "records: {} without a position are at 0 N 0 E without a fix",
                self.without_place
            ),
        );
        tell(self.rounded[0], "times: rounded to milliseconds".to_owned());
        tell(
            self.rounded[1],
            "positions: rounded to 0.0000001 degrees, 6 mm at most northwards".to_owned(),
        );
        tell(
            self.rounded[2],
            "heights: rounded to millimetres".to_owned(),
        );
        for (logged, &(rounded, beyond, empty)) in logged.iter().zip(&self.columns) {
            let key = logged.column.key();
            let unit = data_dictionary::entry(logged.entry).map_or("", |entry| entry.unit);
            tell(rounded, format!("column {key}: rounded to whole {unit}"));
            tell(
                beyond > 0,
                format!(
                    "column {key}: {beyond} readings are beyond what task data holds, and left out"
                ),
            );
            tell(
                empty > 0,
                format!("column {key}: {empty} records without a reading keep the one before"),
            );
        }
        for &column in Column::ALL {
            let is_held = logged.iter().any(|logged| logged.column == column)
                || matches!(
                    column,
                    Column::Timestamp
                        | Column::Lon
                        | Column::Lat
                        | Column::Elevation
                        | Column::Machine
                );
            tell(
                log.has(column) && !is_held,
                format!(
                    "column {}: has no entry in task data, left out",
                    column.key()
                ),
            );
        }
        for header in &log.unrecognised {
            tell(true, format!("column {header:?}: not recognised, left out"));
        }
        tell(
            log.cleaned_status.is_some(),
            "column status: what cleaning found has no place in task data, left out".to_owned(),
        );
        told
    }
}

/// `value` in whole steps, and whether it was between two; `None` where it is no number or does not fit.
fn whole(value: f64, steps: f64) -> Option<(i32, bool)> {
    let steps = value * steps;
    let whole = steps.round();
    // The largest number stands for "not available".
    let fits = whole >= f64::from(i32::MIN) && whole < f64::from(i32::MAX);
    fits.then_some((whole as i32, (steps - whole).abs() > 1e-3))
}

/// The binary time log of `records`.
fn time_log(
    log: &FieldLog,
    time: &[f64],
    logged: &[Logged<'_>],
    records: impl Iterator<Item = usize>,
    losses: &mut Losses,
) -> Vec<u8> {
    let column = |column: Column| log.numbers(column);
    let (lon, lat, height) = (
        column(Column::Lon),
        column(Column::Lat),
        column(Column::Elevation),
    );
    let mut bytes = Vec::new();
    let mut last: Vec<Option<i32>> = vec![None; logged.len()];
    let mut news: Vec<(u8, i32)> = Vec::new();
    for record in records {
        let ms = (time[record] - TO_1980_S) * 1e3;
        let days = (ms.round().max(0.0) as u64) / DAY_MS;
        let Some(day) = u16::try_from(days).ok().filter(|_| ms.round() >= 0.0) else {
            losses.without_time += 1;
            continue;
        };
        losses.rounded[0] |= (ms - ms.round()).abs() > 1e-3;
        bytes.extend(((ms.round() as u64 - days * DAY_MS) as u32).to_le_bytes());
        bytes.extend(day.to_le_bytes());
        let degrees = |axis: Option<&[f64]>| whole(axis?[record], STEPS_IN_DEGREE);
        let (north, east, status) = match (degrees(lat), degrees(lon)) {
            (Some(north), Some(east)) => {
                losses.rounded[1] |= north.1 || east.1;
                (north.0, east.0, UNKNOWN)
            }
            _ => {
                losses.without_place += 1;
                (0, 0, NO_FIX)
            }
        };
        bytes.extend(north.to_le_bytes());
        bytes.extend(east.to_le_bytes());
        if let Some(height) = height {
            let (height, rounded) = whole(height[record], MM_IN_M).unwrap_or((i32::MAX, false));
            losses.rounded[2] |= rounded;
            bytes.extend(height.to_le_bytes());
        }
        bytes.push(status);
        news.clear();
        for (at, logged) in logged.iter().enumerate() {
            let value = logged.values[record];
            let (rounded, beyond, empty) = &mut losses.columns[at];
            match whole(value, logged.steps) {
                Some((value, between)) => {
                    *rounded |= between;
                    if last[at] != Some(value) {
                        last[at] = Some(value);
                        news.push((at as u8, value));
                    }
                }
                None if value.is_nan() => *empty += usize::from(last[at].is_some()),
                None => *beyond += 1,
            }
        }
        bytes.push(news.len() as u8);
        for (at, value) in &news {
            bytes.push(*at);
            bytes.extend(value.to_le_bytes());
        }
        losses.written += 1;
    }
    bytes
}

fn log_name(at: usize) -> String {
    format!("TLG{:05}", at + 1)
}

/// Device elements of the machine at `at`: the machine itself, its header and its receiver.
fn elements(at: usize) -> [String; 3] {
    [1, 2, 3].map(|part| format!("DET{}", 3 * at + part))
}

/// The document that says what stands in a record of the machine at `at`.
fn header(log: &FieldLog, at: usize, logged: &[Logged<'_>]) -> io::Result<Vec<u8>> {
    let [_, header, _] = elements(at);
    xml_document(|xml| {
        xml.create_element("TIM")
            .with_attribute(("A", ""))
            .with_attribute(("D", "4"))
            .write_inner_content(|xml| {
                let mut position = xml
                    .create_element("PTN")
                    .with_attribute(("A", ""))
                    .with_attribute(("B", ""));
                if log.has(Column::Elevation) {
                    position = position.with_attribute(("C", ""));
                }
                position.with_attribute(("D", "")).write_empty()?;
                for logged in logged {
                    xml.create_element("DLV")
                        .with_attribute(("A", entry_shown(logged.entry).as_str()))
                        .with_attribute(("B", ""))
                        .with_attribute(("C", header.as_str()))
                        .write_empty()?;
                }
                Ok(())
            })?;
        Ok(())
    })
}

fn entry_shown(entry: u16) -> String {
    format!("{entry:04X}")
}

/// Object numbers within a machine: no offset, and from there on quantities and how they are shown.
const NO_OFFSET: [(u32, u16); 2] = [(10, OFFSET_X), (11, OFFSET_Y)];
const FIRST_QUANTITY: u32 = 20;
const FIRST_SHOWN: u32 = 40;

/// The NAME on the bus that the machine at `at` is given: a harvester (industry group 2, device class 7), its last byte
/// the machine's number.
fn client_name(at: usize) -> String {
    format!("A00E8400000000{:02X}", at + 1)
}

/// A machine that logged at its cutting edge: the log holds where that was, so its receiver has no offset from it.
fn device(xml: &mut Xml, at: usize, machine: &str, logged: &[Logged<'_>]) -> io::Result<()> {
    let [whole, header, receiver] = elements(at);
    let designator = name(machine);
    let mut device = xml
        .create_element("DVC")
        .with_attribute(("A", format!("DVC{}", at + 1).as_str()));
    if !designator.is_empty() {
        device = device.with_attribute(("B", designator.as_str()));
    }
    device
        .with_attribute(("D", client_name(at).as_str()))
        .with_attribute(("F", format!("{:014X}", at + 1).as_str()))
        .with_attribute(("G", "FF000000006E65"))
        .write_inner_content(|xml| {
            let parts = [
                (&whole, "1", "Machine", 0),
                (&header, "2", "Header", 1),
                (&receiver, "7", "Receiver", 1),
            ];
            for (part, (id, kind, named, parent)) in parts.into_iter().enumerate() {
                let offsets = NO_OFFSET.iter().map(|(object, _)| *object);
                let quantities = (FIRST_QUANTITY..).take(logged.len());
                let objects: Vec<u32> = match kind {
                    "2" => offsets.chain(quantities).collect(),
                    "7" => offsets.collect(),
                    _ => Vec::new(),
                };
                let element = xml
                    .create_element("DET")
                    .with_attribute(("A", id.as_str()))
                    .with_attribute(("B", (part + 1).to_string().as_str()))
                    .with_attribute(("C", kind))
                    .with_attribute(("D", named))
                    .with_attribute(("E", part.to_string().as_str()))
                    .with_attribute(("F", parent.to_string().as_str()));
                if objects.is_empty() {
                    element.write_empty()?;
                    continue;
                }
                element.write_inner_content(|xml| {
                    for object in objects {
                        xml.create_element("DOR")
                            .with_attribute(("A", object.to_string().as_str()))
                            .write_empty()?;
                    }
                    Ok(())
                })?;
            }
            for (object, entry) in NO_OFFSET {
                xml.create_element("DPT")
                    .with_attribute(("A", object.to_string().as_str()))
                    .with_attribute(("B", entry_shown(entry).as_str()))
                    .with_attribute(("C", "0"))
                    .write_empty()?;
            }
            for (object, logged) in (FIRST_QUANTITY..).zip(logged) {
                let title = data_dictionary::entry(logged.entry).map_or("", |entry| entry.title);
                let mut quantity = xml
                    .create_element("DPD")
                    .with_attribute(("A", object.to_string().as_str()))
                    .with_attribute(("B", entry_shown(logged.entry).as_str()))
                    // Of the default set, logged on change.
                    .with_attribute(("C", "1"))
                    .with_attribute(("D", "8"))
                    .with_attribute(("E", name(title).as_str()));
                let shown = object - FIRST_QUANTITY + FIRST_SHOWN;
                if !logged.shown.0.is_empty() {
                    quantity = quantity.with_attribute(("F", shown.to_string().as_str()));
                }
                quantity.write_empty()?;
            }
            for (object, logged) in (FIRST_SHOWN..).zip(logged) {
                let (unit, decimals) = logged.shown;
                if unit.is_empty() {
                    continue;
                }
                xml.create_element("DVP")
                    .with_attribute(("A", object.to_string().as_str()))
                    .with_attribute(("B", "0"))
                    .with_attribute(("C", format!("{:.6}", 1.0 / logged.steps).as_str()))
                    .with_attribute(("D", decimals.to_string().as_str()))
                    .with_attribute(("E", unit))
                    .write_empty()?;
            }
            Ok(())
        })?;
    Ok(())
}

/// The task that was done, with its time logs of `sizes` bytes.
fn finished_task(xml: &mut Xml, task: &str, sizes: &[usize]) -> io::Result<()> {
    xml.create_element("TSK")
        .with_attribute(("A", "TSK1"))
        .with_attribute(("B", name(task).as_str()))
        // Completed.
        .with_attribute(("G", "4"))
        .write_inner_content(|xml| {
            for at in 0..sizes.len() {
                xml.create_element("DAN")
                    .with_attribute(("A", client_name(at).as_str()))
                    .with_attribute(("C", format!("DVC{}", at + 1).as_str()))
                    .write_empty()?;
            }
            for (at, size) in sizes.iter().enumerate() {
                xml.create_element("TLG")
                    .with_attribute(("A", log_name(at).as_str()))
                    .with_attribute(("B", size.to_string().as_str()))
                    .with_attribute(("C", "1"))
                    .write_empty()?;
            }
            Ok(())
        })?;
    Ok(())
}

/// The files as a zip archive, in a folder `TASKDATA`. Its entries have no time of day, so that the same log gives
/// the same bytes.
fn zipped(files: &[(String, Vec<u8>)]) -> zip::result::ZipResult<Vec<u8>> {
    let mut archive = zip::ZipWriter::new(Cursor::new(Vec::new()));
    let options = zip::write::SimpleFileOptions::default()
        .compression_method(zip::CompressionMethod::Deflated)
        .last_modified_time(zip::DateTime::default());
    for (name, content) in files {
        archive.start_file(format!("TASKDATA/{name}"), options)?;
        archive.write_all(content)?;
    }
    Ok(archive.finish()?.into_inner())
}
