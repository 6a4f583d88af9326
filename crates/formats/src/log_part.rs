//! The records of one file, before the files are joined to one log; every reader of logs ends here.

use checkstrip_model::{Column, Problem, SourceFile, Status};

use crate::column_builder::Values;
use crate::header::{HeaderPlan, Planned};

/// The records of one file.
#[derive(Debug)]
pub(crate) struct LogPart {
    pub(crate) source: SourceFile,
    /// For each record its line or feature number, from 1.
    pub(crate) rows: Vec<u32>,
    pub(crate) columns: Vec<(Column, Values)>,
    /// Present when the file is an export of a cleaned log.
    pub(crate) status: Option<Vec<Status>>,
    /// For each column: header and unit.
    pub(crate) sources: Vec<(Column, String, String)>,
    pub(crate) unrecognised: Vec<String>,
    pub(crate) problems: Vec<Problem>,
}

impl LogPart {
    /// The records of `plan`'s file.
    pub(crate) fn new(
        source: SourceFile,
        plan: HeaderPlan,
        rows: Vec<u32>,
        columns: Vec<(Column, Values)>,
        status: Option<Values>,
        mut problems: Vec<Problem>,
    ) -> LogPart {
        let sources = plan
            .columns
            .into_iter()
            .map(
                |Planned {
                     column,
                     header,
                     unit,
                     ..
                 }| (column, header, unit),
            )
            .collect();
        problems.extend(plan.problems);
        LogPart {
            source,
            rows,
            columns,
            status: status.and_then(cleaned_status),
            sources,
            unrecognised: plan.unrecognised,
            problems,
        }
    }
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
