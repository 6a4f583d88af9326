//! Features as a Shapefile (*ESRI Shapefile Technical Description*, 1998), with an attribute table whose
//! numbers are written as text of fixed width.

use std::io::{self, Cursor};
use std::path::Path;

use shapefile::dbase::{FieldName, FieldValue, Record, TableWriterBuilder};
use shapefile::{Point, Polygon, PolygonRing, ShapeWriter};

use super::feature_source::{ColumnKind, Drawn, FeatureSource, Outline, Value};
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
    let prj = (source.outline().crs.as_ref()).map_or(WGS_84, |crs| &crs.description.esri_wkt);
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

/// What the values of a column need.
#[derive(Clone, Default)]
struct Need {
    /// Bytes of the longest one as text.
    longest: usize,
    decimals: usize,
    /// Bytes of the longest number with so many decimals.
    width: usize,
    /// A whole number has too many digits.
    is_inexact: bool,
    /// Texts that are cut.
    too_long: usize,
}

/// What every column needs.
fn needs(source: &dyn FeatureSource) -> io::Result<Vec<Need>> {
    let columns = source.outline().columns.len();
    let mut needs = vec![Need::default(); columns];
    let mut each = |add: fn(&mut Need, Value<'_>)| {
        source.each_batch(&mut |batch| {
            for record in 0..batch.records() {
                for (at, need) in needs.iter_mut().enumerate() {
                    add(need, batch.value(at, record));
                }
            }
            Ok(())
        })
    };
    each(|need, value| {
        let text = as_text(value);
        need.longest = need.longest.max(text.len());
        match value {
            Value::Whole(whole) => need.is_inexact |= whole.unsigned_abs() > LARGEST_WHOLE,
            Value::Number(_) => {
                let decimals = text
                    .split_once('.')
                    .map_or(0, |(_, decimals)| decimals.len());
                need.decimals = need.decimals.max(decimals.min(MOST_DECIMALS));
            }
            Value::Nothing | Value::Truth(_) | Value::Text(_) => {}
        }
        need.too_long += usize::from(cut(text).1);
    })?;
    each(|need, value| {
        let width = match value {
            Value::Number(number) => format!("{number:.*}", need.decimals).len(),
            _ => 1,
        };
        need.width = need.width.max(width);
    })?;
    Ok(needs)
}

fn field(outline: &Outline, column: usize, need: &Need, changes: &mut Vec<String>) -> Field {
    let name = &outline.columns[column].name;
    match outline.columns[column].kind {
        ColumnKind::Truth => return Field::Logical,
        ColumnKind::Text => {}
        ColumnKind::Whole if !need.is_inexact => {
            return Field::Number(need.longest.max(1) as u8, 0);
        }
        ColumnKind::Whole => changes.push(format!(
            "column {name:?}: numbers of so many digits are written as text"
        )),
        ColumnKind::Number if need.width <= WIDEST => {
            return Field::Number(need.width.max(1) as u8, need.decimals as u8);
        }
        ColumnKind::Number => changes.push(format!(
            "column {name:?}: numbers of such a size are written as text"
        )),
    }
    if need.too_long > 0 {
        changes.push(format!(
            "column {name:?}: {} texts of more than 254 bytes are cut off there",
            need.too_long
        ));
    }
    Field::Text(need.longest.clamp(1, 254) as u8)
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
    let outline = source.outline();
    let needs = needs(source)?;
    for (at, column) in outline.columns.iter().enumerate() {
        let name = FieldName::try_from(column.name.as_str()).map_err(io::Error::other)?;
        let field = field(outline, at, &needs[at], changes);
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
    let mut number = 0;
    source.each_batch(&mut |batch| {
        for record in 0..batch.records() {
            let mut row = Record::default();
            for (at, field) in fields.iter().enumerate() {
                let value = batch.value(at, record);
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
                row.insert(outline.columns[at].name.clone(), value);
            }
            if fields.is_empty() {
                number += 1;
                let number = FieldValue::Numeric(Some(f64::from(number)));
                row.insert(NUMBER.to_owned(), number);
            }
            writer.write_record(&row).map_err(io::Error::other)?;
        }
        Ok(())
    })?;
    writer.finalize().map_err(io::Error::other)?;
    drop(writer);
    Ok(dbf.into_inner())
}

/// The shapes and their index.
fn shapes(source: &dyn FeatureSource, changes: &mut Vec<String>) -> io::Result<(Vec<u8>, Vec<u8>)> {
    let (mut shp, mut shx) = (Cursor::new(Vec::new()), Cursor::new(Vec::new()));
    let mut writer = ShapeWriter::with_shx(&mut shp, &mut shx);
    let mut without = 0;
    source.each_batch(&mut |batch| {
        for record in 0..batch.records() {
            match batch.drawn(record) {
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
        Ok(())
    })?;
    writer.finalize().map_err(io::Error::other)?;
    drop(writer);
    if without > 0 {
        changes.push(format!(
            "{without} features without a place have an empty point"
        ));
    }
    Ok((shp.into_inner(), shx.into_inner()))
}
