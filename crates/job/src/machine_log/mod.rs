//! The log of a planter, sprayer, spreader or roller on the ground: read, in its plane, as bands with labels, and what
//! counts as ground rather than noise of the receiver. Outlines and the comparison with a plan stand on it.

mod bands;

pub(crate) use bands::{
    GoingOn, LabelledBand, MachineWidth, is_at_work, labelled_bands, order_of_driving,
};

use crate::compare::read_any;
use crate::error::JobError;
use crate::setup::LogSetup;
use checkstrip_cleaning::plane_of;
use checkstrip_model::units::shortest;
use checkstrip_model::{Column, FieldLog, Operation, Problem};
use checkstrip_spatial::local_plane::LocalPlane;
use checkstrip_spatial::worked_ground::{Band, main_direction_deg, off_direction_deg};
use geo::{Area, Centroid, LineString, Polygon, Simplify};

/// Slits between passes narrower than twice this are noise of the receiver, m. Common practice, no source: guidance
/// repeats a pass within some 0.1 to 0.3 m.
pub(crate) const CLOSED_M: f64 = 0.3;
/// Pieces smaller than this make no strip. Common practice, no source.
pub(crate) const SMALLEST_M2: f64 = 500.0;
/// Passes that run this far from the main direction are end rows, degrees. Common practice, no source.
pub(crate) const END_ROWS_DEG: f64 = 30.0;

/// A log in its plane.
#[derive(Debug)]
pub(crate) struct MachineLog {
    pub(crate) log: FieldLog,
    pub(crate) plane: LocalPlane,
    pub(crate) east_m: Vec<f64>,
    pub(crate) north_m: Vec<f64>,
}

impl MachineLog {
    /// Reads a log of a planting or an application.
    ///
    /// # Errors
    /// When it cannot be read, has no position, or is of a harvest.
    pub(crate) fn read(setup: &LogSetup) -> Result<MachineLog, JobError> {
        let log = read_machine_log(setup)?;
        let plane = plane_of(&log).map_err(|source| JobError::Cleaning {
            file: log.first_path().to_owned(),
            source,
        })?;
        MachineLog::on(log, plane)
    }

    /// The same in a plane that is there already.
    ///
    /// # Errors
    /// As [`read`](Self::read).
    pub(crate) fn read_on(setup: &LogSetup, plane: LocalPlane) -> Result<MachineLog, JobError> {
        MachineLog::on(read_machine_log(setup)?, plane)
    }

    fn on(log: FieldLog, plane: LocalPlane) -> Result<MachineLog, JobError> {
        let positions = |column| log.numbers(column).unwrap_or_default();
        let (east_m, north_m) = plane.to_plane(positions(Column::Lon), positions(Column::Lat))?;
        Ok(MachineLog {
            log,
            plane,
            east_m,
            north_m,
        })
    }

    /// East and north of every record in the plane, m.
    pub(crate) fn east_north_m(&self) -> [&[f64]; 2] {
        [&self.east_m, &self.north_m]
    }

    /// What is wrong with the log as a whole.
    pub(crate) fn refuse(&self, message: &str, hint: &str) -> Problem {
        Problem::new(self.log.first_path(), message).hint(hint)
    }

    /// The direction of most ground, degrees from north of the plane.
    ///
    /// # Errors
    /// When there is no ground.
    pub(crate) fn direction_deg(&self, bands: &[LabelledBand]) -> Result<f64, Problem> {
        let all: Vec<Band> = bands.iter().map(|labelled| labelled.band).collect();
        main_direction_deg(&all).ok_or_else(|| {
            self.refuse(
                "nothing in it was at work while the machine moved",
                "look at it with checkstrip inspect: rates above 0, or the implement down, tell work",
            )
        })
    }
}

/// Reads a log of a planting or an application.
fn read_machine_log(setup: &LogSetup) -> Result<FieldLog, JobError> {
    let log = read_any(setup)?;
    if matches!(log.operation, Operation::Harvest | Operation::StandCount) {
        let message = format!(
            "is {}, which does not say what was done on the field",
            log.operation.log_in_words()
        );
        return Err(Problem::new(log.first_path(), message)
            .hint("give the log of the planter, the sprayer or the spreader")
            .into());
    }
    Ok(log)
}

/// Whether a band runs across the direction of most ground, as end rows do.
pub(crate) fn is_end_row(band: &LabelledBand, direction_deg: f64) -> bool {
    off_direction_deg(&band.band, direction_deg) > END_ROWS_DEG
}

/// Where `piece` lies across the passes, m, growing from the west or north: strips are numbered along it.
pub(crate) fn place_across(piece: &Polygon<f64>, direction_deg: f64) -> f64 {
    let (sin, cos) = (direction_deg + 90.0).to_radians().sin_cos();
    let middle = piece.centroid().map_or([0.0; 2], |at| [at.x(), at.y()]);
    middle[0] * sin + middle[1] * cos
}

/// `piece` without corners that hardly move its edge, nor holes that two passes left where they meet.
pub(crate) fn straightened(piece: &Polygon<f64>) -> Polygon<f64> {
    /// Corners are left out where the edge moves by less, m.
    const STRAIGHT_M: f64 = 0.05;
    let (outline, holes) = piece.simplify(STRAIGHT_M).into_inner();
    /// Smaller holes are slits.
    const SMALLEST_HOLE_M2: f64 = 1.0;
    let area_m2 = |ring: &LineString<f64>| Polygon::new(ring.clone(), vec![]).unsigned_area();
    let holes = holes
        .into_iter()
        .filter(|ring| area_m2(ring) >= SMALLEST_HOLE_M2);
    Polygon::new(outline, holes.collect())
}

/// `rate` to three digits: what machines log of a rate asked for wavers in the digits behind.
pub(crate) fn three_digits(rate: f64) -> String {
    let scale = 10.0_f64.powf(2.0 - rate.log10().floor());
    let rounded = (rate * scale).round() / scale;
    shortest(rounded, scale.log10().max(0.0) as usize)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slits_are_no_holes() {
        let ring = |corners: &[(f64, f64)]| LineString::from(corners.to_vec());
        let outline = ring(&[(0.0, 0.0), (9.0, 0.0), (9.0, 9.0), (0.0, 9.0), (0.0, 0.0)]);
        let slit = ring(&[(1.0, 1.0), (1.0, 8.0), (1.01, 4.0), (1.0, 1.0)]);
        let hole = ring(&[(5.0, 5.0), (6.0, 5.0), (6.0, 6.0), (5.0, 6.0), (5.0, 5.0)]);
        let piece = straightened(&Polygon::new(outline, vec![slit, hole.clone()]));
        assert_eq!(piece.interiors(), [hole]);
    }

    #[test]
    fn rates_have_three_digits() {
        let said = [79_074.3, 140.04, 12.3456, 0.5, 99.96];
        let said: Vec<String> = said.into_iter().map(three_digits).collect();
        assert_eq!(said, ["79100", "140", "12.3", "0.5", "100"]);
    }
}
