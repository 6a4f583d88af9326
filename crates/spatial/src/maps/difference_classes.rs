//! Classes of a difference: equal steps of a round width, four on either side of zero, the outermost
//! open. All maps of one comparison share them, so that treatments can be held against each other.

use super::figures::shown_yield;
use super::yield_classes::{ROUND_STEPS, class_labels};
use checkstrip_model::{results::Field, units::UnitSystem};
use checkstrip_words::Reader;

/// Share of the differences that the closed classes hold.
const HELD: f64 = 0.9;
/// Closed classes on either side of zero.
const CLOSED: usize = 3;
/// All classes.
pub(super) const CLASSES: usize = 2 * (CLOSED + 1);

/// The classes of one comparison.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct DifferenceClasses {
    step_kg_ha: f64,
    /// Lowest class first.
    labels: Vec<String>,
}

impl DifferenceClasses {
    /// The classes for these differences, kg/ha, as wide as the narrowest round step whose closed
    /// classes hold nine in ten of them.
    pub(super) fn over(
        differences_kg_ha: impl Iterator<Item = f64>,
        field: &Field,
        reader: Reader,
    ) -> DifferenceClasses {
        let units = reader.units;
        let mut sizes: Vec<f64> = differences_kg_ha
            .map(|kg_ha| shown_yield(kg_ha, field, units).abs())
            .filter(|size| size.is_finite())
            .collect();
        sizes.sort_unstable_by(f64::total_cmp);
        let place = (sizes.len() as f64 * HELD) as usize;
        let wanted = sizes.get(place.min(sizes.len().saturating_sub(1)));
        let finest = match units {
            UnitSystem::Farm => 0.1,
            UnitSystem::Si => 10.0,
        };
        let (step, decimals) =
            round_step_over((wanted.copied().unwrap_or(0.0) / CLOSED as f64).max(finest));
        let most = CLOSED as i32;
        let breaks: Vec<f64> = (-most..=most)
            .map(|steps| f64::from(steps) * step)
            .collect();
        DifferenceClasses {
            step_kg_ha: step / shown_yield(1.0, field, units),
            labels: class_labels(&breaks, decimals, reader.words).unwrap_or_default(),
        }
    }

    /// Labels, lowest class first.
    pub(super) fn labels(&self) -> &[String] {
        &self.labels
    }

    /// The class of a difference in kg/ha; a difference on a break belongs to the class above it.
    pub(super) fn class_of(&self, kg_ha: f64) -> usize {
        let steps = (kg_ha / self.step_kg_ha).floor() + CLOSED as f64 + 1.0;
        steps.clamp(0.0, (CLASSES - 1) as f64) as usize
    }
}

/// The narrowest round step not under `least`, and the decimals it needs.
fn round_step_over(least: f64) -> (f64, usize) {
    let power = least.log10().floor() as i32;
    for power in power..=power + 1 {
        for round in ROUND_STEPS {
            let step = round * 10f64.powi(power);
            if step >= least * 0.999 {
                let halves = i32::from(round.fract() != 0.0);
                return (step, (halves - power).max(0) as usize);
            }
        }
    }
    (least, 1)
}

#[cfg(test)]
mod tests {
    use super::*;
    use checkstrip_model::Crop;

    #[test]
    fn steps_are_round_and_zero_is_a_break() {
        let field = Field::new("Invented", &Crop::known("soybean").unwrap());
        let differences = (0..100).map(|i| f64::from(i - 40) * 5.0);
        let classes = DifferenceClasses::over(differences, &field, UnitSystem::Si.into());
        // Nine in ten are under 250 in size; a third of that is 83, and the next round width 100.
        let labels = [
            "under −300",
            "−300 to −200",
            "−200 to −100",
            "−100 to 0",
            "0 to 100",
            "100 to 200",
            "200 to 300",
            "300 or more",
        ];
        assert_eq!(classes.labels(), labels);
        let found = [-9e9, -300.0, -0.1, 0.0, 99.9, 100.0, 1e9].map(|d| classes.class_of(d));
        assert_eq!(found, [0, 1, 3, 4, 4, 5, 7]);
    }

    #[test]
    fn nothing_and_no_difference_still_have_classes() {
        let field = Field::new("Invented", &Crop::known("corn").unwrap());
        for values in [vec![], vec![0.0; 4], vec![f64::NAN, f64::INFINITY]] {
            let classes =
                DifferenceClasses::over(values.into_iter(), &field, UnitSystem::Farm.into());
            assert_eq!(classes.labels().len(), CLASSES);
            assert_eq!(classes.labels()[4], "0.0 to 0.1");
        }
    }
}
