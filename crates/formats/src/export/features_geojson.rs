//! Features as GeoJSON (RFC 7946), one on each line: as a collection, as lines alone, or as a text
//! sequence (RFC 8142).

use std::io::{self, Write};
use std::path::Path;

use serde_json::{Map, Value as Json, json};

use super::feature_source::{Drawn, FeatureBatch, FeatureSource, Value, WrittenColumn};
use super::write_atomically;
use crate::FormatError;
use crate::geojson::text_sequence::RECORD_SEPARATOR;

/// Writes `source`, in WGS 84, as one collection.
///
/// # Errors
/// When the file cannot be written.
pub(crate) fn write_features_geojson(
    path: &Path,
    source: &dyn FeatureSource,
) -> Result<(), FormatError> {
    write_atomically(path, |writer| {
        writer.write_all(b"{\"type\":\"FeatureCollection\",\"features\":[\n")?;
        let columns = &source.outline().columns;
        let mut is_first = true;
        source.each_batch(&mut |batch| {
            for record in 0..batch.records() {
                if !std::mem::take(&mut is_first) {
                    writer.write_all(b",\n")?;
                }
                write_feature(writer, columns, batch, record)?;
            }
            Ok(())
        })?;
        writer.write_all(b"\n]}\n")
    })
}

/// Writes `source`, in WGS 84, feature by feature; `with_separators` before each, else each alone on its
/// line.
///
/// # Errors
/// When the file cannot be written.
pub(crate) fn write_features_geojson_sequence(
    path: &Path,
    source: &dyn FeatureSource,
    with_separators: bool,
) -> Result<(), FormatError> {
    write_atomically(path, |writer| {
        let columns = &source.outline().columns;
        source.each_batch(&mut |batch| {
            for record in 0..batch.records() {
                if with_separators {
                    writer.write_all(&[RECORD_SEPARATOR])?;
                }
                write_feature(writer, columns, batch, record)?;
                writer.write_all(b"\n")?;
            }
            Ok(())
        })
    })
}

fn write_feature(
    writer: &mut (dyn Write + Send),
    columns: &[WrittenColumn],
    batch: &dyn FeatureBatch,
    record: usize,
) -> io::Result<()> {
    let mut properties = Map::new();
    for (at, column) in columns.iter().enumerate() {
        let value = match batch.value(at, record) {
            Value::Nothing => Json::Null,
            Value::Truth(value) => value.into(),
            Value::Whole(value) => value.into(),
            Value::Number(value) => value.into(),
            Value::Text(text) => text.into(),
        };
        properties.insert(column.name.clone(), value);
    }
    let geometry = match batch.drawn(record) {
        Drawn::Nothing => Json::Null,
        Drawn::Point(point) => json!({ "type": "Point", "coordinates": point }),
        Drawn::Polygons([only]) => json!({ "type": "Polygon", "coordinates": only }),
        Drawn::Polygons(several) => json!({ "type": "MultiPolygon", "coordinates": several }),
    };
    let feature = json!({ "type": "Feature", "geometry": geometry, "properties": properties });
    Ok(serde_json::to_writer(writer, &feature)?)
}
