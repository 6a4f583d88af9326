//! Lines and outlines of polygons in GeoJSON.

use std::path::Path;

use checkstrip_model::Problem;
use checkstrip_spatial::crs::{CrsError, ToWgs84};
use checkstrip_spatial::local_plane::LocalPlane;
use geojson::{GeoJson, Geometry, GeometryValue, Position};

use super::picture::{bounds, shared};
use super::{Background, elsewhere};
use crate::geojson::{crs_name, json_problem};
use crate::{FormatError, file_bytes};

/// More corners than a page draws swiftly.
const MOST_CORNERS: usize = 200_000;
/// Collections lie in collections no deeper.
const DEEPEST: usize = 8;

pub(super) fn read(
    path: &Path,
    file: &str,
    plane: &LocalPlane,
    around: [f64; 4],
) -> Result<Background, FormatError> {
    let bytes = file_bytes::read(path)?;
    Ok(lines(file, &bytes, plane, around)?)
}

fn lines(
    file: &str,
    bytes: &[u8],
    plane: &LocalPlane,
    around: [f64; 4],
) -> Result<Background, Problem> {
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let document: GeoJson =
        serde_json::from_slice(bytes).map_err(|error| json_problem(file, bytes, &error))?;
    let (geometries, foreign): (Vec<Geometry>, _) = match document {
        GeoJson::FeatureCollection(collection) => {
            let features = collection.features.into_iter();
            let geometries = features.filter_map(|feature| feature.geometry);
            (geometries.collect(), collection.foreign_members)
        }
        GeoJson::Feature(feature) => (
            feature.geometry.into_iter().collect(),
            feature.foreign_members,
        ),
        GeoJson::Geometry(geometry) => {
            let foreign = geometry.foreign_members.clone();
            (vec![geometry], foreign)
        }
    };
    let mut lines = Vec::new();
    for geometry in &geometries {
        push(&geometry.value, DEEPEST, &mut lines);
    }
    lines.retain(|line| line.len() > 1);
    let corners: usize = lines.iter().map(Vec::len).sum();
    if corners > MOST_CORNERS {
        return Err(Problem::new(
            file,
            format!("expected at most {MOST_CORNERS} corners, found {corners}"),
        )
        .hint("cut it to the field, or simplify it"));
    }
    let crs = match foreign.as_ref().and_then(|members| members.get("crs")) {
        Some(crs) => crs_name(file, crs)?,
        None => None,
    };
    let failed = |error: CrsError| Problem::new(file, error.to_string());
    let mut points: Vec<[f64; 2]> = lines.concat();
    if let Some(definition) = crs {
        let way = ToWgs84::new(&definition).map_err(failed)?;
        way.convert(&mut points).map_err(failed)?;
    }
    plane.points_to_plane(&mut points).map_err(failed)?;
    let mut points = points.into_iter();
    for line in &mut lines {
        *line = points.by_ref().take(line.len()).collect();
    }
    lines.retain(|line| {
        let is_known = line.iter().flatten().all(|axis| axis.is_finite());
        let widened = |[west, south, east, north]: [f64; 4]| {
            // A line straight north has no width.
            [west - 1.0, south - 1.0, east + 1.0, north + 1.0]
        };
        let is_near = bounds(line).is_some_and(|own| shared(widened(own), around).is_some());
        is_known && is_near
    });
    match lines.is_empty() {
        true => Err(elsewhere(file)),
        false => Ok(Background::Lines(lines)),
    }
}

/// Appends the lines of a geometry.
fn push(geometry: &GeometryValue, depth: usize, lines: &mut Vec<Vec<[f64; 2]>>) {
    let line = |positions: &[Position]| -> Vec<[f64; 2]> {
        let corners = positions
            .iter()
            .filter_map(|position| match position.as_slice() {
                [x, y, ..] => Some([*x, *y]),
                _ => None,
            });
        corners.collect()
    };
    match geometry {
        GeometryValue::LineString { coordinates } => lines.push(line(coordinates)),
        GeometryValue::MultiLineString { coordinates } | GeometryValue::Polygon { coordinates } => {
            lines.extend(coordinates.iter().map(|ring| line(ring)));
        }
        GeometryValue::MultiPolygon { coordinates } => {
            lines.extend(coordinates.iter().flatten().map(|ring| line(ring)));
        }
        GeometryValue::GeometryCollection { geometries } if depth > 0 => {
            for geometry in geometries {
                push(&geometry.value, depth - 1, lines);
            }
        }
        _ => {}
    }
}
