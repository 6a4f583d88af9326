//! Something wrong with the input, said as a grower would want to hear it: where, what was
//! expected and found, and what to do.

use std::fmt;

/// One located fault of the input.
#[derive(Debug, Clone, Default, PartialEq, Eq, serde::Serialize)]
pub struct Problem {
    /// The file, as given.
    pub file: String,
    /// Line or feature number, from 1 with the header counted, when the fault has one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub row: Option<u32>,
    /// The column's header, when the fault has one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub column: Option<String>,
    /// What is wrong: expected and found.
    pub message: String,
    /// What to do next; empty when there is nothing to add.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub hint: String,
}

impl Problem {
    /// A fault of a whole file.
    pub fn new(file: impl Into<String>, message: impl Into<String>) -> Problem {
        Problem {
            file: file.into(),
            message: message.into(),
            ..Problem::default()
        }
    }

    /// The same fault at a row.
    #[must_use]
    pub fn at_row(mut self, row: u32) -> Problem {
        self.row = Some(row);
        self
    }

    /// The same fault in a column.
    #[must_use]
    pub fn in_column(mut self, column: impl Into<String>) -> Problem {
        self.column = Some(column.into());
        self
    }

    /// The same fault with what to do about it.
    #[must_use]
    pub fn hint(mut self, hint: impl Into<String>) -> Problem {
        self.hint = hint.into();
        self
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if !self.file.is_empty() {
            write!(f, "{}", self.file)?;
            if let Some(row) = self.row {
                write!(f, ", row {row}")?;
            }
            if let Some(column) = &self.column {
                write!(f, ", column {column:?}")?;
            }
            write!(f, ": ")?;
        }
        write!(f, "{}", self.message)?;
        if !self.hint.is_empty() {
            write!(f, "\nhint: {}", self.hint)?;
        }
        Ok(())
    }
}

impl std::error::Error for Problem {}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn says_where_what_and_what_to_do() {
        let problem = Problem::new("log.csv", "expected a number, found \"n/a\"")
            .at_row(7)
            .in_column("speed")
            .hint("leave the cell empty where there is no reading");
        assert_eq!(
            problem.to_string(),
            "log.csv, row 7, column \"speed\": expected a number, found \"n/a\"\n\
             hint: leave the cell empty where there is no reading"
        );
    }
}
