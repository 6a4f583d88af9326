//! Delimited text: what spreadsheets and monitors export, in any of its dialects.

mod blocks;
mod dialect;
mod encoding;
mod pieces;
mod records;
mod stream;

use checkstrip_model::Problem;
use rayon::prelude::*;

use crate::column_builder::Values;
use crate::header::{self, Container, HeaderPlan};
use crate::log_part::LogPart;
use crate::problem_list::ProblemList;
use crate::{ReadOptions, file_bytes};
use dialect::Layout;
use encoding::Text;
pub(crate) use pieces::DelimitedPieces;
pub(crate) use stream::DelimitedStream;

/// A delimited text file whose headers are known and whose records wait to be read.
#[derive(Debug)]
pub(crate) struct DelimitedLog {
    file: String,
    text: Text,
    /// The file's bytes as they stand, when the text was unpacked from them.
    packed: Option<Vec<u8>>,
    layout: Layout,
}

impl DelimitedLog {
    /// Looks at the beginning of `file`, whose content is `bytes`, unpacked from `packed`.
    ///
    /// # Errors
    /// When it is no text, or has no header line.
    pub(crate) fn open(
        file: &str,
        bytes: Vec<u8>,
        packed: Option<Vec<u8>>,
    ) -> Result<DelimitedLog, Problem> {
        let text = Text::new(file, bytes)?;
        let layout = Layout::sniff(file, text.as_bytes())?;
        Ok(DelimitedLog {
            file: file.to_owned(),
            text,
            packed,
            layout,
        })
    }

    /// The headers, in the order of the file.
    pub(crate) fn headers(&self) -> &[String] {
        &self.layout.headers
    }

    /// Reads every record.
    ///
    /// # Errors
    /// When the headers are not those of a log, or no record follows them.
    pub(crate) fn read(self, options: &ReadOptions) -> Result<LogPart, Problem> {
        let plan = header::plan(&self.file, self.headers(), Container::default(), options)?;
        let body = &self.text.as_bytes()[self.layout.body..];
        let raw = self
            .packed
            .as_deref()
            .unwrap_or_else(|| self.text.file_bytes());
        let (sha256, parts) = rayon::join(
            || file_bytes::sha256(raw),
            || records::read(&self.file, body, &self.layout, &plan),
        );
        self.join(plan, sha256, parts)
    }

    /// Puts the parts that were read side by side behind each other.
    fn join(
        &self,
        plan: HeaderPlan,
        sha256: String,
        parts: Vec<records::Part>,
    ) -> Result<LogPart, Problem> {
        let joined = Joined::new(parts, self.layout.header_line);
        if joined.rows.is_empty() {
            return Err(no_record(&self.file));
        }
        let (mut part, problems) = joined.into_part(&self.file, plan);
        part.source.sha256 = sha256;
        part.found(problems);
        Ok(part)
    }
}

fn no_record(file: &str) -> Problem {
    Problem::new(file, "a header line, but no record behind it")
        .hint("export the log again, or leave the file out")
}

/// The records of all parts.
struct Joined {
    rows: Vec<u32>,
    columns: Vec<Values>,
    problems: ProblemList,
    /// The last line.
    line: u32,
}

impl Joined {
    /// Puts `parts` behind each other, and behind `line` other lines; columns side by side.
    fn new(parts: Vec<records::Part>, mut line: u32) -> Joined {
        let mut rows = Vec::with_capacity(parts.iter().map(|part| part.rows.len()).sum());
        let mut problems = ProblemList::default();
        let mut columns: Vec<Vec<Values>> = Vec::new();
        for part in parts {
            rows.extend(part.rows.iter().map(|row| row + line));
            problems.append(part.problems, line);
            line = line.saturating_add(part.lines);
            columns.resize_with(part.columns.len(), Vec::new);
            columns
                .iter_mut()
                .zip(part.columns)
                .for_each(|(pieces, piece)| pieces.push(piece));
        }
        let records = rows.len();
        let columns = columns.into_par_iter().map(|pieces| {
            let mut pieces = pieces.into_iter();
            let mut whole = pieces.next().unwrap_or(Values::Numbers(Vec::new()));
            whole.reserve(records);
            pieces.for_each(|piece| whole.append(piece));
            whole
        });
        Joined {
            rows,
            columns: columns.collect(),
            problems,
            line,
        }
    }

    /// The records as a part of a log, and what is wrong with them.
    fn into_part(mut self, file: &str, plan: HeaderPlan) -> (LogPart, ProblemList) {
        let status = match plan.status {
            Some(_) => self.columns.pop(),
            None => None,
        };
        let columns = plan.columns.iter().map(|planned| planned.column);
        let columns = columns.zip(self.columns).collect();
        let part = LogPart::new(file, plan, self.rows, columns, status);
        (part, self.problems)
    }
}

#[cfg(test)]
mod tests;
