//! Gauss–Legendre quadrature: nodes and weights from Newton's method on the Legendre polynomial.
//! Abramowitz, M. and Stegun, I. A. (1964), *Handbook of Mathematical Functions*, section 25.4.30.

use std::f64::consts::PI;

/// Nodes with their weights on the interval from −1 to 1; exact for polynomials of degree below
/// 2 × `count`.
pub(crate) fn gauss_legendre(count: usize) -> Vec<(f64, f64)> {
    let n = count as f64;
    (0..count)
        .map(|place| {
            let mut x = (PI * (place as f64 + 0.75) / (n + 0.5)).cos();
            let mut slope = f64::NAN;
            // Five steps double the digits of a start that is right to two of them.
            for _ in 0..6 {
                let (mut before, mut here) = (1.0, x);
                for degree in 2..=count {
                    let d = degree as f64;
                    let next = ((2.0 * d - 1.0) * x * here - (d - 1.0) * before) / d;
                    (before, here) = (here, next);
                }
                slope = n * (x * here - before) / (x * x - 1.0);
                x -= here / slope;
            }
            (x, 2.0 / ((1.0 - x * x) * slope * slope))
        })
        .collect()
}

/// Nodes with their weights for an integral from `low` to `high` cut into `panels` equal parts of
/// `count` nodes each.
pub(crate) fn panels(low: f64, high: f64, panels: usize, count: usize) -> Vec<(f64, f64)> {
    let rule = gauss_legendre(count);
    let half = (high - low) / panels as f64 / 2.0;
    (0..panels)
        .flat_map(|panel| {
            let middle = low + half * (2 * panel + 1) as f64;
            rule.iter()
                .map(move |&(x, weight)| (middle + half * x, half * weight))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Abramowitz and Stegun (1964), table 25.4, n = 5.
    #[test]
    fn the_tabulated_rule_of_five() {
        let rule = gauss_legendre(5);
        for ((x, weight), (tabled_x, tabled_weight)) in rule.iter().zip([
            (0.906_179_845_938_664, 0.236_926_885_056_189),
            (0.538_469_310_105_683, 0.478_628_670_499_366),
            (0.0, 0.568_888_888_888_889),
        ]) {
            assert!((x - tabled_x).abs() < 1e-14 && (weight - tabled_weight).abs() < 1e-14);
        }
    }

    #[test]
    fn polynomials_are_exact() {
        let sum: f64 = panels(-1.0, 3.0, 2, 6)
            .iter()
            .map(|(x, w)| w * x.powi(11))
            .sum();
        assert!((sum - (3f64.powi(12) - 1.0) / 12.0).abs() < 1e-9);
    }
}
