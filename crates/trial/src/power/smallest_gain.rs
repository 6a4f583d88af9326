//! The smallest gain that a trial of so many blocks shows, how many blocks a gain needs, and the
//! power in between.
//!
//! With `b` blocks of `t` treatments and a standard deviation *s* from strip to strip within blocks,
//! a treatment's mean less the check's has the standard error s √(2/b) on (b − 1)(t − 1) degrees of
//! freedom: the paired t test for two treatments (Student 1908), randomised blocks for more (Fisher
//! 1935). A gain is shown when t exceeds its critical value, the probability of which is a tail of
//! the noncentral t distribution (Cochran, W. G. and Cox, G. M., 1957, *Experimental Designs*, 2nd
//! ed., Wiley, section 2.2; Johnson, N. L. and Welch, B. L., 1940, *Applications of the non-central
//! t-distribution*, Biometrika 31, 362–389).

use super::noncentral_t::above;
use crate::student::quantile;

/// Power asked for: the share of such trials that show a gain which is there. Common practice
/// (Cohen, J., 1988, *Statistical Power Analysis for the Behavioral Sciences*, 2nd ed., p. 56).
pub const POWER: f64 = 0.80;
/// Share of trials that show a difference where there is none.
const LEVEL: f64 = 0.05;
/// No trial has more blocks than this.
const MOST_BLOCKS: usize = 500;

/// What counts as shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sides {
    /// A difference either way, at 5 %: what `compare` reports. Power counts the gain's side.
    Two,
    /// A gain only, at 5 %: to be decided on before harvest.
    One,
}

/// How much of a trial there is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TrialSize {
    /// Treatments, the check among them.
    pub treatments: usize,
    /// Blocks.
    pub blocks: usize,
}

impl TrialSize {
    /// Degrees of freedom of the comparison.
    pub fn df(self) -> f64 {
        (self.blocks.saturating_sub(1) * self.treatments.saturating_sub(1)) as f64
    }

    /// Standard error of a treatment's mean less the check's, in units of the standard deviation
    /// from strip to strip.
    pub fn error_factor(self) -> f64 {
        (2.0 / self.blocks as f64).sqrt()
    }

    /// Share of such trials that show a gain of `gain` standard deviations; `NaN` without degrees of
    /// freedom.
    pub fn power(self, gain: f64, sides: Sides) -> f64 {
        power(gain / self.error_factor(), self.df(), sides)
    }

    /// The gain, in standard deviations from strip to strip, that [`POWER`] of such trials show.
    /// `NaN` without degrees of freedom.
    ///
    /// ```
    /// use checkstrip_trial::power::{Sides, TrialSize};
    /// // Six pairs: 2.03 standard deviations of a strip are 1.43 of a difference.
    /// let six = TrialSize { treatments: 2, blocks: 6 };
    /// assert!((six.smallest_gain(Sides::Two) - 2.029).abs() < 1e-3);
    /// ```
    pub fn smallest_gain(self, sides: Sides) -> f64 {
        shift_shown(self.df(), sides) * self.error_factor()
    }

    /// The fewest blocks in which a gain of `gain` standard deviations is shown by [`POWER`] of the
    /// trials; `None` when 500 are not enough.
    pub fn blocks_for(gain: f64, treatments: usize, sides: Sides) -> Option<usize> {
        let shows = |blocks: usize| TrialSize { treatments, blocks }.smallest_gain(sides) <= gain;
        (2..=MOST_BLOCKS).find(|&blocks| shows(blocks))
    }
}

fn power(shift: f64, df: f64, sides: Sides) -> f64 {
    let tail = match sides {
        Sides::Two => LEVEL / 2.0,
        Sides::One => LEVEL,
    };
    above(quantile(1.0 - tail, df), df, shift)
}

/// The noncentrality at which the power is [`POWER`], by halving: power rises with it.
fn shift_shown(df: f64, sides: Sides) -> f64 {
    if df < 1.0 {
        return f64::NAN;
    }
    // One degree of freedom has the largest critical value, 12.7, and needs a shift of 16.
    let (mut low, mut high) = (0.0, 64.0);
    for _ in 0..60 {
        let middle = (low + high) / 2.0;
        if power(middle, df, sides) < POWER {
            low = middle;
        } else {
            high = middle;
        }
    }
    (low + high) / 2.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::power::reference::{BLOCKS_DELTA, PAIRED_DELTA, PAIRED_POWER, TWO_SAMPLE_POWER};

    /// R 4.2.2 `power.t.test(n, delta, sd, type = "paired")$power`: `sd` is that of differences,
    /// √2 times that of strips.
    #[test]
    fn power_is_that_of_r() {
        for (pairs, delta, expected) in PAIRED_POWER {
            let size = TrialSize {
                treatments: 2,
                blocks: *pairs,
            };
            let found = size.power(delta * 2f64.sqrt(), Sides::Two);
            assert!(
                (found - expected).abs() < 1e-6,
                "{pairs} {delta}: {found} {expected}"
            );
        }
    }

    /// R 4.2.2 `power.t.test(n, power = 0.8, type = "paired")$delta`, two-sided and one-sided.
    #[test]
    fn smallest_gain_is_that_of_r() {
        for (pairs, two, one) in PAIRED_DELTA {
            let size = TrialSize {
                treatments: 2,
                blocks: *pairs,
            };
            let found = size.smallest_gain(Sides::Two) / 2f64.sqrt();
            assert!((found / two - 1.0).abs() < 1e-4, "{pairs}: {found} {two}");
            let found = size.smallest_gain(Sides::One) / 2f64.sqrt();
            assert!((found / one - 1.0).abs() < 1e-4, "{pairs}: {found} {one}");
        }
    }

    /// R 4.2.2 `power.t.test(n, delta, sd = 1)$power`: two samples of strips without blocks, on
    /// 2(n − 1) degrees of freedom, share the computation.
    #[test]
    fn two_samples_are_those_of_r() {
        for (strips, delta, expected) in TWO_SAMPLE_POWER {
            let shift = delta / (2.0 / *strips as f64).sqrt();
            let found = power(shift, 2.0 * (*strips as f64 - 1.0), Sides::Two);
            assert!(
                (found - expected).abs() < 1e-6,
                "{strips} {delta}: {found} {expected}"
            );
        }
    }

    /// R 4.2.2 `uniroot` on `pt(qt(0.975, (b-1)*(t-1)), (b-1)*(t-1), d/sqrt(2/b), lower = FALSE) -
    /// 0.8`: randomised blocks.
    #[test]
    fn randomised_blocks_are_those_of_r() {
        for (treatments, blocks, expected) in BLOCKS_DELTA {
            let size = TrialSize {
                treatments: *treatments,
                blocks: *blocks,
            };
            let found = size.smallest_gain(Sides::Two);
            assert!(
                (found / expected - 1.0).abs() < 1e-4,
                "{treatments} {blocks}: {found}"
            );
        }
    }

    #[test]
    fn blocks_for_a_gain_are_just_enough() {
        for gain in [0.6, 1.0, 1.7, 3.0] {
            let blocks = TrialSize::blocks_for(gain, 2, Sides::Two).unwrap();
            let at = |blocks| {
                TrialSize {
                    treatments: 2,
                    blocks,
                }
                .smallest_gain(Sides::Two)
            };
            assert!(at(blocks) <= gain && at(blocks - 1) > gain);
        }
        assert_eq!(TrialSize::blocks_for(0.001, 2, Sides::Two), None);
        assert_eq!(TrialSize::blocks_for(f64::NAN, 2, Sides::Two), None);
        assert!(
            TrialSize {
                treatments: 2,
                blocks: 1
            }
            .smallest_gain(Sides::Two)
            .is_nan()
        );
    }
}
