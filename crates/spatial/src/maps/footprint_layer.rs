//! One record on the map: its true footprint, from the local plane to pixels.

use super::canvas::{Canvas, Rgb};
use super::footprint_fill::fill_quad;
use super::ground::Ground;
use super::sheet::Sheet;
use checkstrip_model::CleanLog;

/// A footprint is drawn this much longer at its rear, pixels, so that positions rounded to the
/// nearest centimetre leave no specks between one record and the next.
const REAR_LAP: f64 = 0.7;
/// Free ground left at each side of a footprint where passes are to be told apart, pixels.
const PASS_GAP: f64 = 1.2;

/// Paints one record's footprint; a record that is not on the map paints nothing.
#[inline]
pub(super) fn paint_footprint(sheet: &mut Sheet, log: &CleanLog, record: usize, colour: Rgb) {
    paint_footprint_on(&mut sheet.canvas, sheet.ground, log, record, colour);
}

/// The same on any canvas that shows `ground`.
#[inline]
pub(super) fn paint_footprint_on(
    canvas: &mut Canvas,
    ground: Ground,
    log: &CleanLog,
    record: usize,
    colour: Rgb,
) {
    paint_quad_on(canvas, ground, log.footprint(record), colour);
}

/// A rectangle of ground, rear right corner first, on any canvas that shows `ground`.
#[inline]
pub(super) fn paint_quad_on(
    canvas: &mut Canvas,
    ground: Ground,
    corners: [[f64; 2]; 4],
    colour: Rgb,
) {
    let corners = corners.map(|corner| ground.pixel(corner));
    fill_quad(canvas, ground.window, lengthened(corners), colour);
}

/// The same, a little narrower, so that a gap shows between passes side by side.
#[inline]
pub(super) fn paint_pass_footprint(sheet: &mut Sheet, log: &CleanLog, record: usize, colour: Rgb) {
    let corners = log
        .footprint(record)
        .map(|corner| sheet.ground.pixel(corner));
    fill_quad(
        &mut sheet.canvas,
        sheet.ground.window,
        narrowed(lengthened(corners)),
        colour,
    );
}

/// Moves the rear corners (first and last) away from the front ones.
#[inline]
fn lengthened([rear_right, front_right, front_left, rear_left]: [[f64; 2]; 4]) -> [[f64; 2]; 4] {
    let along = [
        rear_right[0] - front_right[0],
        rear_right[1] - front_right[1],
    ];
    let length = along[0].hypot(along[1]);
    if length.is_nan() || length <= 0.0 {
        return [rear_right, front_right, front_left, rear_left];
    }
    let lap = along.map(|part| part / length * REAR_LAP);
    let back = |corner: [f64; 2]| [corner[0] + lap[0], corner[1] + lap[1]];
    [back(rear_right), front_right, front_left, back(rear_left)]
}

/// Moves both sides inwards, by a fifth of the width at most.
#[inline]
fn narrowed([rear_right, front_right, front_left, rear_left]: [[f64; 2]; 4]) -> [[f64; 2]; 4] {
    let across = [
        front_left[0] - front_right[0],
        front_left[1] - front_right[1],
    ];
    let part = (PASS_GAP / across[0].hypot(across[1])).min(0.2);
    let inward = across.map(|side| side * part);
    let right = |corner: [f64; 2]| [corner[0] + inward[0], corner[1] + inward[1]];
    let left = |corner: [f64; 2]| [corner[0] - inward[0], corner[1] - inward[1]];
    [
        right(rear_right),
        right(front_right),
        left(front_left),
        left(rear_left),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    const QUAD: [[f64; 2]; 4] = [[10.0, 20.0], [10.0, 10.0], [0.0, 10.0], [0.0, 20.0]];

    #[test]
    fn only_the_rear_is_lengthened_and_only_the_sides_narrowed() {
        let found = lengthened(QUAD);
        assert_eq!(found[1..3], QUAD[1..3]);
        assert_eq!([found[0][1], found[3][1]], [20.0 + REAR_LAP; 2]);
        let found = narrowed(QUAD);
        assert_eq!([found[0][0], found[1][0]], [10.0 - PASS_GAP; 2]);
        assert_eq!([found[2][0], found[3][0]], [PASS_GAP; 2]);
    }

    #[test]
    fn a_record_that_stands_still_stays_as_it_is() {
        let point = [[5.0, 5.0]; 4];
        assert_eq!(lengthened(point), point);
    }
}
