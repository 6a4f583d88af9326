//! The records of a delimited text, straight into columns. The text is cut at line ends into parts
//! that are read side by side; cells without quotes are parsed where they stand.

use checkstrip_model::Problem;
use rayon::prelude::*;

use super::dialect::{CellSplitter, Dialect, Layout};
use crate::column_builder::{ColumnBuilder, Values};
use crate::header::HeaderPlan;
use crate::problem_list::ProblemList;

/// Bytes of text per part: large enough that starting a part costs nothing.
const PART: usize = 512 << 10;

/// A quoted cell that runs over more lines than this is taken for a stray quote.
const LINES_IN_QUOTES: usize = 20;

/// The records of one part.
pub(crate) struct Part {
    /// For each record, its line in the part, from 1.
    pub(crate) rows: Vec<u32>,
    /// How many lines the part has.
    pub(crate) lines: u32,
    /// The columns in the order in which they were asked for; of a plan the status column last.
    pub(crate) columns: Vec<Values>,
    pub(crate) problems: ProblemList,
}

/// Every record of `body`, the text behind the header line, in parts: the columns of `plan`.
pub(crate) fn read(file: &str, body: &[u8], layout: &Layout, plan: &HeaderPlan) -> Vec<Part> {
    let columns = columns(file, layout, plan);
    read_parts(file, &cut(body, layout.dialect), layout, columns)
}

/// The columns of `plan`, each its place among the headers and its builder; the status column last.
pub(crate) fn columns<'a>(
    file: &'a str,
    layout: &'a Layout,
    plan: &'a HeaderPlan,
) -> Vec<(usize, ColumnBuilder<'a>)> {
    let mut columns: Vec<(usize, ColumnBuilder<'_>)> = plan
        .columns
        .iter()
        .map(|planned| {
            let decimal_comma = layout.dialect.decimal_comma;
            let builder = ColumnBuilder::new(file, planned, decimal_comma);
            (planned.position, builder)
        })
        .collect();
    if let Some(status) = plan.status {
        let builder = ColumnBuilder::names(file, &layout.headers[status]);
        columns.push((status, builder));
    }
    columns
}

/// Every record of `parts` of the text, which begin and end with records: `columns`, each a place among
/// the headers and its builder.
pub(crate) fn read_parts<'a>(
    file: &'a str,
    parts: &[&[u8]],
    layout: &'a Layout,
    columns: Vec<(usize, ColumnBuilder<'a>)>,
) -> Vec<Part> {
    let reader = RecordReader::new(file, layout, columns);
    parts
        .into_par_iter()
        .map(|part| reader.read(part))
        .collect()
}

/// Cuts `body` at line ends, outside quotes. Only the last part may end within a record.
pub(crate) fn cut(body: &[u8], dialect: Dialect) -> Vec<&[u8]> {
    let has_quotes = memchr::memchr(b'"', body).is_some();
    let mut parts = Vec::new();
    let mut rest = body;
    while rest.len() > PART {
        let mut end = PART;
        let mut quotes = if has_quotes {
            count_quotes(&rest[..PART])
        } else {
            0
        };
        let mut lines = 0;
        while let Some(at) = memchr::memchr(dialect.line_end, &rest[end..]) {
            quotes += if has_quotes {
                count_quotes(&rest[end..end + at])
            } else {
                0
            };
            end += at + 1;
            lines += 1;
            if quotes % 2 == 0 || lines > LINES_IN_QUOTES {
                break;
            }
        }
        if lines == 0 {
            break;
        }
        let (part, later) = rest.split_at(end);
        parts.push(part);
        rest = later;
    }
    if !rest.is_empty() {
        parts.push(rest);
    }
    parts
}

fn count_quotes(text: &[u8]) -> usize {
    memchr::memchr_iter(b'"', text).count()
}

/// What every part needs to know.
struct RecordReader<'a> {
    file: &'a str,
    dialect: Dialect,
    /// How many cells a record has.
    width: usize,
    /// For each cell of a record, the builder it goes to.
    slots: Vec<Option<usize>>,
    /// Fresh builders, copied by every part.
    builders: Vec<ColumnBuilder<'a>>,
}

impl<'a> RecordReader<'a> {
    fn new(
        file: &'a str,
        layout: &'a Layout,
        columns: Vec<(usize, ColumnBuilder<'a>)>,
    ) -> RecordReader<'a> {
        let mut slots = vec![None; layout.headers.len()];
        let mut builders = Vec::with_capacity(columns.len());
        for (position, builder) in columns {
            slots[position] = Some(builders.len());
            builders.push(builder);
        }
        let width = layout.headers.len();
        RecordReader {
            file,
            dialect: layout.dialect,
            width,
            slots,
            builders,
        }
    }

    fn read(&self, text: &[u8]) -> Part {
        let mut part = PartReader {
            reader: self,
            builders: self.builders.clone(),
            rows: Vec::new(),
            problems: ProblemList::default(),
            splitter: CellSplitter::new(self.dialect),
        };
        let next_quote =
            |from: usize| memchr::memchr(b'"', &text[from..]).map_or(usize::MAX, |at| from + at);
        let (mut start, mut line_number, mut quote) = (0, 0, next_quote(0));
        while start < text.len() {
            let rest = &text[start..];
            let end = memchr::memchr(self.dialect.line_end, rest).unwrap_or(rest.len());
            let (mut line, mut lines) = (&rest[..end], 1);
            let has_quotes = quote < start + end;
            if has_quotes && self.is_open(false, line) {
                (line, lines) = self.join_lines(rest, line);
            }
            let row = line_number + 1;
            line_number += lines;
            start = (start + line.len() + 1).min(text.len());
            let record = line.strip_suffix(b"\r").unwrap_or(line);
            if has_quotes {
                quote = next_quote(start);
            }
            if record.trim_ascii().is_empty() {
                continue;
            }
            if has_quotes {
                part.push_quoted(record, row);
            } else {
                part.push_plain(record, row);
            }
        }
        Part {
            rows: part.rows,
            lines: line_number,
            columns: part
                .builders
                .into_iter()
                .map(|builder| builder.values)
                .collect(),
            problems: part.problems,
        }
    }

    /// Whether a quoted cell is still open at the end of `line`, at whose start one was when
    /// `is_open`. A quote opens a cell only where the cell begins.
    fn is_open(&self, mut is_open: bool, line: &[u8]) -> bool {
        let mut at_start = true;
        let mut bytes = line.iter().peekable();
        while let Some(&byte) = bytes.next() {
            if is_open {
                if byte == b'"' && bytes.next_if(|&&next| next == b'"').is_none() {
                    is_open = false;
                }
            } else if byte == b'"' && at_start {
                is_open = true;
            }
            at_start = !is_open && byte == self.dialect.delimiter;
        }
        is_open
    }

    /// The record that begins with `line` at the start of `rest`, when a quoted cell in it holds
    /// line ends, and how many lines it takes; just the line when the quote is a stray one.
    fn join_lines<'t>(&self, rest: &'t [u8], line: &'t [u8]) -> (&'t [u8], u32) {
        let mut end = line.len();
        for lines in 2..=LINES_IN_QUOTES {
            let Some(next) = rest.get(end + 1..).filter(|next| !next.is_empty()) else {
                break;
            };
            let at = memchr::memchr(self.dialect.line_end, next).unwrap_or(next.len());
            end += 1 + at;
            if !self.is_open(true, &next[..at]) {
                return (&rest[..end], lines as u32);
            }
        }
        (line, 1)
    }
}

/// A part being read.
struct PartReader<'r, 'a> {
    reader: &'r RecordReader<'a>,
    builders: Vec<ColumnBuilder<'a>>,
    rows: Vec<u32>,
    problems: ProblemList,
    splitter: CellSplitter,
}

impl PartReader<'_, '_> {
    /// Adds a record without quotes.
    fn push_plain(&mut self, record: &[u8], row: u32) {
        let Dialect {
            delimiter,
            decimal_comma,
            ..
        } = self.reader.dialect;
        let spaces = delimiter == b' ';
        let mut rest = if spaces { record.trim_ascii() } else { record };
        let mut cells = 0;
        loop {
            let slot = self.reader.slots.get(cells).copied().flatten();
            cells += 1;
            if let Some(slot) = slot {
                let builder = &mut self.builders[slot];
                // Most cells are numbers that begin and end where the cell does.
                if !decimal_comma
                    && builder.takes_numbers()
                    && let Ok((value, length)) = fast_float2::parse_partial::<f64, _>(rest)
                    && value.is_finite()
                    && rest.get(length).is_none_or(|&byte| byte == delimiter)
                {
                    builder.push_number(value);
                    if length == rest.len() {
                        break;
                    }
                    rest = &rest[length + 1..];
                    if spaces {
                        rest = rest.trim_ascii_start();
                    }
                    continue;
                }
            }
            let end = if spaces {
                memchr::memchr2(b' ', b'\t', rest)
            } else {
                memchr::memchr(delimiter, rest)
            };
            let cell = &rest[..end.unwrap_or(rest.len())];
            match slot {
                Some(slot) => self.builders[slot].push_bytes(cell, row, &mut self.problems),
                // Blank cells behind the last header are delimiters at the line's end.
                None if cells > self.reader.width && cell.trim_ascii().is_empty() => cells -= 1,
                None => {}
            }
            let Some(end) = end else { break };
            rest = &rest[end + 1..];
            if spaces {
                rest = rest.trim_ascii_start();
            }
        }
        self.finish(cells, row);
    }

    /// Adds a record that holds quotes.
    fn push_quoted(&mut self, record: &[u8], row: u32) {
        let mut cells = 0;
        let (width, slots) = (self.reader.width, &self.reader.slots);
        let (builders, problems) = (&mut self.builders, &mut self.problems);
        self.splitter.split(record, |cell| {
            if cells >= width && cell.trim_ascii().is_empty() {
                return;
            }
            if let Some(slot) = slots.get(cells).copied().flatten() {
                builders[slot].push_bytes(cell, row, problems);
            }
            cells += 1;
        });
        self.finish(cells, row);
    }

    /// Ends a record of `cells` cells: what is missing has no reading.
    fn finish(&mut self, cells: usize, row: u32) {
        self.rows.push(row);
        let width = self.reader.width;
        if cells == width {
            return;
        }
        let records = self.rows.len();
        self.builders
            .iter_mut()
            .for_each(|builder| builder.values.pad(records));
        let file = self.reader.file;
        self.problems.push(|| {
            let hint = if cells < width {
                "the missing cells are read as empty; was the file cut off, or a line broken?"
            } else {
                "the cells behind the last header are left out; is a delimiter inside a cell that \
                 has no quotes?"
            };
            Problem::new(file, format!("expected {width} cells, found {cells}"))
                .at_row(row)
                .hint(hint)
        });
    }
}
