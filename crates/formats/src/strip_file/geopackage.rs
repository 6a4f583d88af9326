//! Strips edited in a layer of a GeoPackage.

use std::path::Path;

use checkstrip_model::Problem;

use super::StripFile;
use super::changes::Changes;
use crate::FormatError;
use crate::export::empty_geopackage;
use crate::feature::FeatureFile;
use crate::geopackage::{EditedRow, LayerInHand, Wanted, read};

pub(super) fn features(
    path: &Path,
    file: &str,
    layer: Option<&str>,
    bytes: &[u8],
) -> Result<FeatureFile, Problem> {
    read(path, bytes, layer, Wanted::Polygons, &|_| true)?.into_polygons(file)
}

/// The bytes of `file` with `changes`.
pub(super) fn edited(
    file: &StripFile,
    bytes: &[u8],
    changes: &Changes<'_>,
    now: &str,
) -> Result<Vec<u8>, Problem> {
    let layer = LayerInHand::open(&file.path, bytes, file.layer.as_deref())?;
    let (names, options) = (&file.names, &file.options);
    let treatment = file.attribute(&names.treatment, &options.treatment);
    let block = file.attribute(&names.block, &options.block);
    let strip_id = file.attribute(&names.strip_id, &options.strip_id);
    let with_blocks = names.block.is_some() || changes.have_blocks();
    layer.need_column(treatment)?;
    if with_blocks {
        layer.need_column(block)?;
    }
    // Features are numbered by the file, not from 1: names are always written.
    layer.need_column(strip_id)?;
    for (strip, heir) in &changes.kept {
        let Some(edited) = heir else {
            layer.remove(strip.row)?;
            continue;
        };
        let mut values = Vec::new();
        if strip.treatment != edited.treatment {
            values.push((treatment, Some(edited.treatment.as_str())));
        }
        if with_blocks && strip.block != edited.block {
            values.push((block, edited.block.as_deref()));
        }
        if names.strip_id.is_none() || strip.strip_id != edited.strip_id {
            values.push((strip_id, Some(edited.strip_id.as_str())));
        }
        let polygons = match strip.ground == edited.ground {
            true => None,
            false => Some(file.places.polygons(&file.shown(), &edited.ground)?),
        };
        layer.write(strip.row, &EditedRow { values, polygons })?;
    }
    for (source, edited) in &changes.added {
        let row = layer.add(source.map(|strip| strip.row))?;
        let mut values = vec![
            (treatment, Some(edited.treatment.as_str())),
            (strip_id, Some(edited.strip_id.as_str())),
        ];
        if with_blocks {
            values.push((block, edited.block.as_deref()));
        }
        let polygons = Some(file.places.polygons(&file.shown(), &edited.ground)?);
        layer.write(row, &EditedRow { values, polygons })?;
    }
    layer.into_bytes(now)
}

/// A GeoPackage whose layer has no strip yet.
pub(super) fn empty(
    path: &Path,
    layer: Option<&str>,
    columns: [&str; 3],
) -> Result<Vec<u8>, FormatError> {
    let stem = path.file_stem().unwrap_or_default().to_string_lossy();
    empty_geopackage(layer.unwrap_or(&stem), &columns)
        .map_err(|error| FormatError::writing(path, std::io::Error::other(error)))
}
