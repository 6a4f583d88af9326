//! A file of strips that is edited: strips are redrawn, renamed, added and taken out, and everything
//! else in the file stays as it was: its format, its reference system, attributes that mean nothing
//! here, outlines that nobody moved. An edited file is put together in memory and read back from there,
//! so that what is compared while somebody draws is, corner for corner, what a later run reads.

mod changes;
mod geojson;
mod geopackage;
mod kept;
mod shapefile;

use std::collections::HashMap;
use std::path::{Path, PathBuf};

use checkstrip_model::{Problem, StripSet};
use checkstrip_spatial::crs::ToWgs84;
use geo::{CoordsIter, LineString, MultiPolygon};

use crate::feature::{FeatureFile, Rings};
use crate::geopackage::split_layer;
use crate::kind::{self, Kind};
use crate::read_strips::strips_of;
use crate::{FormatError, StripOptions, file_bytes, write_bytes_atomically};
use changes::Changes;
pub use kept::keep_earlier_version;
use shapefile::ShapefileParts;

/// A strip as it is to stand in the file.
#[derive(Debug, Clone, PartialEq)]
pub struct EditedStrip {
    /// The strip of the file that it is, or that it was split or copied from: its
    /// [`Strip::row`](checkstrip_model::Strip::row). Attributes that nothing is known of come from there.
    pub of: Option<u32>,
    /// Its name.
    pub strip_id: String,
    /// What was done on it.
    pub treatment: String,
    /// The block it belongs to.
    pub block: Option<String>,
    /// Its ground, WGS 84 longitude and latitude in degrees. Corners of the file keep the place that they
    /// have there, to the last digit.
    pub ground: MultiPolygon<f64>,
}

/// A file of strips, in memory.
#[derive(Debug, Clone)]
pub struct StripFile {
    /// The file as given, and where it lies.
    given: PathBuf,
    path: PathBuf,
    /// The layer named behind a GeoPackage.
    layer: Option<String>,
    options: StripOptions,
    content: Content,
    set: StripSet,
    revision: String,
    places: Places,
    names: AttributeNames,
}

/// The bytes of the file.
#[derive(Debug, Clone, PartialEq)]
enum Content {
    GeoJson(Vec<u8>),
    Shapefile(ShapefileParts),
    GeoPackage(Vec<u8>),
}

/// The attributes of the file that say what strips are; `None` where it has no such attribute.
#[derive(Debug, Clone, Default)]
struct AttributeNames {
    treatment: Option<String>,
    block: Option<String>,
    strip_id: Option<String>,
}

impl AttributeNames {
    fn of(read: &FeatureFile, options: &StripOptions) -> AttributeNames {
        AttributeNames {
            treatment: read.attribute_called(&options.treatment),
            block: read.attribute_called(&options.block),
            strip_id: read.attribute_called(&options.strip_id),
        }
    }
}

/// From longitude and latitude to the file's own coordinates.
#[derive(Debug, Clone, Default)]
struct Places {
    /// How the file's coordinates become degrees, where they are none.
    way: Option<ToWgs84>,
    /// The file's coordinates of every corner in it, by the bits of its longitude and latitude.
    corners: HashMap<[u64; 2], [f64; 2]>,
}

impl Places {
    fn new(read: &FeatureFile, set: &StripSet, file: &str) -> Result<Places, Problem> {
        let Some(definition) = &read.crs else {
            return Ok(Places::default());
        };
        let way =
            ToWgs84::new(definition).map_err(|error| Problem::new(file, error.to_string()))?;
        if way.is_identity() {
            return Ok(Places::default());
        }
        let mut degrees: Vec<[f64; 2]> = read
            .features
            .iter()
            .flat_map(|feature| feature.polygons.iter().flatten().flatten())
            .copied()
            .collect();
        let own = degrees.clone();
        if !set.strips.is_empty() {
            way.convert(&mut degrees)
                .map_err(|error| Problem::new(file, error.to_string()))?;
        }
        let corners = degrees.iter().map(|corner| corner.map(f64::to_bits));
        Ok(Places {
            way: Some(way),
            corners: corners.zip(own).collect(),
        })
    }

    /// The rings of `ground` in the file's coordinates; the outer ones run counterclockwise.
    fn polygons(&self, file: &str, ground: &MultiPolygon<f64>) -> Result<Vec<Rings>, Problem> {
        let mut points: Vec<[f64; 2]> = ground.coords_iter().map(|c| [c.x, c.y]).collect();
        if let Some(way) = &self.way {
            let known: Vec<Option<[f64; 2]>> = points
                .iter()
                .map(|point| self.corners.get(&point.map(f64::to_bits)).copied())
                .collect();
            way.convert_back(&mut points)
                .map_err(|error| Problem::new(file, error.to_string()))?;
            for (point, known) in points.iter_mut().zip(known) {
                *point = known.unwrap_or(*point);
            }
            if points.iter().flatten().any(|axis| !axis.is_finite()) {
                return Err(Problem::new(
                    file,
                    "a corner lies outside the file's reference system",
                )
                .hint("draw the strip within the field"));
            }
        }
        let mut points = points.into_iter();
        let mut ring = |line: &LineString<f64>| points.by_ref().take(line.0.len()).collect();
        Ok(ground
            .iter()
            .map(|polygon| {
                let mut rings: Rings = std::iter::once(polygon.exterior())
                    .chain(polygon.interiors())
                    .map(&mut ring)
                    .collect();
                crate::feature::orient(&mut rings);
                rings
            })
            .collect())
    }
}

impl StripFile {
    /// Opens the strips in `given` (GeoJSON, Shapefile or GeoPackage, a layer perhaps named behind a
    /// colon). A file that is not there yet has no strips; saving makes it, in the format that its
    /// name says.
    ///
    /// # Errors
    /// As [`read_strips`](crate::read_strips); and when the file is in a format that strips are not
    /// written in.
    pub fn open(given: &Path, options: &StripOptions) -> Result<StripFile, FormatError> {
        let (path, layer) = split_layer(given);
        let file = given.display().to_string();
        let content = match path.exists() {
            true => {
                let opened = kind::open(given)?;
                match (opened.found.kind, opened.found.gzip) {
                    (Kind::GeoJson, false) => Content::GeoJson(opened.bytes),
                    (Kind::Shapefile, _) => {
                        Content::Shapefile(ShapefileParts::beside(&path, opened.bytes)?)
                    }
                    (Kind::GeoPackage, _) => Content::GeoPackage(opened.bytes),
                    _ => return Err(not_written(&file).into()),
                }
            }
            false => empty(&path, layer.as_deref(), options)?,
        };
        let is_there = path.exists();
        let mut read = StripFile::read(given, path, layer, options, content)?;
        if !is_there {
            read.revision = String::new();
            read.set.sha256 = String::new();
        }
        Ok(read)
    }

    fn read(
        given: &Path,
        path: PathBuf,
        layer: Option<String>,
        options: &StripOptions,
        content: Content,
    ) -> Result<StripFile, FormatError> {
        let file = given.display().to_string();
        let (features, sha256, revision) = match &content {
            Content::GeoJson(bytes) => {
                let hash = file_bytes::sha256(bytes);
                let features = crate::geojson::polygons::read(&file, bytes)?;
                (features, hash.clone(), hash)
            }
            Content::Shapefile(parts) => (parts.features(&file)?, parts.sha256(), parts.revision()),
            Content::GeoPackage(bytes) => {
                let hash = file_bytes::sha256(bytes);
                let features = geopackage::features(&path, &file, layer.as_deref(), bytes)?;
                (features, hash.clone(), hash)
            }
        };
        let names = AttributeNames::of(&features, options);
        let outlines = FeatureFile {
            features: features.features.clone(),
            crs: features.crs.clone(),
            ..FeatureFile::default()
        };
        let set = strips_of(file.clone(), sha256, features, options)?;
        Ok(StripFile {
            places: Places::new(&outlines, &set, &file)?,
            given: given.to_owned(),
            path,
            layer,
            options: options.clone(),
            content,
            set,
            revision,
            names,
        })
    }

    /// The strips.
    pub fn set(&self) -> &StripSet {
        &self.set
    }

    /// What tells this content from any other: a hash over all bytes of the file; empty when there is
    /// no file yet.
    pub fn revision(&self) -> &str {
        &self.revision
    }

    /// The file as given.
    pub fn given(&self) -> &Path {
        &self.given
    }

    /// Its format, in words.
    pub fn format(&self) -> &'static str {
        match self.content {
            Content::GeoJson(_) => "GeoJSON",
            Content::Shapefile(_) => "Shapefile",
            Content::GeoPackage(_) => "GeoPackage",
        }
    }

    /// The file with `strips` instead of its own. A strip [`of`](EditedStrip::of) one of the file keeps
    /// the attributes of that one, and its outline to the last digit where it was not moved; of several
    /// strips of one, the others are copies of it. Strips of the file that no edited strip is of are taken
    /// out. `now` is the moment of the change, written where the format keeps one (ISO 8601, UTC).
    ///
    /// # Errors
    /// When a strip has no treatment or encloses no certain ground, two have one name, or the format
    /// cannot hold a name.
    pub fn with(&self, strips: &[EditedStrip], now: &str) -> Result<StripFile, FormatError> {
        let file = self.given.display().to_string();
        check_names(&file, strips)?;
        let changes = Changes::new(&self.set, strips);
        if changes.are_none() {
            return Ok(self.clone());
        }
        let content = match &self.content {
            Content::GeoJson(bytes) => Content::GeoJson(geojson::edited(self, bytes, &changes)?),
            Content::Shapefile(parts) => {
                Content::Shapefile(shapefile::edited(self, parts, &changes)?)
            }
            Content::GeoPackage(bytes) => {
                Content::GeoPackage(geopackage::edited(self, bytes, &changes, now)?)
            }
        };
        let (path, layer) = (self.path.clone(), self.layer.clone());
        StripFile::read(&self.given, path, layer, &self.options, content)
    }

    /// Writes the file, whole or not at all. Before that, the version that is on disk is kept beside it
    /// under a name with `stamp` in it, which is returned; `None` when there was none.
    ///
    /// # Errors
    /// When the folder cannot be written to.
    pub fn save(&self, stamp: &str) -> Result<Option<PathBuf>, FormatError> {
        match &self.content {
            Content::GeoJson(bytes) | Content::GeoPackage(bytes) => {
                let kept = keep_earlier_version(&self.path, stamp)?;
                write_bytes_atomically(&self.path, bytes)?;
                Ok(kept)
            }
            Content::Shapefile(parts) => {
                let before = shapefile::companions(&self.path)?;
                let kept = match self.path.exists() {
                    true => Some(kept::keep(&self.path, &before, stamp)?),
                    false => None,
                };
                parts.write(&self.path)?;
                Ok(kept)
            }
        }
    }

    /// The name of an attribute, which is the one asked for where the file has none.
    fn attribute<'a>(&'a self, found: &'a Option<String>, asked: &'a str) -> &'a str {
        found.as_deref().unwrap_or(asked)
    }

    fn shown(&self) -> String {
        self.given.display().to_string()
    }
}

/// A file of no strips, in the format that the ending of `path` says.
fn empty(path: &Path, layer: Option<&str>, options: &StripOptions) -> Result<Content, FormatError> {
    let extension = path.extension().unwrap_or_default().to_string_lossy();
    Ok(match extension.to_lowercase().as_str() {
        "geojson" | "json" => {
            Content::GeoJson(br#"{"type":"FeatureCollection","features":[]}"#.to_vec())
        }
        "shp" => Content::Shapefile(ShapefileParts::empty(path)?),
        "gpkg" => {
            let columns = [&*options.strip_id, &*options.treatment, &*options.block];
            Content::GeoPackage(geopackage::empty(path, layer, columns)?)
        }
        _ => return Err(not_written(&path.display().to_string()).into()),
    })
}

fn not_written(file: &str) -> Problem {
    Problem::new(
        file,
        "strips are written as GeoJSON, Shapefile or GeoPackage only",
    )
    .hint(
        "checkstrip convert makes a .gpkg of it; name that as the file under [strips] in the trial \
         file",
    )
}

/// # Errors
/// When a strip has no name or no treatment, or two have one name.
fn check_names(file: &str, strips: &[EditedStrip]) -> Result<(), Problem> {
    let mut seen = std::collections::HashSet::new();
    for strip in strips {
        let id = strip.strip_id.trim();
        if id.is_empty() {
            return Err(Problem::new(file, "a strip has no name").hint("give it one"));
        }
        if strip.treatment.trim().is_empty() {
            return Err(Problem::new(file, format!("strip {id:?} has no treatment"))
                .hint("write what was done on it"));
        }
        if !seen.insert(id) {
            return Err(Problem::new(file, format!("two strips are called {id:?}"))
                .hint("give each strip its own name"));
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests;
