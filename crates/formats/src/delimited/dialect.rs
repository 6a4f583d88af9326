//! Which dialect of delimited text a file is written in, and where its header line is: told from
//! its first lines.

use checkstrip_model::Problem;

/// How cells are told apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Dialect {
    pub(crate) delimiter: u8,
    /// Numbers have a comma before their decimals.
    pub(crate) decimal_comma: bool,
    /// What ends a line: a line feed, or a carriage return where there are no line feeds.
    pub(crate) line_end: u8,
}

/// The dialect and what stands before the records.
#[derive(Debug)]
pub(crate) struct Layout {
    pub(crate) dialect: Dialect,
    pub(crate) headers: Vec<String>,
    /// Line of the headers, from 1.
    pub(crate) header_line: u32,
    /// Where the records begin.
    pub(crate) body: usize,
}

/// Delimiters in the order they are preferred in; a run of spaces counts only where none of the
/// others does.
const DELIMITERS: [u8; 4] = [b'\t', b';', b',', b'|'];

/// How many lines are looked at.
const LINES_LOOKED_AT: usize = 50;

/// More columns than any log has.
const MOST_COLUMNS: usize = 4096;

impl Layout {
    /// The layout of `text`, the content of `file`.
    ///
    /// # Errors
    /// When there is no header line.
    pub(crate) fn sniff(file: &str, text: &[u8]) -> Result<Layout, Problem> {
        let line_end = match memchr::memchr(b'\n', text) {
            Some(_) => b'\n',
            None => b'\r',
        };
        Layout::sniff_start(file, text, line_end)
    }

    /// The layout of a text that begins with `text` and whose lines end in `line_end`.
    ///
    /// # Errors
    /// When there is no header line.
    pub(crate) fn sniff_start(file: &str, text: &[u8], line_end: u8) -> Result<Layout, Problem> {
        let mut body = 0;
        let mut header_line = 0;
        let mut header: &[u8] = b"";
        while body < text.len() && header.is_empty() {
            let end = memchr::memchr(line_end, &text[body..]).map_or(text.len(), |at| body + at);
            let line = text[body..end].trim_ascii();
            header_line += 1;
            body = (end + 1).min(text.len());
            if !line.starts_with(b"#") {
                // Outer tabs are cells.
                header = if line.is_empty() {
                    line
                } else {
                    trim_line(&text[..end], end, line_end)
                };
            }
        }
        if header.is_empty() {
            return Err(
                Problem::new(file, "expected a header line, found no line with text")
                    .hint("export the log again, or leave the file out"),
            );
        }
        let lines: Vec<&[u8]> = text[body..]
            .split(|&byte| byte == line_end)
            .map(|line| line.strip_suffix(b"\r").unwrap_or(line))
            .filter(|line| !line.trim_ascii().is_empty())
            .take(LINES_LOOKED_AT)
            .collect();
        // A line of very many cells is not worth a second look.
        let most = DELIMITERS.map(|delimiter| count(header, delimiter));
        let most = most.into_iter().max().unwrap_or(0);
        if most > MOST_COLUMNS {
            return Err(too_many_columns(file, most));
        }
        let delimiter = delimiter(header, &lines);
        let mut dialect = Dialect {
            delimiter,
            decimal_comma: false,
            line_end,
        };
        let mut headers = dialect.cells(header);
        if headers.len() > MOST_COLUMNS {
            return Err(too_many_columns(file, headers.len()));
        }
        dialect.decimal_comma = delimiter != b',' && has_decimal_comma(&lines, dialect);
        // A delimiter at the end of every line makes an empty last header.
        while headers.last().is_some_and(|header| header.is_empty()) {
            headers.pop();
        }
        if headers.iter().all(|header| header.parse::<f64>().is_ok()) {
            let message = format!(
                "expected a line of headers, found numbers ({})",
                headers[0..headers.len().min(4)].join(", ")
            );
            return Err(Problem::new(file, message).at_row(header_line).hint(
                "write the columns' names as the first line, such as lon,lat,mass_flow_kg_s",
            ));
        }
        Ok(Layout {
            dialect,
            headers,
            header_line,
            body,
        })
    }
}

/// The whole line that ends at `end`, without its line end.
fn trim_line(text: &[u8], end: usize, line_end: u8) -> &[u8] {
    let start = memchr::memrchr(line_end, &text[..end]).map_or(0, |at| at + 1);
    let line = &text[start..end];
    line.strip_suffix(b"\r").unwrap_or(line)
}

fn too_many_columns(file: &str, found: usize) -> Problem {
    Problem::new(
        file,
        format!("expected a header line of at most {MOST_COLUMNS} cells, found one of {found}"),
    )
    .hint("a log has at most a few hundred columns: check that it has one record on each line")
}

/// How many cells a line has; quotes are honoured.
fn count(line: &[u8], delimiter: u8) -> usize {
    let dialect = Dialect {
        delimiter,
        decimal_comma: false,
        line_end: b'\n',
    };
    let mut cells = 0;
    CellSplitter::new(dialect).split(line, |_| cells += 1);
    cells
}

fn delimiter(header: &[u8], lines: &[&[u8]]) -> u8 {
    let mut best = (b' ', 0.0, 0);
    for delimiter in DELIMITERS {
        let cells = count(header, delimiter);
        if cells < 2 {
            continue;
        }
        let agreeing = lines
            .iter()
            .filter(|line| count(line, delimiter).abs_diff(cells) <= 1);
        let share = (agreeing.count() + 1) as f64 / (lines.len() + 1) as f64;
        if share > best.1 || (share == best.1 && cells > best.2) {
            best = (delimiter, share, cells);
        }
    }
    best.0
}

/// Whether cells such as `12,5` are found and none such as `12.5`.
fn has_decimal_comma(lines: &[&[u8]], dialect: Dialect) -> bool {
    let is_decimal = |cell: &str, mark: char| {
        cell.split_once(mark).is_some_and(|(whole, decimals)| {
            let digits = |text: &str| text.bytes().all(|byte| byte.is_ascii_digit());
            !decimals.is_empty() && digits(decimals) && digits(whole.trim_start_matches(['-', '+']))
        })
    };
    let mut found = false;
    for line in lines {
        for cell in dialect.cells(line) {
            if is_decimal(&cell, '.') {
                return false;
            }
            found |= is_decimal(&cell, ',');
        }
    }
    found
}

impl Dialect {
    /// The cells of one line, unquoted and trimmed.
    pub(crate) fn cells(self, line: &[u8]) -> Vec<String> {
        let mut cells = Vec::new();
        CellSplitter::new(self).split(line, |cell| {
            cells.push(String::from_utf8_lossy(cell.trim_ascii()).into_owned());
        });
        cells
    }
}

/// Splits records that may hold quotes, and line ends within them. (Records without quotes are split
/// where they are read.)
pub(crate) struct CellSplitter {
    reader: csv_core::Reader,
    delimiter: u8,
    cell: Vec<u8>,
}

impl CellSplitter {
    pub(crate) fn new(dialect: Dialect) -> CellSplitter {
        let reader = csv_core::ReaderBuilder::new()
            .delimiter(dialect.delimiter)
            .build();
        CellSplitter {
            reader,
            delimiter: dialect.delimiter,
            cell: Vec::new(),
        }
    }

    /// Calls `each` for every cell of `record`, quotes taken off.
    pub(crate) fn split(&mut self, record: &[u8], mut each: impl FnMut(&[u8])) {
        let collapsed;
        let mut rest = if self.delimiter == b' ' {
            collapsed = collapse_spaces(record);
            &collapsed
        } else {
            record
        };
        self.reader.reset();
        if self.cell.len() <= rest.len() {
            self.cell.resize(rest.len() + 1, 0);
        }
        let mut filled = 0;
        loop {
            // An empty input tells the reader that the record is at its end.
            let (result, read, written) = self.reader.read_field(rest, &mut self.cell[filled..]);
            rest = &rest[read..];
            filled += written;
            match result {
                csv_core::ReadFieldResult::InputEmpty => {}
                csv_core::ReadFieldResult::OutputFull => self.cell.resize(filled * 2 + 1, 0),
                csv_core::ReadFieldResult::Field { record_end } => {
                    each(&self.cell[..filled]);
                    filled = 0;
                    if record_end {
                        return;
                    }
                }
                csv_core::ReadFieldResult::End => return,
            }
        }
    }
}

/// A record whose cells are one space apart: runs of blanks outside quotes become one.
fn collapse_spaces(record: &[u8]) -> Vec<u8> {
    let mut collapsed = Vec::with_capacity(record.len());
    let mut quoted = false;
    for &byte in record.trim_ascii() {
        quoted ^= byte == b'"';
        if quoted || !matches!(byte, b' ' | b'\t') {
            collapsed.push(byte);
        } else if collapsed.last() != Some(&b' ') {
            collapsed.push(b' ');
        }
    }
    collapsed
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sniff(text: &str) -> Layout {
        Layout::sniff("a", text.as_bytes()).unwrap()
    }

    #[test]
    fn delimiters() {
        for (text, delimiter) in [
            ("lon,lat,time\n1,2,2024-01-01 00:00:00\n", b','),
            ("lon;lat\n1,5;2,5\n", b';'),
            ("lon\tlat name\n1\t2\n", b'\t'),
            ("lon|lat|a,b\n1|2|3\n", b'|'),
            ("  lon   lat\n 1  2\n", b' '),
            ("lon, lat, flow\n1, 2, 3\n", b','),
        ] {
            assert_eq!(sniff(text).dialect.delimiter, delimiter, "{text}");
        }
        assert_eq!(sniff("  lon   lat\n 1  2\n").headers, ["lon", "lat"]);
    }

    #[test]
    fn a_decimal_comma_needs_another_delimiter_and_no_point() {
        assert!(sniff("lon;lat\n1,5;2,5\n").dialect.decimal_comma);
        assert!(sniff("lon\tlat\n-1,5\t2\n").dialect.decimal_comma);
        assert!(!sniff("lon;lat;note\n1.5;2.5;3,4\n").dialect.decimal_comma);
        assert!(!sniff("lon,lat\n1,5\n").dialect.decimal_comma);
    }

    #[test]
    fn comments_and_blank_lines_before_the_headers() {
        let layout = sniff("# made up\n\n\"lon\",\"a \"\"b\"\"\"\n1,2\n");
        assert_eq!(layout.headers, ["lon", "a \"b\""]);
        assert_eq!(layout.header_line, 3);
        let text = sniff("lon,lat,\r1,2,\r");
        assert_eq!(
            (text.dialect.line_end, text.headers.len(), text.body),
            (b'\r', 2, 9)
        );
    }

    #[test]
    fn no_headers() {
        assert!(Layout::sniff("a", b"\n # only\n").is_err());
        let problem = Layout::sniff("a", b"-93.1,43.2,5\n-93.1,43.2,5\n").unwrap_err();
        assert!(problem.message.contains("found numbers"), "{problem}");
    }
}
