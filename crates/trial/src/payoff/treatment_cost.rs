//! What a treatment costs per acre: parts given by the acre as they are, parts given by the hour over
//! the acres worked in an hour.

use super::field_capacity_ac_h;
use crate::TrialError;
use checkstrip_model::results::CostPart;
use serde::{Deserialize, Serialize};

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

/// What a person is asked for of a treatment's cost.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct CostField {
    /// The key in the treatment's table.
    pub key: &'static str,
    /// What it is called.
    pub title: &'static str,
    /// What it is given in, in words.
    pub unit: &'static str,
    /// What is taken where nothing is given; `None`: it takes no part.
    pub default: Option<f64>,
}

/// Every field of [`TreatmentCost`], in its order.
pub const COST_FIELDS: &[CostField] = &[
    field("rent_per_ac", "Rent of the implement", "$ an acre"),
    field(
        "material_per_ac",
        "Seed, chemical or other material",
        "$ an acre",
    ),
    field(
        "other_per_ac",
        "Anything else, such as a custom rate",
        "$ an acre",
    ),
    field("fuel_gal_per_h", "Fuel burnt", "gal an hour"),
    field("fuel_price_per_gal", "Price of fuel", "$ a gallon"),
    field("labour_per_h", "Wage", "$ an hour"),
    field("machine_per_h", "Tractor or machine", "$ an hour"),
    field("speed_mph", "Working speed", "mph"),
    field("width_ft", "Working width", "ft"),
    CostField {
        default: Some(USUAL_FIELD_EFFICIENCY),
        ..field(
            "field_efficiency",
            "Share of the time spent working",
            "share",
        )
    },
];

const fn field(key: &'static str, title: &'static str, unit: &'static str) -> CostField {
    CostField {
        key,
        title,
        unit,
        default: None,
    }
}

impl TreatmentCost {
    /// The parts that cost something, per acre, and the acres worked per hour where speed and width
    /// are known.
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
        if hourly > 0.0 || (self.speed_mph.is_some() && self.width_ft.is_some()) {
            let missing = |key| TrialError::NoRate {
                treatment: treatment.to_owned(),
                key,
            };
            let speed = self.speed_mph.ok_or_else(|| missing("speed_mph"))?;
            let width = self.width_ft.ok_or_else(|| missing("width_ft"))?;
            for (key, value) in [("speed_mph", speed), ("width_ft", width)] {
                if !value.is_finite() || value <= 0.0 {
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_field_is_asked_for() {
        let written = serde_json::to_value(TreatmentCost::default()).unwrap();
        let keys: Vec<&str> = COST_FIELDS.iter().map(|field| field.key).collect();
        assert_eq!(
            keys,
            written.as_object().unwrap().keys().collect::<Vec<_>>()
        );
    }
}
