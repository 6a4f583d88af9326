//! Strips as GeoJSON polygons.

use checkstrip_model::Problem;
use geojson::{GeoJson, GeometryValue, Position};
use serde_json::Value;

use super::{crs_name, json_problem};
use crate::cell::Cell;
use crate::feature::{Feature, FeatureFile};

/// The polygons of the GeoJSON text `bytes`.
///
/// # Errors
/// When the text is no GeoJSON, or a feature is no polygon.
pub(crate) fn read(file: &str, bytes: &[u8]) -> Result<FeatureFile, Problem> {
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let document: GeoJson =
        serde_json::from_slice(bytes).map_err(|error| json_problem(file, bytes, &error))?;
    let (features, foreign) = match document {
        GeoJson::FeatureCollection(collection) => (collection.features, collection.foreign_members),
        GeoJson::Feature(feature) => {
            let foreign = feature.foreign_members.clone();
            (vec![feature], foreign)
        }
        GeoJson::Geometry(_) => {
            return Err(
                Problem::new(file, "expected GeoJSON features, found a bare geometry")
                    .hint("strips are features: polygons with the attribute \"treatment\""),
            );
        }
    };
    let crs = match foreign.as_ref().and_then(|members| members.get("crs")) {
        Some(crs) => crs_name(file, crs)?,
        None => None,
    };
    let mut read = FeatureFile {
        crs,
        ..FeatureFile::default()
    };
    for (at, feature) in features.into_iter().enumerate() {
        push_feature(file, at as u32 + 1, feature, &mut read)?;
    }
    Ok(read)
}

/// Adds feature number `row` to `read`.
///
/// # Errors
/// When it is no polygon.
pub(super) fn push_feature(
    file: &str,
    row: u32,
    feature: geojson::Feature,
    read: &mut FeatureFile,
) -> Result<(), Problem> {
    let polygons = match feature.geometry.map(|geometry| geometry.value) {
        Some(GeometryValue::Polygon { coordinates }) => vec![rings(file, row, &coordinates)?],
        Some(GeometryValue::MultiPolygon { coordinates }) => coordinates
            .iter()
            .map(|polygon| rings(file, row, polygon))
            .collect::<Result<_, _>>()?,
        other => {
            let found = other.map_or("no geometry", |geometry| geometry.type_name());
            return Err(Problem::new(
                file,
                format!("expected a Polygon or MultiPolygon, found {found}"),
            )
            .at_row(row)
            .hint("draw the strip as an area, or take the feature out of the file"));
        }
    };
    let mut attributes = Vec::new();
    for (name, value) in feature.properties.into_iter().flatten() {
        if !read.attribute_names.contains(&name) {
            read.attribute_names.push(name.clone());
        }
        let value = match value {
            Value::String(text) => Cell::text(&text),
            Value::Number(number) => match number.as_i64() {
                Some(whole) => Cell::Whole(whole),
                None => Cell::Number(number.as_f64().unwrap_or(f64::NAN)),
            },
            Value::Bool(truth) => Cell::Truth(truth),
            Value::Null => Cell::Empty,
            Value::Array(_) | Value::Object(_) => Cell::text(&value.to_string()),
        };
        if value != Cell::Empty {
            attributes.push((name, value));
        }
    }
    read.features.push(Feature {
        row,
        polygons,
        attributes,
    });
    Ok(())
}

fn rings(file: &str, row: u32, polygon: &[Vec<Position>]) -> Result<Vec<Vec<[f64; 2]>>, Problem> {
    let position = |position: &Position| match position.as_slice() {
        [x, y, ..] => Ok([*x, *y]),
        _ => Err(Problem::new(file, "a position has fewer than two numbers")
            .at_row(row)
            .hint("write every position as [longitude, latitude]")),
    };
    polygon
        .iter()
        .map(|ring| ring.iter().map(position).collect())
        .collect()
}
