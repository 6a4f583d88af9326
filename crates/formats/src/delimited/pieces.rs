//! A log in delimited text a block at a time, so that neither the text nor its records stand in memory.

use std::path::Path;

use super::blocks::TextBlocks;
use super::{no_record, records};
use crate::header::{self, Container};
use crate::log_part::LogPart;
use crate::problem_list::ProblemList;
use crate::{FormatError, ReadOptions};

/// A text file whose headers are known and whose records wait to be read.
#[derive(Debug)]
pub(crate) struct DelimitedPieces {
    text: TextBlocks,
}

impl DelimitedPieces {
    /// Looks at the file at `path`, called `file` in messages.
    ///
    /// # Errors
    /// When it cannot be read, is no text, or has no header line.
    pub(crate) fn open(
        file: &str,
        path: &Path,
        gzip: bool,
    ) -> Result<DelimitedPieces, FormatError> {
        let text = TextBlocks::open(file, path, gzip)?;
        Ok(DelimitedPieces { text })
    }

    /// The headers, in the order of the file.
    pub(crate) fn headers(&self) -> &[String] {
        &self.text.layout.headers
    }

    /// Hands over the records in pieces, and returns what is wrong with single ones.
    ///
    /// # Errors
    /// When the headers are not those of a log, no record follows them, the file cannot be read, and those
    /// of `push`.
    pub(crate) fn read(
        &self,
        options: &ReadOptions,
        push: &mut dyn FnMut(LogPart) -> Result<(), FormatError>,
    ) -> Result<ProblemList, FormatError> {
        let file = &self.text.file;
        let plan = header::plan(file, self.headers(), Container::default(), options)?;
        let columns = records::columns(file, &self.text.layout, &plan);
        let mut problems = ProblemList::default();
        let mut has_records = false;
        self.text.each_block(&columns, &mut |joined| {
            if joined.rows.is_empty() {
                return Ok(());
            }
            has_records = true;
            let (part, of_piece) = joined.into_part(file, plan.clone());
            problems.append(of_piece, 0);
            push(part)
        })?;
        match has_records {
            true => Ok(problems),
            false => Err(no_record(file).into()),
        }
    }
}
