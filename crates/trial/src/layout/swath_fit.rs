//! How many whole header swaths lie inside a strip. Swath edges a header width `H` apart, at an
//! unknown place, leave at least ⌊W/H⌋ − 1 whole swaths in a strip of width `W`: one for sure from
//! `W` = 2H on, since of a strip narrower than that a swath edge can always cut off less than a
//! header on both sides. When a swath starts on the strip's edge there are ⌊W/H⌋.

use serde::Serialize;

/// How strips and header swaths fit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SwathFit {
    /// Width of a strip, m.
    pub strip_width_m: f64,
    /// Width of the header, m.
    pub header_width_m: f64,
    /// Whole swaths in every strip wherever swath edges lie.
    pub surely: u32,
    /// Whole swaths in every strip when its first swath starts on the strip's edge.
    pub from_strip_edge: u32,
    /// Width then left beside them, m.
    pub beside_m: f64,
    /// Fewest whole swaths in a strip when swaths run on without a gap from the first strip's edge.
    pub in_step_fewest: u32,
    /// Strips without a whole swath in that case.
    pub in_step_without: usize,
    /// Fewest implement passes a strip needs for a whole swath wherever swath edges lie.
    pub passes_for_sure: u32,
    /// Fewest implement passes that are a whole number of header widths, when there are at most
    /// twelve.
    pub passes_for_exact: Option<u32>,
    /// The widest header of which a whole swath surely lies in a strip as laid, m.
    pub widest_header_for_sure_m: f64,
}

/// Widths are taken for equal within this, m: no receiver or tape measure tells them apart.
const EQUAL_M: f64 = 0.005;
/// Strips of more passes than this are no strips.
const MOST_PASSES_FOR_EXACT: u32 = 12;

/// Whole header widths in a width, m.
fn whole(width_m: f64, header_m: f64) -> u32 {
    ((width_m + EQUAL_M) / header_m).floor().max(0.0) as u32
}

/// Fewest passes of the implement in which a whole swath surely lies.
pub(super) fn passes_for_sure(implement_m: f64, header_m: f64) -> u32 {
    ((2.0 * header_m - EQUAL_M) / implement_m).ceil().max(1.0) as u32
}

impl SwathFit {
    /// The fit of strips of `passes` implement passes, whose left sides lie at `left_m` across.
    pub(super) fn new(implement_m: f64, passes: u32, header_m: f64, left_m: &[f64]) -> SwathFit {
        let strip_width_m = implement_m * f64::from(passes);
        let from_strip_edge = whole(strip_width_m, header_m);
        let first = left_m.first().copied().unwrap_or(0.0);
        let in_step: Vec<u32> = left_m
            .iter()
            .map(|left| {
                let from_first = left - first;
                let next_edge = ((from_first - EQUAL_M) / header_m).ceil() * header_m;
                whole(strip_width_m - (next_edge - from_first), header_m)
            })
            .collect();
        let is_exact = |passes: u32| {
            let width = implement_m * f64::from(passes);
            (width / header_m).round() >= 1.0
                && (width - (width / header_m).round() * header_m).abs() <= EQUAL_M
        };
        SwathFit {
            strip_width_m,
            header_width_m: header_m,
            surely: from_strip_edge.saturating_sub(1),
            from_strip_edge,
            beside_m: (strip_width_m - f64::from(from_strip_edge) * header_m).max(0.0),
            in_step_fewest: in_step.iter().copied().min().unwrap_or(0),
            in_step_without: in_step.iter().filter(|&&count| count == 0).count(),
            passes_for_sure: passes_for_sure(implement_m, header_m),
            passes_for_exact: (1..=MOST_PASSES_FOR_EXACT).find(|&passes| is_exact(passes)),
            widest_header_for_sure_m: strip_width_m / 2.0,
        }
    }

    /// Whether strips are a whole number of header widths.
    pub fn is_exact(&self) -> bool {
        self.from_strip_edge > 0 && self.beside_m <= EQUAL_M
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const FOOT: f64 = 0.3048;

    fn side_by_side(implement_ft: f64, passes: u32, header_ft: f64, strips: usize) -> SwathFit {
        let width = implement_ft * FOOT * f64::from(passes);
        let left: Vec<f64> = (0..strips).map(|s| 7.3 + s as f64 * width).collect();
        SwathFit::new(implement_ft * FOOT, passes, header_ft * FOOT, &left)
    }

    /// 40 ft roller, 30 ft header: of three 40 ft strips side by side two hold a whole swath when
    /// swaths run on from the first edge; 80 ft hold one wherever edges lie; 120 ft fit exactly.
    #[test]
    fn forty_foot_roller_and_thirty_foot_header() {
        let one = side_by_side(40.0, 1, 30.0, 12);
        assert_eq!((one.surely, one.from_strip_edge), (0, 1));
        assert_eq!((one.in_step_fewest, one.in_step_without), (0, 4));
        assert_eq!((one.passes_for_sure, one.passes_for_exact), (2, Some(3)));
        let two = side_by_side(40.0, 2, 30.0, 12);
        assert_eq!(
            (two.surely, two.in_step_without, two.is_exact()),
            (1, 0, false)
        );
        let three = side_by_side(40.0, 3, 30.0, 12);
        assert_eq!((three.surely, three.in_step_fewest), (3, 4));
        assert!(three.is_exact());
    }

    #[test]
    fn equal_widths_fit_in_step_only() {
        let fit = side_by_side(30.0, 1, 30.0, 8);
        assert_eq!(
            (fit.surely, fit.from_strip_edge, fit.in_step_fewest),
            (0, 1, 1)
        );
    }

    proptest! {
        /// Law: the sure number is the least over all places of the swath edges.
        #[test]
        fn surely_is_the_worst_place(strip in 5.0f64..60.0, header in 3.0f64..20.0) {
            prop_assume!((strip / header).fract() > 0.02 && (strip / header).fract() < 0.98);
            let worst = (0..4000)
                .map(|step| header * (f64::from(step) + 0.5) / 4000.0)
                .map(|first_edge| ((strip - first_edge) / header).floor().max(0.0) as u32)
                .min()
                .unwrap();
            let fit = SwathFit::new(strip, 1, header, &[0.0]);
            prop_assert_eq!(fit.surely, worst);
            prop_assert_eq!(fit.surely >= 1, strip >= 2.0 * header);
        }
    }
}
