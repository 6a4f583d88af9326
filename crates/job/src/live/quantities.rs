//! What the records of a field can be coloured by, with the units it is shown in.

use super::LiveField;
use checkstrip_model::units::to_si;
use checkstrip_model::{Column, Quantity};
use serde::Serialize;

/// What the values of a quantity are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum QuantityKind {
    /// Numbers.
    Number,
    /// What became of a record.
    Status,
}

/// A quantity, and how it is shown: a value in SI times the factor is in the unit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ShownQuantity {
    /// What to ask for it by.
    pub key: String,
    /// What it is called.
    pub title: String,
    /// The quantity that is the same before cleaning.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub before: Option<&'static str>,
    /// What its values are.
    pub kind: QuantityKind,
    /// The unit that growers use.
    pub unit_farm: &'static str,
    /// From SI to that unit.
    pub factor_farm: f64,
    /// The metric unit.
    pub unit_si: &'static str,
    /// From SI to that unit.
    pub factor_si: f64,
    /// Decimals that mean something, in either unit.
    pub decimals: u8,
    /// Second percentile of its values, SI; `None` without values.
    pub low: Option<f64>,
    /// 98th percentile.
    pub high: Option<f64>,
}

/// The units that quantities of one kind are shown in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ShownUnits {
    /// The unit that growers use, and from SI to it.
    pub farm: (&'static str, f64),
    /// The metric unit, and from SI to it.
    pub si: (&'static str, f64),
    /// Decimals that mean something.
    pub decimals: u8,
}

impl ShownUnits {
    /// How values of `quantity` are shown, for a crop whose bushel weighs `bushel_kg`.
    pub fn of(quantity: Option<Quantity>, bushel_kg: f64) -> ShownUnits {
        let (farm, si, decimals) = match quantity {
            Some(Quantity::Yield) => ("bu/ac", "kg/ha", 1),
            Some(Quantity::MassFlow) => ("lb/s", "kg/s", 1),
            Some(Quantity::Speed) => ("mph", "m/s", 1),
            Some(Quantity::Length) => ("ft", "m", 1),
            Some(Quantity::Percent) => ("%", "%", 1),
            Some(Quantity::Duration) => ("s", "s", 1),
            Some(Quantity::CountPerArea) => ("seeds/ac", "seeds/ha", 0),
            Some(Quantity::MassPerArea) => ("lb/ac", "kg/ha", 1),
            Some(Quantity::VolumePerArea) => ("gal/ac", "L/ha", 1),
            Some(Quantity::Force) => ("lbf", "N", 0),
            Some(Quantity::Pressure) => ("inH2O", "kPa", 1),
            Some(Quantity::Angle) => ("°", "°", 0),
            _ => ("", "", 1),
        };
        let factor = |unit: &str| {
            let unit = quantity.and_then(|quantity| to_si(quantity, unit, bushel_kg));
            unit.map_or(1.0, |in_si| 1.0 / in_si)
        };
        ShownUnits {
            farm: (farm, factor(farm)),
            si: (si, factor(si)),
            decimals,
        }
    }
}

/// Columns of a harvest log that a map is worth drawing of, and what they are called.
const OF_THE_LOG: &[(Column, &str)] = &[
    (Column::Moisture, "Moisture as logged"),
    (Column::Speed, "Speed"),
    (Column::MassFlow, "Grain flow as logged"),
    (Column::Elevation, "Elevation"),
    (Column::Width, "Width in use"),
    (Column::Distance, "Distance of a record"),
    (Column::Yield, "Yield as logged"),
];

/// Yield of the ground after cleaning.
pub(super) const YIELD: &str = "yield";
/// Yield as the log says it untouched.
pub(super) const YIELD_BEFORE: &str = "yield_before";
/// Moisture of the grain that grew on the ground.
pub(super) const MOISTURE: &str = "moisture";
/// What became of the record.
pub(super) const STATUS: &str = "status";
/// Moisture as the log has it.
const MOISTURE_BEFORE: &str = "log.moisture";
/// What stands before the key of a column of the log.
pub(super) const LOGGED: &str = "log.";

impl LiveField {
    /// Everything that the records can be coloured by.
    pub fn quantities(&self) -> Vec<ShownQuantity> {
        let bushel_kg = self.setup.log.crop.bushel_kg;
        let log = &self.first.outcome.log;
        let of_ground: Vec<f64> = (0..log.len())
            .filter(|&record| log.status[record].is_kept())
            .map(|record| log.yield_kg_ha[record])
            .collect();
        let mut found = Vec::new();
        for (key, title, quantity, values) in [
            (YIELD, "Yield", Quantity::Yield, &of_ground),
            (
                YIELD_BEFORE,
                "Yield before cleaning",
                Quantity::Yield,
                &log.raw_yield_kg_ha,
            ),
            (MOISTURE, "Moisture", Quantity::Percent, &log.moisture_pct),
        ] {
            found.push(shown(key.to_owned(), title, quantity, values, bushel_kg));
        }
        for (column, title) in OF_THE_LOG {
            if let Some(values) = log.log.numbers(*column) {
                let key = format!("{LOGGED}{}", column.key());
                found.push(shown(key, title, column.quantity(), values, bushel_kg));
            }
        }
        found.extend(self.applied_quantities());
        found.push(ShownQuantity {
            key: STATUS.to_owned(),
            title: "Kept or removed".to_owned(),
            before: None,
            kind: QuantityKind::Status,
            unit_farm: "",
            factor_farm: 1.0,
            unit_si: "",
            factor_si: 1.0,
            decimals: 0,
            low: None,
            high: None,
        });
        found
    }
}

/// A quantity of `values`, SI, as it is shown.
pub(super) fn shown(
    key: String,
    title: &str,
    quantity: Quantity,
    values: &[f64],
    bushel_kg: f64,
) -> ShownQuantity {
    let ShownUnits { farm, si, decimals } = ShownUnits::of(Some(quantity), bushel_kg);
    let range = percentiles(values);
    ShownQuantity {
        title: title.to_owned(),
        before: match key.as_str() {
            YIELD => Some(YIELD_BEFORE),
            MOISTURE => Some(MOISTURE_BEFORE),
            _ => None,
        },
        key,
        kind: QuantityKind::Number,
        unit_farm: farm.0,
        factor_farm: farm.1,
        unit_si: si.0,
        factor_si: si.1,
        decimals,
        low: range.map(|range| range[0]),
        high: range.map(|range| range[1]),
    }
}

/// The 2nd and 98th percentile of the finite values.
fn percentiles(values: &[f64]) -> Option<[f64; 2]> {
    let mut finite: Vec<f64> = values.iter().copied().filter(|v| v.is_finite()).collect();
    let last = finite.len().checked_sub(1)?;
    let mut at = |share: f64| {
        let place = (share * last as f64).round() as usize;
        *finite.select_nth_unstable_by(place, f64::total_cmp).1
    };
    Some([at(0.02), at(0.98)])
}
