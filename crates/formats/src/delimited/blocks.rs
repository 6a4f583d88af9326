//! A delimited text a block at a time, so that no more than a block of it is in memory: its encoding and layout
//! first, then the records of block after block. Conversions and logs read in pieces ask here.

use std::path::{Path, PathBuf};

use checkstrip_model::Problem;
use encoding_rs::{Decoder, Encoding, UTF_8, WINDOWS_1252};

use super::dialect::Layout;
use super::{Joined, records};
use crate::FormatError;
use crate::column_builder::ColumnBuilder;
use crate::file_bytes::Pieces;

/// Bytes of text that are read at a time.
const BLOCK: usize = 8 << 20;

/// A text file whose headers are known and whose records wait to be read.
#[derive(Debug)]
pub(super) struct TextBlocks {
    /// The file as it is called in messages.
    pub(super) file: String,
    path: PathBuf,
    gzip: bool,
    encoding: &'static Encoding,
    /// Bytes of the mark before the text.
    mark: usize,
    pub(super) layout: Layout,
}

impl TextBlocks {
    /// Reads the file at `path`, called `file` in messages, once for its encoding and looks at its beginning.
    ///
    /// # Errors
    /// When it cannot be read, is no text, or has no header line.
    pub(super) fn open(file: &str, path: &Path, gzip: bool) -> Result<TextBlocks, FormatError> {
        let (encoding, mark, line_end) = encoding(file, path, gzip)?;
        let mut start = Vec::new();
        TextPieces::open(file, path, gzip, encoding, mark)?.read(&mut start)?;
        Ok(TextBlocks {
            file: file.to_owned(),
            path: path.to_owned(),
            gzip,
            encoding,
            mark,
            layout: Layout::sniff_start(file, &start, line_end)?,
        })
    }

    /// Hands over the records of block after block of the text: `columns`, each a place among the headers
    /// and its builder.
    ///
    /// # Errors
    /// When the file cannot be read, and those of `push`.
    pub(super) fn each_block(
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
