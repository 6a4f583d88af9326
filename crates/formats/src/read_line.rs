//! Reading a first line: a GeoJSON LineString of two points that shows which way strips run.

use std::path::Path;

use checkstrip_model::Problem;
use checkstrip_spatial::crs::ToWgs84;
use geojson::{GeoJson, GeometryValue};

use crate::geojson::{crs_name, json_problem};
use crate::task_data::TaskSet;
use crate::{FormatError, file_bytes};

/// Reads the line in `path`: a LineString of two points, as a bare geometry, a feature or a
/// collection of one; or the A-B line of ISO 11783-10 task data. Comes back as longitude and latitude
/// in degrees, WGS 84, first point first.
///
/// # Errors
/// When the file cannot be read, holds something else, or its reference system is not known.
pub fn read_line(path: &Path) -> Result<[[f64; 2]; 2], FormatError> {
    if let Some(set) = TaskSet::open(path)? {
        return Ok(set.first_line()?);
    }
    let bytes = file_bytes::read(path)?;
    Ok(line(&path.display().to_string(), &bytes)?)
}

fn line(file: &str, bytes: &[u8]) -> Result<[[f64; 2]; 2], Problem> {
    const WANTED: &str = "write a GeoJSON LineString of two points, where strips begin and where \
                          they run to";
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let document: GeoJson =
        serde_json::from_slice(bytes).map_err(|error| json_problem(file, bytes, &error))?;
    let (geometries, foreign) = match document {
        GeoJson::FeatureCollection(collection) => {
            let geometries = collection
                .features
                .into_iter()
                .map(|f| f.geometry)
                .collect();
            (geometries, collection.foreign_members)
        }
        GeoJson::Feature(feature) => (vec![feature.geometry], feature.foreign_members),
        GeoJson::Geometry(geometry) => {
            let foreign = geometry.foreign_members.clone();
            (vec![Some(geometry)], foreign)
        }
    };
    let refuse = |message: String| Err(Problem::new(file, message).hint(WANTED));
    let found = match <[_; 1]>::try_from(geometries) {
        Ok([Some(geometry)]) => geometry.value,
        Ok([None]) => return refuse("expected a line, found no geometry".to_owned()),
        Err(several) => {
            return refuse(format!(
                "expected one line, found {} features",
                several.len()
            ));
        }
    };
    let GeometryValue::LineString { coordinates } = found else {
        return refuse(format!(
            "expected a LineString, found {}",
            found.type_name()
        ));
    };
    let ends: Vec<[f64; 2]> = coordinates
        .iter()
        .filter_map(|position| match position.as_slice() {
            [x, y, ..] => Some([*x, *y]),
            _ => None,
        })
        .collect();
    let Ok(mut ends) = <[[f64; 2]; 2]>::try_from(ends) else {
        return refuse(format!("expected 2 points, found {}", coordinates.len()));
    };
    if let Some(crs) = foreign.as_ref().and_then(|members| members.get("crs"))
        && let Some(definition) = crs_name(file, crs)?
    {
        let problem =
            |error: checkstrip_spatial::crs::CrsError| Problem::new(file, error.to_string());
        let way = ToWgs84::new(&definition).map_err(problem)?;
        way.convert(&mut ends).map_err(problem)?;
    }
    let is_known = |end: &[f64; 2]| end[0].abs() <= 180.0 && end[1].abs() <= 90.0;
    if !ends.iter().all(is_known) {
        return refuse("expected longitude and latitude in degrees".to_owned());
    }
    Ok(ends)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_alone_in_a_feature_and_in_metres() {
        let bare = br#"{"type": "LineString", "coordinates": [[-93.0, 43.0], [-93.0, 43.1]]}"#;
        assert_eq!(line("a", bare).unwrap(), [[-93.0, 43.0], [-93.0, 43.1]]);
        let metres = br#"{"type": "FeatureCollection", "crs": {"type": "name", "properties":
            {"name": "EPSG:32615"}}, "features": [{"type": "Feature", "properties": null, "geometry":
            {"type": "LineString", "coordinates": [[500000, 4760000], [500000, 4761000]]}}]}"#;
        let found = line("a", metres).unwrap();
        assert!((found[0][0] + 93.0).abs() < 1e-9 && (found[0][1] - 42.99).abs() < 0.01);
    }

    #[test]
    fn other_things_are_refused() {
        for (text, said) in [
            (r#"{"type": "Point", "coordinates": [1, 2]}"#, "found Point"),
            (
                r#"{"type": "LineString", "coordinates": [[1, 2], [1, 3], [1, 4]]}"#,
                "found 3",
            ),
            (
                r#"{"type": "LineString", "coordinates": [[1e6, 2], [1, 3]]}"#,
                "degrees",
            ),
            (
                r#"{"type": "FeatureCollection", "features": []}"#,
                "0 features",
            ),
            ("{", "too early"),
        ] {
            let error = line("a", text.as_bytes()).unwrap_err().to_string();
            assert!(error.contains(said), "{error}");
        }
    }
}
