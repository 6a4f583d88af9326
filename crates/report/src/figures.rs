//! Every figure of the report is put into words here: units, decimals, separators, the minus sign.
//! Conversions between units are the only arithmetic.

pub(crate) use checkstrip_drawing::{UNKNOWN, count, number};
use checkstrip_model::{
    results::Field,
    units::{HA_PER_ACRE, M2_PER_ACRE, M2_PER_HA, UnitSystem, bu_per_acre},
};

/// `1 block`, `6 blocks`.
pub(crate) fn counted(things: usize, one: &str, many: &str) -> String {
    format!("{} {}", count(things), if things == 1 { one } else { many })
}

/// A share of a whole in percent; a small share that is not nothing says so.
pub(crate) fn percent(share: f64) -> String {
    let decimals = if share.abs() < 0.1 { 1 } else { 0 };
    if share > 0.0 && share < 0.0005 {
        "< 0.1 %".to_owned()
    } else {
        format!("{} %", number(share * 100.0, decimals))
    }
}

/// A p value.
pub(crate) fn p_value(p: f64) -> String {
    match p {
        p if p < 0.001 => "< 0.001".to_owned(),
        p if p < 0.01 => number(p, 3),
        p => number(p, 2),
    }
}

/// The odds of something with probability `p`, as a person would say them.
pub(crate) fn odds(p: f64) -> Option<String> {
    if !p.is_finite() {
        return None;
    }
    Some(match p {
        p if p > 0.99 => "better than 99 in 100".to_owned(),
        p if p > 0.95 => "better than 19 in 20".to_owned(),
        p if p < 0.01 => "less than 1 in 100".to_owned(),
        p if p < 0.05 => "less than 1 in 20".to_owned(),
        p => format!("about {} in 10", number((p * 10.0).clamp(1.0, 9.0), 0)),
    })
}

/// Figures in the reader's units for one field.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Figures<'a> {
    pub(crate) field: &'a Field,
    pub(crate) units: UnitSystem,
}

impl Figures<'_> {
    /// The unit of yields and of their differences.
    pub(crate) fn yield_unit(self) -> &'static str {
        match self.units {
            UnitSystem::Farm => "bu/ac",
            UnitSystem::Si => "kg/ha",
        }
    }

    /// A yield or difference in kg/ha in [`yield_unit`](Self::yield_unit).
    pub(crate) fn shown_yield(self, kg_per_ha: f64) -> f64 {
        match self.units {
            UnitSystem::Farm => bu_per_acre(kg_per_ha, self.field.bushel_kg),
            UnitSystem::Si => kg_per_ha,
        }
    }

    /// A yield or difference without its unit, to 0.1 bu/ac or 1 kg/ha.
    pub(crate) fn yields(self, kg_per_ha: f64) -> String {
        let decimals = match self.units {
            UnitSystem::Farm => 1,
            UnitSystem::Si => 0,
        };
        number(self.shown_yield(kg_per_ha), decimals)
    }

    /// The unit of stands.
    pub(crate) fn stand_unit(self) -> &'static str {
        match self.units {
            UnitSystem::Farm => "plants/ac",
            UnitSystem::Si => "plants/ha",
        }
    }

    /// A stand or difference in plants/ha in [`stand_unit`](Self::stand_unit).
    pub(crate) fn shown_stand(self, plants_per_ha: f64) -> f64 {
        match self.units {
            UnitSystem::Farm => plants_per_ha * HA_PER_ACRE,
            UnitSystem::Si => plants_per_ha,
        }
    }

    /// A stand or difference without its unit, to 10 plants: no stand is known more finely.
    pub(crate) fn stands(self, plants_per_ha: f64) -> String {
        number((self.shown_stand(plants_per_ha) / 10.0).round() * 10.0, 0)
    }

    /// The yield gain that pays, with unit; given in bu/ac.
    pub(crate) fn break_even(self, bu_per_ac: f64) -> String {
        match self.units {
            UnitSystem::Farm => format!("{} bu/ac", number(bu_per_ac, 2)),
            UnitSystem::Si => format!("{} kg/ha", number(self.kg_per_ha(bu_per_ac), 0)),
        }
    }

    /// Yield in kg/ha from bu/ac.
    pub(crate) fn kg_per_ha(self, bu_per_ac: f64) -> f64 {
        checkstrip_model::units::kg_per_ha(bu_per_ac, self.field.bushel_kg)
    }

    /// The crop's price with unit; given per bushel.
    pub(crate) fn price(self, per_bu: f64) -> String {
        match self.units {
            UnitSystem::Farm => format!("{} a bushel", money(per_bu)),
            UnitSystem::Si => format!("{} a tonne", money(per_bu / self.field.bushel_kg * 1000.0)),
        }
    }

    /// Money per area without its unit; given per acre.
    pub(crate) fn money_per_area(self, per_ac: f64) -> String {
        match self.units {
            UnitSystem::Farm => money(per_ac),
            UnitSystem::Si => money(per_ac / HA_PER_ACRE),
        }
    }

    /// `acre` or `hectare`.
    pub(crate) fn area_word(self) -> &'static str {
        match self.units {
            UnitSystem::Farm => "acre",
            UnitSystem::Si => "hectare",
        }
    }

    /// The unit of areas.
    pub(crate) fn area_unit(self) -> &'static str {
        match self.units {
            UnitSystem::Farm => "ac",
            UnitSystem::Si => "ha",
        }
    }

    /// An area in m² without its unit.
    pub(crate) fn area(self, square_metres: f64) -> String {
        let shown = match self.units {
            UnitSystem::Farm => square_metres / M2_PER_ACRE,
            UnitSystem::Si => square_metres / M2_PER_HA,
        };
        number(shown, if shown < 10.0 { 2 } else { 1 })
    }

    /// The unit of grain.
    pub(crate) fn grain_unit(self) -> &'static str {
        match self.units {
            UnitSystem::Farm => "bu",
            UnitSystem::Si => "kg",
        }
    }

    /// Grain in kg without its unit.
    pub(crate) fn grain(self, kg: f64) -> String {
        match self.units {
            UnitSystem::Farm => {
                let bushels = kg / self.field.bushel_kg;
                number(bushels, if bushels < 100.0 { 1 } else { 0 })
            }
            UnitSystem::Si => number(kg, 0),
        }
    }

    /// The unit of lengths.
    pub(crate) fn length_unit(self) -> &'static str {
        match self.units {
            UnitSystem::Farm => "ft",
            UnitSystem::Si => "m",
        }
    }

    /// A length in m in [`length_unit`](Self::length_unit).
    pub(crate) fn shown_length(self, metres: f64) -> f64 {
        match self.units {
            UnitSystem::Farm => metres / checkstrip_model::units::M_PER_FOOT,
            UnitSystem::Si => metres,
        }
    }

    /// A span of heights in m with unit.
    pub(crate) fn height_range(self, low_m: f64, high_m: f64) -> String {
        let (unit, metres, decimals) = match self.units {
            UnitSystem::Farm => ("ft", checkstrip_model::units::M_PER_FOOT, 0),
            UnitSystem::Si => ("m", 1.0, 1),
        };
        let shown = |height: f64| number(height / metres, decimals);
        format!("{} to {} {unit}", shown(low_m), shown(high_m))
    }

    /// A length in m with unit.
    pub(crate) fn length(self, metres: f64) -> String {
        format!(
            "{} {}",
            number(self.shown_length(metres), 1),
            self.length_unit()
        )
    }

    /// A length in m with unit, to the whole foot or metre.
    pub(crate) fn whole_length(self, metres: f64) -> String {
        format!(
            "{} {}",
            number(self.shown_length(metres), 0),
            self.length_unit()
        )
    }
}

/// An amount of money.
pub(crate) fn money(amount: f64) -> String {
    let text = number(amount, 2);
    match text.strip_prefix('−') {
        Some(rest) => format!("−${rest}"),
        None if text == UNKNOWN => text,
        None => format!("${text}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn signs_and_separators() {
        assert_eq!(number(-1_234.5, 1), "−1,234.5");
        assert_eq!(number(-0.04, 1), "0.0");
        assert_eq!(number(f64::NAN, 1), UNKNOWN);
        assert_eq!(money(-5.2), "−$5.20");
        assert_eq!(money(1234.0), "$1,234.00");
        assert_eq!(money(f64::INFINITY), UNKNOWN);
    }

    #[test]
    fn p_values_and_odds() {
        assert_eq!(p_value(0.0004), "< 0.001");
        assert_eq!(p_value(0.0042), "0.004");
        assert_eq!(p_value(0.031), "0.03");
        assert_eq!(p_value(0.5), "0.50");
        assert_eq!(p_value(f64::NAN), UNKNOWN);
        assert_eq!(odds(0.81).unwrap(), "about 8 in 10");
        assert_eq!(odds(0.951).unwrap(), "better than 19 in 20");
        assert_eq!(odds(0.03).unwrap(), "less than 1 in 20");
        assert_eq!(odds(0.06).unwrap(), "about 1 in 10");
        assert_eq!(odds(f64::NAN), None);
    }

    #[test]
    fn shares() {
        assert_eq!(percent(0.0), "0.0 %");
        assert_eq!(percent(0.0001), "< 0.1 %");
        assert_eq!(percent(0.054), "5.4 %");
        assert_eq!(percent(0.94), "94 %");
    }
}
