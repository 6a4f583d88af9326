//! A cleaned log as GeoParquet 1.1: one row per record, the point as well-known binary, longitude
//! and latitude also as numbers for programs that know no geometry.

use std::io::{self, Write};
use std::path::Path;
use std::sync::Arc;

use checkstrip_model::{CleanLog, Column};
use parquet::basic::{Compression, LogicalType, Repetition, Type as PhysicalType};
use parquet::data_type::{ByteArray, ByteArrayType, DoubleType, Int32Type, Int64Type};
use parquet::errors::ParquetError;
use parquet::file::metadata::KeyValue;
use parquet::file::properties::WriterProperties;
use parquet::file::writer::{SerializedFileWriter, SerializedRowGroupWriter};
use parquet::schema::types::{ColumnPath, Type};

use super::columns::{ExportColumn, Values, columns};
use super::write_atomically;
use crate::FormatError;

/// Records per row group: what readers load at once.
const ROW_GROUP: usize = 131_072;

/// Bytes of a point in well-known binary: byte order, kind, two coordinates.
const WKB_POINT: usize = 21;

/// Writes `log` as GeoParquet: one row per record under canonical names and the column `geometry`
/// (WGS 84 longitude and latitude), null where there is no reading.
///
/// # Errors
/// When the file cannot be written.
pub fn write_cleaned_parquet(path: &Path, log: &CleanLog) -> Result<(), FormatError> {
    let columns = columns(log, true);
    write_atomically(path, |writer| {
        write(writer, log, &columns).map_err(|error| match error {
            ParquetError::External(source) => match source.downcast::<io::Error>() {
                Ok(error) => *error,
                Err(other) => io::Error::other(other),
            },
            other => io::Error::other(other),
        })
    })
}

fn write(
    writer: &mut (dyn Write + Send),
    log: &CleanLog,
    columns: &[ExportColumn<'_>],
) -> Result<(), ParquetError> {
    let schema = schema(columns)?;
    let mut properties = WriterProperties::builder()
        .set_compression(Compression::SNAPPY)
        .set_created_by(concat!("checkstrip ", env!("CARGO_PKG_VERSION")).to_owned())
        .set_dictionary_enabled(false)
        .set_key_value_metadata(Some(vec![KeyValue::new(
            "geo".to_owned(),
            geo_metadata(log),
        )]));
    for column in columns {
        // Names repeat; numbers seldom do, and a dictionary of them only costs time.
        if matches!(column.values, Values::Status(_) | Values::Labels(_)) {
            properties =
                properties.set_column_dictionary_enabled(ColumnPath::from(column.name), true);
        }
    }
    let properties = Arc::new(properties.build());
    let mut file = SerializedFileWriter::new(writer, schema, properties)?;
    let mut first = 0;
    while first < log.len() {
        let records = first..(first + ROW_GROUP).min(log.len());
        let mut group = file.next_row_group()?;
        for column in columns {
            write_column(&mut group, column, records.clone())?;
        }
        write_points(&mut group, log, records.clone())?;
        group.close()?;
        first = records.end;
    }
    file.close()?;
    Ok(())
}

fn schema(columns: &[ExportColumn<'_>]) -> Result<Arc<Type>, ParquetError> {
    let field = |name: &str, kind, repetition, logical| {
        Type::primitive_type_builder(name, kind)
            .with_repetition(repetition)
            .with_logical_type(logical)
            .build()
            .map(Arc::new)
    };
    let text = Some(LogicalType::String);
    let mut fields = Vec::new();
    for column in columns {
        let (kind, repetition, logical) = match column.values {
            Values::Record => (PhysicalType::INT64, Repetition::REQUIRED, None),
            Values::Pass(_) => (PhysicalType::INT32, Repetition::REQUIRED, None),
            Values::Status(_) => (PhysicalType::BYTE_ARRAY, Repetition::REQUIRED, text.clone()),
            Values::Labels(_) => (PhysicalType::BYTE_ARRAY, Repetition::OPTIONAL, text.clone()),
            Values::Numbers(..) | Values::NewArea(_) => {
                (PhysicalType::DOUBLE, Repetition::OPTIONAL, None)
            }
        };
        fields.push(field(column.name, kind, repetition, logical)?);
    }
    fields.push(field(
        "geometry",
        PhysicalType::BYTE_ARRAY,
        Repetition::OPTIONAL,
        None,
    )?);
    Type::group_type_builder("schema")
        .with_fields(fields)
        .build()
        .map(Arc::new)
}

/// The `geo` entry that GeoParquet 1.1 asks for; without a `crs` the points are in OGC:CRS84.
fn geo_metadata(log: &CleanLog) -> String {
    let extent = |column| {
        let numbers = log
            .log
            .numbers(column)
            .unwrap_or_default()
            .iter()
            .filter(|v| v.is_finite());
        numbers.fold(None, |extent: Option<(f64, f64)>, &value| {
            Some(extent.map_or((value, value), |(low, high)| {
                (low.min(value), high.max(value))
            }))
        })
    };
    let mut point = serde_json::json!({ "encoding": "WKB", "geometry_types": ["Point"] });
    if let (Some(lon), Some(lat)) = (extent(Column::Lon), extent(Column::Lat)) {
        point["bbox"] = serde_json::json!([lon.0, lat.0, lon.1, lat.1]);
    }
    serde_json::json!({
        "version": "1.1.0",
        "primary_column": "geometry",
        "columns": { "geometry": point },
    })
    .to_string()
}

type Group<'w, 'g> = SerializedRowGroupWriter<'g, &'w mut (dyn Write + Send)>;

fn write_column(
    group: &mut Group<'_, '_>,
    column: &ExportColumn<'_>,
    records: std::ops::Range<usize>,
) -> Result<(), ParquetError> {
    let Some(mut writer) = group.next_column()? else {
        return Ok(());
    };
    match column.values {
        Values::Record => {
            let values: Vec<i64> = records.map(|record| record as i64 + 1).collect();
            writer
                .typed::<Int64Type>()
                .write_batch(&values, None, None)?;
        }
        Values::Pass(pass) => {
            let values: Vec<i32> = pass[records]
                .iter()
                .map(|&pass| i32::try_from(pass).unwrap_or(i32::MAX))
                .collect();
            writer
                .typed::<Int32Type>()
                .write_batch(&values, None, None)?;
        }
        Values::Status(status) => {
            let values: Vec<ByteArray> = status[records]
                .iter()
                .map(|status| ByteArray::from(status.key()))
                .collect();
            writer
                .typed::<ByteArrayType>()
                .write_batch(&values, None, None)?;
        }
        Values::Labels(labels) => {
            let names: Vec<ByteArray> = labels
                .names
                .iter()
                .map(|name| ByteArray::from(name.as_str()))
                .collect();
            let named = |place: &u32| !labels.names[*place as usize].is_empty();
            let index = &labels.index[records];
            let present: Vec<i16> = index.iter().map(|place| i16::from(named(place))).collect();
            let values: Vec<ByteArray> = index
                .iter()
                .filter(|place| named(place))
                .map(|&place| names[place as usize].clone())
                .collect();
            writer
                .typed::<ByteArrayType>()
                .write_batch(&values, Some(&present), None)?;
        }
        Values::Numbers(..) | Values::NewArea(_) => {
            let all = records
                .filter_map(|record| column.number(record))
                .map(|(value, _)| value);
            let mut present = Vec::new();
            let mut values = Vec::new();
            for value in all {
                present.push(i16::from(value.is_finite()));
                if value.is_finite() {
                    values.push(value);
                }
            }
            writer
                .typed::<DoubleType>()
                .write_batch(&values, Some(&present), None)?;
        }
    }
    writer.close()
}

fn write_points(
    group: &mut Group<'_, '_>,
    log: &CleanLog,
    records: std::ops::Range<usize>,
) -> Result<(), ParquetError> {
    let Some(mut writer) = group.next_column()? else {
        return Ok(());
    };
    let lon = log.log.numbers(Column::Lon).unwrap_or_default();
    let lat = log.log.numbers(Column::Lat).unwrap_or_default();
    let mut present = Vec::new();
    let mut binary = Vec::new();
    for record in records {
        let point = lon.get(record).zip(lat.get(record));
        let point = point.filter(|(lon, lat)| lon.is_finite() && lat.is_finite());
        present.push(i16::from(point.is_some()));
        if let Some((lon, lat)) = point {
            // Byte order 1 is little-endian, kind 1 is a point.
            binary.extend_from_slice(&[1, 1, 0, 0, 0]);
            binary.extend_from_slice(&lon.to_le_bytes());
            binary.extend_from_slice(&lat.to_le_bytes());
        }
    }
    let points = binary.len() / WKB_POINT;
    let binary = ByteArray::from(binary);
    let values: Vec<ByteArray> = (0..points)
        .map(|point| binary.slice(point * WKB_POINT, WKB_POINT))
        .collect();
    writer
        .typed::<ByteArrayType>()
        .write_batch(&values, Some(&present), None)?;
    writer.close()
}
