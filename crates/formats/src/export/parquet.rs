//! Features as GeoParquet 1.1: one row per feature, its geometry as well-known binary. A cleaned log has
//! longitude and latitude also as numbers, for programs that know no geometry.

use std::io::{self, Write};
use std::ops::Range;
use std::path::Path;
use std::sync::Arc;

use checkstrip_model::CleanLog;
use parquet::basic::{Compression, LogicalType, Repetition, Type as PhysicalType};
use parquet::data_type::{BoolType, ByteArray, ByteArrayType, DataType, DoubleType, Int64Type};
use parquet::errors::ParquetError;
use parquet::file::metadata::KeyValue;
use parquet::file::properties::WriterProperties;
use parquet::file::writer::{
    SerializedColumnWriter, SerializedFileWriter, SerializedRowGroupWriter,
};
use parquet::schema::types::{ColumnPath, Type};

use super::feature_source::{
    CleanedFeatures, ColumnKind, Drawn, FeatureBatch, FeatureSource, Holds, Outline, Value,
};
use super::geopackage::free_name;
use super::write_atomically;
use crate::{FormatError, well_known_binary};

/// Records per row group: what readers load at once.
const ROW_GROUP: usize = 131_072;

/// Writes `log` as GeoParquet: one row per record under canonical names and the column `geometry`
/// (WGS 84 longitude and latitude), null where there is no reading.
///
/// # Errors
/// When the file cannot be written.
pub fn write_cleaned_parquet(path: &Path, log: &CleanLog) -> Result<(), FormatError> {
    write_parquet(path, &CleanedFeatures::new(log))
}

/// Writes `source` as GeoParquet, or as plain Parquet where nothing has a geometry.
///
/// # Errors
/// When the file cannot be written.
pub(crate) fn write_parquet(path: &Path, source: &dyn FeatureSource) -> Result<(), FormatError> {
    write_atomically(path, |writer| write(writer, source).map_err(as_io))
}

/// The error of the operating system behind what Parquet's writer says, where there is one.
fn as_io(error: ParquetError) -> io::Error {
    match error {
        ParquetError::External(source) => match source.downcast::<io::Error>() {
            Ok(error) => *error,
            Err(other) => io::Error::other(other),
        },
        other => io::Error::other(other),
    }
}

fn write(writer: &mut (dyn Write + Send), source: &dyn FeatureSource) -> Result<(), ParquetError> {
    let outline = source.outline();
    let names: Vec<&str> = outline.columns.iter().map(|c| c.name.as_str()).collect();
    let geometry = (outline.holds != Holds::Nothing).then(|| free_name("geometry", &names));
    let schema = schema(outline, geometry.as_deref())?;
    let metadata = geometry.map(|name| {
        let about = geo_metadata(outline, &name);
        vec![KeyValue::new("geo".to_owned(), about)]
    });
    let has_geometry = metadata.is_some();
    let mut properties = WriterProperties::builder()
        .set_compression(Compression::SNAPPY)
        .set_created_by(concat!("checkstrip ", env!("CARGO_PKG_VERSION")).to_owned())
        .set_dictionary_enabled(false)
        .set_key_value_metadata(metadata);
    for column in &outline.columns {
        // Texts repeat; numbers seldom do, and a dictionary of them only costs time.
        if column.kind == ColumnKind::Text {
            let path = ColumnPath::new(vec![column.name.clone()]);
            properties = properties.set_column_dictionary_enabled(path, true);
        }
    }
    let properties = Arc::new(properties.build());
    let mut file = SerializedFileWriter::new(writer, schema, properties)?;
    let mut write_batch = |batch: &dyn FeatureBatch| -> Result<(), ParquetError> {
        let mut first = 0;
        while first < batch.records() {
            let records = first..(first + ROW_GROUP).min(batch.records());
            let mut group = file.next_row_group()?;
            for (at, column) in outline.columns.iter().enumerate() {
                write_column(&mut group, batch, at, column.kind, records.clone())?;
            }
            if has_geometry {
                write_geometries(&mut group, batch, records.clone())?;
            }
            group.close()?;
            first = records.end;
        }
        Ok(())
    };
    source
        .each_batch(&mut |batch| write_batch(batch).map_err(as_io))
        .map_err(|error| ParquetError::External(Box::new(error)))?;
    file.close()?;
    Ok(())
}

fn schema(outline: &Outline, geometry: Option<&str>) -> Result<Arc<Type>, ParquetError> {
    let field = |name: &str, kind, logical| {
        Type::primitive_type_builder(name, kind)
            .with_repetition(Repetition::OPTIONAL)
            .with_logical_type(logical)
            .build()
            .map(Arc::new)
    };
    let mut fields = Vec::new();
    for column in &outline.columns {
        let (kind, logical) = match column.kind {
            ColumnKind::Truth => (PhysicalType::BOOLEAN, None),
            ColumnKind::Whole => (PhysicalType::INT64, None),
            ColumnKind::Number => (PhysicalType::DOUBLE, None),
            ColumnKind::Text => (PhysicalType::BYTE_ARRAY, Some(LogicalType::String)),
        };
        fields.push(field(&column.name, kind, logical)?);
    }
    if let Some(name) = geometry {
        fields.push(field(name, PhysicalType::BYTE_ARRAY, None)?);
    }
    Type::group_type_builder("schema")
        .with_fields(fields)
        .build()
        .map(Arc::new)
}

/// The `geo` entry that GeoParquet 1.1 asks for; without a `crs` coordinates are in OGC:CRS84.
fn geo_metadata(outline: &Outline, column: &str) -> String {
    let kinds: &[&str] = match outline.holds {
        Holds::Nothing => &[],
        Holds::Points if outline.extent.is_none() => &[],
        Holds::Points => &["Point"],
        Holds::Polygons => match (outline.several_parts, outline.single_parts) {
            (true, true) => &["MultiPolygon", "Polygon"],
            (true, false) => &["MultiPolygon"],
            (false, _) => &["Polygon"],
        },
    };
    let mut about = serde_json::json!({ "encoding": "WKB", "geometry_types": kinds });
    if let Some(extent) = outline.extent {
        about["bbox"] = serde_json::json!(extent);
    }
    if let Some(crs) = &outline.crs {
        about["crs"] = crs.projjson.clone();
    }
    if outline.holds == Holds::Polygons {
        about["orientation"] = "counterclockwise".into();
    }
    serde_json::json!({
        "version": "1.1.0",
        "primary_column": column,
        "columns": { column: about },
    })
    .to_string()
}

type Group<'w, 'g> = SerializedRowGroupWriter<'g, &'w mut (dyn Write + Send)>;

fn write_column(
    group: &mut Group<'_, '_>,
    batch: &dyn FeatureBatch,
    column: usize,
    kind: ColumnKind,
    records: Range<usize>,
) -> Result<(), ParquetError> {
    let Some(writer) = group.next_column()? else {
        return Ok(());
    };
    let values = records.map(|record| batch.value(column, record));
    match kind {
        ColumnKind::Truth => present::<BoolType>(
            writer,
            values.map(|value| match value {
                Value::Truth(truth) => Some(truth),
                _ => None,
            }),
        ),
        ColumnKind::Whole => present::<Int64Type>(
            writer,
            values.map(|value| match value {
                Value::Whole(whole) => Some(whole),
                _ => None,
            }),
        ),
        ColumnKind::Number => present::<DoubleType>(
            writer,
            values.map(|value| match value {
                Value::Number(number) => Some(number),
                _ => None,
            }),
        ),
        ColumnKind::Text => {
            // Texts repeat record after record: one that does is not copied again.
            let mut last = ByteArray::from("");
            present::<ByteArrayType>(
                writer,
                values.map(|value| match value {
                    Value::Text(text) => {
                        if last.data() != text.as_bytes() {
                            last = ByteArray::from(text);
                        }
                        Some(last.clone())
                    }
                    _ => None,
                }),
            )
        }
    }
}

/// Writes the values that there are.
fn present<T: DataType>(
    mut writer: SerializedColumnWriter<'_>,
    values: impl Iterator<Item = Option<T::T>>,
) -> Result<(), ParquetError> {
    let mut levels = Vec::new();
    let values: Vec<T::T> = values
        .inspect(|value| levels.push(i16::from(value.is_some())))
        .flatten()
        .collect();
    writer
        .typed::<T>()
        .write_batch(&values, Some(&levels), None)?;
    writer.close()
}

fn write_geometries(
    group: &mut Group<'_, '_>,
    batch: &dyn FeatureBatch,
    records: Range<usize>,
) -> Result<(), ParquetError> {
    let Some(writer) = group.next_column()? else {
        return Ok(());
    };
    // All geometries in one piece of memory, of which each is a part.
    let mut binary = Vec::new();
    let ends: Vec<Option<Range<usize>>> = records
        .map(|record| {
            let start = binary.len();
            match batch.drawn(record) {
                Drawn::Nothing => return None,
                Drawn::Point(point) => well_known_binary::push_point(&mut binary, point),
                Drawn::Polygons(polygons) => {
                    well_known_binary::push_polygons(&mut binary, polygons);
                }
            }
            Some(start..binary.len())
        })
        .collect();
    let binary = ByteArray::from(binary);
    let parts = ends
        .into_iter()
        .map(|part| part.map(|part| binary.slice(part.start, part.len())));
    present::<ByteArrayType>(writer, parts)
}
