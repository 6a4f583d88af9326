//! What a file of polygons holds, before it is asked to be strips, zones or a boundary: `inspect` tells it.

use std::collections::HashSet;
use std::path::Path;

use checkstrip_model::Problem;
use geo::MultiPolygon;

use crate::FormatError;
use crate::polygon_file::{PolygonFile, crs_shown, grounds, read_drawn, read_polygons};
use crate::task_data::{TaskLog, TaskSet, Wanted};

/// What a file of polygons holds.
#[derive(Debug, Clone)]
pub struct PolygonContents {
    /// SHA-256 of the file's bytes, lower-case hexadecimal.
    pub sha256: String,
    /// The reference system of the file, in short.
    pub crs: String,
    /// The ground of each polygon, WGS 84 longitude and latitude, degrees.
    pub grounds: Vec<MultiPolygon<f64>>,
    /// The attributes.
    pub attributes: Vec<AttributeContents>,
    /// What was wrong with single features.
    pub problems: Vec<Problem>,
}

/// What one attribute of a file of polygons says.
#[derive(Debug, Clone, serde::Serialize)]
pub struct AttributeContents {
    /// Its name.
    pub name: String,
    /// Polygons without a value.
    pub missing: usize,
    /// How many values differ.
    pub distinct: usize,
    /// The first of them, at most twenty.
    pub values: Vec<String>,
}

/// Values of an attribute that are listed.
const LISTED: usize = 20;

/// Reads `path` as a file of polygons; `None` when it is none, so that it may be a log.
///
/// # Errors
/// When the file cannot be read, or an outline encloses no certain ground.
pub fn read_polygon_contents(path: &Path) -> Result<Option<PolygonContents>, FormatError> {
    let read = match TaskSet::open(path)? {
        Some(set) => match TaskLog::open(set) {
            Ok(_) => return Ok(None),
            Err(_) => task_polygons(path)?,
        },
        None => match read_polygons(path, "polygons") {
            Ok(read) => read,
            Err(error @ FormatError::Io { .. }) => return Err(error),
            Err(_) => return Ok(None),
        },
    };
    let PolygonFile {
        file,
        sha256,
        features,
    } = read;
    let grounds = grounds(&file, &features)?;
    let attributes = features.attribute_names.iter().map(|name| {
        let mut known = HashSet::new();
        let mut values = Vec::new();
        let mut missing = 0;
        for feature in &features.features {
            let Some(value) = feature.value(name) else {
                missing += 1;
                continue;
            };
            if known.insert(value.clone()) && values.len() < LISTED {
                values.push(value);
            }
        }
        AttributeContents {
            name: name.clone(),
            missing,
            distinct: known.len(),
            values,
        }
    });
    Ok(Some(PolygonContents {
        attributes: attributes.collect(),
        crs: crs_shown(&features),
        sha256,
        grounds,
        problems: features.problems,
    }))
}

/// The treatment zones of a set without time logs, or else the boundary of its field.
fn task_polygons(path: &Path) -> Result<PolygonFile, FormatError> {
    let read = |wanted| read_drawn(path, wanted, "polygons");
    match read(Wanted::Zones) {
        Err(no_zones) => read(Wanted::Boundary).map_err(|_| no_zones),
        zones => zones,
    }
}
