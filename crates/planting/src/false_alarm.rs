//! How likely chance alone gives a peak as high as the highest one found: the price of having looked at
//! many frequencies, windows, rows and signals.
//!
//! # Source
//! Baluev, R. V. (2008), *Assessing the statistical significance of periodogram peaks*, Monthly Notices
//! of the Royal Astronomical Society 385, 1279–1285, after Davies, R. B. (1977, 1987), *Hypothesis testing
//! when a nuisance parameter is present only under the alternative*, Biometrika 64, 247–254 and 74, 33–43.

use std::f64::consts::PI;

use statrs::function::gamma::{gamma_ur, ln_gamma};

/// Probability that white noise gives a peak of at least `power` (see
/// [`lomb_scargle`](crate::lomb_scargle)) anywhere from frequency 0 to `highest_frequency`: Baluev's
/// equation 6 with the factors of his table 1 for the share of the sum of squares.
///
/// `x` are the places of the readings. Fewer than four readings: 1.
pub fn false_alarm_probability(power: f64, x: &[f64], highest_frequency: f64) -> f64 {
    if x.len() < 4 {
        return 1.0;
    }
    let n = x.len() as f64;
    let single = (1.0 - power).powf((n - 3.0) / 2.0);
    let gamma =
        (2.0 / (n - 1.0)).sqrt() * (ln_gamma((n - 1.0) / 2.0) - ln_gamma((n - 2.0) / 2.0)).exp();
    let width = highest_frequency * effective_length(x);
    let upcrossings =
        gamma * width * (1.0 - power).powf((n - 4.0) / 2.0) * (0.5 * (n - 1.0) * power).sqrt();
    -(-upcrossings).exp_m1() + single * (-upcrossings).exp()
}

/// Baluev's effective length of a series: √(4π × variance of its places).
pub(crate) fn effective_length(x: &[f64]) -> f64 {
    let n = x.len().max(1) as f64;
    let mean = x.iter().sum::<f64>() / n;
    let variance = x.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / n;
    (4.0 * PI * variance).sqrt()
}

/// Natural logarithm of a bound on the probability that the strengths of `windows` windows of noise,
/// added up frequency by frequency, reach `sum` anywhere over a range of frequencies `range` wide. Each
/// strength is exponential with mean 1, their sum is half a chi-squared with twice as many degrees of
/// freedom as windows, and Davies's bound for such a process is
///
/// P(one frequency) + range × effective length × sum^(windows - ½) × exp(-sum) / Γ(windows),
///
/// which for one window is Baluev's formula for known noise. 0 (certain) at or under the mean.
pub(crate) fn ln_false_alarm_of_sum(
    sum: f64,
    windows: usize,
    range: f64,
    effective_length: f64,
) -> f64 {
    let windows = windows as f64;
    if sum <= windows {
        return 0.0;
    }
    let crossings = (range * effective_length).max(1e-300).ln() + (windows - 0.5) * sum.ln()
        - sum
        - ln_gamma(windows);
    let single = ln_gamma_tail(sum, windows);
    let larger = crossings.max(single);
    (larger + ((crossings - larger).exp() + (single - larger).exp()).ln()).min(0.0)
}

/// Natural logarithm of the probability that the sum of `windows` exponential numbers of mean 1 is at
/// least `sum`.
pub(crate) fn ln_gamma_tail(sum: f64, windows: f64) -> f64 {
    if sum <= 0.0 {
        return 0.0;
    }
    let tail = gamma_ur(windows, sum);
    if tail > 1e-200 {
        return tail.ln();
    }
    // Far out the tail is its density times a geometric series' sum, from above.
    (windows - 1.0) * sum.ln() - sum - ln_gamma(windows) - (-(windows - 1.0) / sum).ln_1p()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Outside reference: LombScargle.false_alarm_probability(power, method="baluev") of astropy 8.0.2;
    /// `fixtures/periodogram.py`.
    #[test]
    fn false_alarms_are_those_of_astropy() {
        let fixture: serde_json::Value =
            serde_json::from_str(include_str!("../fixtures/periodogram.json")).unwrap();
        let numbers = |key: &str| -> Vec<f64> {
            let list = fixture[key].as_array().unwrap();
            list.iter().map(|v| v.as_f64().unwrap()).collect()
        };
        let x = numbers("x");
        let highest = fixture["highest_frequency"].as_f64().unwrap();
        for (level, expected) in numbers("level").into_iter().zip(numbers("astropy_baluev")) {
            let found = false_alarm_probability(level, &x, highest);
            assert!((found / expected - 1.0).abs() < 1e-9, "{found} {expected}");
        }
    }

    /// Law: for one window and many readings the bound for sums is Baluev's.
    #[test]
    fn one_long_window_is_baluevs_case() {
        let x: Vec<f64> = (0..40_000).map(|i| f64::from(i) * 0.01).collect();
        let half = (x.len() as f64 - 3.0) / 2.0;
        for strength in [8.0, 12.0, 20.0] {
            let power = -f64::exp_m1(-strength / half);
            let baluev = false_alarm_probability(power, &x, 0.8);
            let found = ln_false_alarm_of_sum(strength, 1, 0.8, effective_length(&x)).exp();
            // Baluev counts crossings as of a Poisson process.
            let poisson = -(-found).exp_m1();
            assert!((poisson / baluev - 1.0).abs() < 0.01, "{poisson} {baluev}");
        }
    }

    /// Outside reference: scipy.stats.gamma(20).logsf([300, 700]) of scipy 1.17.1. Beyond what a
    /// probability can hold the tail is a bound from above.
    #[test]
    fn tails_are_those_of_scipy_and_do_not_vanish() {
        assert!((ln_gamma_tail(300.0, 20.0) + 230.902_828_15).abs() < 1e-6);
        let bound = ln_gamma_tail(700.0, 20.0) + 614.841_880_64;
        assert!((0.0..0.01).contains(&bound), "{bound}");
        assert!(ln_gamma_tail(3_000.0, 1_000.0) < -400.0);
        assert_eq!(ln_gamma_tail(0.0, 3.0), 0.0);
    }

    /// Noise in windows of uneven places, four of them added up, 1,500 times: the highest strength over
    /// all frequencies passes the level of a 5 % false alarm in at most 5 % of the cases (and three standard
    /// errors), and the bound is not so loose that it never does.
    #[test]
    fn noise_passes_the_bound_as_often_as_it_says() {
        use crate::periodogram::{Basis, FrequencyGrid};
        let mut state = 7u64;
        let mut unit = || {
            state = state.wrapping_add(0x9e37_79b9_7f4a_7c15);
            let mut z = state;
            z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
            z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
            ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
        };
        let grid = FrequencyGrid {
            step: 1.0 / 600.0,
            first: 30,
            count: 210,
        };
        let windows: Vec<(Vec<f64>, Basis)> = (0..4)
            .map(|_| {
                let mut at = 0.0;
                let x: Vec<f64> = (0..100)
                    .map(|_| {
                        at += 1.0 + unit();
                        at
                    })
                    .collect();
                let basis = Basis::new(&x, grid);
                (x, basis)
            })
            .collect();
        let length = effective_length(&windows[0].0);
        let (mut passed, cases) = (0, 1_500);
        let mut strength = Vec::new();
        for _ in 0..cases {
            let mut sum = vec![0.0; grid.count];
            for (x, basis) in &windows {
                // A sum of twelve evenly spread numbers is close to normal.
                let y: Vec<f32> = x
                    .iter()
                    .map(|_| (0..12).map(|_| unit() as f32).sum())
                    .collect();
                basis.strength(&y, &mut strength);
                for (sum, more) in sum.iter_mut().zip(&strength) {
                    *sum += f64::from(*more);
                }
            }
            let highest = sum.iter().copied().fold(0.0, f64::max);
            let range = grid.count as f64 * grid.step;
            passed += usize::from(ln_false_alarm_of_sum(highest, 4, range, length) < 0.05f64.ln());
        }
        let share = passed as f64 / f64::from(cases);
        assert!(
            share < 0.05 + 3.0 * (0.05 * 0.95 / f64::from(cases)).sqrt(),
            "{share}"
        );
        assert!(share > 0.02, "{share}");
    }

    #[test]
    fn too_little_says_nothing() {
        assert_eq!(false_alarm_probability(0.9, &[1.0, 2.0], 1.0), 1.0);
        assert_eq!(ln_false_alarm_of_sum(3.0, 5, 1.0, 100.0), 0.0);
    }
}
