//! A delimited log as text cells, so that a test can spoil exactly one of them.

use checkstrip_model::{Column, FieldLog};
use std::fmt::Write as _;

/// A header and rows of cells.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Table {
    /// The headers.
    pub headers: Vec<String>,
    /// The rows.
    pub rows: Vec<Vec<String>>,
}

impl Table {
    /// A log under canonical names.
    pub fn of_log(log: &FieldLog) -> Table {
        let columns: Vec<Column> = Column::ALL
            .iter()
            .copied()
            .filter(|&c| log.has(c))
            .collect();
        let rows = (0..log.len())
            .map(|record| {
                let cell = |&column: &Column| match (log.labels(column), log.numbers(column)) {
                    (Some(labels), _) => labels.name(record).to_owned(),
                    (None, Some(numbers)) => decimals(column, numbers[record]),
                    (None, None) => String::new(),
                };
                columns.iter().map(cell).collect()
            })
            .collect();
        Table {
            headers: columns
                .iter()
                .map(|c| c.canonical_name().to_owned())
                .collect(),
            rows,
        }
    }

    /// A table read from text whose cells hold no delimiters; quotes around cells are taken off.
    pub fn parse(text: &str, delimiter: char) -> Table {
        let plain = |cell: &str| cell.trim_matches('"').to_owned();
        let split = |line: &str| line.split(delimiter).map(plain).collect();
        let mut lines = text.lines();
        Table {
            headers: lines.next().map(split).unwrap_or_default(),
            rows: lines.map(split).collect(),
        }
    }

    /// The place of a column.
    #[track_caller]
    pub fn at(&self, header: &str) -> usize {
        let place = self.headers.iter().position(|h| h == header);
        place.unwrap_or_else(|| panic!("no column {header} in {:?}", self.headers))
    }

    /// The cells of a column.
    #[track_caller]
    pub fn texts(&self, header: &str) -> Vec<&str> {
        let at = self.at(header);
        self.rows.iter().map(|row| row[at].as_str()).collect()
    }

    /// The numbers of a column, `NaN` where a cell is empty.
    #[track_caller]
    pub fn numbers(&self, header: &str) -> Vec<f64> {
        let number = |cell: &str| match cell {
            "" => f64::NAN,
            cell => cell
                .parse()
                .unwrap_or_else(|_| panic!("{header}: {cell:?} is no number")),
        };
        self.texts(header).into_iter().map(number).collect()
    }

    /// Puts `cell` into one row of a column.
    #[track_caller]
    pub fn set(&mut self, row: usize, header: &str, cell: &str) {
        let at = self.at(header);
        self.rows[row][at] = cell.to_owned();
    }

    /// The log as if all of it had happened so many years before.
    #[track_caller]
    pub fn years_before(mut self, years: f64) -> Table {
        for (row, moment) in self.numbers("timestamp_s").into_iter().enumerate() {
            let then = moment - years * 365.25 * 86_400.0;
            self.set(row, "timestamp_s", &format!("{then:.0}"));
        }
        self
    }

    /// Puts `cell` into every row of a column.
    #[track_caller]
    pub fn fill(&mut self, header: &str, cell: &str) {
        for row in 0..self.rows.len() {
            self.set(row, header, cell);
        }
    }

    /// Takes a column away.
    #[track_caller]
    pub fn drop_column(&mut self, header: &str) {
        let at = self.at(header);
        self.headers.remove(at);
        self.rows.iter_mut().for_each(|row| {
            row.remove(at);
        });
    }

    /// Gives a column another header.
    #[track_caller]
    pub fn rename(&mut self, header: &str, other: &str) {
        let at = self.at(header);
        self.headers[at] = other.to_owned();
    }

    /// The table as comma-separated text.
    pub fn csv(&self) -> String {
        let mut text = self.headers.join(",");
        text.push('\n');
        for row in &self.rows {
            // Writing to a String cannot fail.
            let _ = writeln!(text, "{}", row.join(","));
        }
        text
    }
}

/// About as many decimals as a machine's log would have.
fn decimals(column: Column, value: f64) -> String {
    match column {
        _ if !value.is_finite() => String::new(),
        Column::Lon | Column::Lat => format!("{value:.8}"),
        Column::Timestamp | Column::HeaderDown => format!("{value:.0}"),
        _ => format!("{value:.4}"),
    }
}
