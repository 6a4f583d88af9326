//! What `checkstrip compare` and `checkstrip batch` write when they are asked to, and what `checkstrip surface` takes.

use super::{ExportForm, LogArguments, length};
use checkstrip_job::{StripsForm, WantedFiles};
use checkstrip_spatial::surface::{SurfaceMethod, USUAL_CELL_M};
use clap::{Args, ValueEnum};
use std::path::PathBuf;

#[derive(Debug, Clone, Args)]
pub(crate) struct WantedArguments {
    /// Form of the cleaned log.
    #[arg(long, value_enum, default_value_t = ExportForm::Auto)]
    pub(crate) export: ExportForm,
    /// Write the strips with their results for a GIS, in this form; see docs/exports.md. May be repeated.
    #[arg(long, value_enum, value_name = "FORM")]
    pub(crate) gis: Vec<GisForm>,
    /// Write the yield surface as well, yield.tif with cells of 5 m, made in this way; see docs/exports.md.
    #[arg(long, value_enum, value_name = "METHOD")]
    pub(crate) surface: Option<SurfaceForm>,
}

impl From<&WantedArguments> for WantedFiles {
    fn from(arguments: &WantedArguments) -> WantedFiles {
        WantedFiles::new(
            arguments.export.into(),
            arguments.gis.iter().map(|&form| form.into()),
            arguments.surface.map(Into::into),
        )
    }
}

#[derive(Debug, Clone, Copy, ValueEnum)]
pub(crate) enum GisForm {
    /// strips_results.gpkg (GeoPackage)
    Gpkg,
    /// strips_results.parquet (GeoParquet)
    Parquet,
    /// strips_results.shp (Shapefile)
    Shapefile,
}

impl From<GisForm> for StripsForm {
    fn from(form: GisForm) -> StripsForm {
        match form {
            GisForm::Gpkg => StripsForm::GeoPackage,
            GisForm::Parquet => StripsForm::GeoParquet,
            GisForm::Shapefile => StripsForm::Shapefile,
        }
    }
}

#[derive(Debug, Clone, Copy, ValueEnum)]
pub(crate) enum SurfaceForm {
    /// Ordinary kriging of each cell's mean, with its standard error as a second band.
    BlockKriging,
    /// Inverse distance squared.
    InverseDistance,
}

impl From<SurfaceForm> for SurfaceMethod {
    fn from(form: SurfaceForm) -> SurfaceMethod {
        match form {
            SurfaceForm::BlockKriging => SurfaceMethod::BlockKriging,
            SurfaceForm::InverseDistance => SurfaceMethod::InverseDistance,
        }
    }
}

#[derive(Debug, Args)]
pub(crate) struct SurfaceArguments {
    /// Log files: a cleaned export is taken as it is, any other log is cleaned first.
    #[arg(required = true, value_name = "LOG")]
    pub(crate) logs: Vec<String>,
    /// How cells are estimated.
    #[arg(long, value_enum, default_value_t = SurfaceForm::BlockKriging)]
    pub(crate) method: SurfaceForm,
    /// Side of a cell, with its unit [5 m when absent].
    #[arg(long, value_name = "LENGTH", value_parser = length)]
    pub(crate) cell: Option<f64>,
    /// Name of the field in the record.
    #[arg(long, value_name = "NAME")]
    pub(crate) name: Option<String>,
    #[command(flatten)]
    pub(crate) log: LogArguments,
    /// The GeoTIFF to write; its record is written beside it under the ending .json.
    #[arg(long, value_name = "FILE.tif")]
    pub(crate) out: PathBuf,
}

impl SurfaceArguments {
    /// Side of a cell, m.
    pub(crate) fn cell_m(&self) -> f64 {
        self.cell.unwrap_or(USUAL_CELL_M)
    }
}
