//! Smooth random surfaces: yield, moisture and height of the invented ground.
//!
//! # Source
//! A sum of cosine waves of random phase whose wave vectors are drawn from the spectral density of
//! the wanted covariance: Shinozuka, M. and Jan, C.-M. (1972), *Digital simulation of random
//! processes and its applications*, Journal of Sound and Vibration 25(1), 111–128. The covariance is
//! exponential, exp(-h/L). Its spectral density in the plane falls as (1 + L²k²)^(-3/2) (Matérn, B.,
//! 1960, *Spatial Variation*, Meddelanden från Statens Skogsforskningsinstitut 49(5), chapter 2), so
//! that a wave number is below k with probability 1 - (1 + L²k²)^(-1/2).

use std::f64::consts::{PI, TAU};

use crate::random::Random;

/// Distance between the points at which a surface is kept, m; between them it is linear.
const CELL: f64 = 3.0;

/// Waves in a surface: the more, the closer to a normal distribution.
const WAVES: usize = 160;

/// Practical range over L: exp(-h/L) is down to 5 % at h = 3 L.
const RANGE_IN_SCALES: f64 = 3.0;

/// A surface over the field, kept on a grid from the field's corner.
#[derive(Debug, Clone)]
pub(crate) struct Surface {
    columns: usize,
    values: Vec<f64>,
}

impl Surface {
    /// A surface with this mean and standard deviation over the field (exactly, not in expectation)
    /// and values at least `lowest`, whose neighbours are alike up to about `range_m`.
    pub(crate) fn new(
        size_m: [f64; 2],
        mean: f64,
        deviation: f64,
        range_m: f64,
        lowest: f64,
        random: &mut Random,
    ) -> Surface {
        let columns = (size_m[0] / CELL).ceil() as usize + 2;
        let rows = (size_m[1] / CELL).ceil() as usize + 2;
        let scale = range_m / RANGE_IN_SCALES;
        let mut values = vec![0.0; columns * rows];
        for _ in 0..WAVES {
            let tail = 1.0 - random.unit();
            // Waves shorter than four cells cannot be held by the grid and are cut off.
            let number = ((1.0 / (tail * tail) - 1.0).sqrt() / scale).min(PI / (2.0 * CELL));
            let direction = random.between(0.0, TAU);
            let phase = random.between(0.0, TAU);
            add_wave(&mut values, columns, number, direction, phase);
        }
        let n = values.len() as f64;
        let middle = values.iter().sum::<f64>() / n;
        let spread = (values
            .iter()
            .map(|v| (v - middle) * (v - middle))
            .sum::<f64>()
            / n)
            .sqrt()
            .max(1e-12);
        for value in &mut values {
            *value = (mean + deviation * (*value - middle) / spread).max(lowest);
        }
        Surface { columns, values }
    }

    /// The value at a place of the field, m from its corner; outside, that of the nearest edge.
    pub(crate) fn at(&self, place: [f64; 2]) -> f64 {
        let rows = self.values.len() / self.columns;
        let x = (place[0] / CELL).clamp(0.0, (self.columns - 1) as f64 - 1e-9);
        let y = (place[1] / CELL).clamp(0.0, (rows - 1) as f64 - 1e-9);
        let (column, row) = (x as usize, y as usize);
        let (right, up) = (x - column as f64, y - row as f64);
        let at = row * self.columns + column;
        let below = self.values[at] * (1.0 - right) + self.values[at + 1] * right;
        let above = self.values[at + self.columns] * (1.0 - right)
            + self.values[at + self.columns + 1] * right;
        below * (1.0 - up) + above * up
    }
}

/// Adds cos(k·x + phase), row by row: along a row the angle grows evenly, so each cosine follows
/// from the one before by a rotation.
fn add_wave(values: &mut [f64], columns: usize, number: f64, direction: f64, phase: f64) {
    let (north, east) = direction.sin_cos();
    let (turn_sin, turn_cos) = (number * east * CELL).sin_cos();
    for (row, line) in values.chunks_exact_mut(columns).enumerate() {
        let (mut sin, mut cos) = (number * north * CELL * row as f64 + phase).sin_cos();
        for value in line {
            *value += cos;
            (sin, cos) = (
                sin * turn_cos + cos * turn_sin,
                cos * turn_cos - sin * turn_sin,
            );
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn mean_and_deviation_are_as_asked() {
        let surface = Surface::new(
            [600.0, 400.0],
            3700.0,
            400.0,
            60.0,
            0.0,
            &mut Random::new(3, "yield"),
        );
        let n = surface.values.len() as f64;
        let mean = surface.values.iter().sum::<f64>() / n;
        let variance = surface
            .values
            .iter()
            .map(|v| (v - mean).powi(2))
            .sum::<f64>()
            / n;
        assert!((mean - 3700.0).abs() < 1e-6 && (variance.sqrt() - 400.0).abs() < 1e-6);
    }

    /// The correlation at a few distances is that of the exponential covariance, over 40 surfaces.
    #[test]
    fn neighbours_are_alike_as_the_covariance_says() {
        let (mut near, mut far, mut count) = (0.0, 0.0, 0.0);
        for seed in 0..40 {
            let surface = Surface::new(
                [900.0, 900.0],
                0.0,
                1.0,
                60.0,
                -1e9,
                &mut Random::new(seed, "s"),
            );
            for i in 0..400 {
                let place = [
                    20.0 + f64::from(i % 20) * 40.0,
                    20.0 + f64::from(i / 20) * 40.0,
                ];
                near += surface.at(place) * surface.at([place[0] + 12.0, place[1]]);
                far += surface.at(place) * surface.at([place[0], place[1] + 60.0]);
                count += 1.0;
            }
        }
        // exp(-12/20) = 0.549 and exp(-60/20) = 0.050; the cut-off and the grid shift them a little.
        assert!((near / count - 0.549).abs() < 0.06, "{}", near / count);
        assert!((far / count - 0.050).abs() < 0.06, "{}", far / count);
    }
}
