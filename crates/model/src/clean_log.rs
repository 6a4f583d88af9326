//! A log after cleaning: the log as read with its derived columns filled in, and beside it, record
//! by record in the same order, where it lies in the local plane, what became of it and the yield
//! of the ground under it. Overlay, maps and exports read it.

use crate::{FieldLog, Status};

/// A cleaned log. Every column has one entry per record of `log`, in the same order.
#[derive(Debug, Clone, Default)]
pub struct CleanLog {
    /// The log as read, absent columns derived.
    pub log: FieldLog,
    /// East of the local plane's origin, m: centre of the cutting edge at the interval's end.
    pub east_m: Vec<f64>,
    /// North of the local plane's origin, m.
    pub north_m: Vec<f64>,
    /// Direction of travel in the local plane, clockwise from north, degrees.
    pub heading_deg: Vec<f64>,
    /// Ground travelled, m.
    pub distance_m: Vec<f64>,
    /// Cutting width, m.
    pub width_m: Vec<f64>,
    /// Pass number, from 1; 0 where the machine was not cutting.
    pub pass: Vec<u32>,
    /// Kept, or the reason the record was dropped.
    pub status: Vec<Status>,
    /// Area of the whole footprint, m².
    pub footprint_m2: Vec<f64>,
    /// Part of the footprint that other passes had harvested before, m².
    pub overlap_m2: Vec<f64>,
    /// Wet grain cut from this ground (the flow shifted by the grain delay), kg.
    pub wet_mass_kg: Vec<f64>,
    /// Moisture of that grain, percent.
    pub moisture_pct: Vec<f64>,
    /// Yield at market moisture from distance × width, before the delay or anything else was put
    /// right, kg/ha: what the log says untouched.
    pub raw_yield_kg_ha: Vec<f64>,
    /// Yield at market moisture of the newly harvested ground, kg/ha; `NaN` where unknown.
    pub yield_kg_ha: Vec<f64>,
}

impl CleanLog {
    /// Number of records.
    pub fn len(&self) -> usize {
        self.status.len()
    }

    /// Whether there is no record.
    pub fn is_empty(&self) -> bool {
        self.status.is_empty()
    }

    /// How many records have a status.
    pub fn count(&self, status: Status) -> usize {
        self.status.iter().filter(|&&s| s == status).count()
    }

    /// The four corners of a record's footprint in the local plane: [`rectangle_behind`] its
    /// cutting edge.
    pub fn footprint(&self, record: usize) -> [[f64; 2]; 4] {
        rectangle_behind(
            [self.east_m[record], self.north_m[record]],
            self.heading_deg[record],
            self.distance_m[record],
            self.width_m[record],
        )
    }

    /// Middle of a record's footprint, east and north in the local plane, m: half a travelled
    /// distance behind the cutting edge.
    pub fn footprint_middle(&self, record: usize) -> [f64; 2] {
        let (sin, cos) = self.heading_deg[record].to_radians().sin_cos();
        let back = self.distance_m[record] / 2.0;
        [
            self.east_m[record] - sin * back,
            self.north_m[record] - cos * back,
        ]
    }

    /// Area taken for the first time by this record, m².
    pub fn new_area_m2(&self, record: usize) -> f64 {
        (self.footprint_m2[record] - self.overlap_m2[record]).max(0.0)
    }
}

/// The rectangle `distance` long behind a cutting edge `width` wide, whose centre is at `centre`
/// (east, north) and which travels towards `heading_deg` (clockwise from north): its corners,
/// counter-clockwise from the rear right one, in the unit of the lengths.
pub fn rectangle_behind(
    centre: [f64; 2],
    heading_deg: f64,
    distance: f64,
    width: f64,
) -> [[f64; 2]; 4] {
    let (sin, cos) = heading_deg.to_radians().sin_cos();
    let right = [cos * width / 2.0, -sin * width / 2.0];
    let back = [-sin * distance, -cos * distance];
    let corner = |side: f64, rear: f64| {
        [
            centre[0] + side * right[0] + rear * back[0],
            centre[1] + side * right[1] + rear * back[1],
        ]
    };
    [
        corner(1.0, 1.0),
        corner(1.0, 0.0),
        corner(-1.0, 0.0),
        corner(-1.0, 1.0),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn footprint_lies_behind_the_cutting_edge_and_turns_left() {
        let log = CleanLog {
            east_m: vec![10.0],
            north_m: vec![20.0],
            heading_deg: vec![90.0],
            distance_m: vec![2.0],
            width_m: vec![6.0],
            ..CleanLog::default()
        };
        let corners = log.footprint(0);
        let expected = [[8.0, 17.0], [10.0, 17.0], [10.0, 23.0], [8.0, 23.0]];
        for (found, wanted) in corners.iter().zip(expected) {
            assert!((found[0] - wanted[0]).abs() < 1e-9 && (found[1] - wanted[1]).abs() < 1e-9);
        }
        let middle = log.footprint_middle(0);
        assert!((middle[0] - 9.0).abs() < 1e-9 && (middle[1] - 20.0).abs() < 1e-9);
    }
}
