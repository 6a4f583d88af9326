//! The values of one column of a row group, as cells.

use jiff::{SignedDuration, Timestamp, civil};
use parquet::basic::{ConvertedType, LogicalType, TimeUnit, Type};
use parquet::column::reader::{ColumnReader, ColumnReaderImpl};
use parquet::data_type::{ByteArray, DataType};
use parquet::errors::{ParquetError, Result};
use parquet::schema::types::ColumnDescriptor;

use crate::cell::Cell;

/// Values decoded at a time.
const BATCH: usize = 8192;

/// How the stored values of a column are meant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum CellReader {
    Truth,
    Whole,
    /// Whole numbers that are never negative.
    Unsigned,
    /// Whole numbers to be multiplied.
    Scaled(f64),
    Number,
    Text,
    /// Days from 1970-01-01.
    Date,
    /// Parts of a second from 1970-01-01: how many make a second, and whether in UTC.
    Moment(i64, bool),
}

impl CellReader {
    /// How `leaf` is read; `None` when its values are no numbers and no text.
    pub(super) fn of(leaf: &ColumnDescriptor) -> Option<CellReader> {
        let per_second = |unit: &TimeUnit| match unit {
            TimeUnit::MILLIS => 1_000,
            TimeUnit::MICROS => 1_000_000,
            TimeUnit::NANOS => 1_000_000_000,
        };
        let scaled = |scale: i32| CellReader::Scaled(0.1_f64.powi(scale));
        Some(match leaf.physical_type() {
            Type::BOOLEAN => CellReader::Truth,
            Type::FLOAT | Type::DOUBLE => CellReader::Number,
            Type::INT32 | Type::INT64 => match (leaf.logical_type_ref(), leaf.converted_type()) {
                (Some(LogicalType::Timestamp(time)), _) => {
                    CellReader::Moment(per_second(&time.unit), time.is_adjusted_to_u_t_c)
                }
                (Some(LogicalType::Date), _) | (None, ConvertedType::DATE) => CellReader::Date,
                (Some(LogicalType::Decimal(decimal)), _) => scaled(decimal.scale),
                (Some(LogicalType::Integer(whole)), _) if !whole.is_signed => CellReader::Unsigned,
                (None, ConvertedType::TIMESTAMP_MILLIS) => CellReader::Moment(1_000, true),
                (None, ConvertedType::TIMESTAMP_MICROS) => CellReader::Moment(1_000_000, true),
                (None, ConvertedType::DECIMAL) => scaled(leaf.type_scale()),
                (
                    None,
                    ConvertedType::UINT_8
                    | ConvertedType::UINT_16
                    | ConvertedType::UINT_32
                    | ConvertedType::UINT_64,
                ) => CellReader::Unsigned,
                _ => CellReader::Whole,
            },
            Type::BYTE_ARRAY => match (leaf.logical_type_ref(), leaf.converted_type()) {
                (Some(LogicalType::String | LogicalType::Enum | LogicalType::Json), _)
                | (None, ConvertedType::UTF8 | ConvertedType::ENUM | ConvertedType::JSON) => {
                    CellReader::Text
                }
                _ => return None,
            },
            Type::INT96 | Type::FIXED_LEN_BYTE_ARRAY => return None,
        })
    }

    /// Hands over the cells of the next `records` records of `column`, each with its record from 0.
    pub(super) fn read(
        self,
        column: &mut ColumnReader,
        leaf: &ColumnDescriptor,
        records: usize,
        mut push: impl FnMut(usize, Cell) -> Result<()>,
    ) -> Result<()> {
        let is_32 = leaf.physical_type() == Type::INT32;
        match column {
            ColumnReader::BoolColumnReader(column) => each(column, leaf, records, |at, &value| {
                push(at, Cell::Truth(value))
            }),
            ColumnReader::Int32ColumnReader(column) => each(column, leaf, records, |at, &value| {
                push(at, self.whole(i64::from(value), is_32))
            }),
            ColumnReader::Int64ColumnReader(column) => each(column, leaf, records, |at, &value| {
                push(at, self.whole(value, is_32))
            }),
            ColumnReader::ByteArrayColumnReader(_) => texts(column, leaf, records, |at, text| {
                push(at, Cell::text(&String::from_utf8_lossy(text)))
            }),
            other => {
                let mut pushed = Ok(());
                numbers(other, leaf, records, |at, value| {
                    if value.is_finite() && pushed.is_ok() {
                        pushed = push(at, Cell::Number(value));
                    }
                })?;
                pushed
            }
        }
    }

    fn whole(self, value: i64, is_32: bool) -> Cell {
        match self {
            CellReader::Scaled(factor) => Cell::Number(value as f64 * factor),
            CellReader::Unsigned if is_32 => Cell::Whole(i64::from(value as u32)),
            CellReader::Unsigned if value < 0 => Cell::Number(value as u64 as f64),
            CellReader::Date => {
                let day = civil::date(1970, 1, 1)
                    .checked_add(SignedDuration::from_hours(value.saturating_mul(24)));
                day.map_or(Cell::Empty, |day| Cell::text(&day.to_string()))
            }
            CellReader::Moment(per_second, in_utc) => moment(value, per_second, in_utc),
            _ => Cell::Whole(value),
        }
    }
}

/// A moment after ISO 8601, with its offset where it is in UTC.
fn moment(value: i64, per_second: i64, in_utc: bool) -> Cell {
    let nanoseconds = i128::from(value) * i128::from(1_000_000_000 / per_second);
    match Timestamp::from_nanosecond(nanoseconds) {
        Ok(moment) => {
            let text = moment.to_string();
            Cell::text(if in_utc {
                &text
            } else {
                text.trim_end_matches('Z')
            })
        }
        Err(_) => Cell::Empty,
    }
}

/// Hands over the numbers of the next `records` records of a column of floating-point numbers.
pub(super) fn numbers(
    column: &mut ColumnReader,
    leaf: &ColumnDescriptor,
    records: usize,
    mut push: impl FnMut(usize, f64),
) -> Result<()> {
    match column {
        ColumnReader::FloatColumnReader(column) => each(column, leaf, records, |at, &value| {
            push(at, f64::from(value));
            Ok(())
        }),
        ColumnReader::DoubleColumnReader(column) => each(column, leaf, records, |at, &value| {
            push(at, value);
            Ok(())
        }),
        _ => Err(not_as_said()),
    }
}

/// Hands over the bytes of the next `records` records of a column of texts.
pub(super) fn texts(
    column: &mut ColumnReader,
    leaf: &ColumnDescriptor,
    records: usize,
    mut push: impl FnMut(usize, &[u8]) -> Result<()>,
) -> Result<()> {
    match column {
        ColumnReader::ByteArrayColumnReader(column) => {
            each(column, leaf, records, |at, value: &ByteArray| {
                push(at, value.data())
            })
        }
        _ => Err(not_as_said()),
    }
}

pub(super) fn not_as_said() -> ParquetError {
    ParquetError::General("the column is not of the type that it says".to_owned())
}

/// Whether the next `records` records of `column`, read as `cells`, are plain numbers: then `push` has got
/// all of them, `NaN` where there is none, in pieces.
pub(super) fn plain_numbers(
    column: &mut ColumnReader,
    cells: CellReader,
    leaf: &ColumnDescriptor,
    records: usize,
    mut push: impl FnMut(&[f64]),
) -> Result<bool> {
    let mut piece = Vec::with_capacity(BATCH);
    match (column, cells) {
        (ColumnReader::DoubleColumnReader(column), CellReader::Number) => {
            batches(column, leaf, records, |values, levels| {
                spread(values, levels, leaf, &mut piece, |value| *value);
                push(&piece);
                Ok(())
            })?;
        }
        (ColumnReader::FloatColumnReader(column), CellReader::Number) => {
            batches(column, leaf, records, |values, levels| {
                spread(values, levels, leaf, &mut piece, |value| f64::from(*value));
                push(&piece);
                Ok(())
            })?;
        }
        (ColumnReader::Int64ColumnReader(column), CellReader::Whole) => {
            batches(column, leaf, records, |values, levels| {
                spread(values, levels, leaf, &mut piece, |value| *value as f64);
                push(&piece);
                Ok(())
            })?;
        }
        (ColumnReader::Int32ColumnReader(column), CellReader::Whole) => {
            batches(column, leaf, records, |values, levels| {
                spread(values, levels, leaf, &mut piece, |value| f64::from(*value));
                push(&piece);
                Ok(())
            })?;
        }
        _ => return Ok(false),
    }
    Ok(true)
}

/// Values to the records that have one; what is no finite number is `NaN`.
fn spread<T>(
    values: &[T],
    levels: &[i16],
    leaf: &ColumnDescriptor,
    piece: &mut Vec<f64>,
    number: impl Fn(&T) -> f64,
) {
    let finite = |value: &T| match number(value) {
        value if value.is_finite() => value,
        _ => f64::NAN,
    };
    piece.clear();
    if levels.len() <= values.len() {
        piece.extend(values.iter().map(finite));
        return;
    }
    let mut values = values.iter();
    piece.extend(
        levels
            .iter()
            .map(|&level| match level == leaf.max_def_level() {
                true => values.next().map_or(f64::NAN, finite),
                false => f64::NAN,
            }),
    );
}

/// Hands over every value of the next `records` records that is not null, with its record from 0.
fn each<T: DataType>(
    column: &mut ColumnReaderImpl<T>,
    leaf: &ColumnDescriptor,
    records: usize,
    mut push: impl FnMut(usize, &T::T) -> Result<()>,
) -> Result<()> {
    let mut first = 0;
    batches(column, leaf, records, |values, levels| {
        if levels.len() <= values.len() {
            for (at, value) in values.iter().enumerate() {
                push(first + at, value)?;
            }
            first += values.len();
            return Ok(());
        }
        let mut values = values.iter();
        for (at, &level) in levels.iter().enumerate() {
            if level == leaf.max_def_level() {
                push(first + at, values.next().ok_or_else(not_as_said)?)?;
            }
        }
        first += levels.len();
        Ok(())
    })
}

/// Hands over the next `records` records in pieces: the values that there are, and for each record a level,
/// the highest where it has a value; no levels where every record has one.
fn batches<T: DataType>(
    column: &mut ColumnReaderImpl<T>,
    leaf: &ColumnDescriptor,
    records: usize,
    mut push: impl FnMut(&[T::T], &[i16]) -> Result<()>,
) -> Result<()> {
    let (mut values, mut levels) = (Vec::new(), Vec::new());
    let mut first = 0;
    while first < records {
        values.clear();
        levels.clear();
        let wanted = BATCH.min(records - first);
        let (read, _, _) = column.read_records(wanted, Some(&mut levels), None, &mut values)?;
        if read == 0 || read > wanted {
            return Err(ParquetError::EOF(format!(
                "{records} rows are said to be there, {first} are"
            )));
        }
        let said = if leaf.max_def_level() == 0 { 0 } else { read };
        if levels.len() != said || (said == 0 && values.len() != read) || values.len() > read {
            return Err(not_as_said());
        }
        push(&values, &levels)?;
        first += read;
    }
    Ok(())
}
