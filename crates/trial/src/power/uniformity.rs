//! Variation measured on a field where nothing was tried: pretended strips are laid over a past
//! harvest again and again, and compared as if there were treatments. What they differ by is soil,
//! weather and machine, the noise a true trial there would meet. Gomez, K. A. and Gomez, A. A. (1984),
//! *Statistical Procedures for Agricultural Research*, 2nd ed., Wiley, section 12.2 (uniformity
//! trials); Smith, H. F. (1938), *An empirical law describing heterogeneity in the yields of
//! agricultural crops*, Journal of Agricultural Science 28, 1–23.

use crate::paired_strips::paired_strips;
use crate::plot::Layout;
use crate::randomized_blocks::each_by_itself;
use serde::Serialize;

/// One pretended trial.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PretendedTrial {
    /// Variance from strip to strip within blocks, (kg/ha)².
    pub variance: f64,
    /// Mean yield of its strips, kg/ha.
    pub mean_kg_ha: f64,
    /// By what a treatment's difference would shrink through swaths that straddle two strips.
    pub dilution: f64,
    /// The p value its first treatment would get.
    pub p_value: f64,
}

impl PretendedTrial {
    /// Compares pretended treatments as `compare` compares true ones; `None` when too little was
    /// harvested for a standard error.
    pub fn of(layout: &Layout) -> Option<PretendedTrial> {
        let treatment = (0..layout.treatments.len()).find(|&t| t != layout.check)?;
        let comparison = if layout.treatments.len() == 2 {
            paired_strips(layout, treatment, 1.0)
        } else {
            each_by_itself(layout, 1.0)?.0.into_iter().next()
        }?;
        let (area, mass) = layout.plots.iter().fold((0.0, 0.0), |sum, plot| {
            (sum.0 + plot.area_m2, sum.1 + plot.mass_kg)
        });
        let found = PretendedTrial {
            variance: comparison.std_error_kg_ha.powi(2) * comparison.blocks as f64 / 2.0,
            mean_kg_ha: mass / area * 1e4,
            dilution: comparison.dilution,
            p_value: comparison.p_value,
        };
        let known = found.variance + found.mean_kg_ha + found.dilution;
        known.is_finite().then_some(found)
    }
}

/// What many pretended trials say together.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct MeasuredVariation {
    /// Pretended trials laid.
    pub draws: usize,
    /// Standard deviation from strip to strip within blocks, kg/ha: the root of the mean variance
    /// over the draws, divided by `dilution`, so that a gain set against it is the true one. Soil
    /// differs over tens of metres and shrinks by far less than a gain does when swaths straddle.
    pub sd_kg_ha: f64,
    /// A tenth of the draws, taken singly, lie below this, kg/ha.
    pub low_sd_kg_ha: f64,
    /// A tenth of them lie above this, kg/ha.
    pub high_sd_kg_ha: f64,
    /// Mean yield, kg/ha.
    pub mean_kg_ha: f64,
    /// By what swaths that straddled two strips would have shrunk a true gain.
    pub dilution: f64,
    /// Share of the draws that would have shown a difference at 5 %, though nothing was tried. Far
    /// from 0.05, it warns that strips here are not alike.
    pub shown_by_chance: f64,
}

/// Below this, swaths mixed too much for a division to stand for a trial of whole swaths.
const LEAST_DILUTION: f64 = 0.3;

impl MeasuredVariation {
    /// Gathers pretended trials; `None` without any, or when their swaths mixed nearly everything.
    pub fn of(trials: &[PretendedTrial]) -> Option<MeasuredVariation> {
        let count = trials.len() as f64;
        let mean =
            |value: fn(&PretendedTrial) -> f64| trials.iter().map(value).sum::<f64>() / count;
        let dilution = mean(|trial| trial.dilution).min(1.0);
        if trials.is_empty() || dilution < LEAST_DILUTION {
            return None;
        }
        let mut spread: Vec<f64> = trials
            .iter()
            .map(|trial| trial.variance.sqrt() / dilution)
            .collect();
        spread.sort_unstable_by(f64::total_cmp);
        let tenth = (trials.len() - 1) / 10;
        let shown = trials.iter().filter(|trial| trial.p_value < 0.05).count();
        Some(MeasuredVariation {
            draws: trials.len(),
            sd_kg_ha: mean(|trial| trial.variance).sqrt() / dilution,
            low_sd_kg_ha: spread[tenth],
            high_sd_kg_ha: spread[trials.len() - 1 - tenth],
            mean_kg_ha: mean(|trial| trial.mean_kg_ha),
            dilution,
            shown_by_chance: shown as f64 / count,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plot::Plot;

    fn layout(treatments: usize, yields: &[f64], own_share: f64) -> Layout {
        let plots = yields.iter().enumerate().map(|(place, &mass_kg)| {
            let treatment = place % treatments;
            let mut treatment_shares =
                vec![(1.0 - own_share) / (treatments - 1) as f64; treatments];
            treatment_shares[treatment] = own_share;
            Plot {
                treatment,
                block: Some((place / treatments).to_string()),
                area_m2: 1e4,
                mass_kg,
                treatment_shares,
            }
        });
        Layout {
            treatments: (0..treatments).map(|t| t.to_string()).collect(),
            check: 0,
            plots: plots.collect(),
        }
    }

    /// Differences 10, −10, 20, −20 have the variance 333.3, strips half of that.
    #[test]
    fn the_variance_is_that_within_blocks() {
        let yields = [3000., 3010., 3510., 3500., 2900., 2920., 3300., 3280.];
        let trial = PretendedTrial::of(&layout(2, &yields, 1.0)).unwrap();
        assert!(
            (trial.variance - 1000.0 / 3.0 / 2.0).abs() < 1e-6,
            "{trial:?}"
        );
        assert!((trial.mean_kg_ha - 3177.5).abs() < 1e-9 && trial.dilution == 1.0);
    }

    /// Three treatments without block effects: the residual mean square of R 4.2.2
    /// `deviance(aov(y ~ block + treatment)) / 4` for these yields is 28.16667.
    #[test]
    fn randomised_blocks_give_their_residual_mean_square() {
        let yields = [
            3000., 3010., 3005., 3100., 3095., 3110., 2990., 2995., 3001.,
        ];
        let trial = PretendedTrial::of(&layout(3, &yields, 1.0)).unwrap();
        assert!((trial.variance - 112.666_666_667 / 4.0).abs() < 1e-6);
    }

    #[test]
    fn mixed_swaths_are_made_good() {
        let yields = [3000., 3010., 3510., 3500., 2900., 2920., 3300., 3280.];
        let pure = PretendedTrial::of(&layout(2, &yields, 1.0)).unwrap();
        let mixed = PretendedTrial::of(&layout(2, &yields, 0.9)).unwrap();
        let of = |trial: PretendedTrial| MeasuredVariation::of(&[trial; 20]).unwrap();
        assert!((of(mixed).sd_kg_ha / of(pure).sd_kg_ha - 1.0 / 0.8).abs() < 1e-9);
        assert_eq!((of(pure).draws, of(pure).shown_by_chance), (20, 0.0));
        let halves = PretendedTrial::of(&layout(2, &yields, 0.5)).unwrap();
        assert_eq!(MeasuredVariation::of(&[halves; 20]), None);
        assert_eq!(MeasuredVariation::of(&[]), None);
    }
}
