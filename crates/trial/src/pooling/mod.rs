//! One answer from many fields or years: a random-effects meta-analysis of their headline
//! differences. Every field has an effect of its own; what is estimated is the mean of the effects
//! and how much they differ. The formulas, and what happens when an assumption fails, are in
//! `docs/pooling.md`.

mod heterogeneity;
mod reml;

pub use heterogeneity::Heterogeneity;

use crate::student::{above, quantile_975, two_sided};
use reml::{Moments, tau2_by_reml};

/// 97.5 % point of the normal distribution, for the interval that large-sample theory gives.
const NORMAL_975: f64 = 1.959_963_984_540_054;
/// Figures beyond this are no measurement; below its inverse, a standard error is none. Keeps the
/// squares of weights within range.
const REACH: f64 = 1e60;

/// What one field found, in any unit of yield.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FieldEstimate {
    /// Treatment less check.
    pub advantage: f64,
    /// Its standard error.
    pub std_error: f64,
}

impl FieldEstimate {
    /// Whether it can be weighed against other fields: both figures finite, the standard error above
    /// 0.
    pub fn is_usable(self) -> bool {
        self.advantage.abs() < REACH && self.std_error > 1.0 / REACH && self.std_error < REACH
    }
}

/// The mean effect over fields and how far fields differ, in the unit of the estimates.
#[derive(Debug, Clone, PartialEq)]
pub struct PooledEstimate {
    /// Fields that entered.
    pub fields: usize,
    /// Mean effect.
    pub advantage: f64,
    /// Its standard error: Hartung and Knapp's, never below the one that follows from the fields'
    /// own standard errors.
    pub std_error: f64,
    /// Degrees of freedom of the interval: fields − 1.
    pub df: f64,
    /// 95 % interval of the mean effect.
    pub interval_95: [f64; 2],
    /// Two-sided p value against no effect.
    pub p_value: f64,
    /// Hartung and Knapp's ratio: how much the fields scatter about the mean against what their
    /// standard errors and `tau2` lead to expect. Below 1 it is not used.
    pub scatter_ratio: f64,
    /// Hartung and Knapp's standard error with the ratio as it is, even below 1.
    pub std_error_hartung_knapp: f64,
    /// The 95 % interval with that.
    pub interval_95_hartung_knapp: [f64; 2],
    /// Standard error that takes `tau2` and the fields' standard errors as known.
    pub std_error_wald: f64,
    /// The 95 % interval with that and the normal distribution: too short with few fields.
    pub interval_95_wald: [f64; 2],
    /// Where a further field's own effect is to be expected; absent with two fields.
    pub prediction: Option<Prediction>,
    /// How far fields differ.
    pub heterogeneity: Heterogeneity,
    /// Share of each field given in the mean; they add up to 1, and a field that is not
    /// [usable](FieldEstimate::is_usable) has 0.
    pub weights: Vec<f64>,
    /// For each field given, what the others say without it; absent for a field that did not enter,
    /// and with two fields.
    pub without: Vec<Option<Without>>,
}

/// The 95 % interval for the effect in one further field.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Prediction {
    /// Degrees of freedom: fields − 2.
    pub df: f64,
    /// Standard deviation of a further field's effect about the estimated mean.
    pub std_deviation: f64,
    /// The interval.
    pub interval_95: [f64; 2],
}

/// The pooled estimate with one field left out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Without {
    /// Mean effect over the other fields.
    pub advantage: f64,
    /// Its standard error, as in [`PooledEstimate::std_error`].
    pub std_error: f64,
    /// Its 95 % interval.
    pub interval_95: [f64; 2],
    /// Variance of the effects among the other fields.
    pub tau2: f64,
}

impl PooledEstimate {
    /// Probability that the mean effect exceeds `gain`, under the t distribution of the interval.
    pub fn odds_above(&self, gain: f64) -> f64 {
        above((gain - self.advantage) / self.std_error, self.df)
    }

    /// Probability that the effect in one further field exceeds `gain`, under the t distribution of
    /// the prediction; `None` with two fields.
    pub fn odds_next_above(&self, gain: f64) -> Option<f64> {
        let next = self.prediction?;
        Some(above((gain - self.advantage) / next.std_deviation, next.df))
    }
}

/// Pools the usable ones of `fields`; `None` when there are fewer than two.
///
/// - Variance between fields: restricted maximum likelihood (Viechtbauer, W. 2005, *Bias and
///   efficiency of meta-analytic variance estimators in the random-effects model*, Journal of
///   Educational and Behavioral Statistics 30, 261–293).
/// - Interval of the mean: Hartung, J. and Knapp, G. (2001), *A refined method for the
///   meta-analysis of controlled clinical trials with binary outcome*, Statistics in Medicine 20,
///   3875–3889; Sidik, K. and Jonkman, J. N. (2002), *A simple confidence interval for
///   meta-analysis*, Statistics in Medicine 21, 3153–3159; t with fields − 1 degrees of freedom.
///   Where the ratio is below 1 it is taken as 1, as Knapp, G. and Hartung, J. (2003), *Improved
///   tests for a random effects meta-regression with a single covariate*, Statistics in Medicine 22,
///   2693–2710, propose: fields that happen to agree must not make the answer surer than their own
///   standard errors allow.
/// - Prediction: Higgins, J. P. T., Thompson, S. G. and Spiegelhalter, D. J. (2009), *A
///   re-evaluation of random-effects meta-analysis*, Journal of the Royal Statistical Society A 172,
///   137–159: t with fields − 2 degrees of freedom on the root of `tau2` and the squared standard
///   error of the mean (the one of the interval, so that a prediction is never narrower than it).
///
/// The fields' standard errors are taken as known, which is optimistic when they have few degrees
/// of freedom. The cost grows with the square of the number of fields.
///
/// ```
/// use checkstrip_trial::{FieldEstimate, pool};
/// let field = |advantage, std_error| FieldEstimate { advantage, std_error };
/// let pooled = pool(&[field(60.0, 30.0), field(20.0, 25.0), field(95.0, 40.0)]).unwrap();
/// assert!(pooled.advantage > 20.0 && pooled.advantage < 95.0);
/// assert_eq!(pooled.df, 2.0);
/// assert!(pool(&[field(60.0, 30.0), field(20.0, f64::NAN)]).is_none());
/// ```
pub fn pool(fields: &[FieldEstimate]) -> Option<PooledEstimate> {
    let used: Vec<usize> = (0..fields.len())
        .filter(|&f| fields[f].is_usable())
        .collect();
    let effects: Vec<f64> = used.iter().map(|&f| fields[f].advantage).collect();
    let variances: Vec<f64> = used.iter().map(|&f| fields[f].std_error.powi(2)).collect();
    let fit = Fit::new(&effects, &variances)?;

    let mut weights = vec![0.0; fields.len()];
    let mut without = vec![None; fields.len()];
    for (place, &field) in used.iter().enumerate() {
        weights[field] = 1.0 / (variances[place] + fit.tau2) / fit.moments.weight;
        let others = |all: &[f64]| {
            let mut rest = all.to_vec();
            rest.remove(place);
            rest
        };
        without[field] = Fit::new(&others(&effects), &others(&variances)).map(|rest| Without {
            advantage: rest.moments.mean,
            std_error: rest.std_error(),
            interval_95: rest.interval(rest.std_error()),
            tau2: rest.tau2,
        });
    }
    let std_error = fit.std_error();
    let unfloored = fit.wald() * fit.scatter_ratio().sqrt();
    let mean = fit.moments.mean;
    let about = |half: f64| [mean - half, mean + half];
    let next_df = fit.df - 1.0;
    let std_deviation = fit.tau2.sqrt().hypot(std_error);
    Some(PooledEstimate {
        fields: used.len(),
        advantage: mean,
        std_error,
        df: fit.df,
        interval_95: fit.interval(std_error),
        p_value: two_sided(mean / std_error, fit.df),
        scatter_ratio: fit.scatter_ratio(),
        std_error_hartung_knapp: unfloored,
        interval_95_hartung_knapp: fit.interval(unfloored),
        std_error_wald: fit.wald(),
        interval_95_wald: about(fit.wald() * NORMAL_975),
        prediction: (next_df > 0.0).then(|| Prediction {
            df: next_df,
            std_deviation,
            interval_95: about(std_deviation * quantile_975(next_df)),
        }),
        heterogeneity: Heterogeneity::new(&effects, &variances, fit.tau2),
        weights,
        without,
    })
}

/// The mean with its interval, for fields that can all be used.
struct Fit {
    tau2: f64,
    moments: Moments,
    df: f64,
}

impl Fit {
    fn new(effects: &[f64], variances: &[f64]) -> Option<Fit> {
        if effects.len() < 2 {
            return None;
        }
        let tau2 = tau2_by_reml(effects, variances);
        Some(Fit {
            tau2,
            moments: Moments::new(effects, variances, tau2),
            df: effects.len() as f64 - 1.0,
        })
    }

    fn wald(&self) -> f64 {
        self.moments.weight.recip().sqrt()
    }

    fn scatter_ratio(&self) -> f64 {
        self.moments.q / self.df
    }

    fn std_error(&self) -> f64 {
        self.wald() * self.scatter_ratio().max(1.0).sqrt()
    }

    fn interval(&self, std_error: f64) -> [f64; 2] {
        let half = std_error * quantile_975(self.df);
        [self.moments.mean - half, self.moments.mean + half]
    }
}

#[cfg(test)]
mod tests;
