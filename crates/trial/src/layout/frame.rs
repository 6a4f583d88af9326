//! The field turned so that strips run straight up: metres across the strips, to the right, and
//! metres along them. Lengths and areas stay as they are.

use geo::{Coord, MapCoords, MultiPolygon};

/// A turned frame around the local plane's origin.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Frame {
    sin: f64,
    cos: f64,
}

impl Frame {
    /// The frame whose "up" is `direction_deg` clockwise from north.
    pub(crate) fn new(direction_deg: f64) -> Frame {
        let (sin, cos) = direction_deg.to_radians().sin_cos();
        Frame { sin, cos }
    }

    /// Across and along, m, from east and north, m.
    pub(crate) fn turned(self, [east, north]: [f64; 2]) -> [f64; 2] {
        [
            east * self.cos - north * self.sin,
            east * self.sin + north * self.cos,
        ]
    }

    /// East and north, m, from across and along, m.
    pub(crate) fn back(self, [across, along]: [f64; 2]) -> [f64; 2] {
        [
            across * self.cos + along * self.sin,
            along * self.cos - across * self.sin,
        ]
    }

    /// [`Frame::turned`] for every corner of a ground.
    pub(crate) fn turned_ground(self, ground: &MultiPolygon<f64>) -> MultiPolygon<f64> {
        ground.map_coords(|corner| {
            let [x, y] = self.turned([corner.x, corner.y]);
            Coord { x, y }
        })
    }
}
