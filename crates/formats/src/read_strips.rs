//! Reading drawn strips: polygons with the name of a treatment, in any reference system that PROJ
//! knows.

use std::collections::HashSet;
use std::path::Path;

use checkstrip_model::{Problem, Strip, StripSet};

use crate::FormatError;
use crate::feature::FeatureFile;
use crate::polygon_file::{PolygonFile, crs_shown, grounds, read_drawn};
use crate::task_data::Wanted;

/// Which attributes say what.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StripOptions {
    /// The attribute that names what was done on the strip.
    pub treatment: String,
    /// The attribute that names the strip's block.
    pub block: String,
    /// The attribute that names the strip.
    pub strip_id: String,
}

impl Default for StripOptions {
    fn default() -> Self {
        StripOptions {
            treatment: "treatment".to_owned(),
            block: "block".to_owned(),
            strip_id: "strip_id".to_owned(),
        }
    }
}

/// Reads the strips in `path`, in any format that holds polygons.
///
/// The ground of each strip comes back in WGS 84 longitude and latitude, degrees, whichever
/// reference system the file is in. Strips without a name are numbered from 1; names that occur twice
/// are made distinct, and both are said in [`StripSet::problems`].
///
/// # Errors
/// When the file cannot be read, a feature is no polygon or one that encloses no certain ground, a
/// strip has no treatment, or the reference system is not known.
///
/// ```
/// use checkstrip_formats::{StripOptions, read_strips};
///
/// let dir = tempfile::tempdir()?;
/// let path = dir.path().join("invented.geojson");
/// std::fs::write(&path, r#"{"type": "Feature", "properties": {"Treatment": "rolled"},
///     "geometry": {"type": "Polygon", "coordinates":
///         [[[-93.1, 43.2], [-93.0999, 43.2], [-93.0999, 43.201], [-93.1, 43.2]]]}}"#)?;
/// let strips = read_strips(&path, &StripOptions::default())?;
/// assert_eq!(strips.strips[0].treatment, "rolled");
/// assert_eq!(strips.strips[0].strip_id, "1");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn read_strips(path: &Path, options: &StripOptions) -> Result<StripSet, FormatError> {
    let PolygonFile {
        file,
        sha256,
        features,
    } = read_drawn(path, Wanted::Zones, "the strips")?;
    if features.features.is_empty() {
        return Err(Problem::new(file, "no strip in it")
            .hint("draw at least two strips")
            .into());
    }
    Ok(strips_of(file, sha256, features, options)?)
}

/// The strips that the features of a file are; none when there are no features.
///
/// # Errors
/// As [`read_strips`], once the file is read.
pub(crate) fn strips_of(
    file: String,
    sha256: String,
    mut read: FeatureFile,
    options: &StripOptions,
) -> Result<StripSet, Problem> {
    let crs = crs_shown(&read);
    if read.features.is_empty() {
        return Ok(StripSet {
            path: file,
            sha256,
            crs,
            ..StripSet::default()
        });
    }
    let treatment = read.attribute_called(&options.treatment).ok_or_else(|| {
        let message = format!(
            "expected the attribute {:?} on the strips; there are: {}",
            options.treatment,
            read.attributes_shown()
        );
        Problem::new(file.as_str(), message).hint(
            "name the attribute that holds the treatment: treatment_column = \"…\" under [strips], \
                 or --treatment-column",
        )
    })?;
    let block = read.attribute_called(&options.block);
    let strip_id = read.attribute_called(&options.strip_id);

    let grounds = grounds(&file, &read)?;
    let mut problems = std::mem::take(&mut read.problems);
    let mut names = HashSet::new();
    let mut strips = Vec::with_capacity(read.features.len());
    for (feature, ground) in read.features.iter().zip(grounds) {
        let treatment = feature.value(&treatment).ok_or_else(|| {
            Problem::new(file.as_str(), "the strip has no treatment")
                .at_row(feature.row)
                .in_column(treatment.as_str())
                .hint("write what was done on it, or take it out of the file")
        })?;
        let given = strip_id.as_deref().and_then(|name| feature.value(name));
        let wanted = given.clone().unwrap_or_else(|| feature.row.to_string());
        let name = distinct(&wanted, &mut names);
        if name != wanted {
            problems.push(
                Problem::new(file.as_str(), format!("two strips are called {wanted:?}"))
                    .at_row(feature.row)
                    .hint(format!(
                        "this one is called {name:?}; give each strip its own strip_id"
                    )),
            );
        }
        strips.push(Strip {
            strip_id: name,
            treatment,
            block: block.as_deref().and_then(|name| feature.value(name)),
            ground,
            row: feature.row,
        });
    }
    Ok(StripSet {
        path: file,
        sha256,
        strips,
        crs,
        problems,
    })
}

/// `wanted`, or `wanted` with the first number behind it that makes it new.
fn distinct(wanted: &str, names: &mut HashSet<String>) -> String {
    let mut name = wanted.to_owned();
    let mut number = 2;
    while !names.insert(name.clone()) {
        name = format!("{wanted}-{number}");
        number += 1;
    }
    name
}

#[cfg(test)]
mod tests;
