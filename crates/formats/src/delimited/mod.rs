//! Delimited text: what spreadsheets and monitors export, in any of its dialects.

mod dialect;
mod encoding;
mod records;
mod untyped;

use checkstrip_model::{Problem, SourceFile};

use crate::column_builder::Values;
use crate::feature_table::FeatureTable;
use crate::header::{self, Container, HeaderPlan};
use crate::log_part::LogPart;
use crate::problem_list::ProblemList;
use crate::{ReadOptions, file_bytes};
use dialect::Layout;
use encoding::Text;

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
            || records::read(&self.file, body, &self.layout, Some(&plan)),
        );
        self.join(plan, sha256, parts)
    }

    /// Every record with every column, whatever it holds. Positions become points.
    ///
    /// # Errors
    /// When no record follows the headers, or positions are no degrees.
    pub(crate) fn into_table(self) -> Result<FeatureTable, Problem> {
        let body = &self.text.as_bytes()[self.layout.body..];
        let parts = records::read(&self.file, body, &self.layout, None);
        let joined = self.behind_each_other(parts)?;
        let decimal_comma = self.layout.dialect.decimal_comma;
        let columns = joined.columns.into_iter().map(|column| match column {
            Values::Cells(cells) => untyped::settle(cells, decimal_comma),
            Values::Numbers(_) | Values::Names(_) => Vec::new(),
        });
        let columns = columns.collect();
        let headers = &self.layout.headers;
        untyped::table(&self.file, headers, joined.rows, columns, joined.problems)
    }

    /// Puts the parts that were read side by side behind each other.
    fn join(
        &self,
        plan: HeaderPlan,
        sha256: String,
        parts: Vec<records::Part>,
    ) -> Result<LogPart, Problem> {
        let Joined {
            rows,
            columns: mut joined,
            problems,
        } = self.behind_each_other(parts)?;
        let total = rows.len();
        let status = if plan.status.is_some() {
            joined.pop()
        } else {
            None
        };
        let columns = plan
            .columns
            .iter()
            .map(|planned| planned.column)
            .zip(joined)
            .collect();
        let source = SourceFile {
            path: self.file.clone(),
            sha256,
            records: total,
        };
        let problems = problems.finish(&self.file);
        Ok(LogPart::new(source, plan, rows, columns, status, problems))
    }

    /// # Errors
    /// When there is no record.
    fn behind_each_other(&self, parts: Vec<records::Part>) -> Result<Joined, Problem> {
        let total: usize = parts.iter().map(|part| part.rows.len()).sum();
        if total == 0 {
            return Err(
                Problem::new(self.file.as_str(), "a header line, but no record behind it")
                    .hint("export the log again, or leave the file out"),
            );
        }
        let mut rows = Vec::with_capacity(total);
        let mut problems = ProblemList::default();
        let mut lines_before = self.layout.header_line;
        let mut joined: Vec<Values> = Vec::new();
        for part in parts {
            rows.extend(part.rows.iter().map(|row| row + lines_before));
            problems.append(part.problems, lines_before);
            lines_before += part.lines;
            if joined.is_empty() {
                joined = part.columns;
                continue;
            }
            joined
                .iter_mut()
                .zip(part.columns)
                .for_each(|(first, later)| first.append(later));
        }
        Ok(Joined {
            rows,
            columns: joined,
            problems,
        })
    }
}

/// The records of all parts.
struct Joined {
    rows: Vec<u32>,
    columns: Vec<Values>,
    problems: ProblemList,
}

#[cfg(test)]
mod tests;
