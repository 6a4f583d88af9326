//! Colours, each scheme with its source. All stay apart for readers who do not see red against
//! green, and the yield scheme also in grey print because its lightness falls steadily.

use super::canvas::Rgb;
use super::difference_classes::CLASSES;

pub(super) use checkstrip_drawing::paper::{INK, RULE, SOFT_INK, WHITE};

/// Ground whose records were dropped.
pub(super) const DROPPED_GROUND: Rgb = [224, 224, 224];
/// Kept records where they only give the background.
pub(super) const PALE_GROUND: Rgb = [236, 236, 236];
/// Combine passes on the strip map.
pub(super) const PASS_BAND: Rgb = [226, 226, 226];

/// The scheme "viridis" of Smith, N. and van der Walt, S. (2015), *A better default colormap for
/// matplotlib*, SciPy conference (placed in the public domain, CC0), at tenths of its length.
const VIRIDIS: [Rgb; 11] = [
    [68, 1, 84],
    [72, 36, 117],
    [65, 68, 135],
    [53, 95, 141],
    [42, 120, 142],
    [33, 145, 140],
    [34, 168, 132],
    [68, 191, 112],
    [122, 209, 81],
    [189, 223, 38],
    [253, 231, 37],
];
/// The part of the scheme used: its lightest end would vanish on paper beside the grey of dropped
/// ground, its darkest would swallow the strip outlines.
const VIRIDIS_RANGE: (f64, f64) = (0.06, 0.92);

/// The colour of yield class `class` of `classes`, lowest first. More grain is darker, as on
/// printed maps (Brewer, C. A. 1994, *Color use guidelines for mapping and visualization*).
pub(super) fn yield_colour(class: usize, classes: usize) -> Rgb {
    let share = if classes > 1 {
        class as f64 / (classes - 1) as f64
    } else {
        0.5
    };
    let (dark, light) = VIRIDIS_RANGE;
    let place = (light + (dark - light) * share) * (VIRIDIS.len() - 1) as f64;
    let below = (place.floor() as usize).min(VIRIDIS.len() - 2);
    let part = place - below as f64;
    std::array::from_fn(|channel| {
        let (from, to) = (VIRIDIS[below][channel], VIRIDIS[below + 1][channel]);
        (f64::from(from) + (f64::from(to) - f64::from(from)) * part).round() as u8
    })
}

/// Colours of the classes of a difference, lowest first: less than the check in orange, more in purple,
/// paler towards zero. The scheme "PuOr" of Harrower, M. and Brewer, C. A. (2003), *ColorBrewer.org: An
/// Online Tool for Selecting Colour Schemes for Maps*, The Cartographic Journal 40, 27–37, in eight
/// classes, for readers of any colour vision; as `matplotlib` has it in `PuOr`, without its ends and its
/// middle.
const DIFFERENCES: [Rgb; CLASSES] = [
    [179, 88, 6],
    [224, 130, 20],
    [253, 184, 99],
    [254, 224, 182],
    [216, 218, 235],
    [178, 171, 210],
    [128, 115, 172],
    [84, 39, 136],
];

/// The colour of class `class` of a difference.
pub(super) fn difference_colour(class: usize) -> Rgb {
    DIFFERENCES[class.min(CLASSES - 1)]
}

/// Colours of the reasons a record was dropped, in the order of `Status::REASONS`: a dark grey for
/// the header, then the scheme "muted" of Tol, P. (2021), *Colour schemes*, SRON technical note
/// SRON/EPS/TN/09-002.
pub(super) const REASONS: [Rgb; 10] = [
    [112, 112, 112], // header up
    [51, 34, 136],   // pass start: indigo
    [136, 204, 238], // pass end: cyan
    [221, 204, 119], // overlap: sand
    [17, 119, 51],   // speed: green
    [136, 34, 85],   // position: wine
    [153, 153, 51],  // time: olive
    [204, 102, 119], // yield limit: rose
    [170, 68, 153],  // local outlier: purple
    [68, 170, 153],  // moisture: teal
];

/// Colours of treatments: Okabe, M. and Ito, K. (2008), *Color universal design*, without its
/// black and yellow, which hatch badly on paper.
pub(super) const TREATMENTS: [Rgb; 6] = [
    [0, 114, 178],
    [230, 159, 0],
    [0, 158, 115],
    [204, 121, 167],
    [213, 94, 0],
    [86, 180, 233],
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn more_grain_is_darker() {
        let lightness =
            |c: Rgb| 0.2126 * f64::from(c[0]) + 0.7152 * f64::from(c[1]) + 0.0722 * f64::from(c[2]);
        for classes in 2..=7 {
            for class in 1..classes {
                assert!(
                    lightness(yield_colour(class, classes))
                        < lightness(yield_colour(class - 1, classes))
                );
            }
        }
    }

    #[test]
    fn every_reason_has_a_colour_of_its_own() {
        assert_eq!(REASONS.len(), checkstrip_model::Status::REASONS.len());
        for (place, colour) in REASONS.iter().enumerate() {
            assert!(!REASONS[..place].contains(colour));
        }
    }
}
