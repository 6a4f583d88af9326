//! The restricted likelihood at given covariance parameters, and the effects that go with them.
//! Everything is relative to the residual variance σ², which has a closed form.

use super::correlation::Correlation;
use nalgebra::{Cholesky, DMatrix, DVector, Dyn};

/// Observations with their design.
#[derive(Debug)]
pub(crate) struct MixedModel {
    /// Responses.
    pub response: DVector<f64>,
    /// Fixed effects, one column each, of full rank.
    pub fixed: DMatrix<f64>,
    /// The random groupings.
    pub groupings: Vec<Grouping>,
    /// Where the observations lie, when errors are spatial.
    pub spatial: Option<Spatial>,
    /// Variance of each observation's own noise relative to a typical one.
    pub noise: Vec<f64>,
}

/// How observations hang together through groups whose effects are drawn independently.
#[derive(Debug)]
pub(crate) enum Grouping {
    /// The group that each observation belongs to.
    Whole(Vec<usize>),
    /// *Z Z'*, where row *i* of *Z* says in which shares observation *i* holds each group.
    Shares(DMatrix<f64>),
}

impl Grouping {
    /// Observations that hold groups in shares: for each, the groups with the share of each.
    pub(crate) fn of_shares<'a>(
        shares: impl Iterator<Item = &'a [(usize, f64)]> + Clone,
    ) -> Grouping {
        let groups = shares.clone().flatten().map(|held| held.0 + 1).max();
        let mut z = DMatrix::zeros(shares.clone().count(), groups.unwrap_or(0));
        for (row, held) in shares.enumerate() {
            for &(group, share) in held {
                z[(row, group)] = share;
            }
        }
        Grouping::Shares(&z * z.transpose())
    }

    /// How strongly two observations hang together; 1 when both belong to one group.
    #[inline]
    fn between(&self, a: usize, b: usize) -> f64 {
        match self {
            Grouping::Whole(group) => f64::from(u8::from(group[a] == group[b])),
            Grouping::Shares(shared) => shared[(a, b)],
        }
    }
}

/// Distances between observations and how correlation falls with them.
#[derive(Debug)]
pub(crate) struct Spatial {
    distance: DMatrix<f64>,
    /// The correlation function.
    pub correlation: Correlation,
}

impl Spatial {
    /// Observations at `places`.
    pub(crate) fn new(places: &[[f64; 2]], correlation: Correlation) -> Spatial {
        let n = places.len();
        let distance = DMatrix::from_fn(n, n, |i, j| {
            (places[i][0] - places[j][0]).hypot(places[i][1] - places[j][1])
        });
        Spatial {
            distance,
            correlation,
        }
    }
}

/// Covariance parameters relative to σ².
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Covariance {
    /// Variance of each random grouping over σ².
    pub group_ratios: Vec<f64>,
    /// Scale of the correlation, in the unit of the places.
    pub range: f64,
    /// Share of σ² that is each observation's own; 1 without spatial errors.
    pub nugget: f64,
}

/// Effects and likelihood at given covariance parameters.
#[derive(Debug, Clone)]
pub(crate) struct Evaluation {
    /// Restricted log-likelihood, the constant as in Pinheiro, J. C. and Bates, D. M. (2000),
    /// *Mixed-Effects Models in S and S-PLUS*, Springer, section 2.2.5.
    pub log_likelihood: f64,
    /// Residual variance at which it is highest.
    pub variance: f64,
    /// Fixed effects.
    pub effects: DVector<f64>,
    /// (X' V⁻¹ X)⁻¹, relative to σ².
    pub unscaled: DMatrix<f64>,
    /// Generalised residual sum of squares.
    squares: f64,
    /// log |V| + log |X' V⁻¹ X|.
    log_determinants: f64,
    /// Observations less fixed effects.
    degrees: f64,
}

impl Evaluation {
    /// Standard error of fixed effect `effect`.
    pub(crate) fn std_error(&self, effect: usize) -> f64 {
        (self.variance * self.unscaled[(effect, effect)]).sqrt()
    }

    /// Restricted log-likelihood at another residual variance.
    pub(crate) fn log_likelihood_at(&self, variance: f64) -> f64 {
        let two_pi = 2.0 * std::f64::consts::PI;
        -0.5 * (self.degrees * (two_pi * variance).ln()
            + self.squares / variance
            + self.log_determinants)
    }
}

impl MixedModel {
    /// Name of the errors' correlation function; empty when they are independent.
    pub(crate) fn correlation_key(&self) -> &'static str {
        self.spatial
            .as_ref()
            .map_or("", |spatial| spatial.correlation.key())
    }

    /// Number of observations.
    pub(crate) fn len(&self) -> usize {
        self.response.len()
    }

    /// Covariance of the observations relative to σ².
    fn covariance(&self, at: &Covariance) -> DMatrix<f64> {
        let n = self.len();
        let mut v = DMatrix::zeros(n, n);
        // The lower triangle is all that the decomposition reads.
        if let Some(spatial) = &self.spatial {
            let share = 1.0 - at.nugget;
            for column in 0..n {
                for row in column..n {
                    let distance = spatial.distance[(row, column)];
                    v[(row, column)] = share * spatial.correlation.at(distance, at.range);
                }
            }
        }
        for (grouping, ratio) in self.groupings.iter().zip(&at.group_ratios) {
            for column in 0..n {
                for row in column..n {
                    v[(row, column)] += ratio * grouping.between(row, column);
                }
            }
        }
        let own = if self.spatial.is_some() {
            at.nugget
        } else {
            1.0
        };
        for (i, noise) in self.noise.iter().enumerate() {
            v[(i, i)] += own * noise;
        }
        v
    }

    /// The likelihood and the effects at `at`; `None` when the covariance cannot be inverted or the
    /// fixed effects are not of full rank. Cost: n³/3.
    pub(crate) fn evaluate(&self, at: &Covariance) -> Option<Evaluation> {
        let n = self.len();
        let p = self.fixed.ncols();
        let lower = Cholesky::<f64, Dyn>::new(self.covariance(at))?;
        let l = lower.l_dirty();
        let log_v: f64 = 2.0 * (0..n).map(|i| l[(i, i)].ln()).sum::<f64>();
        let mut whitened = DMatrix::zeros(n, p + 1);
        whitened.columns_mut(0, p).copy_from(&self.fixed);
        whitened.set_column(p, &self.response);
        l.solve_lower_triangular_mut(&mut whitened).then_some(())?;
        let x = whitened.columns(0, p);
        let y = whitened.column(p);
        let information = x.tr_mul(&x);
        let information = Cholesky::<f64, Dyn>::new(information)?;
        let log_x: f64 = 2.0
            * (0..p)
                .map(|i| information.l_dirty()[(i, i)].ln())
                .sum::<f64>();
        let effects = information.solve(&x.tr_mul(&y));
        let squares = (y - x * &effects).norm_squared();
        let degrees = (n - p) as f64;
        let variance = squares / degrees;
        let mut evaluation = Evaluation {
            log_likelihood: 0.0,
            variance,
            effects,
            unscaled: information.inverse(),
            squares,
            log_determinants: log_v + log_x,
            degrees,
        };
        evaluation.log_likelihood = evaluation.log_likelihood_at(variance);
        evaluation.log_likelihood.is_finite().then_some(evaluation)
    }
}
