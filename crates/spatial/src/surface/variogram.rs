//! How yields differ with distance: the empirical variogram of the samples, and the model fitted to it that kriging
//! takes its weights from.
//!
//! # Sources
//! Semivariances are the robust ones of Cressie, N. and Hawkins, D. M. (1980), *Robust estimation of the variogram: I*,
//! Mathematical Geology 12, 115–125. The model is fitted by weighted least squares as Cressie, N. (1985), *Fitting
//! variogram models by weighted least squares*, Mathematical Geology 17, 563–586 has it: it minimises the sum over the
//! lags of pairs × (empirical / model − 1)². That fewer than 30 pairs say too little of a lag is the rule of Journel, A. G.
//! and Huijbregts, C. J. (1978), *Mining Geostatistics*, Academic Press, p. 194.

use crate::point_grid::PointGrid;
use rayon::prelude::*;

/// Lags between 0 and the longest.
pub const LAGS: usize = 15;
/// No lag reaches farther, m: what is farther apart says nothing of the weights of neighbours, and pairs grow with the
/// square of the distance. Our own choice.
pub const LONGEST_LAG_M: f64 = 150.0;
/// Pairs without which a lag says too little.
const FEWEST_PAIRS: u64 = 30;
/// Lags without which no model of three parameters is fitted.
const FEWEST_LAGS: usize = 5;
/// Samples whose pairs are summed up by one thread at a time; fixed, so that sums do not depend on threads.
const CHUNK: usize = 1024;

/// Pairs of samples about one distance apart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lag {
    /// How many.
    pub pairs: u64,
    /// Their mean distance, m.
    pub distance_m: f64,
    /// Semivariance, the unit of the values squared.
    pub semivariance: f64,
}

/// The shape of a variogram.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum VariogramShape {
    /// Rises to its sill at the range: 1.5 h/a − 0.5 (h/a)³.
    Spherical,
    /// Comes near its sill, 95 % of it at three times the range: 1 − exp(−h/a).
    Exponential,
}

impl VariogramShape {
    /// Its name in files.
    pub fn key(self) -> &'static str {
        match self {
            VariogramShape::Spherical => "spherical",
            VariogramShape::Exponential => "exponential",
        }
    }

    /// Share of the partial sill that is reached at `distance_m`.
    fn rise(self, distance_m: f64, range_m: f64) -> f64 {
        let h = distance_m / range_m;
        match self {
            VariogramShape::Spherical if h >= 1.0 => 1.0,
            VariogramShape::Spherical => h * (1.5 - 0.5 * h * h),
            VariogramShape::Exponential => -(-h).exp_m1(),
        }
    }
}

/// A model of how values differ with distance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Variogram {
    /// Its shape.
    pub shape: VariogramShape,
    /// What neighbours differ by at no distance, the unit of the values squared.
    pub nugget: f64,
    /// What distance adds to it.
    pub partial_sill: f64,
    /// The shape's range, m.
    pub range_m: f64,
}

impl Variogram {
    /// Semivariance of values `distance_m` apart, above 0.
    pub fn semivariance(&self, distance_m: f64) -> f64 {
        self.nugget + self.partial_sill * self.shape.rise(distance_m, self.range_m)
    }

    /// Covariance of values `distance_m` apart, the nugget left out.
    pub(super) fn shared(&self, distance_m: f64) -> f64 {
        self.partial_sill * (1.0 - self.shape.rise(distance_m, self.range_m))
    }
}

/// A fitted variogram with what it was fitted to.
#[derive(Debug, Clone, PartialEq)]
pub struct FittedVariogram {
    /// The model.
    pub model: Variogram,
    /// The empirical variogram, lags with enough pairs alone.
    pub lags: Vec<Lag>,
    /// What the fit left of Cressie's (1985) sum.
    pub criterion: f64,
}

/// The empirical variogram of `values` at `places`, in [`LAGS`] lags up to `longest_m`; each lag holds distances above
/// its beginning up to its end. Lags with fewer than 30 pairs are left out. Samples at one place make no pair.
///
/// Complexity: samples × samples within the longest lag.
pub fn empirical_variogram(places: &[[f64; 2]], values: &[f64], longest_m: f64) -> Vec<Lag> {
    let grid = PointGrid::new(places.iter().copied(), longest_m / 4.0);
    let width_m = longest_m / LAGS as f64;
    // Pairs, sum of distances, sum of the roots of absolute differences.
    let of_chunk = |chunk: usize| {
        let mut sums = [(0u64, 0.0, 0.0); LAGS];
        for at in chunk * CHUNK..((chunk + 1) * CHUNK).min(places.len()) {
            let [east, north] = places[at];
            grid.within(places[at], longest_m, |other| {
                let other = other as usize;
                if other <= at {
                    return;
                }
                let (de, dn) = (places[other][0] - east, places[other][1] - north);
                let distance_m = (de * de + dn * dn).sqrt();
                if distance_m > 0.0 {
                    let lag = (distance_m / width_m).ceil() as usize - 1;
                    let sum = &mut sums[lag.min(LAGS - 1)];
                    sum.0 += 1;
                    sum.1 += distance_m;
                    sum.2 += (values[other] - values[at]).abs().sqrt();
                }
            });
        }
        sums
    };
    let chunks: Vec<_> = (0..places.len().div_ceil(CHUNK))
        .into_par_iter()
        .map(of_chunk)
        .collect();
    let lags = (0..LAGS).map(|lag| {
        let of_lag = chunks.iter().map(|sums| sums[lag]);
        let (pairs, distances, roots) = of_lag.fold((0, 0.0, 0.0), |sum, chunk| {
            (sum.0 + chunk.0, sum.1 + chunk.1, sum.2 + chunk.2)
        });
        let n = pairs as f64;
        Lag {
            pairs,
            distance_m: distances / n,
            semivariance: 0.5 * (roots / n).powi(4) / (0.457 + 0.494 / n),
        }
    });
    lags.filter(|lag| lag.pairs >= FEWEST_PAIRS).collect()
}

/// The model, spherical or exponential, that fits `lags` best; `None` when there are fewer than five lags or no
/// semivariance is above 0. `longest_m` bounds the range: a tenth of a lag to twice the longest.
///
/// For a given range and share of the nugget the sill has a closed form; these two are searched by a grid that closes in
/// on the best point, the same steps whatever the data.
pub fn fit_variogram(lags: &[Lag], longest_m: f64) -> Option<FittedVariogram> {
    let is_usable = lags.len() >= FEWEST_LAGS && lags.iter().all(|lag| lag.semivariance > 0.0);
    if !is_usable {
        return None;
    }
    let fits = [VariogramShape::Spherical, VariogramShape::Exponential]
        .map(|shape| fit_shape(lags, shape, longest_m));
    let best = match fits[1].1 < fits[0].1 {
        true => fits[1],
        false => fits[0],
    };
    Some(FittedVariogram {
        model: best.0,
        lags: lags.to_vec(),
        criterion: best.1,
    })
}

/// Steps of the search along each side.
const STEPS: usize = 24;
/// How often it closes in, each time to a quarter of the side: to far below a millimetre.
const ROUNDS: usize = 16;

fn fit_shape(lags: &[Lag], shape: VariogramShape, longest_m: f64) -> (Variogram, f64) {
    // Share of the nugget in the sill; logarithm of the range.
    let whole = [
        [0.0, 1.0],
        [
            (longest_m / LAGS as f64 / 10.0).ln(),
            (2.0 * longest_m).ln(),
        ],
    ];
    let mut searched = whole;
    let mut best = ([0.0; 2], f64::INFINITY, 0.0);
    for _ in 0..ROUNDS {
        for nugget_step in 0..=STEPS {
            for range_step in 0..=STEPS {
                let on = |[low, high]: [f64; 2], step: usize| {
                    low + (high - low) * step as f64 / STEPS as f64
                };
                let tried = [on(searched[0], nugget_step), on(searched[1], range_step)];
                let (sill, criterion) = best_sill(lags, shape, tried[0], tried[1].exp());
                if criterion < best.1 {
                    best = (tried, criterion, sill);
                }
            }
        }
        for side in 0..2 {
            let reach = (searched[side][1] - searched[side][0]) / 8.0;
            let [low, high] = whole[side];
            searched[side] =
                [best.0[side] - reach, best.0[side] + reach].map(|end| end.clamp(low, high));
        }
    }
    let ([nugget_share, log_range], criterion, sill) = best;
    let model = Variogram {
        shape,
        nugget: nugget_share * sill,
        partial_sill: (1.0 - nugget_share) * sill,
        range_m: log_range.exp(),
    };
    (model, criterion)
}

/// The sill that minimises the criterion for a share of the nugget and a range, and the criterion: with 1/sill = u it is
/// the sum of pairs × (u r − 1)², where r is the empirical semivariance over the model's of sill 1.
fn best_sill(lags: &[Lag], shape: VariogramShape, nugget_share: f64, range_m: f64) -> (f64, f64) {
    let terms = lags.iter().map(|lag| {
        let unit = nugget_share + (1.0 - nugget_share) * shape.rise(lag.distance_m, range_m);
        (lag.pairs as f64, lag.semivariance / unit)
    });
    let (once, twice) = terms.clone().fold((0.0, 0.0), |(once, twice), (pairs, r)| {
        (once + pairs * r, twice + pairs * r * r)
    });
    let u = once / twice;
    let criterion = terms.map(|(pairs, r)| pairs * (u * r - 1.0).powi(2)).sum();
    (1.0 / u, criterion)
}

#[cfg(test)]
mod tests {
    use super::super::reference::{self, near};
    use super::*;

    /// Outside reference: `gstat::variogram` with `cressie = TRUE`; see `tests/oracles/surface_gstat.R`.
    #[test]
    fn the_empirical_variogram_is_gstats() {
        let (places, values) = reference::samples();
        let ours = empirical_variogram(&places, &values, 150.0);
        let expected = reference::lags();
        assert_eq!(ours.len(), LAGS);
        assert_eq!(expected.len(), 10);
        for (found, expected) in ours.iter().zip(&expected) {
            assert_eq!(found.pairs, expected.pairs);
            near(found.distance_m, expected.distance_m, 1e-12);
            near(found.semivariance, expected.semivariance, 1e-12);
        }
    }

    /// Outside references: the same criterion minimised by R's `optim`, and gstat's own fit, which reweights step by step
    /// instead and so ends near it.
    #[test]
    fn the_fit_is_the_one_that_r_finds() {
        let lags = reference::lags();
        for fit in reference::fits() {
            let shape = match &fit.model[..] {
                "Sph" => VariogramShape::Spherical,
                _ => VariogramShape::Exponential,
            };
            let (found, criterion) = fit_shape(&lags, shape, 100.0);
            near(criterion, fit.criterion, 1e-9);
            assert!(criterion <= fit.criterion * (1.0 + 1e-12));
            let pairs = [found.nugget, found.partial_sill, found.range_m];
            for (place, found) in pairs.into_iter().enumerate() {
                near(found, fit.least[place], 1e-5);
                near(found, fit.gstat[place], 0.05);
            }
        }
        let best = fit_variogram(&lags, 100.0).unwrap();
        assert_eq!(best.model.shape, VariogramShape::Exponential);
    }

    #[test]
    fn a_model_is_found_again_and_a_flat_one_is_all_nugget() {
        let model = Variogram {
            shape: VariogramShape::Spherical,
            nugget: 3.0,
            partial_sill: 9.0,
            range_m: 70.0,
        };
        let lags = |semivariance: &dyn Fn(f64) -> f64| -> Vec<Lag> {
            let distances = (1..=LAGS).map(|lag| 10.0 * lag as f64 - 4.0);
            let lag = |distance_m| Lag {
                pairs: 500,
                distance_m,
                semivariance: semivariance(distance_m),
            };
            distances.map(lag).collect()
        };
        let found = fit_variogram(&lags(&|h| model.semivariance(h)), 150.0).unwrap();
        assert_eq!(found.model.shape, VariogramShape::Spherical);
        near(found.model.nugget, 3.0, 1e-6);
        near(found.model.partial_sill, 9.0, 1e-6);
        near(found.model.range_m, 70.0, 1e-6);
        let flat = fit_variogram(&lags(&|_| 7.0), 150.0).unwrap().model;
        near(flat.semivariance(50.0), 7.0, 1e-9);
        assert_eq!(fit_variogram(&lags(&|_| 0.0), 150.0), None);
        assert_eq!(fit_variogram(&lags(&|h| h)[..4], 150.0), None);
    }
}
