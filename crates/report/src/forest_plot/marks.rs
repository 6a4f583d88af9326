//! The marks of a forest plot.

use checkstrip_drawing::canvas::{Canvas, PixelRect, Rgb};
use checkstrip_drawing::paper::INK;
use checkstrip_drawing::polygon_fill::spans;
use checkstrip_drawing::stroke::stroke;

/// Squares of single fields: the blue of Okabe, M. and Ito, K. (2008), *Color universal design*, as
/// the dots of the report.
const FIELD: Rgb = [0, 114, 178];
/// The diamond of all fields: its vermilion, darkened to the contrast of the report's second tone.
const ALL: Rgb = [179, 89, 0];
/// The bar of one further field: a lighter shade of the diamond's.
const NEXT: Rgb = [226, 170, 112];
/// Half the height of the diamond and of the bar, pixels.
const DIAMOND: f64 = 15.0;
const BAR: f64 = 6.0;
/// Length of a dash and of the gap after it, pixels.
const DASH: (f64, f64) = (11.0, 8.0);

/// A square of `side` around `centre`.
pub(super) fn square(canvas: &mut Canvas, window: PixelRect, centre: [f64; 2], side: f64) {
    let ([x, y], half) = (centre, side / 2.0);
    let corners = [
        [x - half, y - half],
        [x + half, y - half],
        [x + half, y + half],
        [x - half, y + half],
    ];
    filled(canvas, window, &corners, FIELD);
}

/// A diamond from the low to the high end of an interval, highest at the mean.
pub(super) fn diamond(canvas: &mut Canvas, window: PixelRect, places: [f64; 3], middle: f64) {
    let [low, mean, high] = places;
    let corners = [
        [low, middle],
        [mean, middle - DIAMOND],
        [high, middle],
        [mean, middle + DIAMOND],
    ];
    filled(canvas, window, &corners, ALL);
}

/// A bar over an interval.
pub(super) fn bar(canvas: &mut Canvas, window: PixelRect, ends: [f64; 2], middle: f64) {
    let [low, high] = ends;
    let corners = [
        [low, middle - BAR],
        [high, middle - BAR],
        [high, middle + BAR],
        [low, middle + BAR],
    ];
    filled(canvas, window, &corners, NEXT);
}

/// An arrow head that points left (`way` below 0) or right.
pub(super) fn arrow(canvas: &mut Canvas, tip: [f64; 2], way: f64) {
    let [x, y] = tip;
    let corners = [
        [x + way * 10.0, y],
        [x - way * 8.0, y - 9.0],
        [x - way * 8.0, y + 9.0],
    ];
    let window = canvas.rect();
    filled(canvas, window, &corners, INK);
}

/// A dashed line down the picture.
pub(super) fn dashes(canvas: &mut Canvas, window: PixelRect, x: f64, ends: [f64; 2]) {
    let mut from = ends[0];
    while from < ends[1] {
        let to = (from + DASH.0).min(ends[1]);
        stroke(canvas, window, &[[x, from], [x, to]], 2.5, INK);
        from += DASH.0 + DASH.1;
    }
}

/// Fills an outline; its edges are stroked as well, which smooths them.
fn filled(canvas: &mut Canvas, window: PixelRect, corners: &[[f64; 2]], colour: Rgb) {
    for span in spans(&[corners.to_vec()], window) {
        canvas.span(span.y, span.from, span.to, colour);
    }
    let mut ring = corners.to_vec();
    ring.extend(corners.first());
    stroke(canvas, window, &ring, 1.0, colour);
}
