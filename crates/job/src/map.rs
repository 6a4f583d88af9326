//! One map of one log: a cleaned export is drawn as it is, any other log is cleaned first.

use crate::compare::{cleaned, read, rings};
use crate::error::JobError;
use crate::setup::LogSetup;
use checkstrip_cleaning::{BesideTheRecords, restore};
use checkstrip_formats::{StripOptions, read_strips, write_bytes_atomically};
use checkstrip_model::CleanLog;
use checkstrip_model::results::Field;
use checkstrip_model::units::UnitSystem;
use checkstrip_spatial::local_plane::LocalPlane;
use checkstrip_spatial::maps::{MapKind, MapRequest, StripOutline, draw};
use checkstrip_spatial::strip_ground::StripField;
use checkstrip_words::{Reader, Words};
use std::path::{Path, PathBuf};

/// Which map to draw of which log.
#[derive(Debug, Clone)]
pub struct MapSetup {
    /// The log.
    pub log: LogSetup,
    /// Name of the field on the map.
    pub name: String,
    /// The map.
    pub kind: MapKind,
    /// Strips to outline, with which attributes say what.
    pub strips: Option<(PathBuf, StripOptions)>,
    /// Units of figures and legend.
    pub units: UnitSystem,
    /// Their words.
    pub words: Words,
}

/// A cleaned export as it is, any other log cleaned; with its plane.
///
/// # Errors
/// When the log cannot be used.
pub(crate) fn as_cleaned(
    setup: &LogSetup,
    progress: &(dyn Fn(&str) + Sync),
) -> Result<(CleanLog, LocalPlane), JobError> {
    progress("reading the log");
    let log = read(setup)?;
    if log.cleaned_status.is_some() {
        let first = log.first_path().to_owned();
        return restore(log, &setup.crop).map_err(|source| JobError::Cleaning {
            file: first,
            source,
        });
    }
    progress("cleaning");
    let outcome = cleaned(log, setup, BesideTheRecords::default())?;
    Ok((outcome.log, outcome.plane))
}

/// Draws the map and writes it as PNG to `path`. `progress` is told what is being done.
///
/// # Errors
/// When the log or the strips cannot be used, or the picture cannot be written.
pub fn draw_one_map(
    setup: &MapSetup,
    path: &Path,
    progress: &(dyn Fn(&str) + Sync),
) -> Result<(), JobError> {
    let crop = &setup.log.crop;
    let (log, plane) = as_cleaned(&setup.log, progress)?;
    let mut outlines = Vec::new();
    if let Some((file, options)) = &setup.strips {
        let set = read_strips(file, options)?;
        let field = StripField::new(&set, &plane, 0.0)?;
        outlines.extend(
            set.strips
                .into_iter()
                .zip(&field.strips)
                .map(|(strip, ground)| StripOutline {
                    strip_id: strip.strip_id,
                    treatment: strip.treatment,
                    block: strip.block.unwrap_or_default(),
                    rings: rings(ground),
                    yield_kg_ha: None,
                    is_check: false,
                }),
        );
    }
    progress("drawing");
    let field = Field::new(&setup.name, crop);
    let request = MapRequest {
        field: &field,
        reader: Reader::new(setup.units, &setup.words),
        strips: &outlines,
    };
    let png = draw(setup.kind, &log, &request)?;
    Ok(write_bytes_atomically(path, &png)?)
}
