//! Marks that tell the reasons for dropping a record apart without colour: one shape each, drawn
//! over the record's footprint and in the legend.

use super::canvas::{Canvas, PixelRect, Rgb};
use super::palette::WHITE;
use checkstrip_model::Status;

/// Half the size of a mark, pixels.
pub(super) const REACH: i32 = 8;
/// Points per pixel side that decide how much of it a mark covers.
const FINENESS: i32 = 4;
/// Width of the white rim, in units of the mark's radius.
const RIM: f32 = 0.28;

/// A mark's shape.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Shape {
    Dot,
    TriangleUp,
    TriangleDown,
    Square,
    Diamond,
    Cross,
    Plus,
    Ring,
    Star,
    Bar,
}

/// The shape for each entry of `Status::REASONS`.
const SHAPES: [Shape; 10] = [
    Shape::Dot,          // header up
    Shape::TriangleUp,   // pass start
    Shape::TriangleDown, // pass end
    Shape::Square,       // overlap
    Shape::Diamond,      // speed
    Shape::Cross,        // position
    Shape::Plus,         // time
    Shape::Ring,         // yield limit
    Shape::Star,         // local outlier
    Shape::Bar,          // moisture
];

/// Where a reason stands in `Status::REASONS`; `None` for kept records.
pub(super) fn reason_place(status: Status) -> Option<usize> {
    Status::REASONS.iter().position(|&reason| reason == status)
}

/// A mark ready to be stamped: for each pixel the cover of its white rim and of itself.
pub(super) struct Marker {
    colour: Rgb,
    cover: Vec<(i32, i32, f32, f32)>,
}

impl Marker {
    /// The mark of the reason at `place` in `Status::REASONS`.
    pub(super) fn of_reason(place: usize, colour: Rgb) -> Marker {
        Marker::new(SHAPES[place % SHAPES.len()], REACH, colour)
    }

    /// A mark, half of which is `reach` pixels wide.
    pub(super) fn new(shape: Shape, reach: i32, colour: Rgb) -> Marker {
        let mut cover = Vec::new();
        for y in -reach..=reach {
            for x in -reach..=reach {
                let (mut rim, mut ink) = (0, 0);
                for sub in 0..FINENESS * FINENESS {
                    let at = |pixel: i32, part: i32| {
                        let fine = (part as f32 + 0.5) / FINENESS as f32 - 0.5;
                        (pixel as f32 + fine) / reach as f32 * (1.0 + RIM)
                    };
                    let off = distance(shape, at(x, sub % FINENESS), at(y, sub / FINENESS));
                    rim += i32::from(off <= RIM);
                    ink += i32::from(off <= 0.0);
                }
                if rim > 0 {
                    let share = |points: i32| points as f32 / (FINENESS * FINENESS) as f32;
                    cover.push((x, y, share(rim), share(ink)));
                }
            }
        }
        Marker { colour, cover }
    }

    /// Stamps the mark with its middle on a pixel, within `window`.
    pub(super) fn stamp(&self, canvas: &mut Canvas, window: PixelRect, x: i32, y: i32) {
        for &(dx, dy, rim, ink) in &self.cover {
            let (x, y) = (x + dx, y + dy);
            if x >= window.left && x < window.right && y >= window.top && y < window.bottom {
                canvas.blend(x, y, WHITE, rim);
                canvas.blend(x, y, self.colour, ink);
            }
        }
    }
}

/// How far a point is outside the shape of radius 1 around the origin, roughly; inside is negative.
fn distance(shape: Shape, x: f32, y: f32) -> f32 {
    let radius = x.hypot(y);
    let square =
        |x: f32, y: f32, half_x: f32, half_y: f32| (x.abs() - half_x).max(y.abs() - half_y);
    let triangle = |y: f32| (y - 0.75).max((x.abs() * 1.9 - y - 1.05) / 2.15);
    let plus = |x: f32, y: f32| square(x, y, 1.0, 0.24).min(square(x, y, 0.24, 1.0));
    let half = std::f32::consts::FRAC_1_SQRT_2;
    let (turned_x, turned_y) = ((x + y) * half, (x - y) * half);
    match shape {
        Shape::Dot => radius - 0.62,
        Shape::TriangleUp => triangle(y),
        Shape::TriangleDown => triangle(-y),
        Shape::Square => square(x, y, 0.75, 0.75),
        Shape::Diamond => (x.abs() + y.abs() - 1.0) * half,
        Shape::Cross => plus(turned_x, turned_y),
        Shape::Plus => plus(x, y),
        Shape::Ring => (radius - 0.68).abs() - 0.26,
        Shape::Star => plus(turned_x, turned_y).min(plus(x, y)) + 0.08,
        Shape::Bar => square(x, y, 1.0, 0.36),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_reason_has_a_shape_of_its_own() {
        assert_eq!(SHAPES.len(), Status::REASONS.len());
        for (place, shape) in SHAPES.iter().enumerate() {
            assert!(!SHAPES[..place].contains(shape));
            let inked = Marker::of_reason(place, [0, 0, 0])
                .cover
                .iter()
                .filter(|c| c.3 > 0.5)
                .count();
            assert!(inked > 20, "{shape:?} {inked}");
        }
    }

    #[test]
    fn marks_are_clipped_to_the_window() {
        let mut canvas = Canvas::new(30, 30);
        let window = PixelRect {
            left: 10,
            top: 10,
            right: 20,
            bottom: 20,
        };
        Marker::of_reason(3, [1, 2, 3]).stamp(&mut canvas, window, 10, 10);
        let outside = canvas
            .pixels
            .chunks(3)
            .take(10 * 30)
            .filter(|p| **p != [255; 3])
            .count();
        assert_eq!(outside, 0);
    }
}
