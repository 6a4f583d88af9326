//! Figures of a planting log in the reader's units: names, units, decimals.

use crate::figures::UNKNOWN;
use checkstrip_model::units::{
    HA_PER_ACRE, M_PER_FOOT, M_PER_INCH, M_PER_MILE, M2_PER_ACRE, M2_PER_HA, N_PER_LBF,
    PA_PER_INCH_OF_WATER, UnitSystem,
};
use checkstrip_planting::{Figure, Measure};
use checkstrip_words::Words;

/// A number with `decimals` decimals. What is said of plantings is in English in every language
/// (`docs/languages.md`).
pub(super) fn number(value: f64, decimals: usize) -> String {
    Words::english().number(value, decimals)
}

/// A count of things.
pub(super) fn count(things: usize) -> String {
    Words::english().count(things)
}

/// `1 row`, `6 rows`.
pub(super) fn counted(things: usize, one: &str, many: &str) -> String {
    format!("{} {}", count(things), if things == 1 { one } else { many })
}

/// How a measure, or any figure in SI units, is shown.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shown {
    /// Its unit; empty for a plain number.
    pub unit: &'static str,
    /// What one SI unit is in it.
    pub factor: f64,
    /// Decimals it is told to.
    pub decimals: usize,
}

impl Shown {
    /// How a measure is shown.
    pub fn of(measure: Measure, units: UnitSystem) -> Shown {
        Shown::of_unit(measure.unit(), units).unwrap_or(Shown {
            unit: "",
            factor: 1.0,
            decimals: 2,
        })
    }

    /// How a speed in m/s is shown.
    pub fn speed(units: UnitSystem) -> Shown {
        match units {
            UnitSystem::Farm => shown("mph", 3600.0 / M_PER_MILE, 1),
            UnitSystem::Si => shown("m/s", 1.0, 2),
        }
    }

    /// How figures in the SI unit `si` are shown; `None` for a unit that no figure of planting has.
    fn of_unit(si: &str, units: UnitSystem) -> Option<Shown> {
        let farm = units == UnitSystem::Farm;
        Some(match si {
            "%" => shown("%", 1.0, 1),
            "points" => shown("points", 1.0, 1),
            "1/ha" if farm => shown("seeds/ac", HA_PER_ACRE, 0),
            "1/ha" => shown("seeds/ha", 1.0, 0),
            "N" if farm => shown("lb", 1.0 / N_PER_LBF, 0),
            "N" => shown("N", 1.0, 0),
            "Pa" if farm => shown("inH2O", 1.0 / PA_PER_INCH_OF_WATER, 1),
            "Pa" => shown("kPa", 0.001, 2),
            "m" if farm => shown("ft", 1.0 / M_PER_FOOT, 1),
            "m" => shown("m", 1.0, 2),
            "m/s" => Shown::speed(units),
            _ => return None,
        })
    }

    /// A value in SI units, without its unit.
    pub(crate) fn number(self, value: Option<f64>) -> String {
        value.map_or(UNKNOWN.to_owned(), |value| {
            number(value * self.factor, self.decimals)
        })
    }

    /// A value in SI units, with its unit.
    pub(crate) fn with_unit(self, value: f64) -> String {
        format!(
            "{} {}",
            number(value * self.factor, self.decimals),
            self.unit
        )
    }
}

fn shown(unit: &'static str, factor: f64, decimals: usize) -> Shown {
    Shown {
        unit,
        factor,
        decimals,
    }
}

/// A measure's name in the reader's words.
pub(crate) fn measure_name(measure: Measure) -> &'static str {
    match measure {
        Measure::Population => "population",
        Measure::TargetPopulation => "population asked for",
        Measure::Singulation => "singulation",
        Measure::Skips => "skips",
        Measure::Multiples => "multiples",
        Measure::SpacingVariation => "spacing variation",
        Measure::GroundContact => "ground contact",
        Measure::LostContact => "lost contact",
        Measure::TooMuchDownforce => "too much downforce",
        Measure::Downforce => "downforce",
        Measure::RideQuality => "ride",
        Measure::Vacuum => "vacuum",
    }
}

/// A figure behind a piece of advice.
pub(crate) fn figure(figure: &Figure, units: UnitSystem) -> String {
    let shown = Shown::of_unit(&figure.unit, units).map(|shown| Shown {
        // Small lengths, as errors of a period are, would round to nothing.
        decimals: match (figure.value * shown.factor).abs() {
            small if small < 1.0 && figure.unit == "m" => 2,
            _ => shown.decimals,
        },
        ..shown
    });
    let value = match (shown, figure.unit.as_str()) {
        (Some(shown), _) => shown.with_unit(figure.value),
        (None, "1") => plain(figure.value),
        (None, unit) => format!("{} {unit}", plain(figure.value)),
    };
    format!("{} {value}", figure.what)
}

/// A number without a unit, small ones (probabilities) as such.
fn plain(value: f64) -> String {
    match value {
        v if v > 0.0 && v < 1e-6 => "under 0.000001".to_owned(),
        v if v.abs() < 0.01 => number(v, 6),
        v if v.abs() < 10.0 => number(v, 2),
        v => number(v, 1),
    }
}

/// The chance of a false alarm.
pub(crate) fn probability(p: f64) -> String {
    match p {
        p if p < 1e-6 => "less than 1 in a million".to_owned(),
        p => format!("about 1 in {}", number(1.0 / p, 0)),
    }
}

/// A length along the ground in m, to the whole foot or metre.
pub(crate) fn way(metres: f64, units: UnitSystem) -> String {
    match units {
        UnitSystem::Farm => format!("{} ft", number(metres / M_PER_FOOT, 0)),
        UnitSystem::Si => format!("{} m", number(metres, 0)),
    }
}

/// A period or a way of one turn in m.
pub(crate) fn turn(metres: f64, units: UnitSystem) -> String {
    match units {
        UnitSystem::Farm => Shown::of_unit("m", units),
        UnitSystem::Si => Some(shown("m", 1.0, 2)),
    }
    .map_or(UNKNOWN.to_owned(), |shown| shown.with_unit(metres))
}

/// A distance between rows in m.
pub fn row_spacing(metres: f64, units: UnitSystem) -> String {
    match units {
        UnitSystem::Farm => format!("{} in", number(metres / M_PER_INCH, 1)),
        UnitSystem::Si => format!("{} m", number(metres, 3)),
    }
}

/// Ground in ha.
pub(crate) fn ground(hectares: f64, units: UnitSystem) -> String {
    match units {
        UnitSystem::Farm => format!("{} ac", number(hectares * M2_PER_HA / M2_PER_ACRE, 1)),
        UnitSystem::Si => format!("{} ha", number(hectares, 1)),
    }
}
