//! What a gain is worth: the cost of a treatment per acre, the gain that pays for it, the worth of
//! the measured gain less the cost, and the odds that the true gain pays.
//!
//! Machine capacity is speed × width × field efficiency (ASABE Standard EP496.3, 2006, *Agricultural
//! Machinery Management*, clause 5: effective field capacity); a 40 ft machine at 10 mph covers 48.5
//! acres an hour before field efficiency (common practice, no source).

use crate::TrialError;
use crate::student;
use checkstrip_model::results::{Comparison, CostPart, Payoff};
use checkstrip_model::units::{M_PER_FOOT, M_PER_MILE, M2_PER_ACRE, bu_per_acre};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// The `[payoff]` table of a trial file. Money is in whatever currency the grower writes.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PayoffSetup {
    /// Price of the crop, per bushel.
    pub price_per_bu: f64,
    /// What each treatment costs more than the check.
    #[serde(default)]
    pub treatments: BTreeMap<String, TreatmentCost>,
}

/// What a treatment costs more than the check. Every part is optional.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct TreatmentCost {
    /// Rent of the implement, per acre.
    pub rent_per_ac: f64,
    /// Seed, chemical, fertiliser or other material, per acre.
    pub material_per_ac: f64,
    /// Anything else, per acre; a custom rate for the whole job, for example.
    pub other_per_ac: f64,
    /// Fuel burnt, gallons an hour.
    pub fuel_gal_per_h: f64,
    /// Price of fuel, per gallon.
    pub fuel_price_per_gal: f64,
    /// Wage, per hour.
    pub labour_per_h: f64,
    /// Tractor or machine cost, per hour.
    pub machine_per_h: f64,
    /// Working speed, miles an hour.
    pub speed_mph: Option<f64>,
    /// Working width, feet.
    pub width_ft: Option<f64>,
    /// Share of the time in the field spent working; 0.80 when absent (common practice, no source).
    pub field_efficiency: Option<f64>,
}

/// Field efficiency where none is given.
const USUAL_FIELD_EFFICIENCY: f64 = 0.80;

impl TreatmentCost {
    /// The parts that cost something, per acre, and the acres worked per hour where hours matter.
    ///
    /// # Errors
    /// Negative or missing numbers, each with its key.
    pub fn parts(&self, treatment: &str) -> Result<(Vec<CostPart>, Option<f64>), TrialError> {
        let refuse = |key, value: f64, expected| {
            Err(TrialError::Cost {
                treatment: treatment.to_owned(),
                key,
                value,
                expected,
            })
        };
        for (key, value) in [
            ("rent_per_ac", self.rent_per_ac),
            ("material_per_ac", self.material_per_ac),
            ("other_per_ac", self.other_per_ac),
            ("fuel_gal_per_h", self.fuel_gal_per_h),
            ("fuel_price_per_gal", self.fuel_price_per_gal),
            ("labour_per_h", self.labour_per_h),
            ("machine_per_h", self.machine_per_h),
        ] {
            // Other costs may be savings, and so may material (less seed than the check).
            let saving = matches!(key, "other_per_ac" | "material_per_ac");
            if !value.is_finite() || (value < 0.0 && !saving) {
                return refuse(key, value, "money or an amount of 0 or more");
            }
        }
        let efficiency = self.field_efficiency.unwrap_or(USUAL_FIELD_EFFICIENCY);
        if efficiency.is_nan() || efficiency <= 0.0 || efficiency > 1.0 {
            return refuse("field_efficiency", efficiency, "a share above 0, at most 1");
        }
        let fuel_per_h = self.fuel_gal_per_h * self.fuel_price_per_gal;
        let hourly = fuel_per_h + self.labour_per_h + self.machine_per_h;
        let mut acres_per_hour = None;
        if hourly > 0.0 {
            let missing = |key| TrialError::NoRate {
                treatment: treatment.to_owned(),
                key,
            };
            let speed = self.speed_mph.ok_or_else(|| missing("speed_mph"))?;
            let width = self.width_ft.ok_or_else(|| missing("width_ft"))?;
            for (key, value) in [("speed_mph", speed), ("width_ft", width)] {
                if value.is_nan() || value <= 0.0 {
                    return refuse(key, value, "a number above 0");
                }
            }
            acres_per_hour = Some(field_capacity_ac_h(speed, width) * efficiency);
        }
        let per_acre = |per_hour: f64| acres_per_hour.map_or(0.0, |rate| per_hour / rate);
        let parts = [
            ("rent", self.rent_per_ac),
            ("material", self.material_per_ac),
            ("fuel", per_acre(fuel_per_h)),
            ("labour", per_acre(self.labour_per_h)),
            ("machine", per_acre(self.machine_per_h)),
            ("other", self.other_per_ac),
        ];
        let parts = parts
            .into_iter()
            .filter(|(_, per_ac)| *per_ac != 0.0)
            .map(|(name, per_ac)| CostPart {
                name: name.to_owned(),
                per_ac,
            })
            .collect();
        Ok((parts, acres_per_hour))
    }
}

/// Acres an hour at `speed_mph` over `width_ft`, before field efficiency.
///
/// ```
/// # use checkstrip_trial::field_capacity_ac_h;
/// // Common practice, no source: 40 ft at 10 mph is 48.5 acres an hour.
/// assert!((field_capacity_ac_h(10.0, 40.0) - 48.5).abs() < 0.05);
/// ```
pub fn field_capacity_ac_h(speed_mph: f64, width_ft: f64) -> f64 {
    speed_mph * M_PER_MILE * width_ft * M_PER_FOOT / M2_PER_ACRE
}

/// The money side of one comparison.
///
/// The odds are the probability that the true gain exceeds the break-even one under the comparison's
/// t distribution; `NaN` when it has no standard error.
///
/// # Errors
/// A price or cost that makes no sense.
pub fn payoff(
    comparison: &Comparison,
    cost: &TreatmentCost,
    price_per_bu: f64,
    bushel_kg: f64,
) -> Result<Payoff, TrialError> {
    if price_per_bu.is_nan() || price_per_bu <= 0.0 {
        return Err(TrialError::Price {
            value: price_per_bu,
        });
    }
    let (cost_parts, acres_per_hour) = cost.parts(&comparison.treatment)?;
    let cost_per_ac: f64 = cost_parts.iter().map(|part| part.per_ac).sum();
    let break_even_bu_ac = cost_per_ac / price_per_bu;
    let net = |gain_bu_ac: f64| gain_bu_ac * price_per_bu - cost_per_ac;
    let std_error_bu_ac = bu_per_acre(comparison.std_error_kg_ha, bushel_kg);
    let short = (break_even_bu_ac - comparison.advantage_bu_ac) / std_error_bu_ac;
    Ok(Payoff {
        treatment: comparison.treatment.clone(),
        cost_per_ac,
        break_even_bu_ac,
        net_per_ac: net(comparison.advantage_bu_ac),
        net_interval_95_per_ac: comparison.interval_95_bu_ac.map(net),
        odds_it_pays: student::above(short, comparison.df),
        price_per_bu,
        cost_parts,
        acres_per_hour,
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
