//! A cleaned export read back: statuses and yields are those the export carries, nothing is judged
//! again. The `map` command draws from it.

use crate::CleaningError;
use crate::clean::plane_of;
use crate::drive::Drive;
use checkstrip_model::{CleanLog, Column, Crop, FieldLog, Status, rectangle_behind};
use checkstrip_spatial::{convex, local_plane::LocalPlane};

/// The cleaned log that `log` was exported from, with its plane. A log that is no cleaned export
/// (see [`FieldLog::cleaned_status`]) comes back with every record kept.
///
/// What the export does not carry stays empty: overlap areas are 0 and grain masses `NaN`.
///
/// # Errors
/// When no record has a position, or widths or grain are missing.
pub fn restore(log: FieldLog, crop: &Crop) -> Result<(CleanLog, LocalPlane), CleaningError> {
    let status = log
        .cleaned_status
        .clone()
        .unwrap_or_else(|| vec![Status::Kept; log.len()]);
    let plane = plane_of(&log)?;
    let drive = Drive::new(&log, &plane, crop, None)?;
    let (pass, raw) = drive.passes_and_raw_yields(crop);
    let n = log.len();
    let back = drive.back_to_log();
    let mut clean = CleanLog {
        east_m: back.numbers(&drive.east_m),
        north_m: back.numbers(&drive.north_m),
        heading_deg: back.numbers(&drive.heading_deg),
        distance_m: back.numbers(&drive.distance_m),
        width_m: back.numbers(&drive.width_m),
        pass: back.column(&pass, 0),
        status,
        footprint_m2: Vec::new(),
        overlap_m2: vec![0.0; n],
        wet_mass_kg: vec![f64::NAN; n],
        moisture_pct: back.numbers(&drive.moisture_pct),
        raw_yield_kg_ha: back.numbers(&raw),
        yield_kg_ha: log
            .numbers(Column::Yield)
            .map_or_else(|| vec![f64::NAN; n], <[f64]>::to_vec),
        log: FieldLog::default(),
    };
    clean.footprint_m2 = (0..n)
        .map(|at| {
            let centre = [clean.east_m[at], clean.north_m[at]];
            let corners = rectangle_behind(
                centre,
                clean.heading_deg[at],
                clean.distance_m[at],
                clean.width_m[at],
            );
            convex::area(&corners)
        })
        .collect();
    clean.log = log;
    Ok((clean, plane))
}
