//! How alike two places are, by their distance. Each function is 1 at no distance and falls to
//! nothing; `range` is its scale, not the distance at which it is near zero.

/// A correlation function of distance.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Correlation {
    /// exp(−d/r).
    Exponential,
    /// 1 − 1.5 d/r + 0.5 (d/r)³ up to r, 0 beyond.
    Spherical,
    /// Matérn with smoothness 3/2: (1 + √3 d/r) exp(−√3 d/r). Matérn, B. (1960), *Spatial
    /// Variation*, Meddelanden från Statens Skogsforskningsinstitut 49(5).
    Matern,
}

impl Correlation {
    /// Every function, the simplest first.
    pub(crate) const ALL: [Correlation; 3] = [
        Correlation::Exponential,
        Correlation::Spherical,
        Correlation::Matern,
    ];

    /// Its name in `results.json`.
    pub(crate) fn key(self) -> &'static str {
        match self {
            Correlation::Exponential => "exponential",
            Correlation::Spherical => "spherical",
            Correlation::Matern => "matern_3_2",
        }
    }

    /// Correlation at `distance` for `range`, both in the same unit.
    #[inline]
    pub(crate) fn at(self, distance: f64, range: f64) -> f64 {
        let h = distance / range;
        match self {
            Correlation::Exponential => (-h).exp(),
            Correlation::Spherical if h >= 1.0 => 0.0,
            Correlation::Spherical => 1.0 - 1.5 * h + 0.5 * h * h * h,
            Correlation::Matern => {
                let h = 3f64.sqrt() * h;
                (1.0 + h) * (-h).exp()
            }
        }
    }
}
