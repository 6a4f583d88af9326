//! Odds under the comparison's t distribution, at prices, costs and amounts other than the trial's
//! own, in round numbers a person can hold against the market.

use crate::student;
use checkstrip_model::results::{OddsAtLeast, OddsGrid};

/// What is known of a gain, bu/ac.
#[derive(Debug, Clone, Copy)]
pub(super) struct Gain {
    pub bu_ac: f64,
    pub std_error_bu_ac: f64,
    pub df: f64,
}

impl Gain {
    /// Probability that the true gain exceeds `bu_ac`; `NaN` without a standard error.
    pub(super) fn odds_above(self, bu_ac: f64) -> f64 {
        student::above((bu_ac - self.bu_ac) / self.std_error_bu_ac, self.df)
    }
}

/// Round amounts on either side of nothing, in steps of about the net's standard error.
pub(super) fn odds_at_least(gain: Gain, price_per_bu: f64, cost_per_ac: f64) -> Vec<OddsAtLeast> {
    let spread = gain.std_error_bu_ac * price_per_bu;
    if !(spread.is_finite() && spread > 0.0) {
        return Vec::new();
    }
    let step = round_step(spread);
    (-1..=3)
        .map(|steps| {
            let net_per_ac = f64::from(steps) * step;
            let gain_bu_ac = (net_per_ac + cost_per_ac) / price_per_bu;
            OddsAtLeast {
                net_per_ac,
                gain_bu_ac,
                odds: gain.odds_above(gain_bu_ac),
            }
        })
        .collect()
}

/// The odds that the treatment pays at the trial's price and two round ones on either side, and at
/// its cost likewise; `None` where there are no odds.
pub(super) fn odds_grid(gain: Gain, price_per_bu: f64, cost_per_ac: f64) -> Option<OddsGrid> {
    if !gain.odds_above(0.0).is_finite() {
        return None;
    }
    // Prices move by tenths from year to year, costs are known less well.
    let prices_per_bu = around(price_per_bu, round_step(price_per_bu * 0.1));
    let cost_scale = cost_per_ac
        .abs()
        .max(0.5 * gain.std_error_bu_ac * price_per_bu);
    let costs_per_ac = around(cost_per_ac, round_step(cost_scale * 0.25));
    let odds = costs_per_ac
        .iter()
        .map(|cost| {
            let at = |price: &f64| gain.odds_above(cost / price);
            prices_per_bu.iter().map(at).collect()
        })
        .collect();
    Some(OddsGrid {
        prices_per_bu,
        costs_per_ac,
        odds,
    })
}

/// `value` with two whole multiples of `step` below and two above, none so near that it says the
/// same.
fn around(value: f64, step: f64) -> Vec<f64> {
    const TOO_NEAR: f64 = 0.3;
    let below = (value / step - TOO_NEAR).floor();
    let above = (value / step + TOO_NEAR).ceil();
    vec![
        (below - 1.0) * step,
        below * step,
        value,
        above * step,
        (above + 1.0) * step,
    ]
}

/// The number of the form 1, 2 or 5 × a power of ten that is nearest to `size` by ratio.
fn round_step(size: f64) -> f64 {
    let decade = 10f64.powf(size.log10().floor());
    let near = |step: &f64| (size / (step * decade)).ln().abs();
    let steps = [1.0, 2.0, 5.0, 10.0];
    let best = steps
        .into_iter()
        .min_by(|a, b| near(a).total_cmp(&near(b)))
        .unwrap_or(1.0);
    best * decade
}

#[cfg(test)]
mod tests {
    use super::*;

    const GAIN: Gain = Gain {
        bu_ac: 1.0,
        std_error_bu_ac: 0.5,
        df: 5.0,
    };

    #[test]
    fn grids_are_round_and_hold_the_trials_own_figures() {
        let grid = odds_grid(GAIN, 10.4, 4.25).unwrap();
        assert_eq!(grid.prices_per_bu, [9.0, 10.0, 10.4, 11.0, 12.0]);
        assert_eq!(grid.costs_per_ac, [2.0, 3.0, 4.25, 5.0, 6.0]);
        let own = GAIN.odds_above(4.25 / 10.4);
        assert_eq!(grid.odds[2][2], own);
        let free = odds_grid(GAIN, 10.4, 0.0).unwrap();
        assert!(free.costs_per_ac.windows(2).all(|pair| pair[0] < pair[1]));
    }

    /// Odds rise with the price and fall with the cost.
    #[test]
    fn odds_are_monotone_over_the_grid() {
        let grid = odds_grid(GAIN, 3.87, 11.0).unwrap();
        for row in &grid.odds {
            assert!(row.windows(2).all(|pair| pair[0] < pair[1]));
        }
        for rows in grid.odds.windows(2) {
            assert!(
                rows[0]
                    .iter()
                    .zip(&rows[1])
                    .all(|(cheap, dear)| cheap > dear)
            );
        }
    }

    #[test]
    fn amounts_hold_zero_and_fall_in_odds() {
        let found = odds_at_least(GAIN, 10.0, 5.0);
        assert_eq!(found[1].net_per_ac, 0.0);
        assert_eq!(found[1].gain_bu_ac, 0.5);
        assert!(found.windows(2).all(|pair| pair[0].odds > pair[1].odds));
        let alone = Gain {
            std_error_bu_ac: f64::NAN,
            ..GAIN
        };
        assert!(
            odds_at_least(alone, 10.0, 5.0).is_empty() && odds_grid(alone, 10.0, 5.0).is_none()
        );
    }
}
