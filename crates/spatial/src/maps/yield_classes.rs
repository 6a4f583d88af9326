//! Classes of yield: equal steps of a round width with open ends, five to seven of them over the
//! middle 96 % of the yields. The cleaned and the uncleaned map use the same classes, so that they
//! can be compared; the classes come from the kept records, or from all when none was kept.
//!
//! Equal steps rather than equal counts: a step means the same number of bushels everywhere on the
//! map, and a few wild records do not move it (Slocum, T. A. et al. 2009, *Thematic Cartography and
//! Geovisualization*, ch. 4, on equal intervals).

use super::figures::{shown_yield, yield_unit};
use checkstrip_model::{CleanLog, Status, results::Field, units::UnitSystem};
use checkstrip_words::{Reader, Words, say};

/// Share of the yields at each end that falls into the open classes whatever their spread.
pub(super) const TAIL: f64 = 0.02;
/// Most breaks between classes: one class more.
const MOST_BREAKS: usize = 6;
/// Round widths within one power of ten, close enough together for at least five classes.
pub(super) const ROUND_STEPS: [f64; 9] = [1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0];
/// At most this many records decide the classes, evenly spaced through the log.
const SAMPLE: usize = 60_000;

/// The classes of one field.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct YieldClasses {
    /// Lower ends of all classes but the lowest, kg/ha.
    breaks_kg_ha: Vec<f64>,
    /// One label per class, lowest first.
    labels: Vec<String>,
}

impl YieldClasses {
    /// The classes for a log; no class when no record has a yield.
    pub(super) fn of(log: &CleanLog, field: &Field, reader: Reader) -> YieldClasses {
        let kept = sample(&log.yield_kg_ha, |record| log.status[record].is_kept());
        let values = if kept.is_empty() {
            sample(&log.raw_yield_kg_ha, |record| {
                log.status[record] != Status::HeaderUp
            })
        } else {
            kept
        };
        YieldClasses::over(values, field, reader)
    }

    fn over(mut values: Vec<f64>, field: &Field, reader: Reader) -> YieldClasses {
        if values.is_empty() {
            return YieldClasses {
                breaks_kg_ha: Vec::new(),
                labels: Vec::new(),
            };
        }
        let rank = ((values.len() - 1) as f64 * TAIL).round() as usize;
        let top = values.len() - 1 - rank;
        let high = *values.select_nth_unstable_by(top, f64::total_cmp).1;
        let low = *values.select_nth_unstable_by(rank, f64::total_cmp).1;
        let shown = |kg_ha: f64| shown_yield(kg_ha, field, reader.units);
        let finest = match reader.units {
            UnitSystem::Farm => 0.1,
            UnitSystem::Si => 10.0,
        };
        let (breaks, decimals) = breaks(shown(low), shown(high), finest);
        let words = reader.words;
        let labels = class_labels(&breaks, decimals, words).unwrap_or_else(|| {
            let middle = words.number(shown((low + high) / 2.0), decimals.max(1));
            vec![say!(words, "map-class-all-near", middle = middle)]
        });
        let one_unit = shown(1.0);
        YieldClasses {
            breaks_kg_ha: breaks.iter().map(|b| b / one_unit).collect(),
            labels,
        }
    }

    /// Labels, lowest class first.
    pub(super) fn labels(&self) -> &[String] {
        &self.labels
    }

    /// The class of a yield in kg/ha.
    #[inline]
    pub(super) fn class_of(&self, kg_ha: f64) -> usize {
        self.breaks_kg_ha
            .iter()
            .filter(|&&lower| kg_ha >= lower)
            .count()
    }

    /// What the classes are, for the legend.
    pub(super) fn heading(reader: Reader) -> String {
        let unit = yield_unit(reader.units);
        say!(reader.words, "map-yield-heading", unit = unit)
    }
}

/// Finite values of the records that `counts`, at most [`SAMPLE`] of them.
fn sample(values: &[f64], counts: impl Fn(usize) -> bool) -> Vec<f64> {
    let usable = |&record: &usize| values[record].is_finite() && counts(record);
    let step = values.len().div_ceil(SAMPLE).max(1);
    let found: Vec<f64> = (0..values.len())
        .step_by(step)
        .filter(usable)
        .map(|record| values[record])
        .collect();
    if found.is_empty() && step > 1 {
        return (0..values.len())
            .filter(usable)
            .map(|record| values[record])
            .collect();
    }
    found
}

/// A label for every class between `breaks`, lowest first; `None` without a break.
pub(super) fn class_labels(breaks: &[f64], decimals: usize, words: &Words) -> Option<Vec<String>> {
    let text = |value: f64| words.number(value, decimals);
    let (first, last) = (breaks.first()?, breaks.last()?);
    let mut labels = vec![say!(words, "map-class-under", to = text(*first))];
    let between = breaks.windows(2);
    labels.extend(between.map(|w| say!(words, "range", low = text(w[0]), high = text(w[1]))));
    labels.push(say!(words, "map-class-over", from = text(*last)));
    Some(labels)
}

/// Multiples of the narrowest round step, no finer than `finest`, that put at most
/// [`MOST_BREAKS`] breaks between `low` and `high`, and the decimals they need.
pub(super) fn breaks(low: f64, high: f64, finest: f64) -> (Vec<f64>, usize) {
    let span = high - low;
    if !span.is_finite() || span <= 0.0 {
        return (Vec::new(), 0);
    }
    let start = (span / 10.0).max(finest * 0.999).log10().floor() as i32;
    for power in start..start + 4 {
        for round in ROUND_STEPS {
            let step = round * 10f64.powi(power);
            if step < finest * 0.999 {
                continue;
            }
            let (first, last) = ((low / step).floor() + 1.0, (high / step).ceil() - 1.0);
            if last - first + 1.0 <= MOST_BREAKS as f64 {
                let halves = i32::from(round.fract() != 0.0);
                let decimals = (halves - power).max(0) as usize;
                let count = (last - first + 1.0).max(0.0) as usize;
                let breaks = (0..count).map(|i| (first + i as f64) * step).collect();
                return (breaks, decimals);
            }
        }
    }
    (Vec::new(), 0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use checkstrip_model::Crop;
    use proptest::prelude::*;

    fn field() -> Field {
        Field::new("Invented", &Crop::known("soybean").unwrap())
    }

    #[test]
    fn round_breaks_over_the_middle() {
        let (found, decimals) = breaks(36.2, 63.9, 0.1);
        assert_eq!(found, [40.0, 44.0, 48.0, 52.0, 56.0, 60.0]);
        assert_eq!(decimals, 0);
    }

    #[test]
    fn equal_yields_are_one_class_and_none_are_none() {
        let equal = YieldClasses::over(vec![4000.0; 10], &field(), UnitSystem::Farm.into());
        assert_eq!(equal.labels(), ["all near 59.5"]);
        assert_eq!(equal.class_of(9e9), 0);
        assert!(
            YieldClasses::over(Vec::new(), &field(), UnitSystem::Si.into())
                .labels()
                .is_empty()
        );
    }

    #[test]
    fn wild_records_do_not_move_the_classes() {
        let mut values: Vec<f64> = (0..1000).map(|i| 3000.0 + f64::from(i)).collect();
        values.extend([1e7, 0.0, 5e8]);
        let classes = YieldClasses::over(values, &field(), UnitSystem::Si.into());
        assert_eq!(classes.labels().first().unwrap(), "under 3,150");
        assert_eq!(classes.class_of(5e8), classes.labels().len() - 1);
    }

    proptest! {
        /// Whatever the spread, there are five to seven classes, ends open.
        #[test]
        fn five_to_seven_classes(low in 0.0..200.0f64, span in 1.0..400.0f64) {
            let (found, _) = breaks(low, low + span, 0.1);
            prop_assert!((4..=6).contains(&found.len()), "{found:?}");
            prop_assert!(found.iter().all(|b| *b > low && *b < low + span));
        }
    }
}
