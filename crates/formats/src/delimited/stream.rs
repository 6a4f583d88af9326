//! Delimited text in batches, nothing asked of it but what stands in it. A first reading finds the encoding,
//! a second which columns are of numbers, further ones hand over the records: no more than a block of text
//! is in memory.

use std::collections::HashSet;
use std::path::{Path, PathBuf};

use checkstrip_model::Problem;
use encoding_rs::{Decoder, Encoding, UTF_8, WINDOWS_1252};

use super::dialect::Layout;
use super::{Joined, no_record, records};
use crate::FormatError;
use crate::cell::Cell;
use crate::column_builder::{ColumnBuilder, Kinds, Values};
use crate::feature_stream::{FeatureStream, Wish};
use crate::feature_table::{FeatureTable, Shape};
use crate::file_bytes::Pieces;
use crate::header;

/// Bytes of text that are read at a time.
const BLOCK: usize = 8 << 20;

/// A text file that is read in batches.
pub(crate) struct DelimitedStream<'a> {
    file: String,
    path: PathBuf,
    gzip: bool,
    encoding: &'static Encoding,
    /// Bytes of the mark before the text.
    mark: usize,
    layout: Layout,
    kinds: Vec<Kinds>,
    /// Longitude and latitude: places among the headers, and what turns them into degrees.
    positions: Option<[(usize, f64); 2]>,
    /// For each header its name as an attribute, where it is one.
    names: Vec<Option<String>>,
    wish: &'a Wish,
}

impl<'a> DelimitedStream<'a> {
    /// The file at `path`, called `file` in messages.
    ///
    /// # Errors
    /// When it cannot be read, is no text, or has no header line or no record behind it.
    pub(crate) fn open(
        file: &str,
        path: &Path,
        gzip: bool,
        wish: &'a Wish,
    ) -> Result<DelimitedStream<'a>, FormatError> {
        let (encoding, mark, line_end) = encoding(file, path, gzip)?;
        let mut start = Vec::new();
        TextPieces::open(file, path, gzip, encoding, mark)?.read(&mut start)?;
        let layout = Layout::sniff_start(file, &start, line_end)?;
        let mut stream = DelimitedStream {
            file: file.to_owned(),
            path: path.to_owned(),
            gzip,
            encoding,
            mark,
            kinds: vec![Kinds::default(); layout.headers.len()],
            positions: header::positions(&layout.headers),
            names: Vec::new(),
            layout,
            wish,
        };
        stream.kinds = stream.learn_kinds()?;
        stream.name_columns();
        Ok(stream)
    }

    /// What kind of cells each column has.
    fn learn_kinds(&self) -> Result<Vec<Kinds>, FormatError> {
        let decimal_comma = self.layout.dialect.decimal_comma;
        let headers = self.layout.headers.iter().enumerate();
        let columns: Vec<(usize, ColumnBuilder<'_>)> = headers
            .map(|(at, header)| (at, ColumnBuilder::kinds(&self.file, header, decimal_comma)))
            .collect();
        let mut all: Vec<Values> = vec![Values::Kinds(Kinds::default()); columns.len()];
        let mut records = 0;
        self.each_block(&columns, &mut |joined| {
            records += joined.rows.len();
            all.iter_mut()
                .zip(joined.columns)
                .for_each(|(all, kinds)| all.append(kinds));
            Ok(())
        })?;
        if records == 0 {
            return Err(no_record(&self.file).into());
        }
        let kinds = all.into_iter().map(|kinds| match kinds {
            Values::Kinds(kinds) => kinds,
            _ => Kinds::default(),
        });
        Ok(kinds.collect())
    }

    /// Names the columns: a header that is there already, or is none, gets one.
    fn name_columns(&mut self) {
        let mut taken = HashSet::new();
        let mut names = Vec::with_capacity(self.layout.headers.len());
        for (at, header) in self.layout.headers.iter().enumerate() {
            let is_position = self
                .positions
                .is_some_and(|both| both.iter().any(|(position, _)| *position == at));
            let is_empty = header.trim().is_empty();
            if is_position || (is_empty && self.kinds[at].is_empty()) {
                names.push(None);
                continue;
            }
            let mut name = match is_empty {
                true => format!("column_{}", at + 1),
                false => header.clone(),
            };
            while !taken.insert(name.clone()) {
                name.push_str("_2");
            }
            names.push(Some(name));
        }
        self.names = names;
    }

    /// Hands over the records of block after block of the text: `columns`, each a place among the headers
    /// and its builder.
    fn each_block(
        &self,
        columns: &[(usize, ColumnBuilder<'_>)],
        push: &mut dyn FnMut(Joined) -> Result<(), FormatError>,
    ) -> Result<(), FormatError> {
        let (file, dialect) = (&self.file, self.layout.dialect);
        let mut text = TextPieces::open(file, &self.path, self.gzip, self.encoding, self.mark)?;
        let mut block = Vec::new();
        let mut is_more = text.read(&mut block)?;
        block.drain(..self.layout.body);
        let mut line = self.layout.header_line;
        loop {
            let mut parts = records::cut(&block, dialect);
            // The last part may end within a record: it waits for the next block.
            let left = match is_more {
                true => parts.pop().map_or(0, <[u8]>::len),
                false => 0,
            };
            if !parts.is_empty() {
                let read = records::read_parts(file, &parts, &self.layout, columns.to_vec());
                let joined = Joined::new(read, line);
                line = joined.line;
                push(joined)?;
            }
            if !is_more {
                return Ok(());
            }
            block.drain(..block.len() - left);
            is_more = text.read(&mut block)?;
        }
    }

    /// The records of a block as features.
    ///
    /// # Errors
    /// When positions are no degrees.
    fn table(&self, asked: &[usize], joined: Joined) -> Result<FeatureTable, Problem> {
        let mut columns: Vec<Option<Vec<Cell>>> = vec![None; self.names.len()];
        for (&at, values) in asked.iter().zip(joined.columns) {
            if let Values::Cells(cells) = values {
                columns[at] = Some(cells);
            }
        }
        let mut read = FeatureTable::default();
        read.table.problems = joined.problems;
        let mut shapes = vec![Shape::Nothing; joined.rows.len()];
        if let Some([(lon, to_lon), (lat, to_lat)]) = self.positions
            && let [Some(lon), Some(lat)] = [lon, lat].map(|at| columns[at].take())
        {
            let value = |cell: &Cell| match cell {
                Cell::Number(value) => Some(*value),
                Cell::Whole(value) => Some(*value as f64),
                _ => None,
            };
            for ((shape, x), y) in shapes.iter_mut().zip(&lon).zip(&lat) {
                let (Some(x), Some(y)) = (value(x), value(y)) else {
                    continue;
                };
                let point = [x * to_lon, y * to_lat];
                if point[0].abs() > 180.0 || point[1].abs() > 90.0 {
                    return Err(Problem::new(
                        self.file.as_str(),
                        format!("expected degrees, found lon {x}, lat {y}"),
                    )
                    .hint(
                        "longitude and latitude may be swapped, or be metres of a map projection: \
                         mend the headers, or export the log in WGS 84 longitude and latitude",
                    ));
                }
                *shape = Shape::Point(point);
            }
        }
        for (name, cells) in self.names.iter().zip(columns) {
            let Some(name) = name else { continue };
            let cells = cells.into_iter().flatten().enumerate();
            read.table.headers.push(name.clone());
            read.table
                .columns
                .push(cells.filter(|(_, cell)| *cell != Cell::Empty).collect());
        }
        for (row, shape) in joined.rows.into_iter().zip(shapes) {
            read.push(row, shape);
        }
        Ok(read)
    }
}

impl FeatureStream for DelimitedStream<'_> {
    fn read(
        &self,
        push: &mut dyn FnMut(&FeatureTable) -> Result<(), FormatError>,
    ) -> Result<(), FormatError> {
        let decimal_comma = self.layout.dialect.decimal_comma;
        let is_needed = |at: &usize| {
            let name = self.names[*at].as_ref();
            name.is_none_or(|name| self.wish.needs(name))
        };
        let asked: Vec<usize> = (0..self.names.len()).filter(is_needed).collect();
        let columns: Vec<(usize, ColumnBuilder<'_>)> = asked
            .iter()
            .map(|&at| {
                let (header, is_number) = (&self.layout.headers[at], self.kinds[at].is_number());
                let builder =
                    ColumnBuilder::as_it_stands(&self.file, header, is_number, decimal_comma);
                (at, builder)
            })
            .collect();
        self.each_block(&columns, &mut |joined| push(&self.table(&asked, joined)?))
    }
}

/// The encoding of the text, the bytes of its mark, and what ends its lines.
fn encoding(
    file: &str,
    path: &Path,
    gzip: bool,
) -> Result<(&'static Encoding, usize, u8), FormatError> {
    let mut pieces = Pieces::open(file, path, gzip)?;
    let mut block = Vec::new();
    let mut is_more = pieces.read(&mut block, BLOCK)?;
    let (marked, mark) = Encoding::for_bom(&block).unwrap_or((UTF_8, 0));
    let mut is_utf_8 = marked == UTF_8;
    let mut line_end = b'\r';
    if !is_utf_8 {
        // Control characters and line ends are looked for in the text and not in its bytes.
        let mut text = TextPieces::open(file, path, gzip, marked, mark)?;
        loop {
            block.clear();
            let is_more = text.read(&mut block)?;
            check(file, &block, &mut line_end)?;
            if !is_more {
                return Ok((marked, mark, line_end));
            }
        }
    }
    loop {
        check(file, &block, &mut line_end)?;
        let valid = match std::str::from_utf8(&block) {
            Ok(_) => block.len(),
            // A character that goes on in the next block.
            Err(error) if error.error_len().is_none() && is_more => error.valid_up_to(),
            Err(_) => {
                is_utf_8 = false;
                block.len()
            }
        };
        if !is_more {
            let encoding = if is_utf_8 { UTF_8 } else { WINDOWS_1252 };
            return Ok((encoding, mark, line_end));
        }
        block.drain(..valid);
        is_more = pieces.read(&mut block, BLOCK)?;
    }
}

fn check(file: &str, text: &[u8], line_end: &mut u8) -> Result<(), Problem> {
    if memchr::memchr(0, text).is_some() {
        return Err(super::encoding::no_text(file));
    }
    if memchr::memchr(b'\n', text).is_some() {
        *line_end = b'\n';
    }
    Ok(())
}

/// The text of a file as UTF-8, a block at a time.
struct TextPieces {
    pieces: Pieces,
    /// Nothing, where the file is UTF-8.
    decoder: Option<Decoder>,
    raw: Vec<u8>,
    mark: usize,
}

impl TextPieces {
    fn open(
        file: &str,
        path: &Path,
        gzip: bool,
        encoding: &'static Encoding,
        mark: usize,
    ) -> Result<TextPieces, FormatError> {
        let is_utf_8 = encoding == UTF_8;
        Ok(TextPieces {
            pieces: Pieces::open(file, path, gzip)?,
            decoder: (!is_utf_8).then(|| encoding.new_decoder_without_bom_handling()),
            raw: Vec::new(),
            mark,
        })
    }

    /// Appends a block to `text`; `false` at the end of the text.
    fn read(&mut self, text: &mut Vec<u8>) -> Result<bool, FormatError> {
        let before = text.len();
        let Some(decoder) = &mut self.decoder else {
            let is_more = self.pieces.read(text, BLOCK)?;
            text.drain(before..before + std::mem::take(&mut self.mark));
            return Ok(is_more);
        };
        self.raw.clear();
        let is_more = self.pieces.read(&mut self.raw, BLOCK)?;
        let raw = &self.raw[std::mem::take(&mut self.mark)..];
        let mut decoded = String::new();
        let most = decoder.max_utf8_buffer_length(raw.len());
        decoded.reserve(most.unwrap_or(raw.len() * 3));
        let _ = decoder.decode_to_string(raw, &mut decoded, !is_more);
        text.extend_from_slice(decoded.as_bytes());
        Ok(is_more)
    }
}
