//! The records of one file, before the files are joined to one log; every reader of logs ends here.

use checkstrip_model::{Column, FieldLog, Operation, Problem, SourceFile, Status};

use crate::column_builder::Values;
use crate::header::{HeaderPlan, Planned};
use crate::problem_list::ProblemList;
use crate::row_columns;

/// The records of one file.
#[derive(Debug)]
pub(crate) struct LogPart {
    /// What it is a log of.
    pub(crate) operation: Operation,
    pub(crate) source: SourceFile,
    /// For each record its line or feature number, from 1.
    pub(crate) rows: Vec<u32>,
    pub(crate) columns: Vec<(Column, Values)>,
    /// Present when the file is an export of a cleaned log.
    pub(crate) status: Option<Vec<Status>>,
    /// For each column: header and unit.
    pub(crate) sources: Vec<(Column, String, String)>,
    pub(crate) unrecognised: Vec<String>,
    /// As [`FieldLog::facts`](checkstrip_model::FieldLog::facts).
    pub(crate) facts: Vec<(String, String)>,
    pub(crate) problems: Vec<Problem>,
}

impl LogPart {
    /// The records of `plan`'s file, whose `columns` are in the plan's order; the hash of the file is still to
    /// be filled in.
    pub(crate) fn new(
        file: &str,
        plan: HeaderPlan,
        rows: Vec<u32>,
        columns: Vec<(Column, Values)>,
        status: Option<Values>,
    ) -> LogPart {
        let (rows, columns) = row_columns::spread(&plan, rows, columns);
        let sources = sources(&plan);
        LogPart {
            operation: plan.operation,
            source: SourceFile {
                path: file.to_owned(),
                sha256: String::new(),
                records: rows.len(),
            },
            rows,
            columns,
            status: status.and_then(cleaned_status),
            sources,
            unrecognised: plan.unrecognised,
            facts: Vec::new(),
            problems: plan.problems,
        }
    }

    /// Puts what is wrong with single records before what is wrong with the file.
    pub(crate) fn found(&mut self, problems: ProblemList) {
        let problems = problems.finish(&self.source.path);
        self.problems.splice(0..0, problems);
    }

    /// Counts the records of a later part of the file, whose records were taken out.
    pub(crate) fn count(&mut self, later: &LogPart) {
        self.source.records += later.source.records;
        if later.status.is_none() {
            self.status = None;
        }
    }

    /// Takes the records out, as a log of their own.
    pub(crate) fn take_records(&mut self) -> FieldLog {
        let rows = std::mem::take(&mut self.rows);
        let mut log = FieldLog::with_records(rows.len());
        log.operation = self.operation;
        log.row = rows;
        if let Some(status) = &mut self.status {
            status.clear();
        }
        for (column, values) in &mut self.columns {
            match std::mem::replace(values, Values::empty(*column)) {
                Values::Numbers(numbers) => log.set_numbers(*column, numbers),
                Values::Names(names) => log.set_labels(*column, names.finish()),
                // A log has no column of cells as they stand.
                Values::Cells(_) | Values::Kinds(_) => {}
            }
        }
        log
    }
}

/// For each column its header and unit; of the headers of single rows the first and the last.
fn sources(plan: &HeaderPlan) -> Vec<(Column, String, String)> {
    let mut sources: Vec<(Column, String, String)> = Vec::new();
    for Planned { column, unit, .. } in &plan.columns {
        if sources.iter().any(|source| source.0 == *column) {
            continue;
        }
        let mut headers = plan
            .columns
            .iter()
            .filter(|other| other.column == *column)
            .map(|planned| planned.header.as_str());
        let first = headers.next().unwrap_or_default();
        let header = match headers.next_back() {
            Some(last) => format!("{first} … {last}"),
            None => first.to_owned(),
        };
        sources.push((*column, header, unit.clone()));
    }
    if plan.columns.iter().any(|planned| planned.row.is_some()) {
        sources.push((
            Column::Row,
            "headers of single rows".to_owned(),
            String::new(),
        ));
    }
    sources
}

/// The status of every record, when all values are keys that exports write.
fn cleaned_status(values: Values) -> Option<Vec<Status>> {
    let Values::Names(names) = values else {
        return None;
    };
    let labels = names.finish();
    let known: Option<Vec<Status>> = labels
        .names
        .iter()
        .map(|name| Status::from_key(name))
        .collect();
    let known = known.filter(|known| !known.is_empty())?;
    Some(
        labels
            .index
            .iter()
            .map(|&place| known[place as usize])
            .collect(),
    )
}
