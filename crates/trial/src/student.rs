//! Student's t distribution: tail probabilities and quantiles with the corners (no degrees of
//! freedom, no spread) said in one place.

use statrs::distribution::{ContinuousCDF, Normal, StudentsT};

/// Half width of the 95 % interval in standard errors; `NaN` without degrees of freedom.
pub(crate) fn quantile_975(df: f64) -> f64 {
    quantile(0.975, df)
}

/// The value that a t variable stays below with probability `p`; `NaN` without degrees of freedom.
pub(crate) fn quantile(p: f64, df: f64) -> f64 {
    if df.is_infinite() {
        return Normal::standard().inverse_cdf(p);
    }
    StudentsT::new(0.0, 1.0, df).map_or(f64::NAN, |t| t.inverse_cdf(p))
}

/// Two-sided p value of a t statistic; `NaN` without degrees of freedom.
pub(crate) fn two_sided(t: f64, df: f64) -> f64 {
    if t.is_nan() {
        return f64::NAN;
    }
    StudentsT::new(0.0, 1.0, df).map_or(f64::NAN, |dist| 2.0 * dist.cdf(-t.abs()))
}

/// Probability that a t variable lies above `t`; `NaN` without degrees of freedom.
pub(crate) fn above(t: f64, df: f64) -> f64 {
    if t.is_nan() {
        return f64::NAN;
    }
    StudentsT::new(0.0, 1.0, df).map_or(f64::NAN, |dist| dist.sf(t))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// NIST/SEMATECH e-Handbook of Statistical Methods, section 1.3.6.7.2, critical values of
    /// Student's t, two-sided 5 %.
    #[test]
    fn nist_critical_values() {
        for (df, critical) in [
            (1.0, 12.706),
            (5.0, 2.571),
            (10.0, 2.228),
            (30.0, 2.042),
            (100.0, 1.984),
        ] {
            assert!((quantile_975(df) - critical).abs() < 5e-4, "{df}");
            assert!((two_sided(quantile_975(df), df) - 0.05).abs() < 1e-9);
        }
    }

    /// NIST/SEMATECH e-Handbook, the last row of the same table: infinitely many degrees of freedom.
    #[test]
    fn infinite_degrees_of_freedom_are_the_normal_distribution() {
        assert!((quantile_975(f64::INFINITY) - 1.959_963_985).abs() < 1e-8);
        assert!((two_sided(1.959_963_985, f64::INFINITY) - 0.05).abs() < 1e-9);
    }

    #[test]
    fn no_degrees_of_freedom_give_no_number() {
        assert!(
            quantile_975(0.0).is_nan() && two_sided(1.0, 0.0).is_nan() && above(1.0, 0.0).is_nan()
        );
    }
}
