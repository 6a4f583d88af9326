//! How strongly an unevenly spaced series repeats at each frequency: the Lomb-Scargle periodogram with a
//! floating mean, as a direct sum in double precision for one series, and over a table of sines shared by
//! all rows of a window for many.
//!
//! # Source
//! Lomb, N. R. (1976), *Least-squares frequency analysis of unequally spaced data*, Astrophysics and
//! Space Science 39, 447–462; Scargle, J. D. (1982), *Studies in astronomical time series analysis. II*,
//! Astrophysical Journal 263, 835–853; with the mean fitted at each frequency: Zechmeister, M. and
//! Kürster, M. (2009), *The generalised Lomb-Scargle periodogram*, Astronomy and Astrophysics 496,
//! 577–584.

use std::f64::consts::TAU;

/// Normalised power at each frequency: the share of the sum of squares around the mean that a sine of
/// that frequency with a free mean takes away, from 0 to 1.
///
/// `x` are places (m), `y` readings there, `frequency` in cycles per unit of `x`. Places need no order
/// and no even distance. A series of fewer than four readings or of no spread has power 0 everywhere.
/// Grows with the number of readings times that of frequencies.
///
/// # Panics
/// When `x` and `y` differ in length.
///
/// ```
/// let x: Vec<f64> = (0..60).map(|i| f64::from(i) + 0.3 * f64::from(i * i % 7)).collect();
/// let y: Vec<f64> = x.iter().map(|x| 2.0 + (std::f64::consts::TAU * x / 9.0).cos()).collect();
/// let power = checkstrip_planting::lomb_scargle(&x, &y, &[1.0 / 9.0, 1.0 / 5.0]);
/// assert!(power[0] > 0.999_999 && power[1] < 0.2);
/// ```
pub fn lomb_scargle(x: &[f64], y: &[f64], frequency: &[f64]) -> Vec<f64> {
    assert_eq!(x.len(), y.len(), "places and readings differ in number");
    let n = x.len() as f64;
    let mean = y.iter().sum::<f64>() / n;
    let squares = y.iter().map(|y| (y - mean) * (y - mean)).sum::<f64>() / n;
    frequency
        .iter()
        .map(|f| {
            let mut sums = Sums::default();
            for (x, y) in x.iter().zip(y) {
                let (sin, cos) = (TAU * f * x).sin_cos();
                sums.add(cos, sin);
                sums.cos_y += cos * (y - mean);
                sums.sin_y += sin * (y - mean);
            }
            if x.len() < 4 {
                0.0
            } else {
                sums.power(n, squares)
            }
        })
        .collect()
}

/// Sums of one frequency.
#[derive(Debug, Clone, Copy, Default)]
struct Sums {
    cos: f64,
    sin: f64,
    cos_cos: f64,
    cos_sin: f64,
    cos_y: f64,
    sin_y: f64,
}

impl Sums {
    fn add(&mut self, cos: f64, sin: f64) {
        self.cos += cos;
        self.sin += sin;
        self.cos_cos += cos * cos;
        self.cos_sin += cos * sin;
    }

    /// Zechmeister and Kürster's equation 5 with equal weights; `squares` is the mean square of the
    /// readings around their mean, which the sums with readings are taken about as well.
    fn power(&self, n: f64, squares: f64) -> f64 {
        let (c, s) = (self.cos / n, self.sin / n);
        let cc = self.cos_cos / n - c * c;
        let ss = 1.0 - self.cos_cos / n - s * s;
        let cs = self.cos_sin / n - c * s;
        let (yc, ys) = (self.cos_y / n, self.sin_y / n);
        let determinant = cc * ss - cs * cs;
        if squares <= 0.0 || determinant <= 1e-12 {
            return 0.0;
        }
        ((ss * yc * yc + cc * ys * ys - 2.0 * cs * yc * ys) / (squares * determinant))
            .clamp(0.0, 1.0)
    }
}

/// Equally spaced frequencies `first × step, (first + 1) × step, …`, cycles per metre.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct FrequencyGrid {
    pub(crate) step: f64,
    pub(crate) first: usize,
    pub(crate) count: usize,
}

impl FrequencyGrid {
    /// The place of the frequency nearest to `frequency`, when the grid reaches it.
    pub(crate) fn nearest(&self, frequency: f64) -> Option<usize> {
        let place = (frequency / self.step).round() - self.first as f64;
        (place >= 0.0 && place < self.count as f64).then_some(place as usize)
    }
}

/// Places whose sines are worked out side by side.
const SIDE_BY_SIDE: usize = 4;

/// Sines and cosines of every place of a window at every frequency of a grid, which all rows and
/// signals of the window share. Readings of 0, which skips mostly are, cost nothing.
pub(crate) struct Basis {
    count: usize,
    places: usize,
    /// Place after place, the cosines and then the sines of all frequencies.
    table: Vec<f32>,
    sums: Vec<Sums>,
}

impl Basis {
    pub(crate) fn new(x: &[f64], grid: FrequencyGrid) -> Basis {
        let count = grid.count;
        let mut table: Vec<f32> = Vec::with_capacity(2 * count * x.len());
        let mut sums = vec![Sums::default(); count];
        let middle = x.iter().sum::<f64>() / x.len().max(1) as f64;
        // Several places at a time, for each frequency is made from the one before and has to wait for it.
        for places in x.chunks(SIDE_BY_SIDE) {
            let start = table.len();
            table.resize(start + 2 * count * places.len(), 0.0);
            let rows = &mut table[start..];
            let turns: [f64; SIDE_BY_SIDE] = std::array::from_fn(|at| {
                places
                    .get(at)
                    .map_or(0.0, |x| TAU * (x - middle) * grid.step)
            });
            let (sin_step, cos_step) = (turns.map(f64::sin), turns.map(f64::cos));
            let firsts = turns.map(|turn| turn * grid.first as f64);
            let (mut sin, mut cos) = (firsts.map(f64::sin), firsts.map(f64::cos));
            for (at, sum) in sums.iter_mut().enumerate() {
                for (place, row) in rows.chunks_exact_mut(2 * count).enumerate() {
                    sum.add(cos[place], sin[place]);
                    row[at] = cos[place] as f32;
                    row[count + at] = sin[place] as f32;
                }
                // The next frequency by the addition theorem: a thousand steps lose no more than 1e-12.
                for place in 0..SIDE_BY_SIDE {
                    (cos[place], sin[place]) = (
                        cos[place] * cos_step[place] - sin[place] * sin_step[place],
                        sin[place] * cos_step[place] + cos[place] * sin_step[place],
                    );
                }
            }
        }
        Basis {
            count,
            places: x.len(),
            table,
            sums,
        }
    }

    /// The strength of `y` at every frequency: minus the logarithm of the probability that white noise
    /// has as much power there, so that noise gives exponential numbers of mean 1 whatever the number of
    /// readings: -ln (1 - power)^((n - 3) / 2), Baluev (2008), table 1. All 0 for fewer than eight readings
    /// or readings without spread.
    pub(crate) fn strength(&self, y: &[f32], out: &mut Vec<f32>) {
        let n = self.places as f64;
        let mean = y.iter().map(|&y| f64::from(y)).sum::<f64>() / n;
        let squares = y
            .iter()
            .map(|&y| (f64::from(y) - mean).powi(2))
            .sum::<f64>()
            / n;
        out.clear();
        if self.places < 8 || squares <= 1e-9 * mean * mean {
            out.resize(self.count, 0.0);
            return;
        }
        let mut with_y = vec![0.0f32; 2 * self.count];
        // A common level to subtract beforehand: that of most readings, so that these add nothing.
        let level = if 2 * y.iter().filter(|&&y| y == 0.0).count() > y.len() {
            0.0
        } else {
            mean as f32
        };
        for (y, row) in y.iter().zip(self.table.chunks_exact(2 * self.count)) {
            let off = y - level;
            if off != 0.0 {
                for (sum, wave) in with_y.iter_mut().zip(row) {
                    *sum += off * wave;
                }
            }
        }
        let above = mean - f64::from(level);
        out.extend(self.sums.iter().enumerate().map(|(at, sums)| {
            let mut sums = *sums;
            sums.cos_y = f64::from(with_y[at]) - above * sums.cos;
            sums.sin_y = f64::from(with_y[self.count + at]) - above * sums.sin;
            let power = sums.power(n, squares).min(1.0 - 1e-12);
            (-(n - 3.0) / 2.0 * (1.0 - power).ln()) as f32
        }));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[derive(serde::Deserialize)]
    struct Reference {
        x: Vec<f64>,
        y: Vec<f64>,
        frequency: Vec<f64>,
        astropy_power: Vec<f64>,
        scipy_power: Vec<f64>,
    }

    fn reference() -> Reference {
        serde_json::from_str(include_str!("../fixtures/periodogram.json")).unwrap()
    }

    /// Outside references: astropy.timeseries.LombScargle(x, y, fit_mean=True).power and
    /// scipy.signal.lombscargle(floating_mean=True, normalize=True); `fixtures/periodogram.py`.
    #[test]
    fn power_is_that_of_astropy_and_scipy() {
        let r = reference();
        let power = lomb_scargle(&r.x, &r.y, &r.frequency);
        assert_eq!(power.len(), r.astropy_power.len());
        for (at, power) in power.iter().enumerate() {
            assert!((power - r.astropy_power[at]).abs() < 1e-12, "{at}");
            assert!((power - r.scipy_power[at]).abs() < 1e-12, "{at}");
        }
    }

    /// Law: the shared table gives what the direct sum gives.
    #[test]
    fn the_shared_table_agrees_with_the_direct_sum() {
        let r = reference();
        let grid = FrequencyGrid {
            step: 0.0017,
            first: 30,
            count: 400,
        };
        let frequency: Vec<f64> = (0..grid.count)
            .map(|k| (grid.first + k) as f64 * grid.step)
            .collect();
        let sparse: Vec<f64> = r.y.iter().map(|&y| if y > 4.0 { y } else { 0.0 }).collect();
        for y in [&r.y, &sparse] {
            let direct = lomb_scargle(&r.x, y, &frequency);
            let narrow: Vec<f32> = y.iter().map(|&y| y as f32).collect();
            let mut strength = Vec::new();
            Basis::new(&r.x, grid).strength(&narrow, &mut strength);
            let half = (r.x.len() as f64 - 3.0) / 2.0;
            for (power, strength) in direct.iter().zip(strength) {
                let expected = -half * (1.0 - power).ln();
                assert!((f64::from(strength) - expected).abs() < 1e-3 * (1.0 + expected));
            }
        }
    }

    #[test]
    fn series_that_say_nothing_have_no_power() {
        assert_eq!(
            lomb_scargle(&[1.0, 2.0, 3.0], &[1.0, 5.0, 2.0], &[0.3]),
            [0.0]
        );
        assert_eq!(
            lomb_scargle(&[1.0, 2.0, 3.5, 4.0, 6.0], &[2.0; 5], &[0.3]),
            [0.0]
        );
        assert_eq!(
            lomb_scargle(&[7.0; 5], &[1.0, 2.0, 3.0, 2.0, 1.0], &[0.3]),
            [0.0]
        );
        let grid = FrequencyGrid {
            step: 0.01,
            first: 5,
            count: 10,
        };
        let x: Vec<f64> = (0..20).map(f64::from).collect();
        let mut strength = Vec::new();
        Basis::new(&x, grid).strength(&[0.0; 20], &mut strength);
        assert_eq!(strength, [0.0; 10]);
    }

    #[test]
    fn a_grid_finds_its_frequencies() {
        let grid = FrequencyGrid {
            step: 0.01,
            first: 5,
            count: 10,
        };
        assert_eq!(grid.nearest(0.0512), Some(0));
        assert_eq!(grid.nearest(0.14), Some(9));
        assert_eq!((grid.nearest(0.03), grid.nearest(0.2)), (None, None));
    }
}
