//! Units at the edges: farm units are turned into SI when they come in and back when they go out.
//! Everything between is SI (metres, seconds, kilograms) or the trade's metric form (kg/ha).
//!
//! # Sources
//! The pound (0.45359237 kg), inch (25.4 mm), foot (0.3048 m), mile (1609.344 m), acre
//! (4046.8564224 m², international) and gallon (231 in³) are exact by definition: NIST Special
//! Publication 811 (2008), *Guide for the Use of the International System of Units*, appendix B.

use crate::Quantity;
use crate::spelling::plain;

/// Kilograms in one pound (exact).
pub const KG_PER_LB: f64 = 0.453_592_37;
/// Metres in one inch (exact).
pub const M_PER_INCH: f64 = 0.0254;
/// Metres in one international foot (exact).
pub const M_PER_FOOT: f64 = 0.3048;
/// Metres in one international mile (exact).
pub const M_PER_MILE: f64 = 1_609.344;
/// Litres in one gallon of the United States, 231 cubic inches (exact).
pub const L_PER_GALLON: f64 = 3.785_411_784;
/// Newtons in one pound-force (exact): a pound under standard gravity, 9.80665 m/s².
pub const N_PER_LBF: f64 = KG_PER_LB * 9.806_65;
/// Pascals in one conventional inch of water (NIST Special Publication 811, appendix B.8).
pub const PA_PER_INCH_OF_WATER: f64 = 249.088_9;
/// Square metres in one international acre (exact).
pub const M2_PER_ACRE: f64 = 4_046.856_422_4;
/// Square metres in one hectare (exact).
pub const M2_PER_HA: f64 = 10_000.0;
/// Hectares in one acre (exact).
pub const HA_PER_ACRE: f64 = M2_PER_ACRE / M2_PER_HA;

/// Yield in bushels per acre from kilograms per hectare, for a crop whose bushel weighs
/// `bushel_kg`.
///
/// ```
/// // 60 lb bushels (soybean, wheat): 1 bu/ac is 67.25 kg/ha.
/// let bushel_kg = 60.0 * checkstrip_model::units::KG_PER_LB;
/// assert!((checkstrip_model::units::bu_per_acre(67.25, bushel_kg) - 1.0).abs() < 1e-4);
/// ```
pub fn bu_per_acre(kg_per_ha: f64, bushel_kg: f64) -> f64 {
    kg_per_ha * HA_PER_ACRE / bushel_kg
}

/// Yield in kilograms per hectare from bushels per acre: the inverse of [`bu_per_acre`].
pub fn kg_per_ha(bu_per_acre: f64, bushel_kg: f64) -> f64 {
    bu_per_acre * bushel_kg / HA_PER_ACRE
}

/// How farm and SI figures are shown to a person. Files always carry SI.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum UnitSystem {
    /// Bushels per acre, acres, feet, miles per hour.
    #[default]
    Farm,
    /// Kilograms per hectare, hectares, metres, metres per second.
    Si,
}

impl UnitSystem {
    /// The unit of yields.
    pub fn yields(self) -> &'static str {
        match self {
            UnitSystem::Farm => "bu/ac",
            UnitSystem::Si => "kg/ha",
        }
    }

    /// The unit of areas.
    pub fn areas(self) -> &'static str {
        match self {
            UnitSystem::Farm => "ac",
            UnitSystem::Si => "ha",
        }
    }
}

/// The paper that reports are printed on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Paper {
    /// 8.5 by 11 inches (ANSI/ASME Y14.1).
    #[default]
    Letter,
    /// 210 by 297 mm (ISO 216).
    A4,
}

impl Paper {
    /// The paper of those who reckon in these units.
    pub fn usual(units: UnitSystem) -> Paper {
        match units {
            UnitSystem::Farm => Paper::Letter,
            UnitSystem::Si => Paper::A4,
        }
    }
}

/// One spelling table for the units of every quantity: the factor that turns a value in the unit
/// into SI. Spellings are compared without case and accents, with brackets removed and the separators a header uses
/// between the parts of a unit (space, underscore, dot, dash) read as "per".
const UNITS: &[(Quantity, &str, f64)] = &[
    (Quantity::Length, "m", 1.0),
    (Quantity::Length, "meter", 1.0),
    (Quantity::Length, "meters", 1.0),
    (Quantity::Length, "metre", 1.0),
    (Quantity::Length, "metres", 1.0),
    (Quantity::Length, "cm", 0.01),
    (Quantity::Length, "mm", 0.001),
    (Quantity::Length, "ft", M_PER_FOOT),
    (Quantity::Length, "foot", M_PER_FOOT),
    (Quantity::Length, "feet", M_PER_FOOT),
    (Quantity::Length, "in", M_PER_INCH),
    (Quantity::Length, "inch", M_PER_INCH),
    (Quantity::Length, "inches", M_PER_INCH),
    (Quantity::Length, "metros", 1.0),
    (Quantity::Length, "pieds", M_PER_FOOT),
    (Quantity::Length, "pies", M_PER_FOOT),
    (Quantity::Length, "pouces", M_PER_INCH),
    (Quantity::Length, "pulgadas", M_PER_INCH),
    (Quantity::Length, "polegadas", M_PER_INCH),
    (Quantity::Speed, "m/s", 1.0),
    (Quantity::Speed, "mps", 1.0),
    (Quantity::Speed, "km/h", 1.0 / 3.6),
    (Quantity::Speed, "kmh", 1.0 / 3.6),
    (Quantity::Speed, "kph", 1.0 / 3.6),
    (Quantity::Speed, "mph", M_PER_MILE / 3600.0),
    (Quantity::Speed, "mi/h", M_PER_MILE / 3600.0),
    (Quantity::Speed, "ft/s", M_PER_FOOT),
    (Quantity::Speed, "fps", M_PER_FOOT),
    (Quantity::Speed, "km/hr", 1.0 / 3.6),
    (Quantity::Speed, "km/std", 1.0 / 3.6),
    (Quantity::MassFlow, "kg/s", 1.0),
    (Quantity::MassFlow, "kg/h", 1.0 / 3600.0),
    (Quantity::MassFlow, "g/s", 0.001),
    (Quantity::MassFlow, "lb/s", KG_PER_LB),
    (Quantity::MassFlow, "lbs/s", KG_PER_LB),
    (Quantity::MassFlow, "lb/h", KG_PER_LB / 3600.0),
    (Quantity::MassFlow, "lbs/h", KG_PER_LB / 3600.0),
    (Quantity::MassFlow, "t/h", 1000.0 / 3600.0),
    (Quantity::MassFlow, "t/hr", 1000.0 / 3600.0),
    (Quantity::MassFlow, "t/std", 1000.0 / 3600.0),
    (Quantity::Mass, "kg", 1.0),
    (Quantity::Mass, "g", 0.001),
    (Quantity::Mass, "t", 1000.0),
    (Quantity::Mass, "tonne", 1000.0),
    (Quantity::Mass, "tonnes", 1000.0),
    (Quantity::Mass, "dt", 100.0),
    (Quantity::Mass, "lb", KG_PER_LB),
    (Quantity::Mass, "lbs", KG_PER_LB),
    (Quantity::Mass, "pounds", KG_PER_LB),
    (Quantity::Percent, "%", 1.0),
    (Quantity::Percent, "pct", 1.0),
    (Quantity::Percent, "percent", 1.0),
    (Quantity::Percent, "prozent", 1.0),
    (Quantity::Percent, "pourcent", 1.0),
    (Quantity::Percent, "porcentaje", 1.0),
    (Quantity::Percent, "por/ciento", 1.0),
    (Quantity::Percent, "por/cento", 1.0),
    (Quantity::Percent, "fraction", 100.0),
    (Quantity::Percent, "frac", 100.0),
    (Quantity::Duration, "s", 1.0),
    (Quantity::Duration, "sec", 1.0),
    (Quantity::Duration, "second", 1.0),
    (Quantity::Duration, "seconds", 1.0),
    (Quantity::Duration, "sek", 1.0),
    (Quantity::Duration, "sekunden", 1.0),
    (Quantity::Duration, "secondes", 1.0),
    (Quantity::Duration, "seg", 1.0),
    (Quantity::Duration, "segundos", 1.0),
    (Quantity::Duration, "ms", 0.001),
    (Quantity::Duration, "msec", 0.001),
    (Quantity::Duration, "min", 60.0),
    (Quantity::Time, "s", 1.0),
    (Quantity::Time, "sec", 1.0),
    (Quantity::Time, "seconds", 1.0),
    (Quantity::Time, "ms", 0.001),
    (Quantity::Time, "msec", 0.001),
    (Quantity::Angle, "deg", 1.0),
    (Quantity::Angle, "degree", 1.0),
    (Quantity::Angle, "degrees", 1.0),
    (Quantity::Angle, "°", 1.0),
    (Quantity::Angle, "degres", 1.0),
    (Quantity::Angle, "grados", 1.0),
    (Quantity::Angle, "graus", 1.0),
    (Quantity::Angle, "rad", 180.0 / std::f64::consts::PI),
    (Quantity::Yield, "kg/ha", 1.0),
    (Quantity::Yield, "t/ha", 1000.0),
    (Quantity::Yield, "lb/ac", KG_PER_LB / HA_PER_ACRE),
    (Quantity::Yield, "lbs/ac", KG_PER_LB / HA_PER_ACRE),
    // Decitonne and metric quintal: 100 kg.
    (Quantity::Yield, "dt/ha", 100.0),
    (Quantity::Yield, "q/ha", 100.0),
    (Quantity::Yield, "qx/ha", 100.0),
    (Quantity::Yield, "qq/ha", 100.0),
    (Quantity::CountPerArea, "seeds/ha", 1.0),
    (Quantity::CountPerArea, "plants/ha", 1.0),
    (Quantity::CountPerArea, "1/ha", 1.0),
    (Quantity::CountPerArea, "korner/ha", 1.0),
    (Quantity::CountPerArea, "graines/ha", 1.0),
    (Quantity::CountPerArea, "semillas/ha", 1.0),
    (Quantity::CountPerArea, "sementes/ha", 1.0),
    (Quantity::CountPerArea, "plantas/ha", 1.0),
    (Quantity::CountPerArea, "seeds/ac", 1.0 / HA_PER_ACRE),
    (Quantity::CountPerArea, "seeds/acre", 1.0 / HA_PER_ACRE),
    (Quantity::CountPerArea, "plants/ac", 1.0 / HA_PER_ACRE),
    (Quantity::CountPerArea, "plants/acre", 1.0 / HA_PER_ACRE),
    (Quantity::CountPerArea, "1/ac", 1.0 / HA_PER_ACRE),
    (Quantity::CountPerArea, "seeds/m2", M2_PER_HA),
    (Quantity::CountPerArea, "korner/m2", M2_PER_HA),
    (Quantity::CountPerArea, "graines/m2", M2_PER_HA),
    (Quantity::CountPerArea, "semillas/m2", M2_PER_HA),
    (Quantity::CountPerArea, "sementes/m2", M2_PER_HA),
    (Quantity::CountPerArea, "1/m2", M2_PER_HA),
    (Quantity::CountPerArea, "plants/m2", M2_PER_HA),
    (Quantity::MassPerArea, "kg/ha", 1.0),
    (Quantity::MassPerArea, "g/ha", 0.001),
    (Quantity::MassPerArea, "t/ha", 1000.0),
    (Quantity::MassPerArea, "dt/ha", 100.0),
    (Quantity::MassPerArea, "lb/ac", KG_PER_LB / HA_PER_ACRE),
    (Quantity::MassPerArea, "lbs/ac", KG_PER_LB / HA_PER_ACRE),
    (Quantity::MassPerArea, "lb/acre", KG_PER_LB / HA_PER_ACRE),
    (Quantity::VolumePerArea, "l/ha", 1.0),
    (Quantity::VolumePerArea, "lt/ha", 1.0),
    (Quantity::VolumePerArea, "m3/ha", 1000.0),
    (Quantity::VolumePerArea, "ml/ha", 0.001),
    (
        Quantity::VolumePerArea,
        "gal/ac",
        L_PER_GALLON / HA_PER_ACRE,
    ),
    (
        Quantity::VolumePerArea,
        "gal/acre",
        L_PER_GALLON / HA_PER_ACRE,
    ),
    (Quantity::VolumePerArea, "gpa", L_PER_GALLON / HA_PER_ACRE),
    (Quantity::Force, "n", 1.0),
    (Quantity::Force, "dan", 10.0),
    (Quantity::Force, "kn", 1000.0),
    // On a planter's display a force in pounds or kilograms is the weight of that mass.
    (Quantity::Force, "lb", N_PER_LBF),
    (Quantity::Force, "lbs", N_PER_LBF),
    (Quantity::Force, "lbf", N_PER_LBF),
    (Quantity::Force, "kg", 9.806_65),
    (Quantity::Force, "kgf", 9.806_65),
    (Quantity::Pressure, "pa", 1.0),
    (Quantity::Pressure, "hpa", 100.0),
    (Quantity::Pressure, "kpa", 1000.0),
    (Quantity::Pressure, "mbar", 100.0),
    (Quantity::Pressure, "bar", 100_000.0),
    (
        Quantity::Pressure,
        "psi",
        N_PER_LBF / (M_PER_INCH * M_PER_INCH),
    ),
    (Quantity::Pressure, "inh2o", PA_PER_INCH_OF_WATER),
    (Quantity::Pressure, "in/h2o", PA_PER_INCH_OF_WATER),
];

/// Units that count bushels: the factor in bushels, times the crop's bushel weight gives SI.
const BUSHEL_UNITS: &[(Quantity, &str, f64)] = &[
    (Quantity::MassFlow, "bu/h", 1.0 / 3600.0),
    (Quantity::MassFlow, "bu/hr", 1.0 / 3600.0),
    (Quantity::MassFlow, "bu/s", 1.0),
    (Quantity::Mass, "bu", 1.0),
    (Quantity::Mass, "bushel", 1.0),
    (Quantity::Mass, "bushels", 1.0),
    (Quantity::Yield, "bu/ac", 1.0 / HA_PER_ACRE),
    (Quantity::Yield, "bu/acre", 1.0 / HA_PER_ACRE),
];

fn fold(unit: &str) -> String {
    plain(
        unit.trim_matches(|c: char| c.is_whitespace() || matches!(c, '(' | ')' | '[' | ']' | '_')),
    )
    .replace([' ', '.', '_', '-'], "/")
}

/// The factor that turns a value of `quantity` given in `unit` into the unit of [`Quantity`], or `None` when the spelling is not one this quantity is measured in.
///
/// `bushel_kg` is the crop's bushel weight, used by units that count bushels.
///
/// ```
/// use checkstrip_model::{Quantity, units::to_si};
/// assert_eq!(to_si(Quantity::Length, "ft", 27.2), Some(0.3048));
/// assert_eq!(to_si(Quantity::Length, "lb/s", 27.2), None);
/// assert_eq!(to_si(Quantity::MassFlow, "bu/h", 36.0), Some(0.01));
/// assert_eq!(to_si(Quantity::MassFlow, "lb_s", 27.2), to_si(Quantity::MassFlow, "lb/s", 27.2));
/// ```
pub fn to_si(quantity: Quantity, unit: &str, bushel_kg: f64) -> Option<f64> {
    let unit = fold(unit);
    let find = |table: &[(Quantity, &str, f64)]| {
        table
            .iter()
            .find(|(q, name, _)| *q == quantity && *name == unit)
            .map(|row| row.2)
    };
    find(UNITS).or_else(|| find(BUSHEL_UNITS).map(|bushels| bushels * bushel_kg))
}

/// Every spelling [`to_si`] takes for a quantity, for messages that say what was expected.
pub fn spellings(quantity: Quantity) -> Vec<&'static str> {
    UNITS
        .iter()
        .chain(BUSHEL_UNITS)
        .filter(|(q, _, _)| *q == quantity)
        .map(|row| row.1)
        .collect()
}

/// A length such as `"30 ft"`, `"17 ft 5 in"` or `"9.144 m"` in metres; a bare number is refused.
///
/// # Errors
/// A sentence saying what was expected and what was found.
///
/// ```
/// use checkstrip_model::units::parse_length;
/// assert!((parse_length("30 ft").unwrap() - 9.144).abs() < 1e-12);
/// assert!((parse_length("17 ft 5 in").unwrap() - 5.3086).abs() < 1e-12);
/// assert!(parse_length("30").is_err());
/// ```
pub fn parse_length(text: &str) -> Result<f64, String> {
    // Feet and inches, as tapes are read.
    if let Some((feet, inches)) = text.split_once("ft")
        && inches
            .trim_start()
            .starts_with(|c: char| c.is_ascii_digit())
        && let (Ok(feet), Ok(inches)) = (parse_length(&format!("{feet}ft")), parse_length(inches))
    {
        return Ok(feet + inches);
    }
    parse(
        Quantity::Length,
        text,
        &Wording {
            kind: "length",
            examples: ["30 ft", "9.1 m"],
            usual: ["ft", "m"],
            units: "ft, in, m, cm or mm",
        },
    )
}

/// A speed such as `"10 mph"` or `"16 km/h"` in metres per second; a bare number is refused.
///
/// # Errors
/// A sentence saying what was expected and what was found.
///
/// ```
/// use checkstrip_model::units::parse_speed;
/// assert!((parse_speed("10 mph").unwrap() - 4.4704).abs() < 1e-12);
/// assert!(parse_speed("10").is_err());
/// ```
pub fn parse_speed(text: &str) -> Result<f64, String> {
    parse(
        Quantity::Speed,
        text,
        &Wording {
            kind: "speed",
            examples: ["10 mph", "16 km/h"],
            usual: ["mph", "km/h"],
            units: "mph, km/h or m/s",
        },
    )
}

/// A force such as `"250 lbf"` or `"1100 N"` in newtons; a bare number is refused.
///
/// # Errors
/// A sentence saying what was expected and what was found.
///
/// ```
/// use checkstrip_model::units::parse_force;
/// assert!((parse_force("250 lbf").unwrap() - 1112.055).abs() < 1e-3);
/// assert!(parse_force("250").is_err());
/// ```
pub fn parse_force(text: &str) -> Result<f64, String> {
    parse(
        Quantity::Force,
        text,
        &Wording {
            kind: "force",
            examples: ["250 lbf", "1100 N"],
            usual: ["lbf", "N"],
            units: "lbf, N or kN",
        },
    )
}

/// How a message names a quantity and what was expected of it.
struct Wording {
    kind: &'static str,
    examples: [&'static str; 2],
    usual: [&'static str; 2],
    units: &'static str,
}

/// A number with a unit of `quantity`, in SI.
fn parse(quantity: Quantity, text: &str, wording: &Wording) -> Result<f64, String> {
    let Wording {
        kind,
        examples: [example, other],
        usual: [usual, metric],
        units,
    } = wording;
    let text = text.trim();
    let split = text
        .find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | '-' | '+')))
        .unwrap_or(text.len());
    let (number, unit) = text.split_at(split);
    let value: f64 = number.parse().map_err(|_| {
        format!("expected a {kind} such as {example:?} or {other:?}, found {text:?}")
    })?;
    if unit.trim().is_empty() {
        return Err(format!(
            "the {kind} {text:?} has no unit: write \"{text} {usual}\" or \"{text} {metric}\""
        ));
    }
    let factor = to_si(quantity, unit, f64::NAN)
        .ok_or_else(|| format!("{:?} is not a unit of {kind}: use {units}", unit.trim()))?;
    Ok(value * factor)
}

/// A number with at most `decimals` decimals, none of them an idle zero, for names of rates and quantities.
///
/// ```
/// use checkstrip_model::units::shortest;
/// assert_eq!([shortest(12.5, 4), shortest(140.0, 4), shortest(80_000.0, 0)], ["12.5", "140", "80000"]);
/// ```
pub fn shortest(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    match text.contains('.') {
        true => text.trim_end_matches('0').trim_end_matches('.').to_owned(),
        false => text,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// NIST SP 811 (2008), appendix B.8, factors for units: pound per second is not tabulated, mile
    /// per hour to m/s is 4.4704 E-01, foot to metre 3.048 E-01, acre (international) from B.6.
    #[test]
    fn nist_sp811_factors() {
        assert!((to_si(Quantity::Speed, "mph", 1.0).unwrap() - 0.44704).abs() < 1e-12);
        assert_eq!(to_si(Quantity::Length, "Feet", 1.0), Some(0.3048));
        assert!((M2_PER_ACRE - 43_560.0 * M_PER_FOOT * M_PER_FOOT).abs() < 1e-6);
        // Pound-force 4.448222 N; pound-force per square inch 6.894757 kPa; inch of water,
        // conventional, 249.0889 Pa; gallon (U.S.) 3.785412 L.
        assert!((to_si(Quantity::Force, "lbf", 1.0).unwrap() - 4.448222).abs() < 5e-7);
        assert!((to_si(Quantity::Pressure, "psi", 1.0).unwrap() - 6_894.757).abs() < 5e-4);
        assert_eq!(to_si(Quantity::Pressure, "inH2O", 1.0), Some(249.0889));
        assert!((L_PER_GALLON - 3.785_412).abs() < 5e-7);
    }

    #[test]
    fn unit_spellings_fold_case_and_brackets() {
        assert_eq!(to_si(Quantity::MassFlow, " (LB/S) ", 1.0), Some(KG_PER_LB));
        assert_eq!(to_si(Quantity::Percent, "fraction", 1.0), Some(100.0));
        assert_eq!(to_si(Quantity::Speed, "furlong", 1.0), None);
    }

    #[test]
    fn lengths_need_a_unit() {
        assert!((parse_length("360in").unwrap() - 9.144).abs() < 1e-12);
        assert!(parse_length("wide").is_err());
        assert!(parse_length("30 parsec").unwrap_err().contains("parsec"));
    }
}
