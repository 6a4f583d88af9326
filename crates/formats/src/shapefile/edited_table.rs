//! The attribute table of a Shapefile, edited: cells that nobody touches keep their bytes, whatever kind
//! their field is of.

use checkstrip_model::Problem;
use encoding_rs::Encoding;

use super::attributes::{AttributeTable, END_OF_FIELDS, HEADER};

/// Longest text of a field, bytes.
const LONGEST: usize = 254;
/// Where a field's description holds its kind, its offset in a record, its length and its decimals.
const KIND: usize = 11;
const OFFSET: std::ops::Range<usize> = 12..16;
const LENGTH: usize = 16;
const DECIMALS: usize = 17;
/// What is at the end of a table.
const END_OF_TABLE: u8 = 0x1a;

/// A table that is edited.
pub(crate) struct EditedTable {
    header: [u8; HEADER],
    /// What stands between the descriptions of the fields and the first record.
    before_records: Vec<u8>,
    fields: Vec<EditedField>,
    /// For each record, the byte that says whether it was deleted.
    deleted: Vec<u8>,
    encoding: &'static Encoding,
}

struct EditedField {
    name: String,
    description: [u8; HEADER],
    /// For each record its bytes, all of one length.
    cells: Vec<Vec<u8>>,
}

impl EditedTable {
    /// `table` with the records `sources`, in this order; `None` stands for a new one.
    pub(crate) fn new(table: &AttributeTable, sources: &[Option<usize>]) -> EditedTable {
        let mut header = [0; HEADER];
        header.copy_from_slice(&table.bytes[..HEADER]);
        let end_of_fields = HEADER * (1 + table.fields.len()) + 1;
        let record = |at: usize| {
            let from = table.start + at * table.record_length;
            &table.bytes[from..from + table.record_length]
        };
        let fields = table.names.iter().zip(&table.fields).enumerate();
        let fields = fields.map(|(at, (name, field))| {
            let mut description = [0; HEADER];
            let from = HEADER * (1 + at);
            description.copy_from_slice(&table.bytes[from..from + HEADER]);
            let cells = sources.iter().map(|source| match source {
                Some(source) if *source < table.records => {
                    record(*source)[field.offset..field.offset + field.length].to_vec()
                }
                _ => vec![b' '; field.length],
            });
            EditedField {
                name: name.clone(),
                description,
                cells: cells.collect(),
            }
        });
        let deleted = sources.iter().map(|source| match source {
            Some(source) if *source < table.records => record(*source)[0],
            _ => b' ',
        });
        EditedTable {
            header,
            before_records: table
                .bytes
                .get(end_of_fields..table.start)
                .unwrap_or_default()
                .to_vec(),
            fields: fields.collect(),
            deleted: deleted.collect(),
            encoding: table.encoding,
        }
    }

    /// The place of the field called `name`, which is added as one of text where there is none.
    pub(crate) fn field(&mut self, name: &str) -> usize {
        /// Bytes that a name has room for; a zero ends it.
        const NAME: usize = 10;
        if let Some(at) = self.fields.iter().position(|field| field.name == name) {
            return at;
        }
        let mut description = [0; HEADER];
        let mut end = name.len().min(NAME);
        while !name.is_char_boundary(end) {
            end -= 1;
        }
        description[..end].copy_from_slice(&name.as_bytes()[..end]);
        (description[KIND], description[LENGTH]) = (b'C', 1);
        self.fields.push(EditedField {
            name: name.to_owned(),
            description,
            cells: vec![vec![b' ']; self.deleted.len()],
        });
        self.fields.len() - 1
    }

    /// Writes `text` into a cell; `None` empties it. A field that is too narrow becomes wider, one that
    /// does not hold text becomes one that does.
    ///
    /// # Errors
    /// When the table's encoding does not have the text, or it is longer than 254 bytes.
    pub(crate) fn set(
        &mut self,
        file: &str,
        record: usize,
        field: usize,
        text: Option<&str>,
    ) -> Result<(), Problem> {
        let text = text.unwrap_or_default();
        let (bytes, _, is_lossy) = self.encoding.encode(text);
        let field = &mut self.fields[field];
        if is_lossy || bytes.len() > LONGEST {
            let why = match is_lossy {
                true => "cannot be written in the table's encoding",
                false => "is longer than the 254 bytes that an attribute table holds",
            };
            return Err(Problem::new(file, format!("{text:?} {why}"))
                .in_column(field.name.as_str())
                .hint("give it a shorter or plainer name"));
        }
        let length = usize::from(field.description[LENGTH]);
        let is_number = matches!(field.description[KIND], b'N' | b'F');
        if bytes.is_empty() {
            field.cells[record] = vec![b' '; length];
            return Ok(());
        }
        if is_number && text.parse::<f64>().is_ok_and(f64::is_finite) && bytes.len() <= length {
            let mut cell = vec![b' '; length - bytes.len()];
            cell.extend_from_slice(&bytes);
            field.cells[record] = cell;
            return Ok(());
        }
        if field.description[KIND] != b'C' {
            field.become_text();
        }
        field.widen(bytes.len());
        let mut cell = bytes.into_owned();
        cell.resize(usize::from(field.description[LENGTH]), b' ');
        field.cells[record] = cell;
        Ok(())
    }

    /// The bytes of the table.
    ///
    /// # Errors
    /// When its records become longer than the format has room for.
    pub(crate) fn bytes(mut self, file: &str) -> Result<Vec<u8>, Problem> {
        let start = HEADER * (1 + self.fields.len()) + 1 + self.before_records.len();
        let lengths = self.fields.iter();
        let lengths = lengths.map(|field| usize::from(field.description[LENGTH]));
        let record_length = 1 + lengths.sum::<usize>();
        let (Ok(start), Ok(length)) = (u16::try_from(start), u16::try_from(record_length)) else {
            return Err(
                Problem::new(file, "the attribute table has no room for more")
                    .hint("take attributes out that nobody needs, or save it as GeoPackage"),
            );
        };
        self.header[4..8].copy_from_slice(&(self.deleted.len() as u32).to_le_bytes());
        self.header[8..10].copy_from_slice(&start.to_le_bytes());
        self.header[10..12].copy_from_slice(&length.to_le_bytes());
        let mut bytes = self.header.to_vec();
        // Some programs write where in a record a field stands, most write nothing.
        let with_offsets = self.fields.iter().any(|f| f.description[OFFSET] != [0; 4]);
        let mut offset = 1u32;
        for field in &mut self.fields {
            if with_offsets {
                field.description[OFFSET].copy_from_slice(&offset.to_le_bytes());
            }
            offset += u32::from(field.description[LENGTH]);
            bytes.extend_from_slice(&field.description);
        }
        bytes.push(END_OF_FIELDS);
        bytes.extend_from_slice(&self.before_records);
        for (record, deleted) in self.deleted.iter().enumerate() {
            bytes.push(*deleted);
            for field in &self.fields {
                bytes.extend_from_slice(&field.cells[record]);
            }
        }
        bytes.push(END_OF_TABLE);
        Ok(bytes)
    }
}

impl EditedField {
    fn become_text(&mut self) {
        (self.description[KIND], self.description[DECIMALS]) = (b'C', 0);
        for cell in &mut self.cells {
            let length = cell.len();
            let mut text = cell.trim_ascii().to_vec();
            text.resize(length, b' ');
            *cell = text;
        }
    }

    fn widen(&mut self, length: usize) {
        if length <= usize::from(self.description[LENGTH]) {
            return;
        }
        self.description[LENGTH] = length as u8;
        self.cells
            .iter_mut()
            .for_each(|cell| cell.resize(length, b' '));
    }
}
