//! Hatching that tells treatments apart without colour: a light tint and a line pattern for each,
//! nothing for the check.

use super::canvas::{Canvas, Rgb};
use super::difference_classes::CLASSES;
use super::palette::{INK, RULE, SOFT_INK, TREATMENTS, WHITE, difference_colour, yield_colour};
use super::polygon_fill::Span;
use checkstrip_model::AppliedClass;

const TINT: f32 = 0.30;
const LINE: f32 = 0.75;
/// How much the check is lightened so that it does not read as untreated ground outside strips.
const CHECK_VEIL: f32 = 0.45;

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Pattern {
    Plain,
    Rising,
    Falling,
    Dots,
    Level,
    Crossed,
}

const PATTERNS: [Pattern; 5] = [
    Pattern::Rising,
    Pattern::Dots,
    Pattern::Falling,
    Pattern::Level,
    Pattern::Crossed,
];

/// The look of one treatment.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Hatch {
    colour: Rgb,
    pattern: Pattern,
}

impl Hatch {
    /// The check's look.
    pub(super) const CHECK: Hatch = Hatch {
        colour: WHITE,
        pattern: Pattern::Plain,
    };

    /// The look of treatments that a map is not about.
    pub(super) const OTHER: Hatch = Hatch {
        colour: RULE,
        pattern: Pattern::Rising,
    };

    /// The look of the treatment at `place`, counted without the check; thirty looks differ.
    pub(super) fn of_treatment(place: usize) -> Hatch {
        Hatch {
            colour: TREATMENTS[place % TREATMENTS.len()],
            pattern: PATTERNS[place % PATTERNS.len()],
        }
    }

    /// The look of class `class` of `classes`, lowest first: colours that grow darker, each with a
    /// pattern of its own.
    pub(super) fn of_class(class: usize, classes: usize) -> Hatch {
        Hatch {
            colour: yield_colour(class, classes),
            pattern: PATTERNS[class % PATTERNS.len()],
        }
    }

    /// The look of ground of `class` on a map of what was done against plan; `None` for ground as asked, which is plain.
    /// Less is orange and more is purple, as on maps of an advantage.
    pub(super) fn of_applied(class: AppliedClass) -> Option<Hatch> {
        let (colour, pattern) = match class {
            AppliedClass::AsAsked => return None,
            AppliedClass::Less => (difference_colour(1), Pattern::Falling),
            AppliedClass::More => (difference_colour(CLASSES - 2), Pattern::Rising),
            AppliedClass::OtherProduct => (TREATMENTS[0], Pattern::Crossed),
            AppliedClass::NotWorked => (SOFT_INK, Pattern::Dots),
            AppliedClass::NotPlanned => (TREATMENTS[2], Pattern::Level),
            AppliedClass::NotLogged => (INK, Pattern::Level),
        };
        Some(Hatch { colour, pattern })
    }

    /// Lays the hatching over `spans`.
    pub(super) fn paint(self, canvas: &mut Canvas, spans: &[Span]) {
        for span in spans {
            for x in span.from..span.to {
                let opacity = match self.pattern {
                    Pattern::Plain => CHECK_VEIL,
                    pattern if inked(pattern, x, span.y) => LINE,
                    _ => TINT,
                };
                canvas.blend(x, span.y, self.colour, opacity);
            }
        }
    }
}

fn inked(pattern: Pattern, x: i32, y: i32) -> bool {
    let rising = (x + y).rem_euclid(14) < 3;
    let falling = (x - y).rem_euclid(14) < 3;
    match pattern {
        Pattern::Plain => false,
        Pattern::Rising => rising,
        Pattern::Falling => falling,
        Pattern::Crossed => rising || falling,
        Pattern::Level => y.rem_euclid(9) < 2,
        Pattern::Dots => {
            let shift = if y.rem_euclid(20) < 10 { 0 } else { 5 };
            let (dx, dy) = ((x + shift).rem_euclid(10) - 5, y.rem_euclid(10) - 5);
            dx * dx + dy * dy <= 5
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn thirty_treatments_look_different() {
        let looks: Vec<Hatch> = (0..30).map(Hatch::of_treatment).collect();
        for (place, look) in looks.iter().enumerate() {
            assert!(!looks[..place].contains(look) && *look != Hatch::CHECK);
        }
    }
}
