//! The F test of several combinations of fixed effects at once, with denominator degrees of freedom
//! after Fai, A. H.-T. and Cornelius, P. L. (1996), *Approximate F-tests of multiple degree of freedom
//! hypotheses in generalized least squares analyses of unbalanced split-plot experiments*, Journal of
//! Statistical Computation and Simulation 54, 363–378.

use super::fit::Fitted;
use super::likelihood::MixedModel;
use super::satterthwaite::contrast_degrees_of_freedom;
use nalgebra::{DMatrix, SymmetricEigen};
use statrs::distribution::{ContinuousCDF, FisherSnedecor};

/// What the test found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct FTest {
    /// F statistic.
    pub f: f64,
    /// Combinations tested.
    pub numerator: f64,
    /// Denominator degrees of freedom.
    pub denominator: f64,
    /// Probability of an F at least this large when all combinations are zero.
    pub p_value: f64,
}

/// Degrees of freedom this alike are one and the same.
const ALIKE: f64 = 1e-8;

/// Tests that all combinations in the rows of `contrasts` (linearly independent) are zero; `None` when
/// their covariance is singular.
///
/// The combinations are turned so that they are uncorrelated; each then has a t statistic and
/// Satterthwaite degrees of freedom ν, and F is the mean of the t². Its denominator is the one with
/// which the mean of F is the sum of ν/(ν − 2): 2E/(E − q). Where some ν is 2 or less that sum has no
/// meaning, and 2 is used, as R's lmerTest does.
pub(crate) fn f_test(
    model: &MixedModel,
    fitted: &Fitted,
    contrasts: &DMatrix<f64>,
) -> Option<FTest> {
    let found = &fitted.evaluation;
    let covariance = contrasts * &found.unscaled * contrasts.transpose() * found.variance;
    let turned = SymmetricEigen::new(covariance);
    let directions = turned.eigenvectors.transpose() * contrasts;
    let count = contrasts.nrows();
    let mut f = 0.0;
    let mut degrees = Vec::with_capacity(count);
    for (place, &variance) in turned.eigenvalues.iter().enumerate() {
        if variance.is_nan() || variance <= 0.0 {
            return None;
        }
        let contrast = directions.row(place).transpose();
        f += contrast.dot(&found.effects).powi(2) / variance / count as f64;
        degrees.push(contrast_degrees_of_freedom(model, fitted, &contrast));
    }
    let denominator = denominator(&degrees);
    let numerator = count as f64;
    let p_value = FisherSnedecor::new(numerator, denominator).ok()?.sf(f);
    Some(FTest {
        f,
        numerator,
        denominator,
        p_value,
    })
}

fn denominator(degrees: &[f64]) -> f64 {
    let count = degrees.len() as f64;
    let mean = degrees.iter().sum::<f64>() / count;
    if degrees.iter().all(|nu| (nu - mean).abs() <= ALIKE * mean) {
        return mean;
    }
    if degrees.iter().any(|&nu| nu <= 2.0) {
        return 2.0;
    }
    let expected: f64 = degrees.iter().map(|nu| nu / (nu - 2.0)).sum();
    2.0 * expected / (expected - count)
}
