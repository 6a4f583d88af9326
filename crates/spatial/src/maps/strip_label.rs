//! Where each strip's label goes: wholly inside its strip, level where there is room, else along
//! the strip, in one size for all strips as far as it can be. A strip too thin for a legible label
//! gets none, which the legend says.

use super::lettering::{CAP_HEIGHT, Lettering, Style};
use super::palette::INK;
use super::polygon_fill::Span;

/// Sizes tried, largest first, pixels per em. Below the last a label is not legible.
const SIZES: [f32; 9] = [34.0, 30.0, 27.0, 24.0, 22.0, 20.0, 18.0, 16.0, 14.0];
/// The common size is the largest at which this share of the strips that can be labelled at all
/// can be.
const MOST: f64 = 0.9;
/// Free space above and below lettering to the strip's edge, pixels.
const CLEAR: f64 = 3.5;
/// Free space before and after it, pixels.
const CLEAR_ENDS: f64 = 10.0;
/// Rows of a strip whose middles are tried as a label's centre.
const TRIED_ROWS: usize = 160;
/// Points along a label's rim that must lie inside the strip, at most this far apart, pixels.
const RIM_STEP: f64 = 5.0;

/// A placed label.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Label {
    pub(super) text: String,
    pub(super) style: Style,
    /// The middle of the lettering, pixels.
    pub(super) centre: [f64; 2],
    /// Clockwise turn, radians.
    pub(super) turn: f64,
}

/// A strip to label.
pub(super) struct Labelled {
    /// Its pixels.
    pub(super) spans: Vec<Span>,
    /// What to write, the fullest form first.
    pub(super) forms: Vec<String>,
}

/// Places one label per strip, `None` where none fits.
pub(super) fn place_labels(strips: &[Labelled], lettering: &Lettering) -> Vec<Option<Label>> {
    let grounds: Vec<Option<StripGround>> = strips
        .iter()
        .map(|strip| StripGround::new(&strip.spans))
        .collect();
    let at_size = |strip: usize, size: f32| -> Option<Label> {
        let ground = grounds[strip].as_ref()?;
        strips[strip]
            .forms
            .iter()
            .find_map(|text| ground.place(text, size, lettering))
    };
    let smallest = SIZES[SIZES.len() - 1];
    let possible: Vec<usize> = (0..strips.len())
        .filter(|&strip| at_size(strip, smallest).is_some())
        .collect();
    let wanted = (possible.len() as f64 * MOST).ceil() as usize;
    // A strip that takes a size takes every smaller one, so the sizes can be halved.
    let common = SIZES.partition_point(|&size| {
        possible
            .iter()
            .filter(|&&strip| at_size(strip, size).is_some())
            .count()
            < wanted
    });
    let mut placed: Vec<Option<Label>> = vec![None; strips.len()];
    for strip in possible {
        let label = SIZES[common.min(SIZES.len() - 1)..]
            .iter()
            .find_map(|&size| at_size(strip, size))
            .filter(|label| {
                placed
                    .iter()
                    .flatten()
                    .all(|other| !label.meets(other, lettering))
            });
        placed[strip] = label;
    }
    placed
}

impl Label {
    /// Whether two labels might touch, judged by the circles around their thirds.
    fn meets(&self, other: &Label, lettering: &Lettering) -> bool {
        let (own, others) = (self.beads(lettering), other.beads(lettering));
        let reach = f64::from(self.style.size + other.style.size) * 0.45;
        own.iter().any(|a| {
            others
                .iter()
                .any(|b| (a[0] - b[0]).hypot(a[1] - b[1]) < reach)
        })
    }

    /// Points along the middle of the lettering, about half a size apart.
    fn beads(&self, lettering: &Lettering) -> Vec<[f64; 2]> {
        let length = f64::from(lettering.width(&self.text, self.style));
        let count = (length / f64::from(self.style.size) * 2.0).ceil().max(1.0);
        let (sin, cos) = self.turn.sin_cos();
        (0..=count as usize)
            .map(|bead| length * (bead as f64 / count - 0.5))
            .map(|along| [self.centre[0] + along * cos, self.centre[1] + along * sin])
            .collect()
    }
}

/// A strip's pixels as a mask, with its direction and the places a label may be centred on.
struct StripGround {
    left: i32,
    top: i32,
    width: usize,
    mask: Vec<bool>,
    /// Direction of its length, radians clockwise from level, −90° to 90°.
    axis: f64,
    centres: Vec<[f64; 2]>,
}

impl StripGround {
    fn new(spans: &[Span]) -> Option<StripGround> {
        let (top, bottom) = (spans.first()?.y, spans.last()?.y + 1);
        let left = spans.iter().map(|span| span.from).min()?;
        let right = spans.iter().map(|span| span.to).max()?;
        let width = (right - left) as usize;
        let mut mask = vec![false; width * (bottom - top) as usize];
        for span in spans {
            let row = (span.y - top) as usize * width;
            mask[row + (span.from - left) as usize..row + (span.to - left) as usize].fill(true);
        }
        let (middle, axis) = middle_and_axis(spans);
        let mut centres: Vec<[f64; 2]> = Vec::new();
        for span in spans.iter().step_by(spans.len().div_ceil(TRIED_ROWS)) {
            let (from, length) = (f64::from(span.from), f64::from(span.to - span.from));
            centres.extend(
                [0.5, 0.3, 0.7].map(|part| [from + length * part, f64::from(span.y) + 0.5]),
            );
        }
        centres.sort_by(|a, b| {
            let off = |p: &[f64; 2]| (p[0] - middle[0]).hypot(p[1] - middle[1]);
            off(a).total_cmp(&off(b))
        });
        Some(StripGround {
            left,
            top,
            width,
            mask,
            axis,
            centres,
        })
    }

    fn holds(&self, x: f64, y: f64) -> bool {
        let (column, row) = (x.floor() as i32 - self.left, y.floor() as i32 - self.top);
        column >= 0
            && row >= 0
            && (column as usize) < self.width
            && self
                .mask
                .get(row as usize * self.width + column as usize)
                .copied()
                .unwrap_or(false)
    }

    fn place(&self, text: &str, size: f32, lettering: &Lettering) -> Option<Label> {
        let style = Style {
            size,
            bold: true,
            colour: INK,
        };
        let half = [
            f64::from(lettering.width(text, style)) / 2.0 + CLEAR_ENDS,
            f64::from(size * CAP_HEIGHT) / 2.0 + CLEAR,
        ];
        for turn in [0.0, self.axis] {
            for &centre in &self.centres {
                if self.holds_label(centre, half, turn) {
                    return Some(Label {
                        text: text.to_owned(),
                        style,
                        centre,
                        turn,
                    });
                }
            }
        }
        None
    }

    fn holds_label(&self, centre: [f64; 2], half: [f64; 2], turn: f64) -> bool {
        let (sin, cos) = turn.sin_cos();
        let inside = |along: f64, across: f64| {
            self.holds(
                centre[0] + along * cos - across * sin,
                centre[1] + along * sin + across * cos,
            )
        };
        let corners = [(1.0, 1.0), (1.0, -1.0), (-1.0, 1.0), (-1.0, -1.0)];
        if !corners
            .iter()
            .all(|(a, b)| inside(a * half[0], b * half[1]))
        {
            return false;
        }
        let steps = (half[0] * 2.0 / RIM_STEP).ceil() as usize;
        (0..=steps).all(|step| {
            let along = half[0] * (step as f64 / steps as f64 * 2.0 - 1.0);
            inside(along, half[1]) && inside(along, -half[1]) && inside(along, 0.0)
        })
    }
}

/// The centroid of the pixels and the direction they spread most, so turned that lettering along it
/// reads from the left or from below.
fn middle_and_axis(spans: &[Span]) -> ([f64; 2], f64) {
    let (mut pixels, mut sum_x, mut sum_y) = (0.0, 0.0, 0.0);
    for span in spans {
        let length = f64::from(span.to - span.from);
        pixels += length;
        sum_x += length * f64::from(span.from + span.to) / 2.0;
        sum_y += length * (f64::from(span.y) + 0.5);
    }
    let middle = [sum_x / pixels, sum_y / pixels];
    let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
    for span in spans {
        let length = f64::from(span.to - span.from);
        let dx = f64::from(span.from + span.to) / 2.0 - middle[0];
        let dy = f64::from(span.y) + 0.5 - middle[1];
        xx += length * (dx * dx + length * length / 12.0);
        xy += length * dx * dy;
        yy += length * dy * dy;
    }
    let axis = 0.5 * (2.0 * xy).atan2(xx - yy);
    // From 80° on, lettering that leans back is easier read upwards.
    let axis = if axis > 80f64.to_radians() {
        axis - std::f64::consts::PI
    } else {
        axis
    };
    (middle, axis)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::maps::canvas::PixelRect;
    use crate::maps::polygon_fill::spans;

    const WINDOW: PixelRect = PixelRect {
        left: 0,
        top: 0,
        right: 1000,
        bottom: 1000,
    };

    fn strip(left: f64, width: f64, lean: f64) -> Labelled {
        let ring = vec![
            [left, 900.0],
            [left + width, 900.0],
            [left + width + lean, 50.0],
            [left + lean, 50.0],
        ];
        Labelled {
            spans: spans(&[ring], WINDOW),
            forms: vec!["block 1 · 58.3".to_owned(), "58.3".to_owned()],
        }
    }

    #[test]
    fn labels_lie_inside_their_strips() {
        let lettering = Lettering::new().unwrap();
        let strips: Vec<Labelled> = (0..12)
            .map(|i| strip(40.0 + f64::from(i) * 30.0, 30.0, 120.0))
            .collect();
        let labels = place_labels(&strips, &lettering);
        for (strip, label) in strips.iter().zip(&labels) {
            let label = label.as_ref().unwrap();
            assert_eq!(label.text, "block 1 · 58.3");
            assert!(label.turn < -1.2, "reads upwards: {}", label.turn);
            let ground = StripGround::new(&strip.spans).unwrap();
            for bead in label.beads(&lettering) {
                assert!(ground.holds(bead[0], bead[1]));
            }
        }
        let sizes: Vec<f32> = labels
            .iter()
            .flatten()
            .map(|label| label.style.size)
            .collect();
        assert!(sizes.iter().all(|&size| size == sizes[0]));
    }

    #[test]
    fn roomy_strips_are_labelled_level_and_slivers_not_at_all() {
        let lettering = Lettering::new().unwrap();
        let labels = place_labels(
            &[strip(100.0, 400.0, 0.0), strip(600.0, 7.0, 0.0)],
            &lettering,
        );
        let roomy = labels[0].as_ref().unwrap();
        assert_eq!((roomy.turn, roomy.style.size), (0.0, SIZES[0]));
        assert_eq!(labels[1], None);
    }

    #[test]
    fn strips_drawn_over_each_other_do_not_share_a_place() {
        let lettering = Lettering::new().unwrap();
        let labels = place_labels(
            &[strip(100.0, 60.0, 0.0), strip(100.0, 60.0, 0.0)],
            &lettering,
        );
        assert!(labels[0].is_some() && labels[1].is_none());
    }
}
