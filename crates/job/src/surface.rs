//! The yield surface of a field as a GeoTIFF for a GIS, with a record beside it of everything it rests on: of a cleaned
//! log, where a comparison is written, or of any log by itself.

use crate::error::JobError;
use crate::map::as_cleaned;
use crate::outputs::{remove_stale, this_tool, write_json};
use crate::setup::LogSetup;
use crate::{CleanedField, compare::input_columns};
use checkstrip_formats::{RasterBand, RasterFile, write_geotiff};
use checkstrip_model::results::{Field, InputColumn, Results, Tool};
use checkstrip_model::units::{UnitSystem, kg_per_ha};
use checkstrip_model::{CleanLog, Problem, SourceFile, Warning};
use checkstrip_spatial::local_plane::LocalPlane;
use checkstrip_spatial::surface::{
    BLOCK_SIDE, NEIGHBOURS, Surface, SurfaceMethod, SurfaceSettings, USUAL_CELL_M, surface,
};
use checkstrip_spatial::utm::UtmZone;
use serde::Serialize;
use std::path::{Path, PathBuf};

/// The name under which a surface's record says what it is.
pub const SURFACE_SCHEMA: &str = "checkstrip-surface/1";

/// Which surface to draw of which log.
#[derive(Debug, Clone)]
pub struct SurfaceSetup {
    /// The log.
    pub log: LogSetup,
    /// Name of the field.
    pub name: String,
    /// How, and in which cells.
    pub settings: SurfaceSettings,
    /// Unit of the raster.
    pub units: UnitSystem,
}

/// Everything that a surface rests on.
#[derive(Debug, Clone, Serialize)]
pub struct SurfaceRecord {
    /// [`SURFACE_SCHEMA`].
    pub schema: String,
    /// What wrote it.
    pub tool: Tool,
    /// The field; yields are at its market moisture.
    pub field: Field,
    /// The log.
    pub input: SurfaceInput,
    /// The GeoTIFF.
    pub raster: RasterRecord,
    /// `block_kriging` or `inverse_distance`.
    pub method: String,
    /// The method that was asked for.
    pub method_asked: String,
    /// Samples that the records were gathered to: those of each cell that holds any, at their mean place.
    pub samples: usize,
    /// Samples that a cell is estimated from, at most.
    pub neighbours: usize,
    /// How far from a cell's middle they are looked for, m.
    pub reach_m: f64,
    /// Cells whose middle is farther from every record are empty, m.
    pub edge_m: f64,
    /// Power of the inverse distance, for that method.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub power: Option<f64>,
    /// Points along the side of a cell that stand for it, for kriging.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub block_points: Option<[usize; 2]>,
    /// The variogram, for kriging.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub variogram: Option<VariogramRecord>,
    /// What to know.
    pub warnings: Vec<Warning>,
}

/// The log of a surface.
#[derive(Debug, Clone, Serialize)]
pub struct SurfaceInput {
    /// Its files.
    pub files: Vec<SourceFile>,
    /// Records in them.
    pub records: usize,
    /// Records kept by cleaning, with a place and a yield.
    pub used: usize,
    /// Columns that were read.
    pub columns: Vec<InputColumn>,
}

/// The raster of a surface.
#[derive(Debug, Clone, Serialize)]
pub struct RasterRecord {
    /// The file's name.
    pub file: String,
    /// Its reference system.
    pub crs: String,
    /// The name of that.
    pub crs_name: String,
    /// Side of a cell, m.
    pub cell_m: f64,
    /// Cells from west to east.
    pub columns: usize,
    /// Cells from north to south.
    pub rows: usize,
    /// Western edge, m.
    pub west_m: f64,
    /// Northern edge, m.
    pub north_m: f64,
    /// Unit of the bands.
    pub unit: String,
    /// What a unit is in kg/ha.
    pub kg_ha_per_unit: f64,
    /// What the bands hold, the first first.
    pub bands: Vec<String>,
    /// Cells with a value.
    pub cells: usize,
    /// Cells inside the harvested ground that could not be estimated.
    pub unsolved: usize,
    /// Mean of the cells with a value, kg/ha.
    pub mean_kg_ha: Option<f64>,
    /// The least of them, kg/ha.
    pub least_kg_ha: Option<f64>,
    /// The most, kg/ha.
    pub most_kg_ha: Option<f64>,
}

/// A fitted variogram.
#[derive(Debug, Clone, Serialize)]
pub struct VariogramRecord {
    /// `spherical` or `exponential`.
    pub model: String,
    /// (kg/ha)².
    pub nugget_kg2_ha2: f64,
    /// Nugget and what distance adds to it, (kg/ha)².
    pub sill_kg2_ha2: f64,
    /// The model's range, m; of an exponential one, 95 % of the sill is reached at three times as much.
    pub range_m: f64,
    /// What the fit left of the sum over the lags of pairs × (empirical / model − 1)².
    pub criterion: f64,
    /// What it was fitted to.
    pub lags: Vec<LagRecord>,
}

/// Pairs of samples about one distance apart.
#[derive(Debug, Clone, Serialize)]
pub struct LagRecord {
    /// How many.
    pub pairs: u64,
    /// Their mean distance, m.
    pub distance_m: f64,
    /// Semivariance after Cressie and Hawkins (1980), (kg/ha)².
    pub semivariance_kg2_ha2: f64,
}

/// Draws the surface of a log and writes it as GeoTIFF to `path`, its record beside it under the ending `json`.
/// `progress` is told what is being done.
///
/// # Errors
/// When the log cannot be used, the surface cannot be made, `path` does not end as a GeoTIFF does, or a file cannot be
/// written.
pub fn draw_surface(
    setup: &SurfaceSetup,
    path: &Path,
    progress: &(dyn Fn(&str) + Sync),
) -> Result<SurfaceRecord, JobError> {
    let ending = path.extension().unwrap_or_default();
    if !["tif", "tiff"]
        .iter()
        .any(|tiff| ending.eq_ignore_ascii_case(tiff))
    {
        let shown = path.display().to_string();
        return Err(Problem::new(shown, "is no name of a GeoTIFF")
            .hint("give a name that ends in .tif, such as yield.tif")
            .into());
    }
    let (log, plane) = as_cleaned(&setup.log, progress)?;
    progress("drawing the yield surface");
    let field = Field::new(&setup.name, &setup.log.crop);
    write_surface(&log, &plane, &field, setup.settings, path, setup.units)
}

/// Writes `yield.tif` and `yield.json` of a field that was compared, when a surface is wanted; takes away those of an
/// earlier run when not. Returns the files, and what to know of them.
pub(crate) fn write_field_surface(
    cleaned: &CleanedField,
    results: &Results,
    dir: &Path,
    wanted: Option<SurfaceMethod>,
    units: UnitSystem,
) -> Result<(Vec<PathBuf>, Vec<Warning>), JobError> {
    let path = dir.join("yield.tif");
    let record = path.with_extension("json");
    let Some(method) = wanted else {
        // A raster of this name may be anybody's; ours has its record beside it.
        let says = std::fs::read_to_string(&record).unwrap_or_default();
        if says.contains(SURFACE_SCHEMA) {
            remove_stale(path)?;
            remove_stale(record)?;
        }
        return Ok((Vec::new(), Vec::new()));
    };
    let settings = SurfaceSettings {
        method,
        cell_m: USUAL_CELL_M,
    };
    let (log, plane) = (&cleaned.outcome.log, &cleaned.outcome.plane);
    let made = write_surface(log, plane, &results.field, settings, &path, units)?;
    Ok((vec![path, record], made.warnings))
}

fn write_surface(
    log: &CleanLog,
    plane: &LocalPlane,
    field: &Field,
    settings: SurfaceSettings,
    path: &Path,
    units: UnitSystem,
) -> Result<SurfaceRecord, JobError> {
    let kept: Vec<usize> = (0..log.len())
        .filter(|&record| log.status[record].is_kept() && log.yield_kg_ha[record].is_finite())
        .collect();
    let mut points: Vec<[f64; 2]> = kept.iter().map(|&at| log.footprint_middle(at)).collect();
    let yields: Vec<f64> = kept.iter().map(|&at| log.yield_kg_ha[at]).collect();
    let [lon, lat] = plane.origin();
    let zone = UtmZone::around(lon, lat)?;
    plane.points_to_lon_lat(&mut points)?;
    zone.to_metres(&mut points)?;
    let made = surface(&points, &yields, usual_width(log, &kept), settings)?;

    let (unit, kg_ha_per_unit) = match units {
        UnitSystem::Farm => ("bu/ac", kg_per_ha(1.0, field.bushel_kg)),
        UnitSystem::Si => ("kg/ha", 1.0),
    };
    let in_unit = |values: &[f32]| -> Vec<f32> {
        let values = values.iter();
        values
            .map(|&value| (f64::from(value) / kg_ha_per_unit) as f32)
            .collect()
    };
    let values = in_unit(&made.values);
    let errors = made.standard_errors.as_deref().map(in_unit);
    let mut bands = vec![RasterBand {
        name: "yield at market moisture",
        unit,
        values: &values,
    }];
    if let Some(errors) = &errors {
        bands.push(RasterBand {
            name: "kriging standard error",
            unit,
            values: errors,
        });
    }
    let crs_name = zone.name();
    let grid = made.grid;
    write_geotiff(
        path,
        &RasterFile {
            columns: grid.columns,
            rows: grid.rows,
            west_m: grid.west_m,
            north_m: grid.north_m,
            cell_m: grid.cell_m,
            epsg: zone.epsg(),
            crs_name: &crs_name,
            description: &in_words(&made, unit),
            bands: &bands,
        },
    )?;
    let [least, most, mean] = summary(&made.values);
    let record = SurfaceRecord {
        schema: SURFACE_SCHEMA.into(),
        tool: this_tool(),
        field: field.clone(),
        input: SurfaceInput {
            files: log.log.files.clone(),
            records: log.len(),
            used: made.records,
            columns: input_columns(&log.log),
        },
        raster: RasterRecord {
            file: path
                .file_name()
                .unwrap_or_default()
                .to_string_lossy()
                .into_owned(),
            crs: format!("EPSG:{}", zone.epsg()),
            crs_name,
            cell_m: grid.cell_m,
            columns: grid.columns,
            rows: grid.rows,
            west_m: grid.west_m,
            north_m: grid.north_m,
            unit: unit.into(),
            kg_ha_per_unit,
            bands: bands.iter().map(|band| band.name.to_owned()).collect(),
            cells: made.values.iter().filter(|value| value.is_finite()).count(),
            unsolved: made.unsolved,
            mean_kg_ha: mean,
            least_kg_ha: least,
            most_kg_ha: most,
        },
        method: made.method.key().into(),
        method_asked: settings.method.key().into(),
        samples: made.samples,
        neighbours: NEIGHBOURS,
        reach_m: made.reach_m,
        edge_m: made.edge_m,
        power: (made.method == SurfaceMethod::InverseDistance).then_some(2.0),
        block_points: made.variogram.is_some().then_some([BLOCK_SIDE; 2]),
        variogram: made.variogram.as_ref().map(|fitted| VariogramRecord {
            model: fitted.model.shape.key().into(),
            nugget_kg2_ha2: fitted.model.nugget,
            sill_kg2_ha2: fitted.model.nugget + fitted.model.partial_sill,
            range_m: fitted.model.range_m,
            criterion: fitted.criterion,
            lags: fitted
                .lags
                .iter()
                .map(|lag| LagRecord {
                    pairs: lag.pairs,
                    distance_m: lag.distance_m,
                    semivariance_kg2_ha2: lag.semivariance,
                })
                .collect(),
        }),
        warnings: made.warnings,
    };
    write_json(&path.with_extension("json"), &record)?;
    Ok(record)
}

/// The width in the middle of those that the kept records were cut with, m; 0 without any.
fn usual_width(log: &CleanLog, kept: &[usize]) -> f64 {
    let widths = kept.iter().map(|&record| log.width_m[record]);
    let mut widths: Vec<f64> = widths.filter(|width| width.is_finite()).collect();
    widths.sort_unstable_by(f64::total_cmp);
    widths.get(widths.len() / 2).copied().unwrap_or(0.0)
}

/// Least, most and mean of the cells that have a value.
fn summary(values: &[f32]) -> [Option<f64>; 3] {
    let known = values
        .iter()
        .map(|&value| f64::from(value))
        .filter(|value| value.is_finite());
    let count = known.clone().count();
    if count == 0 {
        return [None; 3];
    }
    let least = known.clone().fold(f64::INFINITY, f64::min);
    let most = known.clone().fold(f64::NEG_INFINITY, f64::max);
    [
        Some(least),
        Some(most),
        Some(known.sum::<f64>() / count as f64),
    ]
}

/// What the file itself says of the surface, in ASCII.
fn in_words(made: &Surface, unit: &str) -> String {
    let method = made.method.words();
    let how = match &made.variogram {
        Some(fitted) => format!(
            "{} variogram: nugget {:.0}, sill {:.0} (kg/ha)^2, range {:.1} m",
            fitted.model.shape.key(),
            fitted.model.nugget,
            fitted.model.nugget + fitted.model.partial_sill,
            fitted.model.range_m
        ),
        None => "no variogram".to_owned(),
    };
    format!(
        "Yield at market moisture, {unit}, by {method}; cells of {} m, {NEIGHBOURS} nearest samples within {:.1} m; {how}. \
         Smoothed: not for comparing strips.",
        made.grid.cell_m, made.reach_m
    )
}
