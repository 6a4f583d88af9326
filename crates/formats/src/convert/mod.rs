//! From one open format to another, everything kept that the target can hold: columns whether
//! checkstrip understands them or not, their names and so their units, values, geometries and reference
//! system. What the target cannot hold is changed as little as can be, and said.

mod converted;
mod names;
mod read;

use std::path::Path;

use checkstrip_model::Problem;
use checkstrip_spatial::crs::ToWgs84;
use serde::Serialize;

use crate::export::feature_source::{FeatureSource, Holds};
use crate::export::{
    write_features_csv, write_features_geojson, write_features_geojson_sequence,
    write_features_shapefile, write_flatgeobuf, write_geopackage, write_parquet,
};
use crate::raw_table::short_name;
use crate::{FormatError, geopackage};
use converted::Converted;

/// What a conversion did.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Conversion {
    /// The file read, as given.
    pub input: String,
    /// The file written, as given.
    pub output: String,
    /// Its format.
    pub format: &'static str,
    /// How many records or features there are.
    pub features: usize,
    /// `points`, `polygons` or `none`.
    pub geometry: &'static str,
    /// The names of its columns.
    pub columns: Vec<String>,
    /// The reference system that its coordinates are in.
    pub crs: String,
    /// What the format could not hold as it was, and what became of it.
    pub changes: Vec<String>,
    /// What was wrong with single records of the file read.
    pub problems: Vec<Problem>,
}

/// A format that is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Target {
    Csv,
    GeoJson,
    GeoJsonLines,
    GeoJsonSequence,
    Shapefile,
    GeoPackage,
    GeoParquet,
    FlatGeobuf,
}

impl Target {
    fn of(path: &Path) -> Result<Target, Problem> {
        let extension = path.extension().unwrap_or_default().to_string_lossy();
        Ok(match extension.to_lowercase().as_str() {
            "csv" => Target::Csv,
            "geojson" | "json" => Target::GeoJson,
            "ndjson" | "geojsonl" | "jsonl" => Target::GeoJsonLines,
            "geojsons" | "geojsonseq" => Target::GeoJsonSequence,
            "shp" => Target::Shapefile,
            "gpkg" => Target::GeoPackage,
            "parquet" | "geoparquet" => Target::GeoParquet,
            "fgb" => Target::FlatGeobuf,
            _ => {
                return Err(Problem::new(
                    path.display().to_string(),
                    "the name does not say which format to write",
                )
                .hint(
                    "end it in .csv, .geojson, .ndjson, .geojsons, .shp, .gpkg, .parquet or .fgb",
                ));
            }
        })
    }

    fn name(self) -> &'static str {
        match self {
            Target::Csv => "CSV",
            Target::GeoJson => "GeoJSON",
            Target::GeoJsonLines => "newline-delimited GeoJSON",
            Target::GeoJsonSequence => "GeoJSON text sequence",
            Target::Shapefile => "Shapefile",
            Target::GeoPackage => "GeoPackage",
            Target::GeoParquet => "GeoParquet",
            Target::FlatGeobuf => "FlatGeobuf",
        }
    }

    /// Whether coordinates can be in another reference system than WGS 84.
    fn holds_crs(self) -> bool {
        matches!(
            self,
            Target::Shapefile | Target::GeoPackage | Target::GeoParquet | Target::FlatGeobuf
        )
    }
}

/// Reads `input` and writes all of it as `output`, in the format that the ending of its name says.
///
/// Values, names and coordinates go through memory whole: some 80 bytes a value from delimited text, 50
/// from other formats, the file read among them.
///
/// # Errors
/// When `input` cannot be read, `output` is the same file or of no known format, or the format cannot
/// hold the geometries or any of the columns. Nothing is written then.
///
/// ```
/// let dir = tempfile::tempdir()?;
/// let (input, output) = (dir.path().join("log.csv"), dir.path().join("log.gpkg"));
/// std::fs::write(&input, "lon,lat,Flow (lb/s),variety\n-93.1,43.2,20,P1\n")?;
/// let done = checkstrip_formats::convert(&input, &output)?;
/// assert_eq!(done.columns, ["Flow (lb/s)", "variety"]);
/// assert!(done.changes.is_empty());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn convert(input: &Path, output: &Path) -> Result<Conversion, FormatError> {
    let target = Target::of(output)?;
    let file = output.display().to_string();
    let (read_from, _) = geopackage::split_layer(input);
    if let (Ok(from), Ok(to)) = (read_from.canonicalize(), output.canonicalize())
        && from == to
    {
        return Err(Problem::new(file, "is the file that is read")
            .hint("give another name to write to")
            .into());
    }
    let read = read::read(input)?;
    let mut changes = Vec::new();
    let mut features = Converted::new(&input.display().to_string(), read, &mut changes)?;
    let refuse =
        |message: &str, hint: &str| Err(Problem::new(file.as_str(), message).hint(hint).into());
    match (target, features.holds()) {
        (Target::Csv, Holds::Polygons) => {
            return refuse(
                "CSV holds no polygons",
                "write GeoJSON (.geojson) or GeoPackage (.gpkg)",
            );
        }
        (Target::Csv | Target::GeoParquet, Holds::Nothing)
        | (_, Holds::Points | Holds::Polygons) => {}
        (_, Holds::Nothing) => {
            return refuse(
                &format!("{} is made of places, and no record has one", target.name()),
                "call the columns of degrees lon and lat, or write CSV or Parquet",
            );
        }
    }
    if !target.holds_crs()
        && let Some(definition) = features.definition()
    {
        let from = short_name(definition);
        let way = ToWgs84::new(definition)
            .map_err(|error| Problem::new(file.as_str(), error.to_string()))?;
        features.convert_to_wgs84(&input.display().to_string(), &way)?;
        changes.push(format!(
            "coordinates: from {from} to WGS 84 longitude and latitude, the only ones that {} holds",
            target.name()
        ));
    }
    let layer = output
        .file_stem()
        .unwrap_or_default()
        .to_string_lossy()
        .into_owned();
    match target {
        Target::Csv => {
            features.drop_positions(&mut changes);
            write_features_csv(output, &features)?;
        }
        Target::GeoJson => write_features_geojson(output, &features)?,
        Target::GeoJsonLines => write_features_geojson_sequence(output, &features, false)?,
        Target::GeoJsonSequence => write_features_geojson_sequence(output, &features, true)?,
        Target::Shapefile => {
            /// As many as readers of attribute tables take.
            const MOST_COLUMNS: usize = 255;
            check_count(&file, &features, MOST_COLUMNS)?;
            if let (Holds::Polygons, Some(record)) = (features.holds(), features.undrawn()) {
                return Err(Problem::new(
                    input.display().to_string(),
                    "the feature has no polygon, and a Shapefile of polygons needs one",
                )
                .at_row(record as u32 + 1)
                .hint("draw it, or take it out of the file")
                .into());
            }
            features.shorten_names(&mut changes);
            changes.extend(write_features_shapefile(output, &features)?);
        }
        Target::GeoPackage => {
            /// SQLite's limit of 2000, less number and geometry.
            const MOST_COLUMNS: usize = 1998;
            check_count(&file, &features, MOST_COLUMNS)?;
            features.part_names(&mut changes);
            write_geopackage(output, &layer, &features)?;
        }
        Target::GeoParquet => write_parquet(output, &features)?,
        Target::FlatGeobuf => write_flatgeobuf(output, &layer, &features)?,
    }
    Ok(Conversion {
        input: input.display().to_string(),
        output: file,
        format: target.name(),
        features: features.records(),
        geometry: match features.holds() {
            Holds::Nothing => "none",
            Holds::Points => "points",
            Holds::Polygons => "polygons",
        },
        columns: features.columns().iter().map(|c| c.name.clone()).collect(),
        crs: features
            .crs()
            .map_or_else(|| "WGS 84".to_owned(), |crs| crs.name.clone()),
        changes,
        problems: features.problems,
    })
}

fn check_count(file: &str, features: &Converted, most: usize) -> Result<(), Problem> {
    let columns = features.columns().len();
    if columns <= most {
        return Ok(());
    }
    Err(Problem::new(
        file,
        format!("expected at most {most} columns, found {columns}"),
    )
    .hint("write GeoParquet (.parquet), which holds any number"))
}

#[cfg(test)]
mod tests;
