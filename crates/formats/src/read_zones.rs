//! Reading drawn zones, such as a soil map: polygons with a name, in any reference system that PROJ
//! knows.

use std::path::Path;

use checkstrip_model::{Problem, Zone, ZoneSet};

use crate::FormatError;
use crate::feature::FeatureFile;
use crate::polygon_file::{PolygonFile, crs_shown, grounds, read_drawn};
use crate::task_data::Wanted;

/// The attribute that names the zone, unless another is given.
const NAME: &str = "zone";

/// Reads the zones in `path`, in any format that holds polygons. `name_column` is the
/// attribute that names them; without it the one called `zone` is taken, or the only one there is.
///
/// The ground comes back in WGS 84 longitude and latitude, degrees.
///
/// # Errors
/// When the file cannot be read, a feature is no polygon or one that encloses no certain ground, has no
/// name, or the reference system is not known.
///
/// ```
/// let dir = tempfile::tempdir()?;
/// let path = dir.path().join("invented.geojson");
/// std::fs::write(&path, r#"{"type": "Feature", "properties": {"soil": "loam"},
///     "geometry": {"type": "Polygon", "coordinates":
///         [[[-93.1, 43.2], [-93.09, 43.2], [-93.09, 43.21], [-93.1, 43.2]]]}}"#)?;
/// let zones = checkstrip_formats::read_zones(&path, None)?;
/// assert_eq!((zones.name_column.as_str(), zones.zones[0].name.as_str()), ("soil", "loam"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn read_zones(path: &Path, name_column: Option<&str>) -> Result<ZoneSet, FormatError> {
    let PolygonFile {
        file,
        sha256,
        mut features,
    } = read_drawn(path, Wanted::Zones, "the zones")?;
    if features.features.is_empty() {
        return Err(Problem::new(file, "no zone in it")
            .hint("draw at least two, or export the map again")
            .into());
    }
    let name_column = name_attribute(&file, &features, name_column)?;
    let grounds = grounds(&file, &features)?;
    let mut zones = Vec::with_capacity(grounds.len());
    for (feature, ground) in features.features.iter().zip(grounds) {
        let name = feature.value(&name_column).ok_or_else(|| {
            Problem::new(file.as_str(), "the zone has no name")
                .at_row(feature.row)
                .in_column(name_column.as_str())
                .hint("name it, or take it out of the file: its ground is then in no zone")
        })?;
        zones.push(Zone {
            name,
            ground,
            row: feature.row,
        });
    }
    Ok(ZoneSet {
        crs: crs_shown(&features),
        path: file,
        sha256,
        name_column,
        zones,
        problems: std::mem::take(&mut features.problems),
    })
}

fn name_attribute(
    file: &str,
    features: &FeatureFile,
    wanted: Option<&str>,
) -> Result<String, Problem> {
    if let Some(found) = features.attribute_called(wanted.unwrap_or(NAME)) {
        return Ok(found);
    }
    if let (None, [only]) = (wanted, &features.attribute_names[..]) {
        return Ok(only.clone());
    }
    Err(Problem::new(
        file,
        format!(
            "expected the attribute {:?} on the zones; there are: {}",
            wanted.unwrap_or(NAME),
            features.attributes_shown()
        ),
    )
    .hint(
        "name the attribute that holds the zone's name: name_column = \"…\" under [zones], or \
         --zone-column",
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(properties: &str, name_column: Option<&str>) -> Result<ZoneSet, String> {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("soils.geojson");
        let text = format!(
            r#"{{"type": "Feature", "properties": {properties}, "geometry": {{"type": "Polygon",
            "coordinates": [[[-93, 43], [-92.9, 43], [-92.9, 43.1], [-93, 43]]]}}}}"#
        );
        std::fs::write(&path, text).unwrap();
        read_zones(&path, name_column).map_err(|error| error.to_string())
    }

    #[test]
    fn the_name_is_found_or_asked_for() {
        assert_eq!(
            read(r#"{"Zone": "A", "x": 1}"#, None).unwrap().zones[0].name,
            "A"
        );
        assert_eq!(
            read(r#"{"SOIL": 4, "x": 1}"#, Some("soil")).unwrap().zones[0].name,
            "4"
        );
        let error = read(r#"{"soil": "A", "x": 1}"#, None).unwrap_err();
        assert!(
            error.contains("\"soil\", \"x\"") && error.contains("--zone-column"),
            "{error}"
        );
        let error = read(r#"{"soil": "A"}"#, Some("kind")).unwrap_err();
        assert!(error.contains("expected the attribute \"kind\""), "{error}");
        let error = read(r#"{"soil": " "}"#, Some("soil")).unwrap_err();
        assert!(
            error.contains("row 1") || error.contains("feature 1"),
            "{error}"
        );
        assert!(error.contains("no name"), "{error}");
    }
}
