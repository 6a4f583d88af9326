//! Paints a convex quadrilateral, a record's footprint, into the pixels: a pixel belongs to it when
//! its centre does, so that footprints that share an edge share no pixel and leave none out. A
//! footprint thinner than a pixel still paints one per row, and never less than one, so that no
//! record is invisible.

use super::canvas::{Canvas, PixelRect, Rgb};

/// Corners further out than this many pixels are not drawn: the record lies off the map.
const FAR: f64 = 1e6;

/// Paints `corners` (pixels, in order around the figure) within `window`. Corners that are not
/// finite paint nothing. Cost grows with the painted pixels.
pub(super) fn fill_quad(
    canvas: &mut Canvas,
    window: PixelRect,
    corners: [[f64; 2]; 4],
    colour: Rgb,
) {
    if corners
        .iter()
        .flatten()
        .any(|v| v.is_nan() || v.abs() > FAR)
    {
        return;
    }
    let (mut top, mut bottom) = (f64::INFINITY, f64::NEG_INFINITY);
    for corner in corners {
        top = top.min(corner[1]);
        bottom = bottom.max(corner[1]);
    }
    let (first, mut past) = ((top - 0.5).ceil() as i32, (bottom - 0.5).ceil() as i32);
    if past <= first {
        // Between two rows of pixel centres: the row its middle falls in.
        let row = ((top + bottom) / 2.0).floor() as i32;
        if row >= window.top && row < window.bottom {
            let left = corners.iter().map(|c| c[0]).fold(f64::INFINITY, f64::min);
            let right = corners
                .iter()
                .map(|c| c[0])
                .fold(f64::NEG_INFINITY, f64::max);
            paint_row(canvas, window, row, left, right, colour);
        }
        return;
    }
    past = past.min(window.bottom);
    for row in first.max(window.top)..past {
        let centre = f64::from(row) + 0.5;
        let (mut left, mut right) = (f64::INFINITY, f64::NEG_INFINITY);
        for side in 0..4 {
            let (a, b) = (corners[side], corners[(side + 1) & 3]);
            if (a[1] <= centre) != (b[1] <= centre) {
                let x = a[0] + (b[0] - a[0]) * (centre - a[1]) / (b[1] - a[1]);
                left = left.min(x);
                right = right.max(x);
            }
        }
        if left <= right {
            paint_row(canvas, window, row, left, right, colour);
        }
    }
}

#[inline]
fn paint_row(canvas: &mut Canvas, window: PixelRect, row: i32, left: f64, right: f64, colour: Rgb) {
    let (mut from, mut to) = ((left - 0.5).ceil() as i32, (right - 0.5).ceil() as i32);
    if to <= from {
        from = ((left + right) / 2.0).floor() as i32;
        to = from + 1;
    }
    let (from, to) = (from.max(window.left), to.min(window.right));
    if from < to {
        canvas.span(row, from, to, colour);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const RED: Rgb = [200, 0, 0];

    fn painted(corners: [[f64; 2]; 4]) -> usize {
        let mut canvas = Canvas::new(60, 60);
        let window = canvas.rect();
        fill_quad(&mut canvas, window, corners, RED);
        canvas.pixels.chunks(3).filter(|p| *p == RED).count()
    }

    #[test]
    fn a_square_paints_its_area() {
        assert_eq!(
            painted([[10.0, 10.0], [20.0, 10.0], [20.0, 15.0], [10.0, 15.0]]),
            50
        );
    }

    #[test]
    fn a_sliver_is_seen() {
        assert_eq!(
            painted([[10.1, 10.1], [10.2, 10.1], [10.2, 10.2], [10.1, 10.2]]),
            1
        );
        assert_eq!(
            painted([[10.0, 30.1], [20.0, 30.1], [20.0, 30.2], [10.0, 30.2]]),
            10
        );
    }

    #[test]
    fn what_lies_off_the_map_is_clipped_or_left_out() {
        assert_eq!(
            painted([[-1e9, 0.0], [1e9, 0.0], [1e9, 9.0], [-1e9, 9.0]]),
            0
        );
        assert_eq!(
            painted([[f64::NAN, 0.0], [5.0, 0.0], [5.0, 9.0], [0.0, 9.0]]),
            0
        );
        assert_eq!(
            painted([[-50.0, -50.0], [5.0, -50.0], [5.0, 5.0], [-50.0, 5.0]]),
            25
        );
    }

    proptest! {
        /// A rotated rectangle paints its area, give or take its rim.
        #[test]
        fn painted_pixels_are_the_area(w in 3.0..20.0f64, h in 3.0..20.0f64, turn in 0.0..6.3f64) {
            let (sin, cos) = turn.sin_cos();
            let corner = |a: f64, b: f64| [30.0 + a * cos - b * sin, 30.0 + a * sin + b * cos];
            let (w2, h2) = (w / 2.0, h / 2.0);
            let found = painted([corner(-w2, -h2), corner(w2, -h2), corner(w2, h2), corner(-w2, h2)]);
            prop_assert!((found as f64 - w * h).abs() <= 2.0 * (w + h));
        }
    }
}
