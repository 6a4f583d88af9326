//! Smooth lines of any width: a pixel is covered by as much as its centre lies
//! within half the width of the line. (plotters' own lines wider than one pixel have stepped edges,
//! which shows on strips that run a few degrees off north.)

use crate::canvas::{Canvas, PixelRect, Rgb};

/// Draws the ring or line through `points` (pixel positions), `width` pixels wide, within `window`.
pub fn stroke(
    canvas: &mut Canvas,
    window: PixelRect,
    points: &[[f64; 2]],
    width: f64,
    colour: Rgb,
) {
    for pair in points.windows(2) {
        segment(canvas, window, pair[0], pair[1], width, colour);
    }
}

fn segment(
    canvas: &mut Canvas,
    window: PixelRect,
    a: [f64; 2],
    b: [f64; 2],
    width: f64,
    colour: Rgb,
) {
    let reach = width / 2.0 + 0.5;
    let Some((a, b)) = clip(a, b, window, reach) else {
        return;
    };
    let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
    let length2 = dx * dx + dy * dy;
    let paint = |canvas: &mut Canvas, x: i32, y: i32| {
        let (px, py) = (f64::from(x) + 0.5 - a[0], f64::from(y) + 0.5 - a[1]);
        let along = if length2 > 0.0 {
            ((px * dx + py * dy) / length2).clamp(0.0, 1.0)
        } else {
            0.0
        };
        let off = (px - along * dx).hypot(py - along * dy);
        canvas.blend(x, y, colour, (reach - off).clamp(0.0, 1.0) as f32);
    };
    // Walk along the longer direction; across it only the pixels the line can reach.
    let steep = dy.abs() > dx.abs();
    let (from, to) = if steep { (a[1], b[1]) } else { (a[0], b[0]) };
    let (start, end) = (from.min(to) - reach, from.max(to) + reach);
    let slope = if steep {
        dx / dy
    } else if dx == 0.0 {
        0.0
    } else {
        dy / dx
    };
    let half = reach * slope.hypot(1.0) + 1.0;
    for step in start.floor() as i32..=end.ceil() as i32 {
        let clamped = (f64::from(step) + 0.5).clamp(from.min(to), from.max(to));
        let across = if steep {
            a[0] + (clamped - a[1]) * slope
        } else {
            a[1] + (clamped - a[0]) * slope
        };
        for other in (across - half).floor() as i32..=(across + half).ceil() as i32 {
            let (x, y) = if steep { (other, step) } else { (step, other) };
            if x >= window.left && x < window.right && y >= window.top && y < window.bottom {
                paint(canvas, x, y);
            }
        }
    }
}

/// A line from its first to its second end.
type Segment = ([f64; 2], [f64; 2]);

/// The part of a line inside `window` widened by `reach` (Liang, Y.-D. and Barsky, B. A. 1984, *A
/// new concept and method for line clipping*).
fn clip(a: [f64; 2], b: [f64; 2], window: PixelRect, reach: f64) -> Option<Segment> {
    if [a, b].iter().flatten().any(|v| !v.is_finite()) {
        return None;
    }
    let low = [
        f64::from(window.left) - reach,
        f64::from(window.top) - reach,
    ];
    let high = [
        f64::from(window.right) + reach,
        f64::from(window.bottom) + reach,
    ];
    let (mut enter, mut leave) = (0.0f64, 1.0f64);
    for axis in 0..2 {
        let delta = b[axis] - a[axis];
        for (distance, room) in [(-delta, a[axis] - low[axis]), (delta, high[axis] - a[axis])] {
            if distance == 0.0 {
                if room < 0.0 {
                    return None;
                }
            } else if distance < 0.0 {
                enter = enter.max(room / distance);
            } else {
                leave = leave.min(room / distance);
            }
        }
    }
    let at = |part: f64| [a[0] + (b[0] - a[0]) * part, a[1] + (b[1] - a[1]) * part];
    (enter <= leave).then(|| (at(enter), at(leave)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_covers_its_length_times_its_width() {
        for end in [[45.0, 10.0], [10.0, 45.0], [40.0, 35.0]] {
            let mut canvas = Canvas::new(60, 60);
            let window = canvas.rect();
            stroke(&mut canvas, window, &[[10.0, 10.0], end], 3.0, [0, 0, 0]);
            let ink: f64 = canvas
                .pixels
                .chunks(3)
                .map(|p| 1.0 - f64::from(p[0]) / 255.0)
                .sum();
            let length = (end[0] - 10.0).hypot(end[1] - 10.0);
            // The round ends add up to one circle of the line's width.
            assert!((ink - (length * 3.0 + 7.1)).abs() < 3.0, "{ink} {length}");
        }
    }

    #[test]
    fn endless_and_missing_points_draw_nothing_outside() {
        let mut canvas = Canvas::new(20, 20);
        let window = PixelRect {
            left: 5,
            top: 5,
            right: 15,
            bottom: 15,
        };
        stroke(
            &mut canvas,
            window,
            &[[-1e15, 10.0], [1e15, 10.0]],
            2.0,
            [0, 0, 0],
        );
        stroke(
            &mut canvas,
            window,
            &[[f64::NAN, 10.0], [1.0, 10.0]],
            2.0,
            [0, 0, 0],
        );
        assert_eq!(canvas.pixels[(10 * 20 + 2) * 3], 255);
        assert_eq!(canvas.pixels[(10 * 20 + 10) * 3], 0);
    }
}
