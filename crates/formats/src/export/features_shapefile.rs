//! Features as a Shapefile (*ESRI Shapefile Technical Description*, 1998), with an attribute table whose
//! numbers are written as text of fixed width.

use std::io::{self, Cursor};
use std::path::Path;

use shapefile::dbase::{FieldName, FieldValue, Record, TableWriterBuilder};
use shapefile::{Point, Polygon, PolygonRing, ShapeWriter};

use super::feature_source::{ColumnKind, Drawn, FeatureSource, Value};
use super::strips_shapefile::{WGS_84, cut, write_bundle};
use crate::FormatError;

/// Writes `source`, whose names have at most ten bytes, as the Shapefile `path`; returns what the
/// attribute table could not hold as it was.
///
/// # Errors
/// When a file cannot be written.
pub(crate) fn write_features_shapefile(
    path: &Path,
    source: &dyn FeatureSource,
) -> Result<Vec<String>, FormatError> {
    let failed = |error: io::Error| FormatError::writing(path, error);
    let mut changes = Vec::new();
    let dbf = attributes(source, &mut changes).map_err(failed)?;
    let (shp, shx) = shapes(source, &mut changes).map_err(failed)?;
    let prj = source.crs().map_or(WGS_84, |crs| &crs.description.esri_wkt);
    write_bundle(path, &shp, &shx, &dbf, prj)?;
    Ok(changes)
}

/// How a column stands in the table.
enum Field {
    Logical,
    /// Text that needs no more bytes than this.
    Text(u8),
    /// Width and decimals.
    Number(u8, u8),
}

/// Wider numbers are not read by all programs.
const WIDEST: usize = 32;
/// More decimals than any number has digits.
const MOST_DECIMALS: usize = 15;
/// Whole numbers beyond this lose digits as floating-point numbers, which the table is written from.
const LARGEST_WHOLE: u64 = 1 << 53;

fn field(source: &dyn FeatureSource, column: usize, changes: &mut Vec<String>) -> Field {
    let values = || (0..source.records()).map(move |record| source.value(column, record));
    let name = &source.columns()[column].name;
    let longest = || {
        values()
            .map(|value| as_text(value).len())
            .max()
            .unwrap_or(0)
    };
    match source.columns()[column].kind {
        ColumnKind::Truth => return Field::Logical,
        ColumnKind::Text => {}
        ColumnKind::Whole => {
            let is_exact =
                |value| !matches!(value, Value::Whole(w) if w.unsigned_abs() > LARGEST_WHOLE);
            if values().all(is_exact) {
                return Field::Number(longest().max(1) as u8, 0);
            }
            changes.push(format!(
                "column {name:?}: numbers of so many digits are written as text"
            ));
        }
        ColumnKind::Number => {
            let decimals = |value| match value {
                Value::Number(number) => {
                    let text = number.to_string();
                    text.split_once('.')
                        .map_or(0, |(_, decimals)| decimals.len())
                }
                _ => 0,
            };
            let decimals = values().map(decimals).max().unwrap_or(0).min(MOST_DECIMALS);
            let width = values().map(|value| match value {
                Value::Number(number) => format!("{number:.decimals$}").len(),
                _ => 1,
            });
            let width = width.max().unwrap_or(1);
            if width <= WIDEST {
                return Field::Number(width as u8, decimals as u8);
            }
            changes.push(format!(
                "column {name:?}: numbers of such a size are written as text"
            ));
        }
    }
    let too_long = values().filter(|value| cut(as_text(*value)).1).count();
    if too_long > 0 {
        changes.push(format!(
            "column {name:?}: {too_long} texts of more than 254 bytes are cut off there"
        ));
    }
    Field::Text(longest().clamp(1, 254) as u8)
}

fn as_text(value: Value<'_>) -> String {
    match value {
        Value::Nothing => String::new(),
        Value::Truth(value) => value.to_string(),
        Value::Whole(value) => value.to_string(),
        Value::Number(value) => value.to_string(),
        Value::Text(text) => text.to_owned(),
    }
}

fn attributes(source: &dyn FeatureSource, changes: &mut Vec<String>) -> io::Result<Vec<u8>> {
    /// A table needs a column.
    const NUMBER: &str = "number";
    let mut table = TableWriterBuilder::new();
    let mut fields = Vec::new();
    for (at, column) in source.columns().iter().enumerate() {
        let name = FieldName::try_from(column.name.as_str()).map_err(io::Error::other)?;
        let field = field(source, at, changes);
        table = match field {
            Field::Logical => table.add_logical_field(name),
            Field::Text(width) => table.add_character_field(name, width),
            Field::Number(width, decimals) => table.add_numeric_field(name, width, decimals),
        };
        fields.push(field);
    }
    if fields.is_empty() {
        let name = FieldName::try_from(NUMBER).map_err(io::Error::other)?;
        table = table.add_numeric_field(name, 10, 0);
        changes.push(format!(
            "the table must have a column: {NUMBER:?} numbers the features"
        ));
    }
    let mut dbf = Cursor::new(Vec::new());
    let mut writer = table.build_with_dest(&mut dbf);
    for record in 0..source.records() {
        let mut row = Record::default();
        for (at, field) in fields.iter().enumerate() {
            let value = source.value(at, record);
            let value = match field {
                Field::Logical => FieldValue::Logical(match value {
                    Value::Truth(truth) => Some(truth),
                    _ => None,
                }),
                Field::Text(_) => FieldValue::Character(match value {
                    Value::Nothing => None,
                    value => Some(cut(as_text(value)).0),
                }),
                Field::Number(..) => FieldValue::Numeric(match value {
                    Value::Whole(whole) => Some(whole as f64),
                    Value::Number(number) => Some(number),
                    _ => None,
                }),
            };
            row.insert(source.columns()[at].name.clone(), value);
        }
        if fields.is_empty() {
            let number = FieldValue::Numeric(Some(record as f64 + 1.0));
            row.insert(NUMBER.to_owned(), number);
        }
        writer.write_record(&row).map_err(io::Error::other)?;
    }
    writer.finalize().map_err(io::Error::other)?;
    drop(writer);
    Ok(dbf.into_inner())
}

/// The shapes and their index.
fn shapes(source: &dyn FeatureSource, changes: &mut Vec<String>) -> io::Result<(Vec<u8>, Vec<u8>)> {
    let (mut shp, mut shx) = (Cursor::new(Vec::new()), Cursor::new(Vec::new()));
    let mut writer = ShapeWriter::with_shx(&mut shp, &mut shx);
    let mut without = 0;
    for record in 0..source.records() {
        match source.drawn(record) {
            Drawn::Nothing => {
                // Within a file of points or polygons the library writes no empty shape.
                without += 1;
                writer.write_shape(&Point::new(f64::NAN, f64::NAN))
            }
            Drawn::Point([x, y]) => writer.write_shape(&Point::new(x, y)),
            Drawn::Polygons(polygons) => {
                let points = |ring: &Vec<[f64; 2]>| -> Vec<Point> {
                    ring.iter().map(|&[x, y]| Point::new(x, y)).collect()
                };
                let rings = polygons.iter().flat_map(|rings| {
                    rings.iter().enumerate().map(|(at, ring)| match at {
                        0 => PolygonRing::Outer(points(ring)),
                        _ => PolygonRing::Inner(points(ring)),
                    })
                });
                writer.write_shape(&Polygon::with_rings(rings.collect()))
            }
        }
        .map_err(io::Error::other)?;
    }
    writer.finalize().map_err(io::Error::other)?;
    drop(writer);
    if without > 0 {
        changes.push(format!(
            "{without} features without a place have an empty point"
        ));
    }
    Ok((shp.into_inner(), shx.into_inner()))
}
