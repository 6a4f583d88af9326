//! A log of a harvest, a planting or an application out of task data: the time logs of that operation in the tasks
//! asked for, as one part of a log with the model's columns.

use std::collections::HashSet;

use checkstrip_model::{Operation, Problem, SourceFile};

use super::data_dictionary::name;
use super::device::Device;
use super::document_log;
use super::element::{self, Element};
use super::joined_logs::Joined;
use super::quantities::{
    MASS_PER_AREA_YIELD, MASS_PER_TIME_YIELD, Quantities, entries, header_name, quantities,
};
use super::time_log::{Header, MOST_VALUES};
use super::{TaskSet, is_name, listed};
use crate::log_part::LogPart;
use crate::problem_list::ProblemList;
use crate::{FormatError, ReadOptions};

/// Time logs of one set; a terminal begins a new one when the work pauses.
const MOST_LOGS: usize = 5_000;

/// The time logs of a set, before their records are read.
pub(crate) struct TaskLog {
    pub(super) set: TaskSet,
    pub(super) logs: Vec<OpenLog>,
    headers: Vec<String>,
}

/// Connections of machines in one task.
const MOST_CONNECTIONS: usize = 1_000;
/// Where the records of a log stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Records {
    /// In a binary file of the log's name.
    Binary,
    /// In the task itself.
    Document,
}

/// One time log with its header.
pub(super) struct OpenLog {
    /// `TLG00001`, or what stands in the document.
    pub(super) name: String,
    pub(super) records: Records,
    pub(super) header: Header,
    /// The place of its machine among the set's.
    pub(super) device: Option<usize>,
    /// The task it belongs to: its place among the set's elements, and in words.
    pub(super) task_at: usize,
    pub(super) task: String,
    /// The field's identifier, empty when the task names none.
    pub(super) field: String,
}

impl TaskLog {
    /// The time logs of the tasks that `set` was asked for.
    ///
    /// # Errors
    /// When there is none, or no task is called as asked.
    pub(crate) fn open(mut set: TaskSet) -> Result<TaskLog, FormatError> {
        let file = set.files.given.clone();
        let mut wanted = Vec::new();
        let mut logs: Vec<OpenLog> = Vec::new();
        let mut problems = Vec::new();
        for (task_at, task) in set.tasks()? {
            let field = task.text("E").unwrap_or_default().to_owned();
            let name = set.task_name(task);
            for log in task.each("TLG") {
                let log = log.text("A").unwrap_or_default().to_owned();
                wanted.push((log, task_at, name.clone(), field.clone()));
            }
            if let Some((header, beyond)) = document_log::header(task) {
                if beyond > 0 {
                    let message = format!(
                        "task {name}: {beyond} quantities beyond the first {MOST_VALUES} are left out"
                    );
                    problems.push(
                        Problem::new(file.as_str(), message)
                            .hint("let the terminal log into binary files"),
                    );
                }
                logs.push(OpenLog {
                    device: device_of(&header, &set.devices),
                    name: format!("the times (TIM) of task {name}"),
                    records: Records::Document,
                    header,
                    task_at,
                    task: name,
                    field,
                });
            }
        }
        set.problems.extend(problems);
        if wanted.len() > MOST_LOGS {
            let message = format!("holds {} time logs, more than {MOST_LOGS}", wanted.len());
            return Err(Problem::new(file, message)
                .hint("export one field at a time")
                .into());
        }
        for (name, task_at, task, field) in wanted {
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
                    records: Records::Binary,
                    header,
                    task_at,
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

    /// Reads every record of the logs of the operation asked for or, where none is, of the first of harvest, planting
    /// and application of which there is a log.
    ///
    /// # Errors
    /// When there is none, they are of several fields, or none of them holds a record.
    pub(crate) fn read(mut self, options: &ReadOptions) -> Result<LogPart, Problem> {
        let file = self.set.files.given.clone();
        let operations = match &options.operation {
            Some(operation) => std::slice::from_ref(operation),
            None => Operation::ALL,
        };
        let mut of_operation: Vec<(OpenLog, Quantities)> = Vec::new();
        let mut left = std::mem::take(&mut self.logs);
        for &operation in operations {
            let mut others = Vec::new();
            for log in left {
                let found = self.set.quantities(&log, operation, options)?;
                match found.tells() {
                    true => of_operation.push((log, found)),
                    false => others.push(log),
                }
            }
            left = others;
            if !of_operation.is_empty() {
                break;
            }
        }
        let Some(operation) = of_operation.first().map(|(_, found)| found.operation) else {
            return Err(self.no_log(options));
        };
        let mut fields: Vec<&str> = of_operation
            .iter()
            .map(|(log, _)| log.field.as_str())
            .collect();
        fields.sort_unstable();
        fields.dedup();
        if fields.len() > 1 {
            let what = match operation {
                Operation::Harvest => "harvests",
                Operation::Planting => "plantings",
                Operation::Application => "applications",
                Operation::StandCount => "stand counts",
            };
            let message = format!("holds {what} of {} fields", fields.len());
            let tasks = listed(of_operation.iter().map(|(log, _)| log.task.clone()));
            return Err(Problem::new(file.as_str(), message).hint(format!(
                "name the task or the field behind a colon, as in {file}:NAME; the tasks, with their \
                 fields, are {tasks}"
            )));
        }
        let mut joined = Joined::default();
        for (log, found) in of_operation {
            self.set.problems.extend(found.problems.iter().cloned());
            joined.read(&mut self.set, &log, &found)?;
        }
        let records = joined.records;
        if records == 0 {
            let message = "its time logs hold no record";
            return Err(Problem::new(file, message).hint("export the finished task, with its logs"));
        }
        let columns = joined.finish();
        let problems = distinct(self.set.problems).finish(&file);
        Ok(LogPart {
            operation,
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
            facts: joined.facts,
            problems,
        })
    }

    /// That no log is of the operation asked for, and what there is.
    fn no_log(&self, options: &ReadOptions) -> Problem {
        let file = self.set.files.given.as_str();
        let found = listed(self.headers.iter().cloned());
        let Some(operation) = options.operation else {
            let message = format!(
                "no log in it is of a harvest, a planting or an application; found {found}"
            );
            return Problem::new(file, message).hint(
                "convert it to a table to see what it holds; or say in the columns table which quantity is which",
            );
        };
        let (what, key) = match operation {
            Operation::Harvest => ("carries grain", "mass_flow or yield"),
            Operation::Planting => ("is of a planting", "seed_rate"),
            Operation::Application => ("is of an application", "applied_mass or applied_volume"),
            Operation::StandCount => {
                return Problem::new(file, "expected stand counts, found task data of machines")
                    .hint("give the counts as CSV, or as points in any other format");
            }
        };
        let telling = operation.telling_columns();
        let expected = entries(operation)
            .filter(|(column, ..)| telling.contains(column))
            .map(|(_, entry, _)| name(entry));
        let expected: Vec<String> = expected.collect();
        let message = format!(
            "no log in it {what}; expected {}, found {found}",
            expected.join(" or ")
        );
        Problem::new(file, message).hint(format!(
            "give the task of that work; or say in the columns table which quantity is {key}, and its unit"
        ))
    }
}

/// The machine that logged the grain, else the one that logged what was planted or applied, else most.
fn device_of(header: &Header, devices: &[Device]) -> Option<usize> {
    let tells = |entry: u16| {
        let mut operations = [Operation::Planting, Operation::Application].into_iter();
        operations.any(|operation| {
            entries(operation).any(|(column, telling, _)| {
                telling == entry && operation.telling_columns().contains(&column)
            })
        })
    };
    let logged = |device: &Device| {
        let own = header
            .values
            .iter()
            .filter(|value| device.element(&value.element).is_some());
        own.map(|value| match value.entry {
            MASS_PER_AREA_YIELD | MASS_PER_TIME_YIELD => 100_000,
            entry if tells(entry) => 300,
            _ => 1,
        })
        .sum::<u32>()
    };
    let counts = devices.iter().map(logged).enumerate();
    let (at, most) = counts.max_by_key(|&(at, count)| (count, std::cmp::Reverse(at)))?;
    (most > 0).then_some(at)
}

/// Problems, each once: what holds for a machine is found again with every log of it.
pub(super) fn distinct(problems: Vec<Problem>) -> ProblemList {
    let mut said = HashSet::new();
    let mut kept = ProblemList::default();
    for problem in problems {
        if said.insert(problem.to_string()) {
            kept.push(|| problem);
        }
    }
    kept
}

impl TaskSet {
    /// What the columns make of a log.
    ///
    /// # Errors
    /// As [`quantities`].
    pub(super) fn quantities(
        &self,
        log: &OpenLog,
        operation: Operation,
        options: &ReadOptions,
    ) -> Result<Quantities, Problem> {
        let is_known = |id: &str| {
            let mut devices = self.devices.iter();
            devices.any(|device| device.element(id).is_some())
        };
        let file = self.files.given.as_str();
        quantities(
            file,
            &log.header,
            self.device(log),
            &is_known,
            operation,
            options,
        )
    }

    pub(super) fn device(&self, log: &OpenLog) -> Option<&Device> {
        log.device.map(|at| &self.devices[at])
    }

    /// The device elements that are connected while a task is done.
    pub(super) fn connections(&self, task_at: usize) -> Vec<[&str; 2]> {
        self.root.children[task_at]
            .each("CNN")
            .take(MOST_CONNECTIONS)
            .filter_map(|connection| Some([connection.text("B")?, connection.text("D")?]))
            .collect()
    }

    /// What was planted or applied by `row`, or by the whole machine: the products that the task gives to it or to a part
    /// that it is in, to no part, or the task's only one; with commas between several.
    pub(super) fn products(&self, log: &OpenLog, row: Option<&str>) -> String {
        let task = &self.root.children[log.task_at];
        let device = self.device(log);
        let is_in = |part: &str| {
            let row = row.and_then(|row| device?.element(row));
            let part = device.and_then(|device| device.element(part));
            match (device, row, part) {
                (Some(device), Some(row), Some(part)) => device.is_part(row, part),
                _ => row.is_none(),
            }
        };
        let names = |is_taken: &dyn Fn(&Element) -> bool| {
            let mut names: Vec<&str> = Vec::new();
            for product in task.each("PAN").filter(|product| is_taken(product)) {
                if let Some(name) = self.designator("PDT", "B", product.text("A"))
                    && !names.contains(&name)
                {
                    names.push(name);
                }
            }
            names
        };
        let own = names(&|product| product.text("E").is_none_or(is_in));
        let all = names(&|_| true);
        match (own.is_empty(), all.len()) {
            (true, 1) => all.join(", "),
            _ => own.join(", "),
        }
    }

    /// What the task of a log says of the work beside its records, each with what it is.
    pub(super) fn facts(&self, log: &OpenLog) -> Vec<(&'static str, String)> {
        let task = &self.root.children[log.task_at];
        let field = self.with_id("PFD", &log.field);
        let crop = field.and_then(|field| self.designator("CTP", "B", field.text("G")));
        let said = [
            (
                "task",
                task.text("B")
                    .or(task.text("A"))
                    .unwrap_or_default()
                    .to_owned(),
            ),
            (
                "field",
                field
                    .and_then(|field| field.text("C"))
                    .unwrap_or_default()
                    .to_owned(),
            ),
            ("crop", crop.unwrap_or_default().to_owned()),
            ("products", self.products(log, None)),
        ];
        said.into_iter()
            .filter(|(_, said)| !said.is_empty())
            .collect()
    }
}
