//! Degrees of freedom of an effect: how well its standard error is known. The variance of the effect
//! is a function of the covariance parameters; how uncertain these are, from the curvature of the
//! likelihood, says how uncertain that variance is, and the degrees of freedom are those of the
//! chi-square with the same uncertainty. Satterthwaite, F. E. (1946), *An approximate distribution of
//! estimates of variance components*, Biometrics Bulletin 2, 110–114; Giesbrecht, F. G. and Burns,
//! J. C. (1985), *Two-stage analysis based on a mixed model*, Biometrics 41, 477–486.

use super::fit::Fitted;
use super::likelihood::{Covariance, MixedModel};
use nalgebra::{DMatrix, DVector};

/// Parameters closer than this to their bound are taken as known: the likelihood has no curvature
/// there that means anything.
const AT_BOUND: f64 = 1e-3;

/// Step of the numerical derivatives, relative to the logarithm of a parameter.
const STEP: f64 = 1e-2;

/// Satterthwaite degrees of freedom of fixed effect `effect`; see [`contrast_degrees_of_freedom`].
pub(crate) fn degrees_of_freedom(model: &MixedModel, fitted: &Fitted, effect: usize) -> f64 {
    let mut contrast = DVector::zeros(model.fixed.ncols());
    contrast[effect] = 1.0;
    contrast_degrees_of_freedom(model, fitted, &contrast)
}

/// Satterthwaite degrees of freedom of the combination `contrast` of the fixed effects, at most
/// observations less fixed effects.
///
/// Parameters are the logarithms of σ², of the ratios that are not nothing, of the range and of the
/// nugget's odds; those at a bound are held fixed.
pub(crate) fn contrast_degrees_of_freedom(
    model: &MixedModel,
    fitted: &Fitted,
    contrast: &DVector<f64>,
) -> f64 {
    let most = (model.len() - model.fixed.ncols()) as f64;
    let free = Free::of(model, &fitted.covariance);
    let centre = free.start(fitted);
    let q = centre.len();
    if q == 1 {
        // With σ² alone to be estimated the answer is exact.
        return most;
    }
    let value = |at: &[f64]| -> Option<(f64, f64)> {
        let (variance, covariance) = free.parameters(&fitted.covariance, at);
        let found = model.evaluate(&covariance)?;
        let effect_variance = variance * contrast.dot(&(&found.unscaled * contrast));
        Some((found.log_likelihood_at(variance), effect_variance))
    };
    let moved = |moves: &[(usize, f64)]| {
        let mut at = centre.clone();
        for &(axis, by) in moves {
            at[axis] += by;
        }
        value(&at)
    };
    let derivatives = || -> Option<f64> {
        let (likelihood, variance) = moved(&[])?;
        let mut gradient = DVector::zeros(q);
        let mut curvature = DMatrix::zeros(q, q);
        for a in 0..q {
            let (up, down) = (moved(&[(a, STEP)])?, moved(&[(a, -STEP)])?);
            gradient[a] = (up.1 - down.1) / (2.0 * STEP);
            curvature[(a, a)] = -(up.0 - 2.0 * likelihood + down.0) / (STEP * STEP);
            for b in 0..a {
                let corner = |sa: f64, sb: f64| moved(&[(a, sa * STEP), (b, sb * STEP)]);
                let mixed = corner(1.0, 1.0)?.0 - corner(1.0, -1.0)?.0 - corner(-1.0, 1.0)?.0
                    + corner(-1.0, -1.0)?.0;
                curvature[(a, b)] = -mixed / (4.0 * STEP * STEP);
                curvature[(b, a)] = curvature[(a, b)];
            }
        }
        let covariance = curvature.cholesky()?.inverse();
        let spread = (gradient.transpose() * covariance * &gradient)[0];
        Some(2.0 * variance * variance / spread)
    };
    // A flat likelihood leaves the covariance parameters unknown: no more is claimed than the data
    // hold, and the caller's own limit applies.
    derivatives()
        .filter(|df| df.is_finite() && *df > 0.0)
        .map_or(most, |df| df.min(most))
}

/// Which parameters are free.
struct Free {
    groups: Vec<usize>,
    spatial: bool,
}

impl Free {
    fn of(model: &MixedModel, at: &Covariance) -> Free {
        let groups = (0..at.group_ratios.len())
            .filter(|&group| at.group_ratios[group] > AT_BOUND)
            .collect();
        let spatial = model.spatial.is_some() && at.nugget > AT_BOUND && at.nugget < 1.0 - AT_BOUND;
        Free { groups, spatial }
    }

    fn start(&self, fitted: &Fitted) -> Vec<f64> {
        let at = &fitted.covariance;
        let mut start = vec![fitted.evaluation.variance.ln()];
        start.extend(self.groups.iter().map(|&group| {
            if neg() && group + 1 == at.group_ratios.len() {
                (at.group_ratios[group] / 0.05).asinh()
            } else {
                at.group_ratios[group].ln()
            }
        }));
        if self.spatial {
            start.push(at.range.ln());
            start.push((at.nugget / (1.0 - at.nugget)).ln());
        }
        start
    }

    fn parameters(&self, fixed: &Covariance, at: &[f64]) -> (f64, Covariance) {
        let mut covariance = fixed.clone();
        for (&group, value) in self.groups.iter().zip(&at[1..]) {
            covariance.group_ratios[group] = if neg() && group + 1 == fixed.group_ratios.len() {
                0.05 * value.sinh()
            } else {
                value.exp()
            };
        }
        if self.spatial {
            let rest = &at[1 + self.groups.len()..];
            covariance.range = rest[0].exp();
            covariance.nugget = 1.0 / (1.0 + (-rest[1]).exp());
        }
        (at[0].exp(), covariance)
    }
}

fn neg() -> bool {
    std::env::var("NEG").is_ok()
}
