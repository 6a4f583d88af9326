//! The stated smallest gain put to the test: whole trials of invented strip yields, compared as
//! `compare` compares true ones (but for what holds for all treatments at once), show it as often as
//! was said.

use super::{POWER, Sides, TrialSize};
use crate::paired_strips::paired_strips;
use crate::plot::{Layout, Plot};
use crate::random::Random;
use crate::randomized_blocks::each_by_itself;
use statrs::distribution::{ContinuousCDF, Normal};

/// Trials of each size. The standard error of a share of 0.80 is then 0.009: 0.03 either way is more
/// than three of them.
const TRIALS: usize = 2_000;

/// Standard deviation from strip to strip within blocks, kg/ha.
const SD: f64 = 150.0;

/// One trial: a level of every block (spread far wider than strips within it), the gain on the first
/// treatment beside the check, and strips that vary by [`SD`].
fn trial(size: TrialSize, gain: f64, random: &mut Random) -> Layout {
    let mut normal = |sd: f64| sd * Normal::standard().inverse_cdf(random.unit().max(1e-16));
    let mut plots = Vec::new();
    for block in 0..size.blocks {
        let level = 3_700.0 + normal(600.0);
        for treatment in 0..size.treatments {
            let mut treatment_shares = vec![0.0; size.treatments];
            treatment_shares[treatment] = 1.0;
            let effect = if treatment == 1 { gain } else { 0.0 };
            plots.push(Plot {
                treatment,
                block: Some(block.to_string()),
                area_m2: 1e4,
                mass_kg: level + effect + normal(SD),
                treatment_shares,
            });
        }
    }
    Layout {
        treatments: (0..size.treatments).map(|t| t.to_string()).collect(),
        check: 0,
        plots,
    }
}

/// Shares of trials in which the first treatment gains, and loses, with p below 0.05.
fn shown(size: TrialSize, gain: f64, seed: u64) -> [f64; 2] {
    let mut random = Random::new(seed);
    let mut counts = [0.0; 2];
    for _ in 0..TRIALS {
        let layout = trial(size, gain, &mut random);
        let found = if size.treatments == 2 {
            paired_strips(&layout, 1, 27.2155)
        } else {
            each_by_itself(&layout, 27.2155).and_then(|(found, _)| found.into_iter().next())
        };
        let found = found.unwrap();
        if found.p_value < 0.05 {
            counts[usize::from(found.advantage_kg_ha < 0.0)] += 1.0;
        }
    }
    counts.map(|count| count / TRIALS as f64)
}

const SIZES: [(usize, usize); 5] = [(2, 4), (2, 6), (2, 12), (3, 5), (5, 4)];

#[test]
fn the_smallest_gain_is_shown_in_four_trials_of_five() {
    for (place, (treatments, blocks)) in SIZES.into_iter().enumerate() {
        let size = TrialSize { treatments, blocks };
        let gain = size.smallest_gain(Sides::Two) * SD;
        let [gains, _] = shown(size, gain, 100 + place as u64);
        assert!((gains - POWER).abs() < 0.03, "{size:?}: {gains}");
    }
}

/// Half the smallest gain is shown as often as the power curve says, and no gain in 5 % of trials, half
/// of them losses: three standard errors of 0.05 are 0.015.
#[test]
fn smaller_gains_are_shown_as_often_as_said() {
    for (place, (treatments, blocks)) in SIZES.into_iter().enumerate() {
        let size = TrialSize { treatments, blocks };
        let half = size.smallest_gain(Sides::Two) / 2.0;
        let [gains, _] = shown(size, half * SD, 200 + place as u64);
        let said = size.power(half, Sides::Two);
        assert!((gains - said).abs() < 0.035, "{size:?}: {gains} {said}");
        let [gains, losses] = shown(size, 0.0, 300 + place as u64);
        assert!(
            (gains + losses - 0.05).abs() < 0.015,
            "{size:?}: {gains} {losses}"
        );
    }
}
