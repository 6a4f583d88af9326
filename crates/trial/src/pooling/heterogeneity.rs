//! How far fields differ beyond what their own standard errors explain.

use super::reml::{Moments, halve};
use statrs::distribution::{ChiSquared, ContinuousCDF};

/// Measures of how far the fields' effects differ.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Heterogeneity {
    /// Cochran's Q: squared differences from the common mean in units of the fields' standard errors
    /// (Cochran, W. G. 1954, *The combination of estimates from different experiments*, Biometrics
    /// 10, 101–129).
    pub q: f64,
    /// Its degrees of freedom: fields − 1.
    pub df: f64,
    /// Probability of such a Q or a larger one when all fields share one effect.
    pub p_value: f64,
    /// Variance of the effects between fields (restricted maximum likelihood), squared unit.
    pub tau2: f64,
    /// 95 % interval of it by the Q profile (Viechtbauer, W. 2007, *Confidence intervals for the
    /// amount of heterogeneity in meta-analysis*, Statistics in Medicine 26, 37–52). Both ends are 0
    /// when the fields agree more closely than chance lets expect.
    pub tau2_interval_95: [f64; 2],
    /// Share of the scatter among fields that is not measurement noise, percent (Higgins, J. P. T.
    /// and Thompson, S. G. 2002, *Quantifying heterogeneity in a meta-analysis*, Statistics in
    /// Medicine 21, 1539–1558), from `tau2` and the fields' typical variance.
    pub i2_pct: f64,
    /// The same at both ends of the interval of `tau2`.
    pub i2_interval_95_pct: [f64; 2],
    /// All scatter among fields over measurement noise alone; 1 when fields do not differ.
    pub h2: f64,
    /// The same at both ends of the interval of `tau2`.
    pub h2_interval_95: [f64; 2],
}

impl Heterogeneity {
    /// For at least two fields, all finite, the variances above 0.
    pub(super) fn new(effects: &[f64], variances: &[f64], tau2: f64) -> Heterogeneity {
        let df = effects.len() as f64 - 1.0;
        let q = Moments::new(effects, variances, 0.0).q;
        let (mut sum, mut squares) = (0.0, 0.0);
        for variance in variances {
            sum += 1.0 / variance;
            squares += variance.powi(-2);
        }
        // Higgins and Thompson's typical variance within a field.
        let typical = df * sum / (sum * sum - squares);
        let i2 = |tau2: f64| 100.0 * tau2 / (tau2 + typical);
        let h2 = |tau2: f64| 1.0 + tau2 / typical;
        let interval = q_profile(effects, variances, df);
        Heterogeneity {
            q,
            df,
            p_value: ChiSquared::new(df).map_or(f64::NAN, |chi2| chi2.sf(q)),
            tau2,
            tau2_interval_95: interval,
            i2_pct: i2(tau2),
            i2_interval_95_pct: interval.map(i2),
            h2: h2(tau2),
            h2_interval_95: interval.map(h2),
        }
    }
}

/// The values of `tau2` at which the weighted sum of squares equals the 97.5 % and the 2.5 % point
/// of chi square. It falls steadily with `tau2`, so each is found by halving.
fn q_profile(effects: &[f64], variances: &[f64], df: f64) -> [f64; 2] {
    let Ok(chi2) = ChiSquared::new(df) else {
        return [f64::NAN; 2];
    };
    [0.975, 0.025].map(|share| {
        let point = chi2_point(&chi2, share);
        let above = |tau2: f64| Moments::new(effects, variances, tau2).q > point;
        if !above(0.0) {
            return 0.0;
        }
        let mut high = variances.iter().copied().fold(0.0, f64::max);
        while above(high) {
            high *= 4.0;
        }
        halve(0.0, high, above)
    })
}

/// The point below which chi square lies with probability `share`, to the last digits: the library's
/// own inverse stops early.
fn chi2_point(chi2: &ChiSquared, share: f64) -> f64 {
    let mut high = 1.0;
    while chi2.cdf(high) < share {
        high *= 2.0;
    }
    halve(0.0, high, |x| chi2.cdf(x) < share)
}
