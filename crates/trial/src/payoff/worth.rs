//! The money side of one comparison: what the measured gain leaves once it has paid for itself.

use super::TreatmentCost;
use super::break_even::break_even;
use super::odds::{Gain, odds_at_least, odds_grid};
use super::turning_points::turning_points;
use crate::TrialError;
use checkstrip_model::results::{Comparison, Payoff};
use checkstrip_model::units::bu_per_acre;

/// The money side of one comparison.
///
/// The odds are the probability that the true gain exceeds the break-even one under the comparison's
/// t distribution; `NaN` when it has no standard error, and then there are no odds elsewhere either.
///
/// # Errors
/// A price or cost that makes no sense.
pub fn payoff(
    comparison: &Comparison,
    cost: &TreatmentCost,
    price_per_bu: f64,
    bushel_kg: f64,
) -> Result<Payoff, TrialError> {
    let even = break_even(&comparison.treatment, cost, price_per_bu, bushel_kg)?;
    let cost_per_ac = even.cost_per_ac;
    let net = |gain_bu_ac: f64| gain_bu_ac * price_per_bu - cost_per_ac;
    let gain = Gain {
        bu_ac: comparison.advantage_bu_ac,
        std_error_bu_ac: bu_per_acre(comparison.std_error_kg_ha, bushel_kg),
        df: comparison.df,
    };
    Ok(Payoff {
        treatment: even.treatment,
        cost_per_ac,
        break_even_bu_ac: even.break_even_bu_ac,
        net_per_ac: net(gain.bu_ac),
        net_interval_95_per_ac: comparison.interval_95_bu_ac.map(net),
        odds_it_pays: gain.odds_above(even.break_even_bu_ac),
        price_per_bu,
        cost_parts: even.cost_parts,
        acres_per_hour: even.acres_per_hour,
        turning_points: Some(turning_points(
            gain.bu_ac,
            comparison.interval_95_bu_ac[0],
            price_per_bu,
            cost_per_ac,
        )),
        odds_at_least: odds_at_least(gain, price_per_bu, cost_per_ac),
        odds_grid: odds_grid(gain, price_per_bu, cost_per_ac),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    const SOYBEAN: f64 = 27.2155;

    fn comparison() -> Comparison {
        Comparison {
            treatment: "rolled".into(),
            check: "check".into(),
            method: "paired_strips".into(),
            blocks: 6,
            advantage_kg_ha: 67.2511,
            advantage_bu_ac: 1.0,
            std_error_kg_ha: 33.625_55,
            df: 5.0,
            interval_95_kg_ha: [-19.18, 153.68],
            interval_95_bu_ac: [-0.2852, 2.2852],
            p_value: 0.1,
            interval_95_family_kg_ha: None,
            interval_95_family_bu_ac: None,
            p_value_family: None,
            smallest_p: None,
            orders: None,
            soil: None,
            dilution: 1.0,
            block_differences: vec![],
        }
    }

    /// The example of the trial file: 3.00 rent; 6.5 gal/h at 3.60 and 25.00 wage over 48.48 × 0.8
    /// ac/h. By hand: 23.40 / 38.788 = 0.6033, 25 / 38.788 = 0.6445, together 4.2478.
    #[test]
    fn rolling_by_hand() {
        let cost = TreatmentCost {
            rent_per_ac: 3.0,
            fuel_gal_per_h: 6.5,
            fuel_price_per_gal: 3.6,
            labour_per_h: 25.0,
            speed_mph: Some(10.0),
            width_ft: Some(40.0),
            field_efficiency: Some(0.8),
            ..TreatmentCost::default()
        };
        let found = payoff(&comparison(), &cost, 10.4, SOYBEAN).unwrap();
        assert!(
            (found.cost_per_ac - 4.2478).abs() < 5e-4,
            "{}",
            found.cost_per_ac
        );
        assert!((found.break_even_bu_ac - 0.408_44).abs() < 5e-5);
        assert!((found.net_per_ac - (10.4 - found.cost_per_ac)).abs() < 1e-9);
        // P(t5 > (0.40844 - 1) / 0.5): R 4.2.2, pt(1.18312, 5) = 0.8550617 (recomputed with scipy).
        assert!(
            (found.odds_it_pays - 0.855).abs() < 1e-3,
            "{}",
            found.odds_it_pays
        );
    }

    #[test]
    fn odds_are_even_at_break_even() {
        let cost = TreatmentCost {
            other_per_ac: 10.0,
            ..TreatmentCost::default()
        };
        let found = payoff(&comparison(), &cost, 10.0, SOYBEAN).unwrap();
        assert!((found.odds_it_pays - 0.5).abs() < 1e-9 && found.net_per_ac.abs() < 1e-9);
        let turns = found.turning_points.unwrap();
        assert_eq!(turns.even_price_per_bu, Some(10.0));
        assert_eq!(turns.even_cost_per_ac, Some(10.0));
        assert_eq!(turns.sure_price_per_bu, None);
        assert!((turns.sure_cost_per_ac.unwrap() + 2.852).abs() < 1e-9);
    }

    #[test]
    fn hours_without_a_rate_are_refused() {
        let cost = TreatmentCost {
            labour_per_h: 25.0,
            ..TreatmentCost::default()
        };
        let error = payoff(&comparison(), &cost, 10.0, SOYBEAN)
            .unwrap_err()
            .to_string();
        assert!(error.contains("speed_mph"), "{error}");
        assert!(payoff(&comparison(), &TreatmentCost::default(), 0.0, SOYBEAN).is_err());
    }
}
