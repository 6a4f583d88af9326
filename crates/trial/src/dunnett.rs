//! All treatments against one check at once. With several treatments tried, one will look better by
//! luck more often than one time in twenty; the interval here holds for all of them together 95 % of
//! the time. Dunnett, C. W. (1955), *A multiple comparison procedure for comparing several treatments
//! with a control*, Journal of the American Statistical Association 50, 1096–1121; tables and unequal
//! replication in Dunnett (1964), *New tables for multiple comparisons with a control*, Biometrics 20,
//! 482–491. Genz, A. and Bretz, F. (2009), *Computation of Multivariate Normal and t Probabilities*,
//! Springer, treats the general case.
//!
//! The differences share the check, so they move together. Where their correlations are products,
//! corr(i, j) = load(i) × load(j), each is load × z + √(1 − load²) × own noise with one common z, and
//! the probability that all lie within ±c falls apart into one product per z. That leaves two
//! integrals, over z and over the estimate of the noise (a chi variable), done by Gauss–Legendre
//! quadrature. With every treatment in every block all loads are √½.

use crate::gauss_legendre::panels;
use crate::student;
use checkstrip_model::results::Comparison;
use checkstrip_model::units::bu_per_acre;
use nalgebra::DMatrix;
use statrs::distribution::{Continuous, ContinuousCDF, Normal};

/// z beyond which the normal density is below 1e-16.
const FARTHEST_Z: f64 = 8.5;
/// Natural logarithm of the share of its peak below which the density of the noise is left out.
const NEGLIGIBLE: f64 = 30.0;
/// Nodes of each panel of the quadrature.
const NODES: usize = 10;
/// Loads above this are taken as this: nothing but the check would vary.
const HIGHEST_LOAD: f64 = 0.999;

/// The common distribution of several differences from one check.
#[derive(Debug, Clone)]
pub struct Dunnett {
    loads: Vec<f64>,
    df: f64,
    /// z with its weight, the density included.
    common: Vec<(f64, f64)>,
    /// Estimated over true standard deviation with its weight, density included; weights sum to 1.
    noise: Vec<(f64, f64)>,
}

impl Dunnett {
    /// Differences whose correlations are products of `loads` (each from 0 to 1), judged by a
    /// variance on `df` degrees of freedom; infinite when the variance is known. `None` without
    /// differences, without degrees of freedom, or with loads outside 0 to 1.
    ///
    /// ```
    /// use checkstrip_trial::Dunnett;
    /// // Two treatments and a check, whole blocks, 10 degrees of freedom.
    /// let family = Dunnett::new(&[0.5f64.sqrt(); 2], 10.0).unwrap();
    /// assert!((family.critical_value_95() - 2.568).abs() < 0.001);
    /// ```
    pub fn new(loads: &[f64], df: f64) -> Option<Dunnett> {
        let fits = |load: &f64| (0.0..=1.0).contains(load);
        if loads.is_empty() || df.is_nan() || df <= 0.0 || !loads.iter().all(fits) {
            return None;
        }
        let normal = Normal::standard();
        let loads: Vec<f64> = loads.iter().map(|load| load.min(HIGHEST_LOAD)).collect();
        // The less noise of its own a difference has, the more sharply it follows z.
        let highest = loads.iter().copied().fold(0.0, f64::max);
        let own = (1.0 - highest * highest).sqrt();
        let count = (10.0 / own).ceil() as usize;
        let common = panels(-FARTHEST_Z, FARTHEST_Z, count, NODES)
            .into_iter()
            .map(|(z, weight)| (z, weight * normal.pdf(z)))
            .collect();
        Some(Dunnett {
            loads,
            df,
            common,
            noise: noise(df),
        })
    }

    /// Probability that no difference lies further than `bound` standard errors from its truth.
    pub fn within(&self, bound: f64) -> f64 {
        let total: f64 = self
            .noise
            .iter()
            .map(|&(ratio, weight)| weight * self.within_known(bound * ratio))
            .sum();
        total.clamp(0.0, 1.0)
    }

    /// The same with the true standard errors.
    fn within_known(&self, bound: f64) -> f64 {
        let normal = Normal::standard();
        self.common
            .iter()
            .map(|&(z, weight)| {
                let each = self.loads.iter().map(|load| {
                    let own = (1.0 - load * load).sqrt();
                    normal.cdf((bound - load * z) / own) - normal.cdf((-bound - load * z) / own)
                });
                weight * each.product::<f64>()
            })
            .sum()
    }

    /// Standard errors on either side that hold all differences 95 % of the time.
    pub fn critical_value_95(&self) -> f64 {
        // One difference alone needs least, differences that know nothing of each other most
        // (Šidák, 1967, *Rectangular confidence regions for the means of multivariate normal
        // distributions*, JASA 62, 626–633, bounded by Bonferroni).
        let alone = 0.025;
        let mut low = student::quantile(1.0 - alone, self.df);
        let mut high = student::quantile(1.0 - alone / self.loads.len() as f64, self.df);
        // Each step halves the bracket: 34 leave 1e-10 of it.
        for _ in 0..34 {
            let middle = 0.5 * (low + high);
            if self.within(middle) < 0.95 {
                low = middle;
            } else {
                high = middle;
            }
        }
        0.5 * (low + high)
    }

    /// Probability that some difference lies at least `t` standard errors from no difference where
    /// there is none: the p value that allows for all of them. `NaN` when `t` is.
    pub fn p_value(&self, t: f64) -> f64 {
        if t.is_nan() {
            return f64::NAN;
        }
        1.0 - self.within(t.abs())
    }
}

/// Nodes over the ratio of estimated to true standard deviation, √(χ²/df), with the density's weight.
/// Worked out on the logarithm of the ratio, where the density is smooth even with one degree of
/// freedom.
fn noise(df: f64) -> Vec<(f64, f64)> {
    if df.is_infinite() {
        return vec![(1.0, 1.0)];
    }
    // Density of the logarithm w of the ratio, up to a factor: exp(df (w − e^{2w}/2)), with its peak
    // at w = 0. Below, df·w carries it down; above, df·e^{2w}/2 does.
    let log_density = |w: f64| df * (w - 0.5 * (2.0 * w).exp() + 0.5);
    let end = |direction: f64| {
        let (mut inside, mut outside) = (0.0, direction);
        while log_density(outside) > -NEGLIGIBLE {
            outside *= 2.0;
        }
        for _ in 0..30 {
            let middle = 0.5 * (inside + outside);
            if log_density(middle) > -NEGLIGIBLE {
                inside = middle;
            } else {
                outside = middle;
            }
        }
        outside
    };
    let (low, high) = (end(-1.0), end(1.0));
    // The probability changes over about one unit of w, the density over less when df is large.
    let count = ((high - low).ceil() as usize).max(8);
    let mut nodes: Vec<(f64, f64)> = panels(low, high, count, NODES)
        .into_iter()
        .map(|(w, weight)| (w.exp(), weight * log_density(w).exp()))
        .collect();
    let total: f64 = nodes.iter().map(|node| node.1).sum();
    nodes.iter_mut().for_each(|node| node.1 /= total);
    nodes
}

/// Loads whose products come nearest to the correlations of a covariance matrix.
///
/// Exact when every treatment stands in every block, and for two or three differences that move
/// together; otherwise each load is the least-squares one given the others. Correlations below zero
/// are taken as zero, which makes the interval wider, never too narrow.
pub(crate) fn loads(covariance: &DMatrix<f64>) -> Vec<f64> {
    let count = covariance.nrows();
    let correlation = |i: usize, j: usize| {
        let scale = (covariance[(i, i)] * covariance[(j, j)]).sqrt();
        (covariance[(i, j)] / scale).max(0.0)
    };
    if count < 2 {
        return vec![0.0; count];
    }
    if count == 2 {
        return vec![correlation(0, 1).sqrt().min(1.0); 2];
    }
    let mut loads = vec![0.5f64.sqrt(); count];
    for _ in 0..200 {
        for i in 0..count {
            let others = || (0..count).filter(|&j| j != i);
            let squares: f64 = others().map(|j| loads[j] * loads[j]).sum();
            let products: f64 = others().map(|j| correlation(i, j) * loads[j]).sum();
            if squares > 0.0 {
                loads[i] = (products / squares).clamp(0.0, 1.0);
            }
        }
    }
    loads
}

/// Adds to comparisons with one check, from one fit on `df` degrees of freedom, the intervals and p
/// values that allow for all of them. `covariance` is that of their differences, up to a factor, in
/// the same order. One comparison alone is left as it is.
pub(crate) fn allow_for_all(
    comparisons: &mut [Comparison],
    covariance: &DMatrix<f64>,
    df: f64,
    bushel_kg: f64,
) {
    if comparisons.len() < 2 {
        return;
    }
    let Some(family) = Dunnett::new(&loads(covariance), df) else {
        return;
    };
    let critical = family.critical_value_95();
    for comparison in comparisons {
        let half = critical * comparison.std_error_kg_ha;
        let interval = [
            comparison.advantage_kg_ha - half,
            comparison.advantage_kg_ha + half,
        ];
        let t = comparison.advantage_kg_ha / comparison.std_error_kg_ha;
        comparison.interval_95_family_kg_ha = Some(interval);
        comparison.interval_95_family_bu_ac = Some(interval.map(|end| bu_per_acre(end, bushel_kg)));
        comparison.p_value_family = Some(family.p_value(t));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const HALF: f64 = std::f64::consts::FRAC_1_SQRT_2;

    /// Dunnett (1964), table of two-sided 5 % points at correlation 0.5, from memory, two decimals;
    /// recomputed in R 4.2.2 to the digits of the last column by `uniroot` over two nested `integrate`
    /// of the same integral, and by mvtnorm 1.1.3 `qmvt(.95, df, tail = "both.tails", corr = R)`
    /// (k = 2: 3.030235, 2.568345, 2.378692, 2.265268, and 2.212128 by `qmvnorm`).
    #[test]
    fn published_critical_values() {
        let infinite = f64::INFINITY;
        for (k, df, printed, computed) in [
            (2, 5.0, 3.03, 3.030_235_95),
            (2, 10.0, 2.57, 2.568_338_88),
            (2, 20.0, 2.38, 2.378_689_98),
            (2, 60.0, 2.27, 2.265_266_97),
            (2, infinite, 2.21, 2.212_127_75),
            (3, 5.0, 3.29, 3.293_154_65),
            (3, 20.0, 2.54, 2.540_349_61),
            (3, infinite, 2.35, 2.348_970_59),
            (5, 5.0, 3.62, 3.615_117_23),
            (5, 20.0, 2.73, 2.734_677_16),
            (5, infinite, 2.51, 2.511_463_05),
            (9, 5.0, 3.97, 3.970_148_35),
            (9, 20.0, 2.95, 2.946_281_51),
            (9, infinite, 2.69, 2.686_223_37),
        ] {
            let found = Dunnett::new(&vec![HALF; k], df)
                .unwrap()
                .critical_value_95();
            assert!((found - printed).abs() < 0.0055, "k {k}, df {df}: {found}");
            assert!((found - computed).abs() < 1e-6, "k {k}, df {df}: {found}");
        }
    }

    /// R 4.2.2, two nested `integrate` of the same integral; mvtnorm 1.1.3
    /// `pmvt(-rep(2.5, 3), rep(2.5, 3), df = df, corr = R)` with R the products of 0.3, 0.6, 0.9 gives
    /// 0.617077, 0.849595, 0.950457.
    #[test]
    fn unequal_loads() {
        for (df, expected) in [
            (1.0, 0.617_077_384),
            (4.0, 0.849_594_899),
            (30.0, 0.950_455_765),
        ] {
            let found = Dunnett::new(&[0.3, 0.6, 0.9], df).unwrap().within(2.5);
            assert!((found - expected).abs() < 1e-7, "df {df}: {found}");
        }
    }

    /// Invented, five blocks with three strips missing. R 4.2.2, multcomp 1.4.22, mvtnorm 1.1.3: `f <-
    /// lm(y ~ b + t, d)`, `summary(glht(f, linfct = mcp(t = "Dunnett")))` gives t 1.170984501,
    /// 1.229533726, 2.107772102 and single-step p 0.55139, 0.51628, 0.15528; all correlations are
    /// 0.4166666667 on 9 degrees of freedom and `qmvt(.95, df = 9, tail = "both.tails", corr = R)`
    /// 2.83513.
    #[test]
    fn r_multcomp_with_missing_strips() {
        let covariance = DMatrix::from_fn(3, 3, |i, j| if i == j { 1.0 } else { 5.0 / 12.0 });
        let family = Dunnett::new(&loads(&covariance), 9.0).unwrap();
        assert!((family.critical_value_95() - 2.835_13).abs() < 1e-4);
        for (t, p) in [
            (1.170_984_501, 0.551_390),
            (1.229_533_726, 0.516_277),
            (2.107_772_102, 0.155_281),
        ] {
            assert!(
                (family.p_value(t) - p).abs() < 1e-4,
                "{}",
                family.p_value(t)
            );
        }
    }

    #[test]
    fn nonsense_gives_no_family() {
        assert!(Dunnett::new(&[], 5.0).is_none());
        assert!(Dunnett::new(&[HALF], 0.0).is_none());
        assert!(Dunnett::new(&[1.5], 5.0).is_none());
        assert!(
            Dunnett::new(&[HALF; 2], 5.0)
                .unwrap()
                .p_value(f64::NAN)
                .is_nan()
        );
    }

    #[test]
    fn loads_give_back_their_products() {
        let loads_in = [0.3, 0.6, 0.9, 0.5];
        let covariance = DMatrix::from_fn(4, 4, |i, j| {
            let scale = (1.0 + i as f64) * (1.0 + j as f64);
            scale
                * if i == j {
                    1.0
                } else {
                    loads_in[i] * loads_in[j]
                }
        });
        for (found, expected) in loads(&covariance).iter().zip(loads_in) {
            assert!((found - expected).abs() < 1e-9, "{found} {expected}");
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(40))]

        #[test]
        fn one_difference_is_the_t_test(df in 1.0f64..200.0, t in 0.0f64..6.0, load in 0.0f64..0.99) {
            let alone = Dunnett::new(&[load], df).unwrap();
            prop_assert!((alone.p_value(t) - student::two_sided(t, df)).abs() < 1e-8);
        }

        #[test]
        fn more_treatments_need_more_and_more_degrees_of_freedom_less(
            k in 2usize..8,
            df in 2.0f64..60.0,
        ) {
            let critical = |k: usize, df: f64| {
                Dunnett::new(&vec![HALF; k], df).unwrap().critical_value_95()
            };
            let here = critical(k, df);
            prop_assert!(critical(k + 1, df) > here);
            prop_assert!(critical(k, df * 1.5) < here);
            prop_assert!(here > student::quantile_975(df));
        }
    }
}
