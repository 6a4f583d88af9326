//! The noncentral t distribution: how a t statistic falls when there is a gain.
//!
//! # Source
//! The series of Lenth, R. V. (1989), *Algorithm AS 243: Cumulative distribution function of the
//! non-central t distribution*, Applied Statistics 38(1), 185–189. Its terms are those of a Poisson
//! distribution, summed here from the largest outwards, so that a large noncentrality neither
//! underflows nor loses digits.

use statrs::distribution::{ContinuousCDF, Normal};
use statrs::function::beta::beta_reg;
use statrs::function::gamma::ln_gamma;

/// Terms smaller than this share of the sum do not count.
const NEGLIGIBLE: f64 = 1e-15;

/// Probability that a t variable with `df` degrees of freedom and noncentrality `shift`, 0 or more,
/// lies above `t`, above 0. `NaN` when an argument is not a number or out of range.
pub(super) fn above(t: f64, df: f64, shift: f64) -> f64 {
    let in_range = t > 0.0 && df > 0.0 && shift >= 0.0;
    if !in_range || !(t + df + shift).is_finite() {
        return f64::NAN;
    }
    let Ok(normal) = Normal::new(0.0, 1.0) else {
        return f64::NAN;
    };
    let x = t * t / (df + t * t);
    let half_square = shift * shift / 2.0;
    // P(T ≤ t) = Φ(−δ) + ½ Σ [p_j I_x(j + ½, ν/2) + q_j I_x(j + 1, ν/2)].
    let term = |j: f64| {
        if shift == 0.0 {
            // Only p_0 = 1 is left.
            return if j == 0.0 {
                beta_reg(0.5, df / 2.0, x)
            } else {
                0.0
            };
        }
        let poisson = j * half_square.ln() - half_square;
        let even = (poisson - ln_gamma(j + 1.0)).exp();
        let odd = (poisson - ln_gamma(j + 1.5)).exp() * shift / std::f64::consts::SQRT_2;
        even * beta_reg(j + 0.5, df / 2.0, x) + odd * beta_reg(j + 1.0, df / 2.0, x)
    };
    let largest = half_square.floor();
    let mut sum = term(largest);
    let mut j = largest + 1.0;
    loop {
        let next = term(j);
        sum += next;
        if next <= NEGLIGIBLE * sum || next < 1e-300 {
            break;
        }
        j += 1.0;
    }
    let mut j = largest;
    while j > 0.0 {
        j -= 1.0;
        let next = term(j);
        sum += next;
        if next <= NEGLIGIBLE * sum {
            break;
        }
    }
    (1.0 - normal.cdf(-shift) - sum / 2.0).clamp(0.0, 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::power::reference::TAILS;

    /// R 4.2.2 `pt(t, df, ncp, lower.tail = FALSE)`.
    #[test]
    fn tails_are_those_of_r() {
        for (t, df, shift, expected) in TAILS {
            let found = above(*t, *df, *shift);
            assert!(
                (found - expected).abs() < 1e-8,
                "{t} {df} {shift}: {found} {expected}"
            );
        }
    }

    #[test]
    fn nothing_comes_of_nothing() {
        assert!(above(f64::NAN, 5.0, 1.0).is_nan() && above(2.0, 0.0, 1.0).is_nan());
        assert_eq!(above(2.0, 30.0, 60.0), 1.0);
    }
}
