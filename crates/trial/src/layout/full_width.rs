//! Where a strip has its full width: the stretches along it on which the ground reaches from its
//! left to its right edge. A strip ends square where it first meets the ground's edge, so that every
//! metre of it can be worked and harvested at full width, and its area is width times length.

use geo::{Coord, CoordinatePosition, MultiPolygon, coordinate_position::CoordPos};

/// Edges nearer than this to a strip's side only touch it, m.
const TOUCH_M: f64 = 1e-6;

/// The stretches, from and to along the strip, m, lowest first. `ground` lies in the strip's
/// frame; `left` and `right` are the strip's sides across, m. Cost grows with the ground's corners.
pub(super) fn full_width(ground: &MultiPolygon<f64>, left: f64, right: f64) -> Vec<[f64; 2]> {
    let (left, right) = (left + TOUCH_M, right - TOUCH_M);
    // Where an edge of the ground lies between the sides, the width is not whole.
    let mut cut: Vec<[f64; 2]> = Vec::new();
    let rings = ground
        .iter()
        .flat_map(|polygon| std::iter::once(polygon.exterior()).chain(polygon.interiors()));
    for edge in rings.flat_map(geo::LineString::lines) {
        let (a, b) = if edge.start.x <= edge.end.x {
            (edge.start, edge.end)
        } else {
            (edge.end, edge.start)
        };
        if b.x <= left || a.x >= right {
            continue;
        }
        let at = |x: f64| a.y + (b.y - a.y) * (x - a.x) / (b.x - a.x);
        let first = if a.x < left { at(left) } else { a.y };
        let last = if b.x > right { at(right) } else { b.y };
        cut.push([first.min(last), first.max(last)]);
    }
    cut.sort_unstable_by(|a, b| a[0].total_cmp(&b[0]));
    let middle = (left + right) / 2.0;
    let mut found = Vec::new();
    let Some(&[_, mut end]) = cut.first() else {
        return found;
    };
    for &[from, to] in &cut[1..] {
        if from > end {
            let between = Coord {
                x: middle,
                y: (end + from) / 2.0,
            };
            if ground.coordinate_position(&between) == CoordPos::Inside {
                found.push([end, from]);
            }
        }
        end = end.max(to);
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::polygon;

    #[test]
    fn an_oblique_end_is_cut_square_and_a_pond_parts_the_strip() {
        let field = polygon!(
            exterior: [(x: 0., y: 0.), (x: 100., y: 50.), (x: 100., y: 500.), (x: 0., y: 500.)],
            interiors: [[(x: 45., y: 200.), (x: 60., y: 200.), (x: 60., y: 260.), (x: 45., y: 260.)]],
        );
        let field = MultiPolygon::new(vec![field]);
        let runs = full_width(&field, 0.0, 20.0);
        assert_eq!(runs.len(), 1);
        assert!(
            (runs[0][0] - 10.0).abs() < 1e-5 && runs[0][1] == 500.0,
            "{runs:?}"
        );
        let runs = full_width(&field, 40.0, 60.0);
        assert_eq!(runs.len(), 2, "{runs:?}");
        assert_eq!((runs[0][1], runs[1][0]), (200.0, 260.0));
        assert!(full_width(&field, 90.0, 110.0).is_empty());
        assert!(full_width(&field, 200.0, 220.0).is_empty());
    }
}
