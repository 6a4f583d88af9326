//! Reading a field's boundary: the polygons of a file, taken together, in any reference system that
//! PROJ knows.

use std::path::Path;

use checkstrip_model::Problem;
use geo::{MultiPolygon, unary_union};

use crate::FormatError;
use crate::polygon_file::{PolygonFile, crs_shown, grounds, read_drawn};
use crate::task_data::Wanted;

/// A field's boundary.
#[derive(Debug, Clone, PartialEq)]
pub struct Boundary {
    /// The file as given.
    pub path: String,
    /// SHA-256 of the file's bytes, lower-case hexadecimal.
    pub sha256: String,
    /// The coordinate reference system the file was in, as it names it.
    pub crs: String,
    /// The field, WGS 84 longitude and latitude in degrees; ponds and yards are holes.
    pub ground: MultiPolygon<f64>,
}

/// Reads the boundary in `path`, in any format that holds polygons. Several polygons are one field.
///
/// # Errors
/// When the file cannot be read, a feature is no polygon or one that encloses no certain ground, or
/// the reference system is not known.
///
/// ```
/// let dir = tempfile::tempdir()?;
/// let path = dir.path().join("invented.geojson");
/// std::fs::write(&path, r#"{"type": "Feature", "properties": {}, "geometry": {"type": "Polygon",
///     "coordinates": [[[-93.1, 43.2], [-93.09, 43.2], [-93.09, 43.21], [-93.1, 43.2]]]}}"#)?;
/// let boundary = checkstrip_formats::read_boundary(&path)?;
/// assert_eq!((boundary.ground.0.len(), boundary.crs.as_str()), (1, "WGS 84"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn read_boundary(path: &Path) -> Result<Boundary, FormatError> {
    let PolygonFile {
        file,
        sha256,
        features,
    } = read_drawn(path, Wanted::Boundary, "the boundary")?;
    let grounds = grounds(&file, &features)?;
    if grounds.is_empty() {
        return Err(Problem::new(file, "no polygon in it")
            .hint("draw the field's outline, or export it again")
            .into());
    }
    let ground = match <[MultiPolygon<f64>; 1]>::try_from(grounds) {
        Ok([ground]) => ground,
        Err(several) => unary_union(&several),
    };
    Ok(Boundary {
        path: file,
        sha256,
        crs: crs_shown(&features),
        ground,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::Area;

    fn read(features: &str) -> Result<Boundary, String> {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("field.geojson");
        let text = format!(r#"{{"type": "FeatureCollection", "features": [{features}]}}"#);
        std::fs::write(&path, text).unwrap();
        read_boundary(&path).map_err(|error| error.to_string())
    }

    fn square(west: f64) -> String {
        let east = west + 0.02;
        format!(
            r#"{{"type": "Feature", "properties": null, "geometry": {{"type": "Polygon",
            "coordinates": [[[{west}, 43], [{east}, 43], [{east}, 43.01], [{west}, 43.01], [{west}, 43]]]}}}}"#
        )
    }

    #[test]
    fn polygons_that_overlap_are_one_field() {
        let both = read(&format!("{}, {}", square(-93.0), square(-92.99))).unwrap();
        assert_eq!(both.ground.0.len(), 1);
        assert!((both.ground.unsigned_area() - 0.03 * 0.01).abs() < 1e-9);
    }

    #[test]
    fn nothing_and_lines_are_refused() {
        assert!(read("").unwrap_err().contains("no polygon"));
        let line = r#"{"type": "Feature", "properties": null, "geometry": {"type": "LineString",
            "coordinates": [[-93, 43], [-93, 43.01]]}}"#;
        assert!(read(line).unwrap_err().contains("expected a Polygon"));
    }
}
