//! The lie of the land from the log's own elevation column.

use checkstrip_model::{CleanLog, Column, Problem, Status};
use checkstrip_spatial::zones::local_median;

/// The elevation of every record's footprint, m: the median of all records within `radius_m`, whatever
/// cleaning thought of their yields, as long as their position is believed. `NaN` where there is none.
///
/// # Errors
/// When the log has no elevation.
pub(super) fn smoothed_elevation(log: &CleanLog, radius_m: f64) -> Result<Vec<f64>, Problem> {
    let refuse = |message: &str| {
        Problem::new(log.log.first_path(), message).hint(
            "if a column holds it under another name, say which under [harvest.columns], such as \
             elevation = { column = \"alt\", unit = \"ft\" }; or take zones from drawn polygons or past \
             harvests",
        )
    };
    let Some(elevation) = log.log.numbers(Column::Elevation) else {
        return Err(refuse(
            "the log has no elevation column, so there are no zones by elevation",
        ));
    };
    let points: Vec<[f64; 2]> = (0..log.len())
        .map(|record| match log.status[record] {
            Status::Position => [f64::NAN; 2],
            _ => [log.east_m[record], log.north_m[record]],
        })
        .collect();
    let targets: Vec<[f64; 2]> = (0..log.len())
        .map(|record| {
            if log.pass[record] > 0 {
                log.footprint_middle(record)
            } else {
                [f64::NAN; 2]
            }
        })
        .collect();
    Ok(local_median(&points, elevation, &targets, radius_m))
}
