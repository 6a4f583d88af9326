//! The attributes of FlatGeobuf features: the number of a column, then its value, in no certain order.

use ::flatgeobuf::{ColumnType, Feature, Header};

use crate::cell::Cell;
use crate::raw_table::RawTable;

/// The columns that a file declares.
#[derive(Default)]
pub(super) struct Properties {
    /// For each column its type and, when it is read, its place in the table.
    columns: Vec<(ColumnType, Option<usize>)>,
}

impl Properties {
    /// The columns of `header`, those that `is_needed` accepts to be read.
    pub(super) fn new(
        header: &Header<'_>,
        table: &mut RawTable,
        is_needed: &dyn Fn(&str) -> bool,
    ) -> Properties {
        let columns = header.columns().into_iter().flatten().map(|column| {
            let place = table.place(column.name(), table.headers.len());
            let is_read = column.type_() != ColumnType::Binary && is_needed(column.name());
            (column.type_(), place.filter(|_| is_read))
        });
        Properties {
            columns: columns.collect(),
        }
    }

    /// Puts the attributes of `feature` into `table` as those of `record`; `false` when they are
    /// damaged from some place on.
    pub(super) fn read(&self, feature: &Feature<'_>, record: usize, table: &mut RawTable) -> bool {
        let Some(properties) = feature.properties() else {
            return true;
        };
        let mut rest = properties.bytes();
        while !rest.is_empty() {
            let Some((place, cell)) = self.next(&mut rest) else {
                return false;
            };
            if let Some(place) = place
                && cell != Cell::Empty
            {
                table.set(place, record, cell);
            }
        }
        true
    }

    /// Takes one attribute off `rest`.
    fn next(&self, rest: &mut &[u8]) -> Option<(Option<usize>, Cell)> {
        let number = u16::from_le_bytes(take(rest)?);
        let &(kind, place) = self.columns.get(usize::from(number))?;
        let cell = match kind {
            ColumnType::Byte => Cell::Whole(i64::from(i8::from_le_bytes(take(rest)?))),
            ColumnType::UByte => Cell::Whole(i64::from(u8::from_le_bytes(take(rest)?))),
            ColumnType::Bool => Cell::Truth(take::<1>(rest)? != [0]),
            ColumnType::Short => Cell::Whole(i64::from(i16::from_le_bytes(take(rest)?))),
            ColumnType::UShort => Cell::Whole(i64::from(u16::from_le_bytes(take(rest)?))),
            ColumnType::Int => Cell::Whole(i64::from(i32::from_le_bytes(take(rest)?))),
            ColumnType::UInt => Cell::Whole(i64::from(u32::from_le_bytes(take(rest)?))),
            ColumnType::Long => Cell::Whole(i64::from_le_bytes(take(rest)?)),
            ColumnType::ULong => {
                let value = u64::from_le_bytes(take(rest)?);
                i64::try_from(value).map_or(Cell::Number(value as f64), Cell::Whole)
            }
            ColumnType::Float => number_cell(f64::from(f32::from_le_bytes(take(rest)?))),
            ColumnType::Double => number_cell(f64::from_le_bytes(take(rest)?)),
            ColumnType::String | ColumnType::Json | ColumnType::DateTime | ColumnType::Binary => {
                let length = usize::try_from(u32::from_le_bytes(take(rest)?)).ok()?;
                let (text, later) = rest.split_at_checked(length)?;
                *rest = later;
                match place {
                    Some(_) => Cell::text(&String::from_utf8_lossy(text)),
                    None => Cell::Empty,
                }
            }
            _ => return None,
        };
        Some((place, cell))
    }
}

/// What is no number is no reading.
fn number_cell(value: f64) -> Cell {
    match value.is_finite() {
        true => Cell::Number(value),
        false => Cell::Empty,
    }
}

/// Takes the first bytes off `rest`.
fn take<const N: usize>(rest: &mut &[u8]) -> Option<[u8; N]> {
    let (first, later) = rest.split_first_chunk::<N>()?;
    *rest = later;
    Some(*first)
}
