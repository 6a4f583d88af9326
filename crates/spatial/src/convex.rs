//! Exact clipping of small convex polygons. A header footprint is a convex quadrilateral, so what
//! lies inside a strip, and what is left of it once earlier footprints are taken away, are found
//! with half-plane cuts alone, without a general polygon overlay. Harvested ground and the strip
//! overlay are built from these cuts.
//!
//! All polygons here are open rings (the first corner is not repeated), counter-clockwise, in
//! metres. The half-plane cut is that of Sutherland, I. E. and Hodgman, G. W. (1974), *Reentrant
//! polygon clipping*, Communications of the ACM 17(1), 32–42.

/// A corner: east and north, m.
pub type Point = [f64; 2];

/// Signed area of a ring, m²: positive when counter-clockwise.
///
/// ```
/// assert_eq!(checkstrip_spatial::convex::area(&[[0., 0.], [2., 0.], [2., 3.], [0., 3.]]), 6.0);
/// ```
pub fn area(ring: &[Point]) -> f64 {
    let Some((&origin, rest)) = ring.split_first() else {
        return 0.0;
    };
    // Relative to the first corner, so that far-away origins cost no digits.
    rest.windows(2)
        .map(|edge| {
            let (a, b) = (edge[0], edge[1]);
            (a[0] - origin[0]) * (b[1] - origin[1]) - (b[0] - origin[0]) * (a[1] - origin[1])
        })
        .sum::<f64>()
        / 2.0
}

/// How far `point` lies to the left of the line from `from` to `to`, times the line's length.
#[inline]
fn left_of(from: Point, to: Point, point: Point) -> f64 {
    (to[0] - from[0]) * (point[1] - from[1]) - (to[1] - from[1]) * (point[0] - from[0])
}

#[inline]
fn crossing(a: Point, b: Point, side_a: f64, side_b: f64) -> Point {
    let share = side_a / (side_a - side_b);
    [a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])]
}

/// Appends to `inside` the part of `ring` left of the line `from` → `to`, and to `outside` the part
/// right of it. The ring need not be convex for its `inside` area to be right: the result may then
/// touch itself along the line.
#[inline]
fn cut(
    ring: &[Point],
    from: Point,
    to: Point,
    inside: &mut Vec<Point>,
    mut outside: Option<&mut Vec<Point>>,
) {
    let Some(&last) = ring.last() else { return };
    let mut previous = last;
    let mut previous_side = left_of(from, to, previous);
    for &corner in ring {
        let side = left_of(from, to, corner);
        if (side > 0.0 && previous_side < 0.0) || (side < 0.0 && previous_side > 0.0) {
            let point = crossing(previous, corner, previous_side, side);
            inside.push(point);
            if let Some(outside) = outside.as_deref_mut() {
                outside.push(point);
            }
        }
        if side >= 0.0 {
            inside.push(corner);
        }
        if side <= 0.0
            && let Some(outside) = outside.as_deref_mut()
        {
            outside.push(corner);
        }
        previous = corner;
        previous_side = side;
    }
}

/// Smallest and largest coordinates of a ring: west, south, east, north.
pub fn bounds(ring: &[Point]) -> [f64; 4] {
    ring.iter().fold(
        [
            f64::INFINITY,
            f64::INFINITY,
            f64::NEG_INFINITY,
            f64::NEG_INFINITY,
        ],
        |b, p| {
            [
                b[0].min(p[0]),
                b[1].min(p[1]),
                b[2].max(p[0]),
                b[3].max(p[1]),
            ]
        },
    )
}

/// The box around boxes from [`bounds`]; turned inside out when there are none.
pub fn bounds_of_all(boxes: impl Iterator<Item = [f64; 4]>) -> [f64; 4] {
    let nothing = bounds(&[]);
    boxes.fold(nothing, |b, c| {
        [
            b[0].min(c[0]),
            b[1].min(c[1]),
            b[2].max(c[2]),
            b[3].max(c[3]),
        ]
    })
}

/// Whether two boxes from [`bounds`] touch.
#[inline]
pub fn bounds_meet(a: &[f64; 4], b: &[f64; 4]) -> bool {
    a[0] <= b[2] && b[0] <= a[2] && a[1] <= b[3] && b[1] <= a[3]
}

/// Room for clipping, used again and again so that clipping allocates nothing once warm.
#[derive(Debug, Default)]
pub struct ClipScratch {
    ring: Vec<Point>,
    next: Vec<Point>,
}

impl ClipScratch {
    /// Area of the part of `ring` inside the convex `window`, m². `ring` may be any simple polygon
    /// of either turning sense; the area is not negative.
    pub fn area_inside(&mut self, ring: &[Point], window: &[Point]) -> f64 {
        self.ring.clear();
        self.ring.extend_from_slice(ring);
        for (i, &from) in window.iter().enumerate() {
            let to = window[(i + 1) % window.len()];
            self.next.clear();
            cut(&self.ring, from, to, &mut self.next, None);
            std::mem::swap(&mut self.ring, &mut self.next);
            if self.ring.len() < 3 {
                return 0.0;
            }
        }
        area(&self.ring).abs()
    }
}

/// What is left of a convex polygon after others were taken from it: disjoint convex pieces.
#[derive(Debug, Default)]
pub struct Remainder {
    corners: Vec<Point>,
    /// End of each piece in `corners`.
    ends: Vec<usize>,
    next_corners: Vec<Point>,
    next_ends: Vec<usize>,
    inside: Vec<Point>,
    rest: Vec<Point>,
}

/// Pieces smaller than this are dropped, m²: a square millimetre.
const SLIVER_M2: f64 = 1e-6;

impl Remainder {
    /// Starts again with one convex, counter-clockwise polygon.
    pub fn reset(&mut self, ring: &[Point]) {
        self.corners.clear();
        self.ends.clear();
        self.corners.extend_from_slice(ring);
        self.ends.push(self.corners.len());
    }

    /// Takes the convex, counter-clockwise polygon `taken` away.
    ///
    /// Each piece is cut along the edges of `taken` in turn; what falls outside an edge is kept, and
    /// what is left inside all of them is gone.
    pub fn take(&mut self, taken: &[Point]) {
        self.next_corners.clear();
        self.next_ends.clear();
        let mut start = 0;
        for &end in &self.ends {
            let piece = &self.corners[start..end];
            start = end;
            if misses(piece, taken) {
                self.next_corners.extend_from_slice(piece);
                self.next_ends.push(self.next_corners.len());
                continue;
            }
            self.rest.clear();
            self.rest.extend_from_slice(piece);
            for (i, &from) in taken.iter().enumerate() {
                let to = taken[(i + 1) % taken.len()];
                self.inside.clear();
                let before = self.next_corners.len();
                cut(
                    &self.rest,
                    from,
                    to,
                    &mut self.inside,
                    Some(&mut self.next_corners),
                );
                if area(&self.next_corners[before..]) > SLIVER_M2 {
                    self.next_ends.push(self.next_corners.len());
                } else {
                    self.next_corners.truncate(before);
                }
                std::mem::swap(&mut self.rest, &mut self.inside);
                if self.rest.len() < 3 {
                    break;
                }
            }
        }
        std::mem::swap(&mut self.corners, &mut self.next_corners);
        std::mem::swap(&mut self.ends, &mut self.next_ends);
    }

    /// Area left, m².
    pub fn area(&self) -> f64 {
        let mut start = 0;
        let mut sum = 0.0;
        for &end in &self.ends {
            sum += area(&self.corners[start..end]);
            start = end;
        }
        sum
    }

    /// Whether nothing is left.
    pub fn is_empty(&self) -> bool {
        self.ends.is_empty()
    }
}

/// Whether some edge of `window` has the whole of `piece` on its outer side.
#[inline]
fn misses(piece: &[Point], window: &[Point]) -> bool {
    (0..window.len()).any(|i| {
        let (from, to) = (window[i], window[(i + 1) % window.len()]);
        piece.iter().all(|&corner| left_of(from, to, corner) <= 0.0)
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::{Area, BooleanOps, Coord, LineString, Polygon};
    use proptest::prelude::*;

    fn rectangle(east: f64, north: f64, length: f64, width: f64, turn: f64) -> Vec<Point> {
        let (sin, cos) = turn.sin_cos();
        [
            (0.0, -width),
            (length, -width),
            (length, width),
            (0.0, width),
        ]
        .map(|(x, y)| {
            [
                east + cos * x - sin * y / 2.0,
                north + sin * x + cos * y / 2.0,
            ]
        })
        .to_vec()
    }

    fn polygon(ring: &[Point]) -> Polygon {
        Polygon::new(
            ring.iter()
                .map(|p| Coord { x: p[0], y: p[1] })
                .collect::<LineString>(),
            vec![],
        )
    }

    #[test]
    fn half_of_a_square_remains() {
        let mut rest = Remainder::default();
        rest.reset(&[[0., 0.], [2., 0.], [2., 2.], [0., 2.]]);
        rest.take(&[[1., -1.], [3., -1.], [3., 3.], [1., 3.]]);
        assert_eq!(rest.area(), 2.0);
        rest.take(&[[-1., -1.], [3., -1.], [3., 3.], [-1., 3.]]);
        assert!(rest.is_empty());
    }

    #[test]
    fn concave_ring_in_a_window() {
        // A U whose notch the window cuts across: two separate arms stay inside.
        let u = [
            [0., 0.],
            [6., 0.],
            [6., 4.],
            [4., 4.],
            [4., 2.],
            [2., 2.],
            [2., 4.],
            [0., 4.],
        ];
        let window = [[-1., 3.], [7., 3.], [7., 5.], [-1., 5.]];
        assert!((ClipScratch::default().area_inside(&u, &window) - 4.0).abs() < 1e-12);
    }

    prop_compose! {
        fn any_rectangle()(e in -20.0..20.0, n in -20.0..20.0, l in 0.5..12.0, w in 0.5..12.0, t in 0.0..6.3)
            -> Vec<Point> { rectangle(e, n, l, w, t) }
    }

    proptest! {
        /// The part inside agrees with the general overlay of the geo crate.
        #[test]
        fn inside_agrees_with_general_overlay(a in any_rectangle(), b in any_rectangle()) {
            let ours = ClipScratch::default().area_inside(&a, &b);
            let theirs = polygon(&a).intersection(&polygon(&b)).unsigned_area();
            prop_assert!((ours - theirs).abs() < 1e-4, "{ours} {theirs}");
        }

        /// What is taken away and what remains add up, whatever the order.
        #[test]
        fn taking_is_a_difference(a in any_rectangle(), taken in prop::collection::vec(any_rectangle(), 0..5)) {
            let mut rest = Remainder::default();
            rest.reset(&a);
            taken.iter().for_each(|t| rest.take(t));
            let mut union = geo::MultiPolygon::new(vec![]);
            for t in &taken {
                union = union.union(&polygon(t));
            }
            let theirs = polygon(&a).difference(&union).unsigned_area();
            prop_assert!((rest.area() - theirs).abs() < 1e-3, "{} {theirs}", rest.area());
            let ours = rest.area();
            rest.reset(&a);
            taken.iter().rev().for_each(|t| rest.take(t));
            prop_assert!((rest.area() - ours).abs() < 1e-4);
        }
    }
}
