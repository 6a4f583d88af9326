//! The ground that a machine worked, drawn from its log: every record is a band as long as the way since the
//! record before and as wide as what was at work; bands are joined, and slits that the noise of the receiver
//! left between them are closed.

use geo::{Coord, LineString, MultiPolygon, Polygon, unary_union};

use crate::moved_edge::edge_moved;
use crate::pass_direction::main_direction;

/// The ground of one record, in the field's plane.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    /// Where the middle of the machine was before, m east and north.
    pub from: [f64; 2],
    /// Where it was at the record.
    pub to: [f64; 2],
    /// Middle of what was at work, m to the right of the machine's middle.
    pub right_m: f64,
    /// Width of what was at work, m.
    pub width_m: f64,
}

/// Directions this near are one, degrees: bands along a straight are joined before their outlines are.
const STRAIGHT_DEG: f64 = 0.5;

impl Band {
    /// The way from its beginning to its end, m.
    pub fn length_m(&self) -> f64 {
        (self.to[0] - self.from[0]).hypot(self.to[1] - self.from[1])
    }

    /// The direction of travel, degrees clockwise from north of the plane.
    pub fn heading_deg(&self) -> f64 {
        let [east, north] = [self.to[0] - self.from[0], self.to[1] - self.from[1]];
        east.atan2(north).to_degrees().rem_euclid(360.0)
    }

    /// Its corners, counterclockwise, m; `NaN` where it has no length.
    pub fn corners(&self) -> [[f64; 2]; 4] {
        let length = self.length_m();
        let [along_e, along_n] = [
            (self.to[0] - self.from[0]) / length,
            (self.to[1] - self.from[1]) / length,
        ];
        let corner = |at: [f64; 2], right: f64| [at[0] + right * along_n, at[1] - right * along_e];
        let (left, right) = (
            self.right_m - self.width_m / 2.0,
            self.right_m + self.width_m / 2.0,
        );
        [
            corner(self.from, left),
            corner(self.from, right),
            corner(self.to, right),
            corner(self.to, left),
        ]
    }

    fn outline(&self) -> Polygon<f64> {
        let ring = self.corners().map(|[x, y]| Coord { x, y });
        Polygon::new(LineString::new(ring.to_vec()), vec![])
    }
}

/// The union of `bands`, with slits narrower than twice `closed_m` closed; m and m² of the field's plane. Bands
/// without length or width are no ground.
///
/// Slits are closed by moving the edge out and in again (a closing: Serra, J., 1982, *Image Analysis and Mathematical
/// Morphology*, Academic Press, chapter II); corners stay pointed. Cost grows as n log n with the bands.
///
/// ```
/// use checkstrip_spatial::worked_ground::{Band, worked_ground};
/// use geo::Area;
/// let pass = |east| Band { from: [east, 0.0], to: [east, 100.0], right_m: 0.0, width_m: 9.0 };
/// // Two passes, 10 cm apart.
/// let ground = worked_ground(&[pass(0.0), pass(9.1)], 0.25);
/// assert_eq!(ground.0.len(), 1);
/// assert!((ground.unsigned_area() - 18.1 * 100.0).abs() < 1e-3);
/// ```
pub fn worked_ground(bands: &[Band], closed_m: f64) -> MultiPolygon<f64> {
    let outlines: Vec<Polygon<f64>> = straightened(bands).iter().map(Band::outline).collect();
    if outlines.is_empty() {
        return MultiPolygon::new(vec![]);
    }
    edge_moved(&edge_moved(&unary_union(&outlines), closed_m), -closed_m)
}

/// Bands that go on in the direction of the one before, of one width, put together; those without ground left out.
fn straightened(bands: &[Band]) -> Vec<Band> {
    let mut joined: Vec<Band> = Vec::new();
    let has_ground = |band: &&Band| band.length_m() > 0.0 && band.width_m > 0.0;
    for band in bands.iter().filter(has_ground) {
        if let Some(last) = joined.last_mut()
            && last.to == band.from
            && (last.right_m, last.width_m) == (band.right_m, band.width_m)
            && turned_deg(last.heading_deg(), band.heading_deg()).abs() <= STRAIGHT_DEG
        {
            last.to = band.to;
        } else {
            joined.push(*band);
        }
    }
    joined
}

/// From one heading to another, -180 to 180 degrees.
fn turned_deg(from: f64, to: f64) -> f64 {
    (to - from + 180.0).rem_euclid(360.0) - 180.0
}

/// The direction along which most ground was worked, as [`main_direction`] has it. `None` when there is none.
pub fn main_direction_deg(bands: &[Band]) -> Option<f64> {
    let ground = |band: &Band| (band.heading_deg(), band.length_m() * band.width_m);
    main_direction(bands.iter().map(ground)).map(|found| found.direction_deg)
}

/// How far `band` runs from the direction `main_deg` or its opposite, 0 to 90 degrees.
pub fn off_direction_deg(band: &Band, main_deg: f64) -> f64 {
    let off = (band.heading_deg() - main_deg).rem_euclid(180.0);
    off.min(180.0 - off)
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::Area;

    fn band(from: [f64; 2], to: [f64; 2], right_m: f64, width_m: f64) -> Band {
        Band {
            from,
            to,
            right_m,
            width_m,
        }
    }

    #[test]
    fn what_is_to_the_right_turns_with_the_machine() {
        let up = band([0.0, 0.0], [0.0, 10.0], 3.0, 2.0);
        let down = band([10.0, 10.0], [10.0, 0.0], 3.0, 2.0);
        let middle = |band: &Band| {
            use geo::Centroid;
            let at = band.outline().centroid().unwrap();
            (at.x(), at.y())
        };
        assert_eq!(middle(&up), (3.0, 5.0));
        assert_eq!(middle(&down), (7.0, 5.0));
        assert_eq!((up.heading_deg(), down.heading_deg()), (0.0, 180.0));
    }

    #[test]
    fn records_along_a_straight_are_one_band() {
        let records: Vec<Band> = (0..50)
            .map(|step| {
                let at = f64::from(step) * 2.0;
                band([0.0, at], [0.0, at + 2.0], 0.0, 6.0)
            })
            .collect();
        assert_eq!(straightened(&records).len(), 1);
        assert!((worked_ground(&records, 0.2).unsigned_area() - 600.0).abs() < 1e-6);
        let mut broken = records.clone();
        broken[20].width_m = 3.0;
        assert_eq!(straightened(&broken).len(), 3);
        assert!((worked_ground(&broken, 0.2).unsigned_area() - 594.0).abs() < 0.1);
        broken.push(band([5.0, 5.0], [5.0, 5.0], 0.0, 6.0));
        assert_eq!(straightened(&broken).len(), 3);
    }

    #[test]
    fn there_and_back_are_one_direction() {
        let bands = [
            band([0.0, 0.0], [100.0, 1.0], 0.0, 9.0),
            band([100.0, 9.0], [0.0, 8.0], 0.0, 9.0),
            band([0.0, 0.0], [0.0, 20.0], 0.0, 9.0),
        ];
        let main = main_direction_deg(&bands).unwrap();
        assert!(off_direction_deg(&bands[0], main) < 1.0, "{main}");
        assert!(off_direction_deg(&bands[1], main) < 1.0);
        assert!(off_direction_deg(&bands[2], main) > 88.0);
        assert_eq!(main_direction_deg(&[]), None);
    }
}
