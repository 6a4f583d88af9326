//! Which way strips run: as given, along a first line, or along the boundary's longest side.

use super::LayoutError;
use geo::{MultiPolygon, Simplify};

/// How the direction of strips is chosen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Direction {
    /// Along the longest side of the boundary: the default, because long passes turn least.
    LongestSide,
    /// Degrees clockwise from true north.
    FromNorth(f64),
    /// Along a line, whose left side the first strip touches: its ends in the local plane, east and
    /// north, m. When more of the field lies left of the line, it is taken the other way round.
    FirstLine([[f64; 2]; 2]),
}

/// A boundary drawn by hand or recorded from a moving machine wavers by about this much, m: smaller
/// bends do not end a side. Common practice, no source.
const WAVER_M: f64 = 2.0;

/// Degrees clockwise from true north, 0 to 180, of the boundary's longest side, bends of up to 2 m
/// ignored (Douglas, D. H. and Peucker, T. K., 1973, *Algorithms for the reduction of the number of
/// points required to represent a digitized line or its caricature*, Cartographica 10(2), 112–122).
///
/// # Errors
/// [`LayoutError::NoGround`] when there is no side.
pub(super) fn longest_side(boundary: &MultiPolygon<f64>) -> Result<f64, LayoutError> {
    let mut longest = (0.0, 0.0);
    for polygon in boundary {
        // Simplifying keeps a ring's first corner, which may lie in the middle of a side: a start at
        // the corner farthest from the middle is a true one.
        let ring = from_farthest(&polygon.exterior().0);
        let ring = geo::LineString::new(ring).simplify(WAVER_M);
        for side in ring.lines() {
            let (east, north) = (side.dx(), side.dy());
            let length = east.hypot(north);
            if length > longest.0 {
                longest = (length, azimuth(east, north));
            }
        }
    }
    if longest.0 > 0.0 {
        Ok(longest.1.rem_euclid(180.0))
    } else {
        Err(LayoutError::NoGround)
    }
}

/// Degrees clockwise from north, 0 to 360.
pub(super) fn azimuth(east: f64, north: f64) -> f64 {
    east.atan2(north).to_degrees().rem_euclid(360.0)
}

fn from_farthest(ring: &[geo::Coord<f64>]) -> Vec<geo::Coord<f64>> {
    let open = &ring[..ring.len().saturating_sub(1)];
    let count = open.len().max(1) as f64;
    let middle = open
        .iter()
        .fold(geo::Coord { x: 0.0, y: 0.0 }, |sum, &c| sum + c / count);
    let off = |c: &geo::Coord<f64>| (c.x - middle.x).hypot(c.y - middle.y);
    let start = (0..open.len())
        .max_by(|&a, &b| off(&open[a]).total_cmp(&off(&open[b])))
        .unwrap_or(0);
    let mut turned: Vec<_> = open[start..]
        .iter()
        .chain(&open[..start])
        .copied()
        .collect();
    turned.extend(turned.first().copied());
    turned
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::polygon;

    #[test]
    fn the_longest_side_counts_through_its_wavers() {
        // 800 m leaning east by 100 m, with a corner that sticks out by 1 m in its middle.
        let field = polygon![
            (x: 51.0, y: 399.0), (x: 100.0, y: 800.0), (x: 500.0, y: 800.0), (x: 500.0, y: 0.0),
            (x: 0.0, y: 0.0)
        ];
        let found = longest_side(&MultiPolygon::new(vec![field])).unwrap();
        assert!(
            (found - (100f64 / 800.0).atan().to_degrees()).abs() < 1e-9,
            "{found}"
        );
    }

    #[test]
    fn no_ground_has_no_side() {
        assert_eq!(
            longest_side(&MultiPolygon::new(vec![])),
            Err(LayoutError::NoGround)
        );
    }
}
