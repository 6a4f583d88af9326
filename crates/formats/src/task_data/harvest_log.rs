//! A harvest log out of task data: the time logs of the tasks asked for that carry grain, as one part of a
//! log with the model's columns.

use std::collections::HashSet;

use checkstrip_model::{Column, Operation, Problem, SourceFile};

use super::cutting_edge::{Offset, offset};
use super::data_dictionary::name;
use super::device::Device;
use super::element;
use super::log_columns::LogColumns;
use super::quantities::{
    MASS_PER_AREA_YIELD, MASS_PER_TIME_YIELD, Quantities, header_name, quantities,
};
use super::time_log::{End, Header, LoggedValue, MOST_RECORDS, decode};
use super::{TaskSet, is_name, listed};
use crate::column_builder::{Names, Values};
use crate::log_part::LogPart;
use crate::problem_list::ProblemList;
use crate::{FormatError, ReadOptions};

/// Time logs of one set; a terminal begins a new one when the work pauses.
const MOST_LOGS: usize = 5_000;

/// The time logs of a set, before their records are read.
pub(crate) struct TaskLog {
    set: TaskSet,
    logs: Vec<OpenLog>,
    headers: Vec<String>,
}

/// One time log with its header.
struct OpenLog {
    /// `TLG00001`.
    name: String,
    header: Header,
    /// The place of its machine among the set's.
    device: Option<usize>,
    /// The task it belongs to: its identifier, and in words.
    task_id: String,
    task: String,
    /// The field's identifier, empty when the task names none.
    field: String,
}

impl TaskLog {
    /// The time logs of the tasks that `set` was asked for.
    ///
    /// # Errors
    /// When there is none, or no task is called as asked.
    pub(crate) fn open(mut set: TaskSet) -> Result<TaskLog, FormatError> {
        let file = set.files.given.clone();
        let mut wanted = Vec::new();
        for task in set.tasks()? {
            for log in task.each("TLG") {
                let name = log.text("A").unwrap_or_default().to_owned();
                let [id, field] =
                    ["A", "E"].map(|key| task.text(key).unwrap_or_default().to_owned());
                wanted.push((name, id, set.task_name(task), field));
            }
        }
        if wanted.len() > MOST_LOGS {
            let message = format!("holds {} time logs, more than {MOST_LOGS}", wanted.len());
            return Err(Problem::new(file, message)
                .hint("export one field at a time")
                .into());
        }
        let mut logs = Vec::new();
        for (name, task_id, task, field) in wanted {
            if !is_name(&name, Some("TLG")) {
                let message =
                    format!("task {task}: expected a time log such as TLG00001, found {name:?}");
                set.problems
                    .push(Problem::new(file.as_str(), message).hint("the log is left out"));
                continue;
            }
            let document = format!("{name}.XML");
            let header = match set.files.read(&document)? {
                Some(bytes) => element::parse(&file, &document, &bytes)
                    .and_then(|root| Header::new(&file, &document, &root)),
                None => Err(
                    Problem::new(file.as_str(), format!("{document} is not there"))
                        .hint("without it the log cannot be read: export the task data again"),
                ),
            };
            match header {
                Ok(header) => logs.push(OpenLog {
                    device: device_of(&header, &set.devices),
                    name,
                    header,
                    task_id,
                    task,
                    field,
                }),
                Err(problem) => set.problems.push(problem),
            }
        }
        if logs.is_empty() {
            let first = set
                .problems
                .first()
                .map(|problem| format!(": {}", problem.message));
            let message = format!(
                "no time log in it that can be read{}",
                first.unwrap_or_default()
            );
            return Err(Problem::new(file, message)
                .hint("a log is in files such as TLG00001.BIN: export the finished task, with its logs")
                .into());
        }
        let mut headers = Vec::new();
        for log in &logs {
            for value in &log.header.values {
                let name = header_name(value, log.device.map(|at| &set.devices[at]));
                if !headers.contains(&name) {
                    headers.push(name);
                }
            }
        }
        Ok(TaskLog { set, logs, headers })
    }

    /// The logged quantities by name.
    pub(crate) fn headers(&self) -> &[String] {
        &self.headers
    }

    /// Reads every record of the logs that carry grain.
    ///
    /// # Errors
    /// When none does, they are of several fields, or none of them holds a record.
    pub(crate) fn read(mut self, options: &ReadOptions) -> Result<LogPart, Problem> {
        let file = self.set.files.given.clone();
        let mut grain = Vec::new();
        for log in self.logs {
            let device = log.device.map(|at| &self.set.devices[at]);
            let is_known = |id: &str| {
                self.set
                    .devices
                    .iter()
                    .any(|device| device.element(id).is_some())
            };
            let found = quantities(&file, &log.header, device, &is_known, options)?;
            if found
                .readings
                .iter()
                .any(|(column, _)| matches!(column, Column::MassFlow | Column::Yield))
            {
                grain.push((log, found));
            }
        }
        if grain.is_empty() {
            let message = format!(
                "no log in it carries grain; expected {} or {}, found {}",
                name(MASS_PER_TIME_YIELD),
                name(MASS_PER_AREA_YIELD),
                listed(self.headers.iter().cloned())
            );
            return Err(Problem::new(file, message).hint(
                "give the harvest's task; or say under [harvest.columns] which quantity is mass_flow or \
                 yield, and its unit",
            ));
        }
        let mut fields: Vec<&str> = grain.iter().map(|(log, _)| log.field.as_str()).collect();
        fields.sort_unstable();
        fields.dedup();
        if fields.len() > 1 {
            let message = format!("holds harvests of {} fields", fields.len());
            let tasks = listed(grain.iter().map(|(log, _)| log.task.clone()));
            return Err(Problem::new(file.as_str(), message).hint(format!(
                "name the task or the field behind a colon, as in {file}:NAME; the tasks, with their \
                 fields, are {tasks}"
            )));
        }
        let mut joined = Joined::default();
        for (log, found) in grain {
            self.set.problems.extend(found.problems.iter().cloned());
            joined.read(&mut self.set, &log, &found)?;
        }
        let records = joined.records;
        if records == 0 {
            let message = "its time logs hold no record";
            return Err(Problem::new(file, message).hint("export the finished task, with its logs"));
        }
        let columns = joined.finish();
        // What holds for the machine is found again with every log of it.
        let mut said = HashSet::new();
        let mut problems = ProblemList::default();
        for problem in self.set.problems {
            if said.insert(problem.to_string()) {
                problems.push(|| problem);
            }
        }
        let problems = problems.finish(&file);
        Ok(LogPart {
            operation: Operation::Harvest,
            source: SourceFile {
                path: file,
                sha256: self.set.files.sha256(),
                records,
            },
            // Records are numbered through, log after log.
            rows: (1..=records as u32).collect(),
            columns,
            status: None,
            sources: joined.sources,
            unrecognised: joined.unrecognised,
            facts: Vec::new(),
            problems,
        })
    }
}

/// The machine that logged the grain, else the one that logged most.
fn device_of(header: &Header, devices: &[Device]) -> Option<usize> {
    let logged = |device: &Device| {
        let own = header
            .values
            .iter()
            .filter(|value| device.element(&value.element).is_some());
        own.map(|value| {
            if matches!(value.entry, MASS_PER_AREA_YIELD | MASS_PER_TIME_YIELD) {
                1_000
            } else {
                1
            }
        })
        .sum::<u32>()
    };
    let counts = devices.iter().map(logged).enumerate();
    let (at, most) = counts.max_by_key(|&(at, count)| (count, std::cmp::Reverse(at)))?;
    (most > 0).then_some(at)
}

/// How far positions were moved, for their source; empty when the receiver is at the cutting edge.
fn moved_in_words(offset: Offset) -> String {
    let Offset { forward_m, right_m } = offset;
    let way = |value: f64, plus: &str, minus: &str| {
        let word = if value < 0.0 { minus } else { plus };
        (value.abs() >= 0.005).then(|| format!("{:.2} m {word}", value.abs()))
    };
    let parts: Vec<String> = [
        way(forward_m, "forwards", "back"),
        way(right_m, "right", "left"),
    ]
    .into_iter()
    .flatten()
    .collect();
    match parts.is_empty() {
        true => String::new(),
        false => format!(", moved {} to the cutting edge", parts.join(" and ")),
    }
}

/// Columns while log after log is put behind each other.
#[derive(Default)]
struct Joined {
    records: usize,
    columns: Vec<(Column, Vec<f64>)>,
    machine: Names,
    /// Whether any machine has a name.
    has_machine: bool,
    sources: Vec<(Column, String, String)>,
    unrecognised: Vec<String>,
}

impl Joined {
    fn read(
        &mut self,
        set: &mut TaskSet,
        log: &OpenLog,
        found: &Quantities,
    ) -> Result<(), Problem> {
        let file = set.files.given.clone();
        let binary = format!("{}.BIN", log.name);
        let problem = |message: String, hint: &str| {
            Problem::new(file.as_str(), format!("{binary}: {message}")).hint(hint)
        };
        let bytes = match set.files.read(&binary) {
            Ok(Some(bytes)) => bytes,
            Ok(None) => {
                set.problems.push(problem(
                    "is not there".to_owned(),
                    "its records are missing: export the task data again, with all its files",
                ));
                return Ok(());
            }
            Err(FormatError::Input(problem)) => return Err(problem),
            Err(error) => return Err(problem(error.to_string(), "copy the task data again")),
        };
        let mut records = LogColumns::new(found);
        let decoded = decode(&bytes, &log.header, |record| records.push(record, found));
        let count = decoded.records;
        match decoded.end {
            End::Whole => {}
            End::CutOff { byte } => set.problems.push(problem(
                format!("cut off in record {}, at byte {byte}; the {count} records before are read", count + 1),
                "copy the task data again from where it came from",
            )),
            End::Mismatch { byte, what } => set.problems.push(problem(
                format!("record {}, at byte {byte}, {what}; the {count} records before are read", count + 1),
                "the file is damaged, or its XML belongs to another log: export the task data again",
            )),
            End::TooLong => {
                let message = format!("holds more than {MOST_RECORDS} records");
                return Err(problem(message, "export one field at a time"));
            }
        }
        if count == 0 {
            return Ok(());
        }
        if self.records + count > MOST_RECORDS {
            let message = format!("the time logs hold more than {MOST_RECORDS} records");
            return Err(problem(message, "export one field at a time"));
        }
        let without_fix = records.drop_positions_without_fix();
        if without_fix > 0 {
            set.problems.push(problem(
                format!("{without_fix} records have no position fix; their positions are not used"),
                "they are kept in the log but will not count",
            ));
        }
        let logged = |element: &str, entry: u16| {
            let is = |value: &LoggedValue| value.entry == entry && value.element == element;
            let at = log.header.values.iter().position(is)?;
            decoded.values.get(at as u8)
        };
        let moved = match offset(set.device(log), &found.width_elements, &logged) {
            Err(why) => {
                set.problems.push(
                    Problem::new(
                        file.as_str(),
                        format!("positions are taken for those of the cutting edge: {why}"),
                    )
                    .hint(
                        "where the receiver is far from the cutting edge, yields are placed that far \
                         behind or ahead",
                    ),
                );
                String::new()
            }
            Ok(offset) => {
                let stayed = records.move_to_edge(&file, offset)?;
                if stayed > 0 {
                    set.problems.push(problem(
                        format!("{stayed} records have no direction of travel; they stay at the receiver"),
                        "their position is off by the distance from the receiver to the cutting edge",
                    ));
                }
                moved_in_words(offset)
            }
        };
        self.append(set, log, found, records, count, &moved);
        Ok(())
    }

    fn append(
        &mut self,
        set: &TaskSet,
        log: &OpenLog,
        found: &Quantities,
        records: LogColumns,
        count: usize,
        moved: &str,
    ) {
        for (column, values) in records.columns {
            if values.iter().all(|value| value.is_nan()) {
                continue;
            }
            let at = self
                .columns
                .iter()
                .position(|(known, _)| *known == column)
                .unwrap_or_else(|| {
                    self.columns.push((column, Vec::new()));
                    self.columns.len() - 1
                });
            let joined = &mut self.columns[at].1;
            joined.resize(self.records, f64::NAN);
            joined.extend(values);
            let words = match column {
                Column::Timestamp => (
                    "TIM start".to_owned(),
                    "s, the machine's local time".to_owned(),
                ),
                Column::Lon => (format!("PTN PositionEast{moved}"), "degrees".to_owned()),
                Column::Lat => (format!("PTN PositionNorth{moved}"), "degrees".to_owned()),
                Column::Elevation => ("PTN PositionUp".to_owned(), "mm".to_owned()),
                _ => match found.sources.iter().find(|source| source.0 == column) {
                    Some((_, words, unit)) => (words.clone(), unit.clone()),
                    None => continue,
                },
            };
            self.add_source((column, words.0, words.1));
        }
        let machine = set.device(log).map_or("", |device| device.name.as_str());
        self.has_machine |= !machine.is_empty();
        for _ in 0..count {
            self.machine.push(machine);
        }
        self.add_source((Column::Machine, set.machine_words(log), String::new()));
        for name in &found.unrecognised {
            if !self.unrecognised.contains(name) {
                self.unrecognised.push(name.clone());
            }
        }
        self.records += count;
    }

    fn add_source(&mut self, source: (Column, String, String)) {
        if !self.sources.contains(&source) {
            self.sources.push(source);
        }
    }

    /// Brings all columns to the same length; the machine's names are left out where there are none.
    fn finish(&mut self) -> Vec<(Column, Values)> {
        let records = self.records;
        let columns = std::mem::take(&mut self.columns).into_iter();
        let mut columns: Vec<(Column, Values)> = columns
            .map(|(column, mut values)| {
                values.resize(records, f64::NAN);
                (column, Values::Numbers(values))
            })
            .collect();
        if self.has_machine {
            let names = std::mem::take(&mut self.machine);
            columns.push((Column::Machine, Values::Names(names)));
        } else {
            self.sources.retain(|source| source.0 != Column::Machine);
        }
        columns
    }
}

impl TaskSet {
    fn device(&self, log: &OpenLog) -> Option<&Device> {
        log.device.map(|at| &self.devices[at])
    }

    /// What a task says of who did what where, for the machine's source.
    fn machine_words(&self, log: &OpenLog) -> String {
        let mut words = vec!["device".to_owned(), format!("task {}", log.task)];
        let field = self.with_id("PFD", &log.field);
        if let Some(crop) = field.and_then(|field| self.designator("CTP", "B", field.text("G"))) {
            words.push(format!("crop {crop}"));
        }
        let task = self.with_id("TSK", &log.task_id);
        let products: Vec<&str> = task
            .iter()
            .flat_map(|task| task.each("PAN"))
            .filter_map(|product| self.designator("PDT", "B", product.text("A")))
            .collect();
        if !products.is_empty() {
            words.push(format!("products {}", products.join(", ")));
        }
        words.join(", ")
    }
}
