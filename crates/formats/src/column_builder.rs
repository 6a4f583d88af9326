//! One column of a log while its records are read: cells go in one after another, a contiguous
//! column in SI units comes out. Parts of a file are read side by side and put together here.

use std::collections::HashMap;

use checkstrip_model::{Column, Labels, Problem, Quantity};

use crate::cell::{self, Cell};
use crate::header::Planned;
use crate::problem_list::ProblemList;

/// Names, each kept once.
#[derive(Debug, Default, Clone)]
pub(crate) struct Names {
    labels: Labels,
    places: HashMap<String, u32>,
}

impl Names {
    pub(crate) fn push(&mut self, name: &str) {
        // Names repeat record after record: the last one is looked at first.
        if let Some(&last) = self.labels.index.last()
            && self.labels.names[last as usize] == name
        {
            self.labels.index.push(last);
            return;
        }
        let place = self.place(name);
        self.labels.index.push(place);
    }

    /// Adds the last name once more.
    fn push_last(&mut self) {
        self.labels.index.extend(self.labels.index.last().copied());
    }

    fn place(&mut self, name: &str) -> u32 {
        if let Some(&place) = self.places.get(name) {
            return place;
        }
        let place = self.labels.names.len() as u32;
        self.labels.names.push(name.to_owned());
        self.places.insert(name.to_owned(), place);
        place
    }

    fn append(&mut self, later: Labels) {
        let places: Vec<u32> = later.names.iter().map(|name| self.place(name)).collect();
        self.labels
            .index
            .extend(later.index.iter().map(|&place| places[place as usize]));
    }

    pub(crate) fn len(&self) -> usize {
        self.labels.index.len()
    }

    pub(crate) fn name(&self, record: usize) -> &str {
        self.labels.name(record)
    }

    pub(crate) fn finish(self) -> Labels {
        self.labels
    }
}

/// What kind of cells a column of text has.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(crate) struct Kinds {
    numbers: bool,
    words: bool,
    /// There are words for "missing".
    missing: bool,
}

impl Kinds {
    fn add(&mut self, cell: &[u8], decimal_comma: bool) {
        if self.words || cell.is_empty() {
            return;
        }
        match cell::plain(cell, decimal_comma) {
            None => self.words = true,
            Some(Cell::Empty) => self.missing = true,
            Some(_) => self.numbers = true,
        }
    }

    fn append(&mut self, later: Kinds) {
        self.numbers |= later.numbers;
        self.words |= later.words;
        self.missing |= later.missing;
    }

    /// Whether every cell that is not missing is a number. A column of words for "missing" alone keeps its
    /// words.
    pub(crate) fn is_number(self) -> bool {
        self.numbers && !self.words
    }

    /// Whether nothing stands in any cell.
    pub(crate) fn is_empty(self) -> bool {
        self == Kinds::default()
    }
}

/// The values of a finished column.
#[derive(Debug, Clone)]
pub(crate) enum Values {
    Numbers(Vec<f64>),
    Names(Names),
    /// What stands in the cells, where nothing is asked of it.
    Cells(Vec<Cell>),
    /// Only what kind of cells there are.
    Kinds(Kinds),
}

impl Values {
    /// A column without a record, numbers or names as the column needs.
    pub(crate) fn empty(column: Column) -> Values {
        match column.quantity() {
            Quantity::Label => Values::Names(Names::default()),
            _ => Values::Numbers(Vec::new()),
        }
    }

    pub(crate) fn len(&self) -> usize {
        match self {
            Values::Numbers(numbers) => numbers.len(),
            Values::Names(names) => names.len(),
            Values::Cells(cells) => cells.len(),
            Values::Kinds(_) => 0,
        }
    }

    /// Makes room for `records` values in all.
    pub(crate) fn reserve(&mut self, records: usize) {
        if let Values::Numbers(numbers) = self {
            numbers.reserve_exact(records.saturating_sub(numbers.len()));
        }
    }

    /// Puts the values of later records behind these.
    pub(crate) fn append(&mut self, later: Values) {
        match (self, later) {
            (Values::Numbers(numbers), Values::Numbers(mut later)) => numbers.append(&mut later),
            (Values::Names(names), Values::Names(later)) => names.append(later.finish()),
            (Values::Cells(cells), Values::Cells(mut later)) => cells.append(&mut later),
            (Values::Kinds(kinds), Values::Kinds(later)) => kinds.append(later),
            // A column is of one kind by its quantity: both parts are the same.
            _ => {}
        }
    }

    /// Fills up to `records` records with "no reading".
    pub(crate) fn pad(&mut self, records: usize) {
        match self {
            Values::Numbers(numbers) => {
                if numbers.len() < records {
                    numbers.resize(records, f64::NAN);
                }
            }
            Values::Names(names) => {
                while names.len() < records {
                    names.push("");
                }
            }
            Values::Cells(cells) => {
                if cells.len() < records {
                    cells.resize(records, Cell::Empty);
                }
            }
            Values::Kinds(_) => {}
        }
    }
}

/// How the cells of a column are read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Reading {
    Number,
    Switch,
    Moment,
    Name,
}

/// A column being read.
#[derive(Debug, Clone)]
pub(crate) struct ColumnBuilder<'a> {
    file: &'a str,
    header: &'a str,
    factor: f64,
    reading: Reading,
    decimal_comma: bool,
    /// The whole number that the last name was made of.
    last_whole: Option<i64>,
    pub(crate) values: Values,
}

impl<'a> ColumnBuilder<'a> {
    pub(crate) fn new(file: &'a str, planned: &'a Planned, decimal_comma: bool) -> Self {
        let reading = match planned.column.quantity() {
            Quantity::Label => Reading::Name,
            Quantity::Switch => Reading::Switch,
            Quantity::Time => Reading::Moment,
            _ => Reading::Number,
        };
        ColumnBuilder {
            file,
            header: &planned.header,
            factor: planned.factor,
            reading,
            decimal_comma,
            last_whole: None,
            values: Values::empty(planned.column),
        }
    }

    /// A builder of what stands in the cells: of numbers where all of them are, as
    /// [`kinds`](Self::kinds) tells, else of texts.
    pub(crate) fn as_it_stands(
        file: &'a str,
        header: &'a str,
        is_number: bool,
        decimal_comma: bool,
    ) -> Self {
        ColumnBuilder {
            reading: if is_number {
                Reading::Number
            } else {
                Reading::Name
            },
            decimal_comma,
            values: Values::Cells(Vec::new()),
            ..ColumnBuilder::names(file, header)
        }
    }

    /// A builder that only learns what kind of cells there are.
    pub(crate) fn kinds(file: &'a str, header: &'a str, decimal_comma: bool) -> Self {
        ColumnBuilder {
            decimal_comma,
            values: Values::Kinds(Kinds::default()),
            ..ColumnBuilder::names(file, header)
        }
    }

    /// A builder of names for the `status` column, which is no column of the log.
    pub(crate) fn names(file: &'a str, header: &'a str) -> Self {
        ColumnBuilder {
            file,
            header,
            factor: 1.0,
            reading: Reading::Name,
            decimal_comma: false,
            last_whole: None,
            values: Values::Names(Names::default()),
        }
    }

    /// Whether the column takes plain numbers, which the reader may hand over by
    /// [`push_number`](Self::push_number) at once.
    pub(crate) fn takes_numbers(&self) -> bool {
        matches!(self.values, Values::Numbers(_))
            && matches!(self.reading, Reading::Number | Reading::Moment)
    }

    /// Makes room for `records` numbers.
    pub(crate) fn reserve(&mut self, records: usize) {
        self.values.reserve(records);
    }

    /// Adds a finite number.
    #[inline]
    pub(crate) fn push_number(&mut self, value: f64) {
        if let Values::Numbers(numbers) = &mut self.values {
            numbers.push(value * self.factor);
        }
    }

    /// Adds numbers, `NaN` for no reading, to a column that takes them.
    pub(crate) fn push_numbers(&mut self, values: &[f64]) {
        if let Values::Numbers(numbers) = &mut self.values {
            numbers.extend(values.iter().map(|value| value * self.factor));
        }
    }

    /// Adds the record at `row` from the bytes of its cell; what cannot be read is `NaN` and a
    /// problem.
    pub(crate) fn push_bytes(&mut self, bytes: &[u8], row: u32, problems: &mut ProblemList) {
        let bytes = bytes.trim_ascii();
        let numbers = match &mut self.values {
            Values::Names(names) => {
                let text = String::from_utf8_lossy(bytes);
                let text = if cell::is_missing(bytes) {
                    ""
                } else {
                    cell::label(&text)
                };
                return names.push(text);
            }
            Values::Cells(cells) => {
                let number = match self.reading {
                    Reading::Number => cell::plain(bytes, self.decimal_comma),
                    _ => None,
                };
                let text = || Cell::text(&String::from_utf8_lossy(bytes));
                return cells.push(number.unwrap_or_else(text));
            }
            Values::Kinds(kinds) => return kinds.add(bytes, self.decimal_comma),
            Values::Numbers(numbers) => numbers,
        };
        let number = cell::number(bytes, self.decimal_comma);
        let value = match self.reading {
            Reading::Switch => cell::switch(bytes),
            Reading::Moment => number
                .map(|v| v * self.factor)
                .or_else(|| cell::moment(bytes)),
            Reading::Number | Reading::Name => number.map(|value| value * self.factor),
        };
        numbers.push(value.unwrap_or(f64::NAN));
        if value.is_none() {
            let (expected, hint) = match self.reading {
                Reading::Switch => ("1 or 0, down or up", "leave the cell empty where unknown"),
                Reading::Moment => (
                    "seconds or a moment such as 2024-10-05T14:03:00Z",
                    "write times after ISO 8601, or leave the cell empty",
                ),
                Reading::Number | Reading::Name => {
                    ("a number", "leave the cell empty where there is no reading")
                }
            };
            problems.push(|| {
                let found = String::from_utf8_lossy(&bytes[..bytes.len().min(SHOWN)]);
                Problem::new(self.file, format!("expected {expected}, found {found:?}"))
                    .at_row(row)
                    .in_column(self.header)
                    .hint(hint)
            });
        }
    }

    /// Adds the record at `row`.
    pub(crate) fn push_cell(&mut self, cell: &Cell, row: u32, problems: &mut ProblemList) {
        match cell {
            Cell::Empty => {
                self.last_whole = None;
                self.push_bytes(b"", row, problems);
            }
            Cell::Number(value) if value.is_finite() && self.takes_numbers() => {
                self.push_number(*value);
            }
            Cell::Whole(value) if self.takes_numbers() => self.push_number(*value as f64),
            Cell::Whole(value @ (0 | 1)) if self.reading == Reading::Switch => {
                self.push_number(*value as f64);
            }
            // Numbers of passes and loads repeat record after record.
            Cell::Whole(value) if self.last_whole == Some(*value) => {
                if let Values::Names(names) = &mut self.values {
                    names.push_last();
                }
            }
            Cell::Whole(value) => {
                self.push_bytes(value.to_string().as_bytes(), row, problems);
                if self.reading == Reading::Name && matches!(self.values, Values::Names(_)) {
                    self.last_whole = Some(*value);
                }
            }
            Cell::Truth(value) => {
                self.last_whole = None;
                self.push_bytes(if *value { b"1" } else { b"0" }, row, problems);
            }
            Cell::Number(_) | Cell::Text(_) => {
                self.last_whole = None;
                let text = cell.as_text().unwrap_or_default();
                self.push_bytes(text.as_bytes(), row, problems);
            }
        }
    }
}

/// How many bytes of a wrong cell a message shows.
const SHOWN: usize = 40;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_of_later_parts_find_their_place() {
        let mut first = Values::empty(Column::Machine);
        let mut second = Values::empty(Column::Machine);
        if let (Values::Names(a), Values::Names(b)) = (&mut first, &mut second) {
            ["red", "blue"].iter().for_each(|name| a.push(name));
            ["blue", "green", "red"]
                .iter()
                .for_each(|name| b.push(name));
        }
        first.append(second);
        first.pad(6);
        let Values::Names(names) = first else {
            panic!("names stay names")
        };
        let labels = names.finish();
        assert_eq!(labels.names, ["red", "blue", "green", ""]);
        assert_eq!(labels.index, [0, 1, 1, 2, 0, 3]);
    }

    #[test]
    fn a_wrong_cell_is_nan_and_located() {
        let planned = Planned {
            position: 0,
            column: Column::Speed,
            header: "speed_mph".into(),
            unit: "mph".into(),
            factor: 2.0,
            row: None,
        };
        let mut builder = ColumnBuilder::new("log.csv", &planned, false);
        let mut problems = ProblemList::default();
        builder.push_bytes(b" 3 ", 2, &mut problems);
        builder.push_bytes(b"fast", 3, &mut problems);
        let Values::Numbers(numbers) = builder.values else {
            panic!("numbers stay numbers")
        };
        assert_eq!(numbers[0], 6.0);
        assert!(numbers[1].is_nan());
        let problems = problems.finish("log.csv");
        assert_eq!(
            problems[0].to_string(),
            "log.csv, row 3, column \"speed_mph\": expected a number, found \"fast\"\n\
             hint: leave the cell empty where there is no reading"
        );
    }
}
