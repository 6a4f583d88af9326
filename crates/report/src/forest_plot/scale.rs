//! The scale of a forest plot: wide enough for what fields found, narrow enough that one field or one
//! treatment of which little is known does not press everything else together.

use crate::figures::Figures;
use crate::row_plot::round_step;
use checkstrip_model::results::Pooled;
use checkstrip_words::Marks;

/// From shown values to pixels.
#[derive(Debug, Clone, Copy)]
pub(super) struct Scale {
    low: f64,
    high: f64,
    left: f64,
    right: f64,
}

impl Scale {
    /// The scale for all treatments, between the pixels `left` and `right`.
    pub(super) fn new(pooled: &Pooled, figures: Figures, left: f64, right: f64) -> Scale {
        let mut points = vec![0.0];
        let mut ends = Vec::new();
        let mut halves = Vec::new();
        for treatment in &pooled.treatments {
            points.push(treatment.advantage_kg_ha);
            points.extend(treatment.payoff.as_ref().map(|p| p.break_even_kg_ha));
            points.extend(treatment.entries.iter().filter_map(|e| e.advantage_kg_ha));
            ends.extend(treatment.interval_95_kg_ha);
            ends.extend(
                treatment
                    .prediction
                    .iter()
                    .flat_map(|p| p.interval_95_kg_ha),
            );
            for [low, high] in treatment.entries.iter().filter_map(|e| e.interval_95_kg_ha) {
                ends.extend([low, high]);
                halves.push((high - low) / 2.0);
            }
        }
        let shown = |values: Vec<f64>| -> Vec<f64> {
            let finite = values.into_iter().filter(|value| value.is_finite());
            finite.map(|value| figures.shown_yield(value)).collect()
        };
        let (points, ends, mut halves) = (shown(points), shown(ends), shown(halves));
        let least = |values: &[f64]| values.iter().copied().fold(f64::INFINITY, f64::min);
        let most = |values: &[f64]| values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        halves.sort_by(f64::total_cmp);
        let usual = halves.get(halves.len() / 2).copied().unwrap_or(0.0);
        let (first, last) = (least(&points), most(&points));
        let reach = ((last - first) * 0.75).max(1.5 * usual);
        let mut low = first.min(least(&ends).max(first - reach));
        let mut high = last.max(most(&ends).min(last + reach));
        if high <= low {
            (low, high) = (low - 1.0, high + 1.0);
        }
        let margin = (high - low) * 0.04;
        Scale {
            low: low - margin,
            high: high + margin,
            left,
            right,
        }
    }

    /// Where a shown value stands, pixels; beyond the ends for values beyond them.
    pub(super) fn place(&self, value: f64) -> f64 {
        let share = (value - self.low) / (self.high - self.low);
        self.left + share * (self.right - self.left)
    }

    /// Round values along the scale, with their labels.
    pub(super) fn ticks(&self, marks: &Marks) -> Vec<(f64, String)> {
        let (step, decimals) = round_step((self.high - self.low) / 6.0);
        let (first, last) = ((self.low / step).ceil(), (self.high / step).floor());
        (0..=(last - first) as usize)
            .map(|tick| {
                let value = (first + tick as f64) * step;
                (value, marks.number(value, decimals))
            })
            .collect()
    }
}
