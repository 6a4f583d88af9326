//! The gain that pays for a treatment, known before anything is planted: cost over price.

use super::TreatmentCost;
use crate::TrialError;
use checkstrip_model::results::CostPart;
use checkstrip_model::units::kg_per_ha;
use serde::Serialize;

/// What has to be gained for a treatment to pay.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BreakEven {
    /// The treatment.
    pub treatment: String,
    /// Price of the crop, per bushel.
    pub price_per_bu: f64,
    /// Cost of the treatment, per acre.
    pub cost_per_ac: f64,
    /// What the cost is made of, per acre.
    pub cost_parts: Vec<CostPart>,
    /// Yield gain that just pays for it, bu/ac.
    pub break_even_bu_ac: f64,
    /// The same in kg/ha.
    pub break_even_kg_ha: f64,
    /// Ground worked per hour, acres, when some costs are by the hour.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub acres_per_hour: Option<f64>,
}

/// A treatment over a whole field.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct WholeField {
    /// The field, acres.
    pub acres: f64,
    /// Cost of the treatment on all of it.
    pub cost: f64,
    /// Bushels more from all of it that just pay.
    pub break_even_bu: f64,
    /// Hours it takes, when some costs are by the hour.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hours: Option<f64>,
}

impl BreakEven {
    /// The treatment over a field of `acres`.
    pub fn over(&self, acres: f64) -> WholeField {
        WholeField {
            acres,
            cost: self.cost_per_ac * acres,
            break_even_bu: self.break_even_bu_ac * acres,
            hours: self.acres_per_hour.map(|rate| acres / rate),
        }
    }
}

/// Refuses a price that no bushel sells at.
pub(crate) fn check_price(price_per_bu: f64) -> Result<(), TrialError> {
    if price_per_bu.is_finite() && price_per_bu > 0.0 {
        Ok(())
    } else {
        Err(TrialError::Price {
            value: price_per_bu,
        })
    }
}

/// The gain that pays for `cost` where a bushel of `bushel_kg` sells at `price_per_bu`.
///
/// # Errors
/// A price or cost that makes no sense.
///
/// ```
/// use checkstrip_trial::{TreatmentCost, break_even};
/// let cost = TreatmentCost { rent_per_ac: 5.0, ..TreatmentCost::default() };
/// let found = break_even("rolled", &cost, 10.0, 27.2155).unwrap();
/// assert_eq!(found.break_even_bu_ac, 0.5);
/// ```
pub fn break_even(
    treatment: &str,
    cost: &TreatmentCost,
    price_per_bu: f64,
    bushel_kg: f64,
) -> Result<BreakEven, TrialError> {
    check_price(price_per_bu)?;
    let (cost_parts, acres_per_hour) = cost.parts(treatment)?;
    let cost_per_ac: f64 = cost_parts.iter().map(|part| part.per_ac).sum();
    let break_even_bu_ac = cost_per_ac / price_per_bu;
    Ok(BreakEven {
        treatment: treatment.to_owned(),
        price_per_bu,
        cost_per_ac,
        cost_parts,
        break_even_bu_ac,
        break_even_kg_ha: kg_per_ha(break_even_bu_ac, bushel_kg),
        acres_per_hour,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Common practice, no source: a cheap pass breaks even near half a bushel an acre. The farm is
    /// invented; by hand, 48.4848 × 0.8 = 38.788 ac/h, 3 + 23.40/38.788 + 25/38.788 + 30/38.788.
    #[test]
    fn a_cheap_pass_needs_about_half_a_bushel() {
        let cost = TreatmentCost {
            rent_per_ac: 3.0,
            fuel_gal_per_h: 6.5,
            fuel_price_per_gal: 3.6,
            labour_per_h: 25.0,
            machine_per_h: 30.0,
            speed_mph: Some(10.0),
            width_ft: Some(40.0),
            ..TreatmentCost::default()
        };
        let found = break_even("rolled", &cost, 10.4, 27.2155).unwrap();
        assert!((found.cost_per_ac - 5.021_25).abs() < 1e-4);
        assert!((found.break_even_bu_ac - 0.482_81).abs() < 1e-4);
        let field = found.over(160.0);
        assert!((field.cost - 803.4).abs() < 0.05);
        assert!((field.hours.unwrap() - 4.125).abs() < 1e-3);
    }
}
