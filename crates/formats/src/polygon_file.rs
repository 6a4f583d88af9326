//! A file of polygons, whichever format it came in: its features, and their ground in WGS 84
//! longitude and latitude. Strips, zones and boundaries are read through it.

use std::path::Path;

use checkstrip_model::Problem;
use checkstrip_spatial::crs::ToWgs84;
use geo::{Coord, CoordsIter, LineString, MultiPolygon};

use crate::feature::{Feature, FeatureFile};
use crate::geopackage::Wanted;
use crate::ground::ground;
use crate::kind::{self, Kind, Opened};
use crate::raw_table::short_name;
use crate::shapefile::Bundle;
use crate::task_data::{self, TaskSet};
use crate::{FormatError, file_bytes, flatgeobuf, geojson, geopackage, geoparquet, shapefile};

/// What a file of polygons holds.
pub(crate) struct PolygonFile {
    /// The file as given.
    pub(crate) file: String,
    /// SHA-256 of its bytes, lower-case hexadecimal.
    pub(crate) sha256: String,
    /// Its features, in its own coordinates.
    pub(crate) features: FeatureFile,
}

/// Reads polygons in whichever form they come: of task data those that are `of_task`, of any other file as
/// [`read_polygons`].
///
/// # Errors
/// As [`read_polygons`], and where task data holds none of them.
pub(crate) fn read_drawn(
    given: &Path,
    of_task: task_data::Wanted,
    what: &str,
) -> Result<PolygonFile, FormatError> {
    match TaskSet::open(given)? {
        Some(set) => Ok(set.polygons(of_task)?),
        None => read_polygons(given, what),
    }
}

/// Reads GeoJSON (also in gzip), a Shapefile (also zipped), GeoPackage (`field.gpkg:layer` where
/// several layers fit), GeoParquet or FlatGeobuf; `what` names the polygons in messages.
///
/// # Errors
/// When the file cannot be read or holds something else than polygons.
pub(crate) fn read_polygons(given: &Path, what: &str) -> Result<PolygonFile, FormatError> {
    let Opened {
        file,
        path,
        layer,
        bytes,
        found,
    } = kind::open(given)?;
    let sha256 = file_bytes::sha256(&bytes);
    let every = |_: &str| true;
    let features = match found.kind {
        Kind::GeoJson | Kind::GeoJsonSequence => {
            let read = match found.kind {
                Kind::GeoJson => geojson::polygons::read,
                _ => geojson::text_sequence::read_polygons,
            };
            match found.gzip {
                true => read(&file, &file_bytes::gunzip(&file, &bytes)?)?,
                false => read(&file, &bytes)?,
            }
        }
        Kind::Shapefile => shapefile::read_polygons(&file, &Bundle::beside(&path, bytes)?)?,
        Kind::ZippedShapefile => shapefile::read_polygons(&file, &Bundle::in_zip(&file, &bytes)?)?,
        Kind::GeoPackage => {
            let layer = layer.as_deref();
            geopackage::read(&path, &bytes, layer, Wanted::Polygons, &every)?
                .into_polygons(&file)?
        }
        Kind::GeoParquet => geoparquet::read(&file, bytes)?.into_polygons(&file)?,
        Kind::FlatGeobuf => flatgeobuf::read(&file, &bytes, &every)?.into_polygons(&file)?,
        Kind::Delimited => {
            return Err(
                Problem::new(file, "expected polygons, found delimited text")
                    .hint(format!(
                        "save {what} as GeoJSON (.geojson), GeoPackage (.gpkg) or as a Shapefile \
                         (.shp, .zip)"
                    ))
                    .into(),
            );
        }
    };
    Ok(PolygonFile {
        file,
        sha256,
        features,
    })
}

/// The reference system of a file, as short as it can be named.
pub(crate) fn crs_shown(features: &FeatureFile) -> String {
    match &features.crs {
        Some(definition) => short_name(definition),
        None => "WGS 84".to_owned(),
    }
}

/// The ground of every feature in WGS 84 longitude and latitude, degrees.
///
/// # Errors
/// When a feature encloses no certain ground, the reference system is not known or a corner lies
/// outside it.
pub(crate) fn grounds(
    file: &str,
    features: &FeatureFile,
) -> Result<Vec<MultiPolygon<f64>>, Problem> {
    let way = match &features.crs {
        Some(definition) => {
            Some(ToWgs84::new(definition).map_err(|error| Problem::new(file, error.to_string()))?)
        }
        None => None,
    };
    let is_degrees = way.as_ref().is_none_or(ToWgs84::is_identity);
    let mut grounds = Vec::with_capacity(features.features.len());
    for feature in &features.features {
        if is_degrees {
            check_degrees(file, feature)?;
        }
        grounds.push(ground(file, feature)?);
    }
    if let Some(way) = way.filter(|way| !way.is_identity()) {
        convert(file, &way, &features.features, &mut grounds)?;
    }
    Ok(grounds)
}

fn check_degrees(file: &str, feature: &Feature) -> Result<(), Problem> {
    let outside = feature
        .polygons
        .iter()
        .flatten()
        .flatten()
        .find(|[lon, lat]| lon.abs() > 180.0 || lat.abs() > 90.0);
    let Some([x, y]) = outside else { return Ok(()) };
    let hint = if x.abs() <= 90.0 && y.abs() <= 180.0 {
        "longitude comes first: swap the two numbers of every position"
    } else {
        "they look like metres of a map projection: give a \"crs\" in the file, export it in WGS 84, \
         or use a Shapefile with its .prj"
    };
    let message = format!("expected longitude and latitude in degrees, found {x}, {y}");
    Err(Problem::new(file, message).at_row(feature.row).hint(hint))
}

/// Converts all grounds to longitude and latitude, in one go.
fn convert(
    file: &str,
    way: &ToWgs84,
    features: &[Feature],
    grounds: &mut [MultiPolygon<f64>],
) -> Result<(), Problem> {
    let mut points: Vec<[f64; 2]> = grounds
        .iter()
        .flat_map(CoordsIter::coords_iter)
        .map(|corner| [corner.x, corner.y])
        .collect();
    way.convert(&mut points)
        .map_err(|error| Problem::new(file, error.to_string()))?;
    // Corners are put back in the order in which they were collected.
    let mut converted = points.into_iter();
    let mut put_back = |ring: &mut LineString<f64>| {
        for (corner, [x, y]) in ring.0.iter_mut().zip(&mut converted) {
            *corner = Coord { x, y };
        }
    };
    for (ground, feature) in grounds.iter_mut().zip(features) {
        for polygon in &mut ground.0 {
            polygon.exterior_mut(&mut put_back);
            polygon.interiors_mut(|rings| rings.iter_mut().for_each(&mut put_back));
        }
        if ground
            .coords_iter()
            .any(|corner| !(corner.x + corner.y).is_finite())
        {
            return Err(
                Problem::new(file, "a corner lies outside the file's reference system")
                    .at_row(feature.row)
                    .hint("check that the file names the reference system it was drawn in"),
            );
        }
    }
    Ok(())
}
