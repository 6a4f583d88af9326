//! The attribute table of a Shapefile: a dBASE table (`.dbf`) of fixed-width text. Cells are kept as
//! text until a column asks for a number, so that one bad cell costs one cell.

use checkstrip_model::Problem;
use encoding_rs::Encoding;

use crate::cell::{self, Cell};

/// Bytes of the table's header, and of each field's description.
pub(super) const HEADER: usize = 32;
/// The byte that ends the field descriptions.
pub(super) const END_OF_FIELDS: u8 = 0x0d;

/// A dBASE table.
#[derive(Debug)]
pub(crate) struct AttributeTable {
    /// The fields' names.
    pub(crate) names: Vec<String>,
    /// How many whole records there are.
    pub(crate) records: usize,
    pub(super) fields: Vec<Field>,
    pub(super) bytes: Vec<u8>,
    pub(super) start: usize,
    pub(super) record_length: usize,
    pub(super) encoding: &'static Encoding,
}

#[derive(Debug)]
pub(super) struct Field {
    kind: u8,
    /// Where it stands in a record.
    pub(super) offset: usize,
    pub(super) length: usize,
}

impl AttributeTable {
    /// The table `dbf`, in the encoding named `encoding` (UTF-8, else Latin-1, when none is).
    ///
    /// # Errors
    /// When the header is not one of a dBASE table.
    pub(crate) fn read(
        file: &str,
        dbf: &[u8],
        encoding: Option<&str>,
    ) -> Result<AttributeTable, Problem> {
        let refuse = |what: &str| {
            Problem::new(file, format!("the attribute table (.dbf) {what}"))
                .hint("the file is damaged or was cut off: copy all files of the Shapefile again")
        };
        let header = dbf
            .get(..HEADER)
            .ok_or_else(|| refuse("is shorter than its header"))?;
        let declared = u32::from_le_bytes([header[4], header[5], header[6], header[7]]) as usize;
        let start = usize::from(u16::from_le_bytes([header[8], header[9]]));
        let record_length = usize::from(u16::from_le_bytes([header[10], header[11]]));
        if start < HEADER || start > dbf.len() || record_length == 0 {
            return Err(refuse("has a header that cannot be right"));
        }
        let encoding = encoding.map_or_else(
            || guess_encoding(&dbf[start..]),
            |name| {
                Encoding::for_label(name.as_bytes())
                    .unwrap_or_else(|| guess_encoding(&dbf[start..]))
            },
        );
        let mut names = Vec::new();
        let mut fields = Vec::new();
        // The first byte of a record says whether it was deleted.
        let mut offset = 1;
        for description in dbf[HEADER..start].chunks_exact(HEADER) {
            if description[0] == END_OF_FIELDS {
                break;
            }
            let name = &description[..11];
            let name = &name[..name.iter().position(|&byte| byte == 0).unwrap_or(11)];
            let length = usize::from(description[16]);
            names.push(
                encoding
                    .decode_without_bom_handling(name)
                    .0
                    .trim()
                    .to_owned(),
            );
            fields.push(Field {
                kind: description[11],
                offset,
                length,
            });
            offset += length;
        }
        if fields.is_empty() || offset > record_length {
            return Err(refuse("has fields that do not fit its records"));
        }
        let records = declared.min((dbf.len() - start) / record_length);
        let bytes = dbf.to_vec();
        Ok(AttributeTable {
            names,
            records,
            fields,
            bytes,
            start,
            record_length,
            encoding,
        })
    }

    /// The value of `field` in `record`, both from 0; empty where there is none.
    pub(crate) fn cell(&self, record: usize, field: usize) -> Cell {
        if record >= self.records {
            return Cell::Empty;
        }
        let &Field {
            kind,
            offset,
            length,
        } = &self.fields[field];
        let at = self.start + record * self.record_length + offset;
        let Some(bytes) = self.bytes.get(at..at + length) else {
            return Cell::Empty;
        };
        match (kind, bytes) {
            (b'I', &[a, b, c, d]) => {
                return Cell::Whole(i64::from(i32::from_le_bytes([a, b, c, d])));
            }
            (b'B' | b'O', &[a, b, c, d, e, f, g, h]) => {
                return Cell::Number(f64::from_le_bytes([a, b, c, d, e, f, g, h]));
            }
            _ => {}
        }
        let end = bytes
            .iter()
            .position(|&byte| byte == 0)
            .unwrap_or(bytes.len());
        let text = bytes[..end].trim_ascii();
        match kind {
            b'N' | b'F' => {
                // Stars stand for a number that did not fit.
                if text.is_empty() || text.iter().all(|&byte| byte == b'*') {
                    return Cell::Empty;
                }
                let whole = std::str::from_utf8(text).ok().and_then(|t| t.parse().ok());
                if let Some(whole) = whole {
                    return Cell::Whole(whole);
                }
                if let Some(value) = cell::number(text, false) {
                    return Cell::Number(value);
                }
            }
            // A date is written in ISO 8601, lest it be taken for a number.
            b'D' if text.len() == 8 && text.iter().all(u8::is_ascii_digit) => {
                let digits = String::from_utf8_lossy(text);
                let date = format!("{}-{}-{}", &digits[..4], &digits[4..6], &digits[6..]);
                return Cell::Text(date.into());
            }
            b'L' => match text {
                b"T" | b"t" | b"Y" | b"y" => return Cell::Truth(true),
                b"F" | b"f" | b"N" | b"n" => return Cell::Truth(false),
                b"?" => return Cell::Empty,
                _ => {}
            },
            _ => {}
        }
        if text.is_empty() {
            return Cell::Empty;
        }
        Cell::Text(self.encoding.decode_without_bom_handling(text).0.into())
    }
}

fn guess_encoding(records: &[u8]) -> &'static Encoding {
    match std::str::from_utf8(records) {
        Ok(_) => encoding_rs::UTF_8,
        Err(_) => encoding_rs::WINDOWS_1252,
    }
}
