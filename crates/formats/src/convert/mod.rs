//! From one open format to another, everything kept that the target can hold: columns whether
//! checkstrip understands them or not, their names and so their units, values, geometries and reference
//! system. What the target cannot hold is changed as little as can be, and said. A file is read twice in
//! batches, once to learn what there is and once to write it, so that memory does not grow with it.

mod converted;
pub(crate) mod names;
mod read;
mod shapes;
mod survey;

use std::cell::RefCell;
use std::ffi::OsStr;
use std::path::Path;

use checkstrip_model::{Operation, Problem};
use serde::Serialize;

use crate::export::feature_source::{Holds, Outline};
use crate::export::{
    TaskDataTarget, write_features_csv, write_features_geojson, write_features_geojson_sequence,
    write_features_shapefile, write_flatgeobuf, write_geopackage, write_parquet,
    write_task_data_log,
};
use crate::feature_stream::{FeatureStream, Wish};
use crate::raw_table::{MOST_ATTRIBUTES, short_name};
use crate::{FormatError, ReadOptions, geopackage, kind, read_log, task_data};
use converted::Converted;
use survey::Survey;

/// What of a file is wanted.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct ConvertOptions {
    /// Only features that meet this box: west, south, east, north in WGS 84 degrees.
    pub bbox: Option<[f64; 4]>,
    /// Only these columns, in the order of the file; positions always.
    pub columns: Option<Vec<String>>,
}

/// What a conversion did.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Conversion {
    /// The file read, as given.
    pub input: String,
    /// The file written, as given.
    pub output: String,
    /// Its format.
    pub format: &'static str,
    /// How many records or features are written.
    pub features: usize,
    /// How many were left out, since they do not meet the box.
    pub left_out: usize,
    /// The box: west, south, east, north in degrees.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bbox: Option<[f64; 4]>,
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
                    "end it in .csv, .geojson, .ndjson, .geojsons, .shp, .gpkg, .parquet or .fgb; for task \
                     data call it TASKDATA, or end it in .zip",
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

/// Reads `input` and writes what `options` ask for as `output`, in the format that the ending of its name
/// says.
///
/// Delimited text, GeoJSON feature by feature, GeoPackage, GeoParquet and FlatGeobuf are read in batches.
/// A whole GeoJSON document and a Shapefile are in memory, some 50 bytes a value; a Shapefile that is
/// written as well.
///
/// # Errors
/// When `input` cannot be read, `output` is the same file or of no known format, or the format cannot
/// hold the geometries or any of the columns. Nothing is written then.
///
/// ```
/// use checkstrip_formats::ConvertOptions;
///
/// let dir = tempfile::tempdir()?;
/// let (input, output) = (dir.path().join("log.csv"), dir.path().join("log.gpkg"));
/// std::fs::write(&input, "lon,lat,Flow (lb/s),variety\n-93.1,43.2,20,P1\n")?;
/// let done = checkstrip_formats::convert(&input, &output, &ConvertOptions::default())?;
/// assert_eq!(done.columns, ["Flow (lb/s)", "variety"]);
/// assert!(done.changes.is_empty());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn convert(
    input: &Path,
    output: &Path,
    options: &ConvertOptions,
) -> Result<Conversion, FormatError> {
    let file = output.display().to_string();
    let (read_from, _) = geopackage::split_layer(input);
    let (read_from, _) = task_data::split_choice(&read_from);
    if let (Ok(from), Ok(to)) = (read_from.canonicalize(), output.canonicalize())
        && from == to
    {
        return Err(Problem::new(file, "is the file that is read")
            .hint("give another name to write to")
            .into());
    }
    let target = match task_data_target(output) {
        Some(target) => return log_as_task_data(input, output, target, options),
        None => Target::of(output)?,
    };
    let wish = Wish {
        bbox: options.bbox,
        columns: options.columns.clone(),
    };
    let given = input.display().to_string();
    let mut changes = Vec::new();
    let looked;
    let stream: Box<dyn FeatureStream> = match read::from_task_data(input, &mut changes)? {
        Some(set) => set,
        None => {
            looked = kind::look(input)?;
            read::open(&looked, &wish)?
        }
    };
    let mut survey = Survey::new(&given, stream.as_ref(), &wish, target.holds_crs())?;
    if survey.is_full() {
        changes.push(format!(
            "columns: at most {MOST_ATTRIBUTES} attributes are read, further ones are left out"
        ));
    }
    let (outline, sources) = survey.outline(&wish);
    let mut features = Converted {
        file: &given,
        stream: stream.as_ref(),
        outline,
        sources,
        way: survey.way.clone(),
        selection: survey.selection.clone(),
        failed: RefCell::new(None),
    };
    let refuse =
        |message: &str, hint: &str| Err(Problem::new(file.as_str(), message).hint(hint).into());
    match (target, features.outline.holds) {
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
    if let (Some(definition), Some(_)) = (&survey.definition, &survey.way) {
        changes.push(format!(
            "coordinates: from {} to WGS 84 longitude and latitude, the only ones that {} holds",
            short_name(definition),
            target.name()
        ));
    }
    let layer = output
        .file_stem()
        .unwrap_or_default()
        .to_string_lossy()
        .into_owned();
    match target {
        Target::Csv if features.outline.holds == Holds::Points => {
            features.drop_positions(survey.same_positions(), &mut changes);
        }
        Target::Shapefile => {
            /// As many as readers of attribute tables take.
            const MOST_COLUMNS: usize = 255;
            check_count(&file, &features.outline, MOST_COLUMNS)?;
            if let (Holds::Polygons, Some(row)) = (features.outline.holds, survey.first_undrawn) {
                return Err(Problem::new(
                    given.as_str(),
                    "the feature has no polygon, and a Shapefile of polygons needs one",
                )
                .at_row(row)
                .hint("draw it, or take it out of the file")
                .into());
            }
            features.shorten_names(&mut changes);
        }
        Target::GeoPackage => {
            /// SQLite's limit of 2000, less number and geometry.
            const MOST_COLUMNS: usize = 1998;
            check_count(&file, &features.outline, MOST_COLUMNS)?;
            features.part_names(&mut changes);
        }
        _ => {}
    }
    write(target, output, &layer, &features, &mut changes)
        .map_err(|error| features.failed.take().unwrap_or(error))?;
    let outline = &features.outline;
    let all = match options.bbox {
        Some(_) => stream
            .features_in_file()
            .map_or(survey.read, |all| all as usize),
        None => outline.records,
    };
    Ok(Conversion {
        input: given.clone(),
        output: file,
        format: target.name(),
        features: outline.records,
        left_out: all.saturating_sub(outline.records),
        bbox: options.bbox,
        geometry: match outline.holds {
            Holds::Nothing => "none",
            Holds::Points => "points",
            Holds::Polygons => "polygons",
        },
        columns: outline.columns.iter().map(|c| c.name.clone()).collect(),
        crs: (outline.crs.as_ref()).map_or_else(|| "WGS 84".to_owned(), |crs| crs.name.clone()),
        changes,
        problems: survey.take_problems(&given),
    })
}

fn write(
    target: Target,
    output: &Path,
    layer: &str,
    features: &Converted<'_>,
    changes: &mut Vec<String>,
) -> Result<(), FormatError> {
    match target {
        Target::Csv => write_features_csv(output, features),
        Target::GeoJson => write_features_geojson(output, features),
        Target::GeoJsonLines => write_features_geojson_sequence(output, features, false),
        Target::GeoJsonSequence => write_features_geojson_sequence(output, features, true),
        Target::Shapefile => {
            changes.extend(write_features_shapefile(output, features)?);
            Ok(())
        }
        Target::GeoPackage => write_geopackage(output, layer, features),
        Target::GeoParquet => write_parquet(output, features),
        Target::FlatGeobuf => write_flatgeobuf(output, layer, features),
    }
}

/// How `path` is written where it names task data: as a folder called `TASKDATA` or as a zip archive.
fn task_data_target(path: &Path) -> Option<TaskDataTarget> {
    let is = |part: Option<&OsStr>, name: &str| part.is_some_and(|p| p.eq_ignore_ascii_case(name));
    if is(path.file_name(), "TASKDATA") {
        Some(TaskDataTarget::Folder)
    } else if is(path.extension(), "zip") {
        Some(TaskDataTarget::Zip)
    } else {
        None
    }
}

/// Reads `input` as a harvest log and writes what task data holds of it.
fn log_as_task_data(
    input: &Path,
    output: &Path,
    target: TaskDataTarget,
    selection: &ConvertOptions,
) -> Result<Conversion, FormatError> {
    if *selection != ConvertOptions::default() {
        return Err(Problem::new(
            output.display().to_string(),
            "task data is written of a whole log, without a box or a choice of columns",
        )
        .hint("choose into another format first, such as a .gpkg, and convert that")
        .into());
    }
    let options = ReadOptions {
        operation: Some(Operation::Harvest),
        ..ReadOptions::default()
    };
    let log = read_log(&[input.to_owned()], &options)?;
    let task = input.file_stem().unwrap_or_default().to_string_lossy();
    let done = write_task_data_log(output, target, &task, &log)?;
    Ok(Conversion {
        input: input.display().to_string(),
        output: output.display().to_string(),
        format: "ISO 11783-10 task data",
        features: done.records,
        left_out: 0,
        bbox: None,
        geometry: "points",
        columns: done.columns,
        crs: "WGS 84".to_owned(),
        changes: done.changes,
        problems: log.problems,
    })
}

fn check_count(file: &str, outline: &Outline, most: usize) -> Result<(), Problem> {
    let columns = outline.columns.len();
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
