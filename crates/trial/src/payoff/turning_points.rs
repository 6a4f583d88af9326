//! What would turn the answer. The net is gain × price − cost, so with the gain fixed it is zero at
//! the price cost ÷ gain and at the cost gain × price. The t distribution is symmetric: the odds that
//! the treatment pays are even at the same price and cost. The lower end of the net's 95 % interval
//! is the same sum with the lower end of the gain's.

use checkstrip_model::results::TurningPoints;

/// Prices and costs at which a gain of `gain_bu_ac`, at least `low_bu_ac` by its 95 % interval, just
/// pays. What is not finite, and prices that are not above zero, are absent.
pub(super) fn turning_points(
    gain_bu_ac: f64,
    low_bu_ac: f64,
    price_per_bu: f64,
    cost_per_ac: f64,
) -> TurningPoints {
    let price = |gain: f64| Some(cost_per_ac / gain).filter(|p| p.is_finite() && *p > 0.0);
    let cost = |gain: f64| Some(gain * price_per_bu).filter(|c| c.is_finite());
    TurningPoints {
        even_price_per_bu: price(gain_bu_ac),
        even_cost_per_ac: cost(gain_bu_ac),
        sure_price_per_bu: price(low_bu_ac),
        sure_cost_per_ac: cost(low_bu_ac),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_gain_turns_at_cost_over_gain() {
        let found = turning_points(1.0, 0.25, 10.0, 5.0);
        assert_eq!(found.even_price_per_bu, Some(5.0));
        assert_eq!(found.even_cost_per_ac, Some(10.0));
        assert_eq!(found.sure_price_per_bu, Some(20.0));
        assert_eq!(found.sure_cost_per_ac, Some(2.5));
    }

    #[test]
    fn a_loss_pays_at_no_price_and_only_where_it_saves() {
        let found = turning_points(-0.5, -1.5, 10.0, 5.0);
        assert_eq!(found.even_price_per_bu, None);
        assert_eq!(found.even_cost_per_ac, Some(-5.0));
    }

    #[test]
    fn without_an_interval_nothing_is_sure() {
        let found = turning_points(1.0, f64::NAN, 10.0, 5.0);
        assert_eq!(
            (found.sure_price_per_bu, found.sure_cost_per_ac),
            (None, None)
        );
        assert_eq!(turning_points(0.0, 0.0, 10.0, 0.0).even_price_per_bu, None);
    }
}
