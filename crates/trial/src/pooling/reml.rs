//! The variance of effects between fields by restricted maximum likelihood.

/// Grid points per tenfold of the between-field variance: the likelihood bends over no less than
/// about a tenfold, so a second maximum between two points would differ by nothing that matters.
const POINTS_PER_DECADE: f64 = 12.0;

/// Sums over fields weighted by 1 ÷ (own variance + `tau2`).
#[derive(Debug, Clone, Copy)]
pub(super) struct Moments {
    /// Sum of the weights.
    pub(super) weight: f64,
    /// Weighted mean of the effects.
    pub(super) mean: f64,
    /// Weighted sum of squares about it.
    pub(super) q: f64,
}

impl Moments {
    pub(super) fn new(effects: &[f64], variances: &[f64], tau2: f64) -> Moments {
        let (mut weight, mut sum) = (0.0, 0.0);
        // About the first effect, so that nothing is lost to a large common level.
        let level = effects.first().copied().unwrap_or(0.0);
        for (effect, variance) in effects.iter().zip(variances) {
            let w = 1.0 / (variance + tau2);
            weight += w;
            sum += w * (effect - level);
        }
        let mean = level + sum / weight;
        let q = effects
            .iter()
            .zip(variances)
            .map(|(effect, variance)| (effect - mean).powi(2) / (variance + tau2))
            .sum();
        Moments { weight, mean, q }
    }
}

/// The restricted log-likelihood of `tau2`, up to a constant.
fn log_likelihood(effects: &[f64], variances: &[f64], tau2: f64) -> f64 {
    let moments = Moments::new(effects, variances, tau2);
    let logs: f64 = variances.iter().map(|v| (v + tau2).ln()).sum();
    -0.5 * (logs + moments.weight.ln() + moments.q)
}

/// Twice its slope: Σw²(y − mean)² − Σw + Σw² ÷ Σw (Raudenbush, S. W. 2009, *Analyzing effect sizes:
/// random-effects models*, in *The Handbook of Research Synthesis and Meta-Analysis*, 2nd edition,
/// Russell Sage Foundation, chapter 16).
fn slope(effects: &[f64], variances: &[f64], tau2: f64) -> f64 {
    let moments = Moments::new(effects, variances, tau2);
    effects
        .iter()
        .zip(variances)
        .map(|(effect, variance)| {
            let w = 1.0 / (variance + tau2);
            (w * (effect - moments.mean)).powi(2) - w * (1.0 - w / moments.weight)
        })
        .sum()
}

/// The between-field variance at which the restricted likelihood is greatest, not below 0; the
/// slices have one entry per field, at least two, all finite, the variances above 0.
///
/// The likelihood can have more than one maximum, so it is first looked at over a grid wide enough
/// to hold them all, then the slope's zero beside the best grid point is closed in on by halving:
/// no step that could fail to converge.
pub(super) fn tau2_by_reml(effects: &[f64], variances: &[f64]) -> f64 {
    let least = |values: &[f64]| values.iter().copied().fold(f64::INFINITY, f64::min);
    let most = |values: &[f64]| values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let range = most(effects) - least(effects);
    // Below the first point all weights are as at 0; above the last the slope is negative.
    let first = least(variances) * 1e-4;
    let last = 10.0 * (range * range + most(variances));
    let steps = ((last / first).log10() * POINTS_PER_DECADE).ceil();
    let ratio = (last / first).powf(1.0 / steps);
    let mut grid = vec![0.0];
    grid.extend((0..=steps as i32).map(|step| first * ratio.powi(step)));
    let likelihood = |tau2: f64| log_likelihood(effects, variances, tau2);
    let mut best = 0;
    let mut highest = likelihood(0.0);
    for (place, &tau2) in grid.iter().enumerate().skip(1) {
        let value = likelihood(tau2);
        if value > highest {
            (best, highest) = (place, value);
        }
    }
    let rises = |tau2: f64| slope(effects, variances, tau2) > 0.0;
    let (low, high) = if rises(grid[best]) {
        (grid[best], grid.get(best + 1).copied().unwrap_or(last))
    } else if best > 0 {
        (grid[best - 1], grid[best])
    } else {
        return 0.0;
    };
    halve(low, high, rises)
}

/// The place between `low` and `high` up to which `holds`.
pub(super) fn halve(mut low: f64, mut high: f64, holds: impl Fn(f64) -> bool) -> f64 {
    loop {
        let middle = low + (high - low) / 2.0;
        if middle <= low || middle >= high {
            return middle;
        }
        if holds(middle) {
            low = middle;
        } else {
            high = middle;
        }
    }
}
