//! The records of one file, before the files are joined to one log; every reader of logs ends here.

use checkstrip_model::{Column, Operation, Problem, SourceFile, Status};

use crate::column_builder::Values;
use crate::header::{HeaderPlan, Planned};
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
    /// The records of `plan`'s file, whose `columns` are in the plan's order.
    pub(crate) fn new(
        mut source: SourceFile,
        plan: HeaderPlan,
        rows: Vec<u32>,
        columns: Vec<(Column, Values)>,
        status: Option<Values>,
        mut problems: Vec<Problem>,
    ) -> LogPart {
        let (rows, columns) = row_columns::spread(&plan, rows, columns);
        source.records = rows.len();
        let sources = sources(&plan);
        problems.extend(plan.problems);
        LogPart {
            operation: plan.operation,
            source,
            rows,
            columns,
            status: status.and_then(cleaned_status),
            sources,
            unrecognised: plan.unrecognised,
            facts: Vec::new(),
            problems,
        }
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
