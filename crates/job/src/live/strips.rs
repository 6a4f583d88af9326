//! Strips between their file and the plane they are drawn in. Corners that come back as they were given
//! out keep the longitude and latitude of the file, so that a strip nobody moved stays where it is to
//! the last digit.

use crate::error::JobError;
use crate::ground::to_plane;
use checkstrip_formats::{EditedStrip, StripFile, outline_ground};
use checkstrip_model::StripSet;
use checkstrip_spatial::local_plane::LocalPlane;
use geo::{Coord, LineString, MultiPolygon, Polygon};
use serde::{Deserialize, Serialize};
use std::collections::HashMap;

/// A strip as somebody draws it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DrawnStrip {
    /// Its name.
    pub id: String,
    /// What was done on it.
    pub treatment: String,
    /// The block it belongs to.
    #[serde(default)]
    pub block: Option<String>,
    /// The strip of the file that it was, or that it was split or copied from; absent: the one of its
    /// name.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub from: Option<String>,
    /// Polygons, each an outer ring followed by its holes, closed; m east and north in the plane.
    pub polygons: Vec<Vec<Vec<[f64; 2]>>>,
}

/// What is wrong with a strip as drawn.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct OutlineProblem {
    /// The strip; absent where it is about all of them.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub strip_id: Option<String>,
    /// What is wrong.
    pub message: String,
    /// What to do.
    pub hint: String,
}

/// One version of the file of strips, brought into the plane.
#[derive(Debug)]
pub struct DrawingVersion {
    file: StripFile,
    strips: Vec<DrawnStrip>,
    /// Longitude and latitude of every corner, by the bits of its place in the plane.
    corners: HashMap<[u64; 2], [f64; 2]>,
}

/// -0 and 0 are one place, and not every program keeps them apart.
fn bits(corner: [f64; 2]) -> [u64; 2] {
    corner.map(|axis| (axis + 0.0).to_bits())
}

impl DrawingVersion {
    /// Brings the strips of `file` into `plane`.
    ///
    /// # Errors
    /// When a corner cannot be projected.
    pub fn new(file: StripFile, plane: &LocalPlane) -> Result<DrawingVersion, JobError> {
        let mut corners = HashMap::new();
        let mut strips = Vec::with_capacity(file.set().strips.len());
        for strip in &file.set().strips {
            let ground = to_plane(&strip.ground, plane)?;
            let mut polygons = Vec::new();
            for (polygon, degrees) in ground.iter().zip(&strip.ground) {
                let rings = |of: &Polygon<f64>| -> Vec<Vec<[f64; 2]>> {
                    std::iter::once(of.exterior())
                        .chain(of.interiors())
                        .map(|ring| ring.coords().map(|c| [c.x + 0.0, c.y + 0.0]).collect())
                        .collect()
                };
                let (metres, degrees) = (rings(polygon), rings(degrees));
                let pairs = metres.iter().flatten().zip(degrees.iter().flatten());
                corners.extend(pairs.map(|(metres, degrees)| (bits(*metres), *degrees)));
                polygons.push(metres);
            }
            strips.push(DrawnStrip {
                id: strip.strip_id.clone(),
                treatment: strip.treatment.clone(),
                block: strip.block.clone(),
                from: None,
                polygons,
            });
        }
        Ok(DrawingVersion {
            file,
            strips,
            corners,
        })
    }

    /// The file.
    pub fn file(&self) -> &StripFile {
        &self.file
    }

    /// The strips in the plane.
    pub fn strips(&self) -> &[DrawnStrip] {
        &self.strips
    }

    /// The file with `strips` instead of its own, in memory; `now` as [`StripFile::with`] has it.
    ///
    /// # Errors
    /// As [`StripFile::with`], and when a corner lies outside the plane.
    pub fn with(
        &self,
        strips: &[DrawnStrip],
        plane: &LocalPlane,
        now: &str,
    ) -> Result<StripFile, JobError> {
        let set = self.file.set();
        let row: HashMap<&str, u32> = set
            .strips
            .iter()
            .map(|strip| (strip.strip_id.as_str(), strip.row))
            .collect();
        let edited: Result<Vec<EditedStrip>, JobError> = strips
            .iter()
            .map(|strip| {
                let source = strip.from.as_deref().unwrap_or(&strip.id);
                Ok(EditedStrip {
                    of: row.get(source).copied(),
                    strip_id: strip.id.trim().to_owned(),
                    treatment: strip.treatment.trim().to_owned(),
                    block: strip
                        .block
                        .as_deref()
                        .map(|block| block.trim().to_owned())
                        .filter(|block| !block.is_empty()),
                    ground: self.degrees(&strip.polygons, plane)?,
                })
            })
            .collect();
        Ok(self.file.with(&edited?, now)?)
    }

    /// Longitude and latitude of polygons in the plane.
    fn degrees(
        &self,
        polygons: &[Vec<Vec<[f64; 2]>>],
        plane: &LocalPlane,
    ) -> Result<MultiPolygon<f64>, JobError> {
        let ring = |ring: &Vec<[f64; 2]>| -> Result<LineString<f64>, JobError> {
            let mut converted = ring.clone();
            plane.points_to_lon_lat(&mut converted)?;
            let corners = ring.iter().zip(converted).map(|(metres, converted)| {
                let known = self.corners.get(&bits(*metres)).copied();
                let [x, y] = known.unwrap_or(converted);
                Coord { x, y }
            });
            let mut line = LineString::new(corners.collect());
            line.close();
            Ok(line)
        };
        let polygon = |rings: &Vec<Vec<[f64; 2]>>| -> Result<Polygon<f64>, JobError> {
            let mut lines = rings.iter().map(ring);
            let outer = lines.next().transpose()?;
            Ok(Polygon::new(
                outer.unwrap_or_else(|| LineString::new(vec![])),
                lines.collect::<Result<_, _>>()?,
            ))
        };
        Ok(MultiPolygon::new(
            polygons.iter().map(polygon).collect::<Result<_, _>>()?,
        ))
    }
}

/// More strips than any trial has.
const MOST_STRIPS: usize = 2_000;

/// What keeps `strips` from being compared or saved: names that are missing or there twice, outlines that
/// enclose no certain ground.
pub(crate) fn problems_of(strips: &[DrawnStrip]) -> Vec<OutlineProblem> {
    let mut problems = Vec::new();
    if strips.len() > MOST_STRIPS {
        problems.push(OutlineProblem {
            strip_id: None,
            message: format!(
                "expected at most {MOST_STRIPS} strips, found {}",
                strips.len()
            ),
            hint: "take those out that are no part of the trial".to_owned(),
        });
        return problems;
    }
    let mut seen = std::collections::HashSet::new();
    for (at, strip) in strips.iter().enumerate() {
        let mut say = |message: &str, hint: &str| {
            problems.push(OutlineProblem {
                strip_id: Some(strip.id.clone()),
                message: message.to_owned(),
                hint: hint.to_owned(),
            });
        };
        if strip.id.trim().is_empty() {
            say("the strip has no name", "give it one");
        } else if !seen.insert(strip.id.trim()) {
            say(
                &format!("two strips are called {:?}", strip.id.trim()),
                "give each strip its own name",
            );
        }
        if strip.treatment.trim().is_empty() {
            say("the strip has no treatment", "write what was done on it");
        }
        if let Err(problem) = outline_ground("", at as u32 + 1, &strip.polygons) {
            say(&problem.message, &problem.hint);
        }
    }
    problems
}

/// Strips of `set` that claim the same ground, from the overlaps that the comparison found.
pub(crate) fn overlaps(set: &StripSet, overlapping: &[(usize, usize, f64)]) -> Vec<OutlineProblem> {
    let name = |place: usize| set.strips[place].strip_id.as_str();
    overlapping
        .iter()
        .map(|&(a, b, m2)| OutlineProblem {
            strip_id: Some(name(b).to_owned()),
            message: format!(
                "strips {} and {} claim the same ground ({m2:.0} m²)",
                name(a),
                name(b)
            ),
            hint: "that ground is left out of both: move an edge".to_owned(),
        })
        .collect()
}
