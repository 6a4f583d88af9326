//! Coordinates of a file that does not say what they are in: degrees are taken for WGS 84, which is
//! reported; anything else is refused.

use checkstrip_model::Problem;

/// A note that `points` are taken for WGS 84, where they can be; `missing` says what the file lacks, as
/// in "no .prj beside it", and `hint` how to add it.
///
/// # Errors
/// When a point is outside degrees.
pub(crate) fn take_for_wgs84(
    file: &str,
    missing: &str,
    hint: &str,
    mut points: impl Iterator<Item = [f64; 2]>,
) -> Result<Problem, Problem> {
    // What is no number compares as neither inside nor outside.
    let outside = points.find(|[lon, lat]| lon.abs() > 180.0 || lat.abs() > 90.0);
    match outside {
        None => Ok(Problem::new(
            file,
            format!("{missing}: its coordinates are taken for WGS 84"),
        )
        .hint(format!("{hint}, so that nothing has to be guessed"))),
        Some(_) => Err(Problem::new(
            file,
            format!("its coordinates are not in degrees and there is {missing}"),
        )
        .hint(format!(
            "{hint}: it says in which reference system the coordinates are"
        ))),
    }
}
