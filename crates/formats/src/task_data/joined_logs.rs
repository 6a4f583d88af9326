//! The records of the time logs of a set, log after log, as contiguous columns in SI units.

use checkstrip_model::{Column, Operation, Problem};

use super::TaskSet;
use super::cutting_edge::{Machines, Offset};
use super::document_log;
use super::log_columns::LogColumns;
use super::quantities::Quantities;
use super::task_log::{OpenLog, Records};
use super::time_log::{self, End, LoggedValue, MOST_RECORDS};
use super::totals::Totals;
use crate::FormatError;
use crate::column_builder::{Names, Values};

/// Tasks whose totals are told.
const MOST_TASKS_TOLD: usize = 10;

/// How far positions were moved, for their source; empty when the receiver is at the edge.
fn moved_in_words(offset: Offset, edge: &str) -> String {
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
        false => format!(", moved {} to the {edge}", parts.join(" and ")),
    }
}

/// Columns while log after log is put behind each other.
#[derive(Default)]
pub(super) struct Joined {
    pub(super) records: usize,
    columns: Vec<(Column, Vec<f64>)>,
    machine: Names,
    /// Products, where the log is of a planting or an application.
    product: Names,
    /// Whether any machine has a name.
    has_machine: bool,
    pub(super) sources: Vec<(Column, String, String)>,
    pub(super) unrecognised: Vec<String>,
    /// What the tasks say beside their records.
    pub(super) facts: Vec<(String, String)>,
    /// What each task counted itself: its place, in words, and the totals.
    pub(super) totals: Vec<(usize, String, Totals)>,
    /// Whether every quantity is wanted, not only those that columns take.
    wants_all: bool,
    /// Then: the others by their names, the task of every record, and how positions were moved.
    pub(super) others: Vec<(String, Vec<f64>)>,
    pub(super) tasks: Names,
    pub(super) moves: Vec<String>,
}

impl Joined {
    /// No record yet; every quantity is wanted.
    pub(super) fn of_all_quantities() -> Joined {
        Joined {
            wants_all: true,
            ..Joined::default()
        }
    }

    /// Takes the totals of a log's task and of its last record.
    fn add_totals(&mut self, set: &TaskSet, log: &OpenLog, last: &time_log::Values) {
        let known = self.totals.iter().position(|(at, ..)| *at == log.task_at);
        let at = known.unwrap_or_else(|| {
            let totals = Totals::of_task(&set.root.children[log.task_at]);
            self.totals.push((log.task_at, log.task.clone(), totals));
            self.totals.len() - 1
        });
        for (value, place) in log.header.values.iter().zip(0..) {
            self.totals[at].2.add_last(value, last.get(place));
        }
    }

    pub(super) fn read(
        &mut self,
        set: &mut TaskSet,
        log: &OpenLog,
        found: &Quantities,
    ) -> Result<(), Problem> {
        let file = set.files.given.clone();
        let (read_from, bytes) = match log.records {
            Records::Document => (log.name.clone(), None),
            Records::Binary => {
                let name = format!("{}.BIN", log.name);
                let bytes = set.files.read(&name);
                (name, Some(bytes))
            }
        };
        let problem = |message: String, hint: &str| {
            Problem::new(file.as_str(), format!("{read_from}: {message}")).hint(hint)
        };
        let bytes = match bytes {
            None => None,
            Some(Ok(Some(bytes))) => Some(bytes),
            Some(Ok(None)) => {
                set.problems.push(problem(
                    "is not there".to_owned(),
                    "its records are missing: export the task data again, with all its files",
                ));
                return Ok(());
            }
            Some(Err(FormatError::Input(problem))) => return Err(problem),
            Some(Err(error)) => return Err(problem(error.to_string(), "copy the task data again")),
        };
        let mut records = match self.wants_all {
            true => {
                let device = log.device.map(|at| &set.devices[at]);
                LogColumns::with_others(found, found.others(&log.header, device))
            }
            false => LogColumns::new(found),
        };
        let task = &set.root.children[log.task_at];
        // A closure of its own for each, so that it is compiled into the loop over the records.
        let decoded = match &bytes {
            Some(bytes) => {
                time_log::decode(bytes, &log.header, |record| records.push(record, found))
            }
            None => document_log::decode(task, &log.header, |record| records.push(record, found)),
        };
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
        self.add_totals(set, log, &decoded.values);
        if count == 0 {
            return Ok(());
        }
        // Each row of a planter becomes a record of its own.
        let rows = found.rows.len().max(1);
        if self.records + count * rows > MOST_RECORDS {
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
        let machines = Machines {
            devices: &set.devices,
            connections: set.connections(log.task_at),
            logged: &logged,
        };
        let (edge, what) = match found.operation {
            Operation::Harvest => ("cutting edge", "yields"),
            Operation::Planting | Operation::Application | Operation::StandCount => {
                ("working edge", "values")
            }
        };
        let moved = match machines.offset(log.device, &found.width_elements) {
            Err(why) => {
                set.problems.push(
                    Problem::new(
                        file.as_str(),
                        format!("positions are taken for those of the {edge}: {why}"),
                    )
                    .hint(format!(
                        "where the receiver is far from the {edge}, {what} are placed that far behind or ahead"
                    )),
                );
                String::new()
            }
            Ok(offset) if offset == Offset::default() => String::new(),
            Ok(offset) => {
                let stayed = records.move_to_edge(&file, offset)?;
                if stayed > 0 {
                    set.problems.push(problem(
                        format!("{stayed} records have no direction of travel; they stay at the receiver"),
                        "their position is off by the distance from the receiver to where the machine works",
                    ));
                }
                moved_in_words(offset, edge)
            }
        };
        if self.wants_all {
            self.append_others(log, &mut records, count, &moved);
        }
        records.spread_rows(found);
        self.append(set, log, found, records, count * rows, &moved);
        Ok(())
    }

    fn append_others(
        &mut self,
        log: &OpenLog,
        records: &mut LogColumns,
        count: usize,
        moved: &str,
    ) {
        for (name, values) in records.take_others() {
            let at = self
                .others
                .iter()
                .position(|(known, _)| *known == name)
                .unwrap_or_else(|| {
                    self.others.push((name, Vec::new()));
                    self.others.len() - 1
                });
            let joined = &mut self.others[at].1;
            joined.resize(self.records, f64::NAN);
            joined.extend(values);
        }
        for _ in 0..count {
            self.tasks.push(&log.task);
        }
        if !moved.is_empty() && !self.moves.iter().any(|known| known == moved) {
            self.moves.push(moved.to_owned());
        }
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
                Column::Row => (
                    "device elements from left to right".to_owned(),
                    String::new(),
                ),
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
        self.add_source((Column::Machine, "device".to_owned(), String::new()));
        for (what, said) in set.facts(log) {
            let fact = (what.to_owned(), said);
            if !self.facts.contains(&fact) {
                self.facts.push(fact);
            }
        }
        self.append_products(set, log, found, count);
        for name in &found.unrecognised {
            if !self.unrecognised.contains(name) {
                self.unrecognised.push(name.clone());
            }
        }
        self.records += count;
    }

    /// What was planted or applied, of `count` records; a harvest has no product.
    fn append_products(&mut self, set: &TaskSet, log: &OpenLog, found: &Quantities, count: usize) {
        if found.operation == Operation::Harvest {
            return;
        }
        let products: Vec<String> = match found.rows.is_empty() {
            true => vec![set.products(log, None)],
            false => {
                let rows = found.rows.iter();
                rows.map(|row| set.products(log, Some(row))).collect()
            }
        };
        self.fill_products();
        for product in products.iter().cycle().take(count) {
            self.product.push(product);
        }
        if products.iter().any(|product| !product.is_empty()) {
            self.add_source((
                Column::Product,
                "products of the task".to_owned(),
                String::new(),
            ));
        }
    }

    /// Gives the records so far that have no product an empty one.
    fn fill_products(&mut self) {
        while self.product.len() < self.records {
            self.product.push("");
        }
    }

    fn add_source(&mut self, source: (Column, String, String)) {
        if !self.sources.contains(&source) {
            self.sources.push(source);
        }
    }

    /// Brings all columns to the same length; the machine's names are left out where there are none.
    pub(super) fn finish(&mut self) -> Vec<(Column, Values)> {
        let records = self.records;
        for (_, task, totals) in self.totals.iter().take(MOST_TASKS_TOLD) {
            let totals = totals.words();
            if !totals.is_empty() {
                self.facts.push((format!("totals of {task}"), totals));
            }
        }
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
        if self
            .sources
            .iter()
            .any(|source| source.0 == Column::Product)
        {
            let names = std::mem::take(&mut self.product);
            columns.push((Column::Product, Values::Names(names)));
        }
        columns
    }
}
