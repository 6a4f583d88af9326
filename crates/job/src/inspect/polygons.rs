//! What a file of polygons holds, and whether it can serve as the strips of a comparison.

use std::path::Path;

use checkstrip_formats::{
    AttributeContents, PolygonContents, StripOptions, format_in_words, read_strips,
};
use checkstrip_model::Problem;
use checkstrip_model::units::M2_PER_HA;
use geo::GeodesicArea;
use serde::Serialize;

use crate::error::JobError;

/// A file of polygons.
#[derive(Debug, Clone, Serialize)]
pub struct PolygonInspection {
    /// The file as given.
    pub path: String,
    /// SHA-256 of its bytes.
    pub sha256: String,
    /// Its format, in words.
    pub format: String,
    /// How many polygons.
    pub polygons: usize,
    /// Their ground on the ellipsoid of WGS 84 (Karney 2013, *Algorithms for geodesics*), ha; ground that
    /// two polygons claim counts twice.
    pub area_ha: f64,
    /// The reference system, in short.
    pub crs: String,
    /// The attributes with their values.
    pub attributes: Vec<AttributeContents>,
    /// As strips, read the usual way.
    pub as_strips: StripUse,
    /// What was wrong with single polygons.
    pub problems: Vec<Problem>,
}

/// Whether a file can serve as strips.
#[derive(Debug, Clone, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum StripUse {
    /// It can.
    Ready {
        /// Its treatments.
        treatments: Vec<TreatmentCount>,
        /// How many blocks it names; none when blocks are to be found from adjacency.
        blocks: usize,
    },
    /// What stands in the way, and what to do.
    Lacks(Problem),
}

/// How many strips a treatment has.
#[derive(Debug, Clone, Serialize)]
pub struct TreatmentCount {
    /// The treatment.
    pub treatment: String,
    /// Its strips.
    pub strips: usize,
}

/// Looks at `contents`, which were read from `path`.
///
/// # Errors
/// When the file is gone meanwhile.
pub(super) fn inspect(
    path: &Path,
    contents: PolygonContents,
) -> Result<PolygonInspection, JobError> {
    let grounds = contents.grounds.iter();
    let area_m2: f64 = grounds.map(|ground| ground.geodesic_area_unsigned()).sum();
    let as_strips = match read_strips(path, &StripOptions::default()) {
        Ok(set) => {
            let mut treatments: Vec<TreatmentCount> = Vec::new();
            let mut blocks: Vec<&str> = Vec::new();
            for strip in &set.strips {
                match treatments
                    .iter_mut()
                    .find(|t| t.treatment == strip.treatment)
                {
                    Some(known) => known.strips += 1,
                    None => treatments.push(TreatmentCount {
                        treatment: strip.treatment.clone(),
                        strips: 1,
                    }),
                }
                if let Some(block) = strip.block.as_deref()
                    && !blocks.contains(&block)
                {
                    blocks.push(block);
                }
            }
            match treatments.len() {
                1 => StripUse::Lacks(
                    Problem::new(
                        path.display().to_string(),
                        format!(
                            "all {} polygons have the treatment {:?}",
                            set.strips.len(),
                            treatments[0].treatment
                        ),
                    )
                    .hint("a comparison needs a second treatment, such as the check"),
                ),
                _ => StripUse::Ready {
                    treatments,
                    blocks: blocks.len(),
                },
            }
        }
        Err(checkstrip_formats::FormatError::Input(problem)) => StripUse::Lacks(problem),
        Err(other) => return Err(other.into()),
    };
    Ok(PolygonInspection {
        path: path.display().to_string(),
        sha256: contents.sha256,
        format: format_in_words(path)?,
        polygons: contents.grounds.len(),
        area_ha: area_m2 / M2_PER_HA,
        crs: contents.crs,
        attributes: contents.attributes,
        as_strips,
        problems: contents.problems,
    })
}
