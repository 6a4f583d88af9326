//! The log of one field as its files hold it: one contiguous column per quantity, one entry per
//! record, in the order of the files. Readers fill it, cleaning derives what is absent, exports
//! write it back in the same order; no step ever shortens it.

use crate::{Column, Operation, Problem, Status};

/// A file that went into a log.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct SourceFile {
    /// The path as given.
    pub path: String,
    /// SHA-256 of the file's bytes, lower-case hexadecimal.
    pub sha256: String,
    /// Records read from it.
    pub records: usize,
}

/// Names, each record holding the index of its own.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Labels {
    /// The distinct names, in order of first appearance.
    pub names: Vec<String>,
    /// For each record, its place in `names`.
    pub index: Vec<u32>,
}

impl Labels {
    /// Appends one record's name.
    pub fn push(&mut self, name: &str) {
        // Names repeat record after record: the last one is looked at first.
        let last = self.index.last().map(|&i| i as usize);
        let at = match last {
            Some(i) if self.names[i] == name => i,
            _ => self
                .names
                .iter()
                .position(|n| n == name)
                .unwrap_or_else(|| {
                    self.names.push(name.to_owned());
                    self.names.len() - 1
                }),
        };
        self.index.push(at as u32);
    }

    /// The name of record `record`.
    pub fn name(&self, record: usize) -> &str {
        &self.names[self.index[record] as usize]
    }
}

/// A log in SI units; numbers are `NaN` where a record has none.
#[derive(Debug, Clone, Default)]
pub struct FieldLog {
    /// The work it is of.
    pub operation: Operation,
    /// The files, in the order their records follow each other.
    pub files: Vec<SourceFile>,
    /// For each record, its file.
    pub file: Vec<u32>,
    /// For each record, its line or feature number in that file, from 1, the header counted.
    pub row: Vec<u32>,
    numbers: Vec<Option<Vec<f64>>>,
    labels: Vec<Option<Labels>>,
    /// Columns that the files did not hold and that were derived, each with how.
    pub derived: Vec<(Column, String)>,
    /// For each column a file held: its header there and the unit it was read in.
    pub sources: Vec<(Column, String, String)>,
    /// Headers that were not recognised.
    pub unrecognised: Vec<String>,
    /// What the files say beside their records, each with what it is: crop, field, task, products, totals.
    pub facts: Vec<(String, String)>,
    /// What was wrong with single records.
    pub problems: Vec<Problem>,
    /// For each record, the status an earlier cleaning gave it: present when every file is an export
    /// of a cleaned log.
    pub cleaned_status: Option<Vec<Status>>,
}

impl FieldLog {
    /// A log of `records` records, which has no column yet.
    pub fn with_records(records: usize) -> FieldLog {
        FieldLog {
            file: vec![0; records],
            row: vec![0; records],
            ..FieldLog::default()
        }
    }

    /// Number of records.
    pub fn len(&self) -> usize {
        self.file.len()
    }

    /// Whether the log has no record.
    pub fn is_empty(&self) -> bool {
        self.file.is_empty()
    }

    /// A number column, or `None` when neither read nor derived.
    pub fn numbers(&self, column: Column) -> Option<&[f64]> {
        self.numbers.get(column as usize)?.as_deref()
    }

    /// Puts a number column in place.
    ///
    /// # Panics
    /// When its length is not the log's.
    pub fn set_numbers(&mut self, column: Column, values: Vec<f64>) {
        assert_eq!(
            values.len(),
            self.len(),
            "column {column:?} has another length than the log"
        );
        if self.numbers.len() <= column as usize {
            self.numbers.resize(Column::ALL.len(), None);
        }
        self.numbers[column as usize] = Some(values);
    }

    /// A column of names, or `None`.
    pub fn labels(&self, column: Column) -> Option<&Labels> {
        self.labels.get(column as usize)?.as_ref()
    }

    /// Puts a column of names in place.
    ///
    /// # Panics
    /// When its length is not the log's.
    pub fn set_labels(&mut self, column: Column, labels: Labels) {
        assert_eq!(
            labels.index.len(),
            self.len(),
            "column {column:?} has another length"
        );
        if self.labels.len() <= column as usize {
            self.labels.resize(Column::ALL.len(), None);
        }
        self.labels[column as usize] = Some(labels);
    }

    /// Whether the log holds the column, read or derived.
    pub fn has(&self, column: Column) -> bool {
        self.numbers(column).is_some() || self.labels(column).is_some()
    }

    /// The path of the first file, for messages about the whole log; empty when there is none.
    pub fn first_path(&self) -> &str {
        self.files.first().map_or("", |file| &file.path)
    }

    /// Where record `record` stands, for messages: the file's path and the row in it.
    pub fn place(&self, record: usize) -> (&str, u32) {
        let path = self
            .files
            .get(self.file[record] as usize)
            .map_or("", |file| &file.path);
        (path, self.row[record])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_share_names() {
        let mut labels = Labels::default();
        for name in ["a", "a", "b", "a"] {
            labels.push(name);
        }
        assert_eq!(labels.names, ["a", "b"]);
        assert_eq!(labels.index, [0, 0, 1, 0]);
        assert_eq!(labels.name(2), "b");
    }

    #[test]
    fn columns_are_absent_until_set() {
        let mut log = FieldLog::with_records(2);
        assert!(!log.has(Column::Speed));
        log.set_numbers(Column::Speed, vec![1.0, 2.0]);
        assert_eq!(log.numbers(Column::Speed), Some(&[1.0, 2.0][..]));
    }
}
