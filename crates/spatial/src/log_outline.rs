//! The outline of the ground a log was cut on, for fields whose boundary nobody has: footprints are
//! joined, gaps between them, such as unharvested slivers between passes and places where records are
//! missing, are closed, what sticks out of the edge is taken off, and the edge is straightened.

use checkstrip_model::{CleanLog, Status};
use geo::buffer::{BufferStyle, LineJoin};
use geo::{Area, Buffer, Coord, LineString, MultiPolygon, Polygon, Simplify, unary_union};

use crate::moved_edge::edge_moved;

/// Gaps narrower than this many header widths are closed: a swath that was missed, a turn.
const CLOSED_WIDTHS: f64 = 2.0;
/// Holes smaller than this are gaps in the record, not ponds or yards, m².
const LEAST_HOLE_M2: f64 = 500.0;
/// Pieces smaller than this are strays, m².
const LEAST_PIECE_M2: f64 = 5_000.0;
/// Ground narrower than this many header widths is no pass: a record whose footprint is turned, such
/// as that of a machine that crept or stood, sticks out of the edge by less.
const PASS_WIDTHS: f64 = 0.8;
/// The edge is straightened within this many header widths.
const STRAIGHT_WIDTHS: f64 = 0.25;

/// The ground cut by `log`, in its plane, m; empty when nothing was. Widths and numbers above are
/// common practice, no source. Records whose position or time is not believed do not count.
///
/// What sticks out is found by moving the edge in and out again (an opening: Serra, J., 1982, *Image
/// Analysis and Mathematical Morphology*, Academic Press, chapter II); the edge is straightened after
/// Douglas and Peucker (1973). It then lies nowhere farther outside the closed ground than a quarter of
/// a header width. Corners inside which a header does not come round stay a little rounder than the
/// field's own.
pub fn log_outline(log: &CleanLog) -> MultiPolygon<f64> {
    let mut widest = 0.0f64;
    let footprints: Vec<Polygon<f64>> = (0..log.len())
        .filter(|&record| {
            let believed = !matches!(log.status[record], Status::Position | Status::Time);
            believed && log.pass[record] > 0 && log.footprint_m2[record] > 0.0
        })
        .filter_map(|record| {
            let corners = log.footprint(record);
            widest = widest.max(log.width_m[record]);
            let is_known = corners.iter().flatten().all(|value| value.is_finite());
            let ring: LineString<f64> = corners.iter().map(|&[x, y]| Coord { x, y }).collect();
            is_known.then(|| Polygon::new(ring, vec![]))
        })
        .collect();
    if footprints.is_empty() || !widest.is_finite() {
        return MultiPolygon::new(vec![]);
    }
    closed_ground(&footprints, widest).simplify(widest * STRAIGHT_WIDTHS)
}

/// Footprints joined, narrow gaps and small holes closed, what sticks out and small pieces left out.
fn closed_ground(footprints: &[Polygon<f64>], widest: f64) -> MultiPolygon<f64> {
    let bevelled = |distance: f64| BufferStyle::new(distance).line_join(LineJoin::Bevel);
    let reach = widest * CLOSED_WIDTHS / 2.0;
    let half_pass = widest * PASS_WIDTHS / 2.0;
    let ground = unary_union(footprints)
        .buffer_with_style(bevelled(reach))
        .buffer_with_style(bevelled(-reach));
    // Gaps go first: moved in, the edge around one would take half a pass more away on every side.
    // Where edges that were moved in meet, notches and slits are left: moved out by more and back in,
    // they close. Pointed corners: an edge moved in and out again keeps the field's corners.
    let inner = edge_moved(&without_gaps(ground), -half_pass);
    let smooth = edge_moved(&edge_moved(&inner, half_pass + reach), -reach);
    without_gaps(smooth)
        .into_iter()
        .filter(|piece| piece.unsigned_area() >= LEAST_PIECE_M2)
        .collect()
}

/// Holes that are gaps in the record filled.
fn without_gaps(ground: MultiPolygon<f64>) -> MultiPolygon<f64> {
    let filled = |piece: Polygon<f64>| {
        let (exterior, mut holes) = piece.into_inner();
        holes.retain(|hole| Polygon::new(hole.clone(), vec![]).unsigned_area() >= LEAST_HOLE_M2);
        Polygon::new(exterior, holes)
    };
    ground.into_iter().map(filled).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use checkstrip_model::rectangle_behind;

    /// Passes 9 m wide up and down an L of 180 m by 300 m less 90 m by 150 m, one pass missing.
    #[test]
    fn an_l_shaped_field_keeps_its_shape() {
        let mut log = CleanLog::default();
        for pass in (0..20u32).filter(|&pass| pass != 7) {
            let length = if pass < 10 { 300 } else { 150 };
            for step in 1..=length / 3 {
                let east = f64::from(pass) * 9.0 + 4.5;
                log.east_m.push(east);
                log.north_m.push(f64::from(step) * 3.0);
                log.heading_deg.push(0.0);
                log.distance_m.push(3.0);
                log.width_m.push(9.0);
                log.pass.push(pass + 1);
                log.status.push(checkstrip_model::Status::Kept);
                log.footprint_m2.push(27.0);
            }
        }
        assert_eq!(
            log.footprint(0),
            rectangle_behind([4.5, 3.0], 0.0, 3.0, 9.0)
        );
        let outline = log_outline(&log);
        assert_eq!(outline.0.len(), 1);
        let area = outline.unsigned_area();
        assert!(
            (area / (180.0 * 300.0 - 90.0 * 150.0) - 1.0).abs() < 0.02,
            "{area}"
        );
        assert!(log_outline(&CleanLog::default()).0.is_empty());
    }
}
