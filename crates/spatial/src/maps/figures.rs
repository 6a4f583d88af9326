//! Figures as maps show them: with the marks of the reader's language, the crop's yield in the reader's unit.

use checkstrip_model::{
    results::Field,
    units::{M_PER_FOOT, M2_PER_ACRE, M2_PER_HA, UnitSystem, bu_per_acre},
};
use checkstrip_words::{Reader, Words, say};

/// A share of a whole in percent; small shares that are not nothing say so.
pub(super) fn percent(share: f64, words: &Words) -> String {
    if share > 0.0 && share < 0.01 {
        say!(words, "percent-small", share = words.number(1.0, 0))
    } else {
        say!(words, "percent", share = words.number(share * 100.0, 0))
    }
}

/// An area of ground with its unit.
pub(super) fn ground(square_metres: f64, reader: Reader) -> String {
    let (unit, size) = match reader.units {
        UnitSystem::Farm => ("ac", M2_PER_ACRE),
        UnitSystem::Si => ("ha", M2_PER_HA),
    };
    format!("{} {unit}", reader.words.number(square_metres / size, 1))
}

/// A length to the whole foot or metre, with its unit.
pub(super) fn whole_length(metres: f64, reader: Reader) -> String {
    let (unit, length) = match reader.units {
        UnitSystem::Farm => ("ft", (metres / M_PER_FOOT).round()),
        UnitSystem::Si => ("m", metres),
    };
    format!("{} {unit}", reader.words.number(length, 0))
}

/// The unit yields are shown in.
pub(super) fn yield_unit(units: UnitSystem) -> &'static str {
    units.yields()
}

/// A yield in kg/ha in the unit of [`yield_unit`].
pub(super) fn shown_yield(kg_per_ha: f64, field: &Field, units: UnitSystem) -> f64 {
    match units {
        UnitSystem::Farm => bu_per_acre(kg_per_ha, field.bushel_kg),
        UnitSystem::Si => kg_per_ha,
    }
}

/// A strip's yield: to 0.1 bu/ac or 10 kg/ha, finer than which no strip is known.
pub(super) fn strip_yield(kg_per_ha: f64, field: &Field, reader: Reader) -> String {
    let shown = shown_yield(kg_per_ha, field, reader.units);
    match reader.units {
        UnitSystem::Farm => reader.words.number(shown, 1),
        UnitSystem::Si => reader.words.number((shown / 10.0).round() * 10.0, 0),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn small_shares_are_not_nothing() {
        let english = Words::english();
        assert_eq!(percent(0.0, english), "0 %");
        assert_eq!(percent(0.002, english), "< 1 %");
        assert_eq!(percent(0.126, english), "13 %");
    }
}
