//! Pictures and lines to lay under a map of a field: an aerial photograph or another raster (GeoTIFF), tiles
//! (MBTiles), boundaries, waterways and the like (GeoJSON). Rasters are redrawn in the field's plane, cut to
//! the field and bounded in size, so that whoever shows them needs to know of no projection.

mod geotiff;
mod lines;
mod mbtiles;
mod picture;

use std::path::Path;

use checkstrip_model::Problem;
use checkstrip_spatial::local_plane::LocalPlane;

use crate::{FormatError, file_bytes};

/// A background in the plane.
#[derive(Debug, Clone, PartialEq)]
pub enum Background {
    /// A picture.
    Image {
        /// PNG; what the file does not cover is transparent.
        png: Vec<u8>,
        /// West, south, east and north end, m.
        extent: [f64; 4],
    },
    /// Lines, and outlines of polygons: corners m east and north.
    Lines(Vec<Vec<[f64; 2]>>),
}

/// Reads the background in `path` for a field whose ground lies within `field` (west, south, east, north, m
/// of `plane`). A little is shown around the field; rasters are redrawn with at most 2048 pixels a side.
///
/// # Errors
/// When the file cannot be read, is in no format that backgrounds are read in, does not say where it lies,
/// or lies elsewhere.
pub fn read_background(
    path: &Path,
    plane: &LocalPlane,
    field: [f64; 4],
) -> Result<Background, FormatError> {
    let file = path.display().to_string();
    let start = file_bytes::read_start(path, 16)?;
    let around = widened(field);
    if is_tiff(&start) {
        return geotiff::read(path, &file, plane, around);
    }
    if start.starts_with(b"SQLite format 3\0") {
        return Ok(mbtiles::read(path, &file, plane, around)?);
    }
    let is_text = start.trim_ascii_start().starts_with(b"{") || start.starts_with(b"\xef\xbb\xbf{");
    if is_text {
        return lines::read(path, &file, plane, around);
    }
    Err(Problem::new(file, "is no background that can be read")
        .hint("give a GeoTIFF (.tif), tiles of pictures (.mbtiles) or GeoJSON (.geojson)")
        .into())
}

/// Little- or big-endian, the usual kind or the one for large files.
fn is_tiff(start: &[u8]) -> bool {
    [b"II*\0", b"MM\0*", b"II+\0", b"MM\0+"]
        .iter()
        .any(|magic| start.starts_with(*magic))
}

/// The field with as much around it as a person needs to find it, m.
fn widened([west, south, east, north]: [f64; 4]) -> [f64; 4] {
    const LEAST_M: f64 = 100.0;
    let margin = LEAST_M.max(0.25 * (east - west).max(north - south));
    [west - margin, south - margin, east + margin, north + margin]
}

/// A background that covers nothing of the field.
fn elsewhere(file: &str) -> Problem {
    Problem::new(file, "shows nothing of the field: it lies elsewhere")
        .hint("check that it is of this field, and that it states its coordinate system")
}

#[cfg(test)]
mod tests;
