//! Figures as maps show them: thousands separated by commas, a true minus sign, the crop's yield
//! in the reader's unit.

pub(super) use checkstrip_drawing::{count, number};
use checkstrip_model::{
    results::Field,
    units::{M2_PER_ACRE, M2_PER_HA, UnitSystem, bu_per_acre},
};

/// A share of a whole in percent; small shares that are not nothing say so.
pub(super) fn percent(share: f64) -> String {
    if share > 0.0 && share < 0.01 {
        "< 1 %".to_owned()
    } else {
        format!("{} %", number(share * 100.0, 0))
    }
}

/// An area of ground with its unit.
pub(super) fn ground(square_metres: f64, units: UnitSystem) -> String {
    let (unit, size) = match units {
        UnitSystem::Farm => ("ac", M2_PER_ACRE),
        UnitSystem::Si => ("ha", M2_PER_HA),
    };
    format!("{} {unit}", number(square_metres / size, 1))
}

/// The unit yields are shown in.
pub(super) fn yield_unit(units: UnitSystem) -> &'static str {
    match units {
        UnitSystem::Farm => "bu/ac",
        UnitSystem::Si => "kg/ha",
    }
}

/// A yield in kg/ha in the unit of [`yield_unit`].
pub(super) fn shown_yield(kg_per_ha: f64, field: &Field, units: UnitSystem) -> f64 {
    match units {
        UnitSystem::Farm => bu_per_acre(kg_per_ha, field.bushel_kg),
        UnitSystem::Si => kg_per_ha,
    }
}

/// A strip's yield: to 0.1 bu/ac or 10 kg/ha, finer than which no strip is known.
pub(super) fn strip_yield(kg_per_ha: f64, field: &Field, units: UnitSystem) -> String {
    let shown = shown_yield(kg_per_ha, field, units);
    match units {
        UnitSystem::Farm => number(shown, 1),
        UnitSystem::Si => number((shown / 10.0).round() * 10.0, 0),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn small_shares_are_not_nothing() {
        assert_eq!(percent(0.0), "0 %");
        assert_eq!(percent(0.002), "< 1 %");
        assert_eq!(percent(0.126), "13 %");
    }
}
