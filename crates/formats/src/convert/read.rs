//! Everything that a file of any format holds.

use std::path::Path;

use checkstrip_model::Problem;

use crate::delimited::DelimitedLog;
use crate::feature::FeatureFile;
use crate::feature_table::FeatureTable;
use crate::geopackage::Wanted;
use crate::kind::{self, Kind, Opened};
use crate::raw_table::RawTable;
use crate::shapefile::Bundle;
use crate::{FormatError, file_bytes, flatgeobuf, geojson, geopackage, geoparquet, shapefile};

/// The features of `given`, which may name the layer of a GeoPackage.
///
/// # Errors
/// When the file cannot be read or is of no known format.
pub(super) fn read(given: &Path) -> Result<FeatureTable, FormatError> {
    let Opened {
        file,
        path,
        layer,
        bytes,
        found,
    } = kind::open(given)?;
    let bytes = match found.gzip {
        true => file_bytes::gunzip(&file, &bytes)?,
        false => bytes,
    };
    let every = |_: &str| true;
    Ok(match found.kind {
        Kind::Delimited => DelimitedLog::open(&file, bytes, None)?.into_table()?,
        Kind::GeoJson => either(
            || geojson::points::read(&file, &bytes),
            || geojson::polygons::read(&file, &bytes),
        )?,
        Kind::GeoJsonSequence => either(
            || geojson::text_sequence::read_points(&file, &bytes),
            || geojson::text_sequence::read_polygons(&file, &bytes),
        )?,
        Kind::Shapefile => from_shapefile(&file, &Bundle::beside(&path, bytes)?)?,
        Kind::ZippedShapefile => from_shapefile(&file, &Bundle::in_zip(&file, &bytes)?)?,
        Kind::GeoPackage => {
            geopackage::read(&path, &bytes, layer.as_deref(), Wanted::Either, &every)?
        }
        Kind::GeoParquet => geoparquet::read(&file, bytes, &every)?,
        Kind::FlatGeobuf => flatgeobuf::read(&file, &bytes, &every)?,
    })
}

fn from_shapefile(file: &str, bundle: &Bundle) -> Result<FeatureTable, Problem> {
    either(
        || shapefile::read_points(file, bundle),
        || shapefile::read_polygons(file, bundle),
    )
}

/// Points, or else polygons; when the file holds neither, why it cannot be read.
fn either(
    points: impl FnOnce() -> Result<RawTable, Problem>,
    polygons: impl FnOnce() -> Result<FeatureFile, Problem>,
) -> Result<FeatureTable, Problem> {
    let no_points = match points() {
        Ok(table) => return Ok(table.into()),
        Err(problem) => problem,
    };
    polygons().map(FeatureTable::from).map_err(|no_polygons| {
        match no_points.message.starts_with("expected points") {
            true => no_polygons,
            false => no_points,
        }
    })
}
