//! The curves of yield on rate. All of them are b × share + c × share² up to the join and level from
//! there on, with share the rate's place between the lowest rate tried (0) and the highest (1); the
//! level of the blocks is left out.

/// Kind of curve.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    Flat,
    Linear,
    Quadratic,
    QuadraticPlateau,
}

impl Kind {
    /// As the results file writes it.
    pub(super) fn key(self) -> &'static str {
        match self {
            Kind::Flat => "flat",
            Kind::Linear => "linear",
            Kind::Quadratic => "quadratic",
            Kind::QuadraticPlateau => "quadratic_plateau",
        }
    }

    /// Numbers fitted beside the blocks' levels and the noise.
    pub(super) fn columns(self) -> usize {
        match self {
            Kind::Flat => 0,
            Kind::Linear => 1,
            Kind::Quadratic | Kind::QuadraticPlateau => 2,
        }
    }
}

/// A fitted curve.
#[derive(Debug, Clone, Copy)]
pub(super) struct Curve {
    pub kind: Kind,
    /// kg/ha over the whole way from the lowest rate to the highest.
    pub slope: f64,
    /// kg/ha over the way squared.
    pub bend: f64,
    /// Share at which the plateau begins; 1 without one.
    pub join: f64,
    pub residual_squares: f64,
    pub df: f64,
}

impl Curve {
    /// Yield over that of the lowest rate, kg/ha.
    pub(super) fn gain(&self, share: f64) -> f64 {
        let share = share.min(self.join);
        share * (self.slope + self.bend * share)
    }

    /// Akaike's criterion (Akaike, 1974, *A new look at the statistical model identification*, IEEE
    /// Transactions on Automatic Control 19, 716–723) with the correction for few observations
    /// (Hurvich and Tsai, 1989, *Regression and time series model selection in small samples*,
    /// Biometrika 76, 297–307); blocks' levels and the noise count as parameters. `None` when there
    /// are too few strips for it.
    pub(super) fn aicc(&self, strips: usize, blocks: usize) -> Option<f64> {
        let n = strips as f64;
        let parameters = (blocks + self.kind.columns() + 1) as f64;
        let spare = n - parameters - 1.0;
        // A fit without residuals is the best there is, not an infinite one.
        let squares = self.residual_squares.max(f64::MIN_POSITIVE);
        (spare > 0.0).then(|| {
            n * (squares / n).ln()
                + 2.0 * parameters
                + 2.0 * parameters * (parameters + 1.0) / spare
        })
    }
}
