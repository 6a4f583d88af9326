//! Ground in the units of the reader.

use checkstrip_model::units::{HA_PER_ACRE, UnitSystem};

/// An area given in hectares.
pub(crate) fn area(hectares: f64, units: UnitSystem) -> String {
    match units {
        UnitSystem::Farm => format!("{:.2} ac", hectares / HA_PER_ACRE),
        UnitSystem::Si => format!("{hectares:.2} ha"),
    }
}
