//! Every figure of the report is put into words here: units, decimals, the marks and words of the reader's
//! language. Conversions between units are the only arithmetic.

use checkstrip_model::{
    results::Field,
    units::{HA_PER_ACRE, M2_PER_ACRE, M2_PER_HA, UnitSystem, bu_per_acre},
};
pub(crate) use checkstrip_words::UNKNOWN;
use checkstrip_words::{Reader, Words, say};

/// The least p value that is told as it is.
const LEAST_P: f64 = 0.001;

/// Figures in the reader's units and language for one field.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Figures<'a> {
    pub(crate) field: &'a Field,
    pub(crate) units: UnitSystem,
    pub(crate) words: &'a Words,
}

impl<'a> Figures<'a> {
    /// Figures of `field` for `reader`.
    pub(crate) fn new(field: &'a Field, reader: Reader<'a>) -> Figures<'a> {
        Figures {
            field,
            units: reader.units,
            words: reader.words,
        }
    }

    /// A number with `decimals` decimals.
    pub(crate) fn number(self, value: f64, decimals: usize) -> String {
        self.words.number(value, decimals)
    }

    /// A count of things.
    pub(crate) fn count(self, things: usize) -> String {
        self.words.count(things)
    }

    /// `1 block`, `6 blocks`: `id` names the text for counts of such things.
    pub(crate) fn counted(self, id: &str, things: usize) -> String {
        self.words.counted(id, things)
    }

    /// A share of a whole in percent; a small share that is not nothing says so.
    pub(crate) fn percent(self, share: f64) -> String {
        if share > 0.0 && share < 0.0005 {
            return say!(self.words, "percent-small", share = self.number(0.1, 1));
        }
        let decimals = if share.abs() < 0.1 { 1 } else { 0 };
        self.percentage(share * 100.0, decimals)
    }

    /// A figure that is in percent already.
    pub(crate) fn percentage(self, percent: f64, decimals: usize) -> String {
        let shown = self.number(percent, decimals);
        say!(self.words, "percent", share = shown)
    }

    /// A p value.
    pub(crate) fn p_value(self, p: f64) -> String {
        match p {
            p if p < LEAST_P => say!(self.words, "p-small", p = self.number(LEAST_P, 3)),
            p if p < 0.01 => self.number(p, 3),
            p => self.number(p, 2),
        }
    }

    /// A p value within a sentence.
    pub(crate) fn p_words(self, p: f64) -> String {
        if p < LEAST_P {
            say!(self.words, "p-below", p = self.number(LEAST_P, 3))
        } else {
            say!(self.words, "p-equals", p = self.p_value(p))
        }
    }

    /// The odds of something with probability `p`, as a person would say them.
    pub(crate) fn odds(self, p: f64) -> Option<String> {
        if !p.is_finite() {
            return None;
        }
        let words = self.words;
        Some(match p {
            p if p > 0.99 => say!(words, "odds-99-in-100"),
            p if p > 0.95 => say!(words, "odds-19-in-20"),
            p if p < 0.01 => say!(words, "odds-1-in-100"),
            p if p < 0.05 => say!(words, "odds-1-in-20"),
            p => say!(
                words,
                "odds-in-10",
                times = self.number((p * 10.0).clamp(1.0, 9.0), 0)
            ),
        })
    }

    /// Two figures that are the ends of a range.
    pub(crate) fn range(self, low: &str, high: &str) -> String {
        say!(self.words, "range", low = low, high = high)
    }

    /// An interval whose ends `shown` writes; [`UNKNOWN`] when one of them is not known.
    pub(crate) fn interval(self, [low, high]: [f64; 2], shown: impl Fn(f64) -> String) -> String {
        if low.is_finite() && high.is_finite() {
            self.range(&shown(low), &shown(high))
        } else {
            UNKNOWN.to_owned()
        }
    }

    /// An interval of yields or of their differences, without its unit.
    pub(crate) fn yield_interval(self, ends: [f64; 2]) -> String {
        self.interval(ends, |kg_ha| self.yields(kg_ha))
    }

    /// What is compared with what.
    pub(crate) fn difference_name(self, treatment: &str, check: &str) -> String {
        say!(
            self.words,
            "difference-name",
            treatment = treatment,
            check = check
        )
    }

    /// The crop's name.
    pub(crate) fn crop(self) -> String {
        self.words.crop(&self.field.crop)
    }

    /// An amount of money.
    pub(crate) fn money(self, amount: f64) -> String {
        self.money_to(amount, 2)
    }

    /// An amount of money with `decimals` decimals.
    pub(crate) fn money_to(self, amount: f64, decimals: usize) -> String {
        let text = self.number(amount, decimals);
        match text.strip_prefix('−') {
            Some(rest) => say!(self.words, "money-negative", amount = rest),
            None if text == UNKNOWN => text,
            None => say!(self.words, "money", amount = text),
        }
    }

    /// The unit of yields and of their differences.
    pub(crate) fn yield_unit(self) -> &'static str {
        self.units.yields()
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
        self.number(self.shown_yield(kg_per_ha), decimals)
    }

    /// A difference of yields without its unit, a gain with its plus sign.
    pub(crate) fn gain(self, kg_per_ha: f64) -> String {
        let plus = if kg_per_ha > 0.0 { "+" } else { "" };
        format!("{plus}{}", self.yields(kg_per_ha))
    }

    /// The unit of stands.
    pub(crate) fn stand_unit(self) -> String {
        match self.units {
            UnitSystem::Farm => say!(self.words, "unit-plants-acre"),
            UnitSystem::Si => say!(self.words, "unit-plants-hectare"),
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
        self.number((self.shown_stand(plants_per_ha) / 10.0).round() * 10.0, 0)
    }

    /// The yield gain that pays, with unit; given in bu/ac.
    pub(crate) fn break_even(self, bu_per_ac: f64) -> String {
        match self.units {
            UnitSystem::Farm => format!("{} bu/ac", self.number(bu_per_ac, 2)),
            UnitSystem::Si => format!("{} kg/ha", self.number(self.kg_per_ha(bu_per_ac), 0)),
        }
    }

    /// Yield in kg/ha from bu/ac.
    pub(crate) fn kg_per_ha(self, bu_per_ac: f64) -> f64 {
        checkstrip_model::units::kg_per_ha(bu_per_ac, self.field.bushel_kg)
    }

    /// The crop's price with unit; given per bushel.
    pub(crate) fn price(self, per_bu: f64) -> String {
        match self.units {
            UnitSystem::Farm => {
                say!(self.words, "price-per-bushel", money = self.money(per_bu))
            }
            UnitSystem::Si => {
                let per_tonne = self.money(per_bu / self.field.bushel_kg * 1000.0);
                say!(self.words, "price-per-tonne", money = per_tonne)
            }
        }
    }

    /// Money per area without its unit; given per acre.
    pub(crate) fn money_per_area(self, per_ac: f64) -> String {
        match self.units {
            UnitSystem::Farm => self.money(per_ac),
            UnitSystem::Si => self.money(per_ac / HA_PER_ACRE),
        }
    }

    /// Money per area with the words for it: `$4.00 an acre`.
    pub(crate) fn money_an_area(self, per_ac: f64) -> String {
        let money = self.money_per_area(per_ac);
        match self.units {
            UnitSystem::Farm => say!(self.words, "money-per-acre", money = money),
            UnitSystem::Si => say!(self.words, "money-per-hectare", money = money),
        }
    }

    /// The unit of areas.
    pub(crate) fn area_unit(self) -> &'static str {
        self.units.areas()
    }

    /// An area in m² without its unit.
    pub(crate) fn area(self, square_metres: f64) -> String {
        let shown = match self.units {
            UnitSystem::Farm => square_metres / M2_PER_ACRE,
            UnitSystem::Si => square_metres / M2_PER_HA,
        };
        self.number(shown, if shown < 10.0 { 2 } else { 1 })
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
                self.number(bushels, if bushels < 100.0 { 1 } else { 0 })
            }
            UnitSystem::Si => self.number(kg, 0),
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
        let shown = |height: f64| self.number(height / metres, decimals);
        say!(
            self.words,
            "range-with-unit",
            low = shown(low_m),
            high = shown(high_m),
            unit = unit
        )
    }

    /// A length in m with unit.
    pub(crate) fn length(self, metres: f64) -> String {
        format!(
            "{} {}",
            self.number(self.shown_length(metres), 1),
            self.length_unit()
        )
    }

    /// A length in m with unit, to the whole foot or metre.
    pub(crate) fn whole_length(self, metres: f64) -> String {
        format!(
            "{} {}",
            self.number(self.shown_length(metres), 0),
            self.length_unit()
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use checkstrip_model::Crop;

    fn with_figures(check: impl Fn(Figures)) {
        let field = Field::new("Invented", &Crop::known("corn").unwrap());
        check(Figures::new(&field, UnitSystem::Farm.into()));
    }

    #[test]
    fn signs_and_separators() {
        with_figures(|figures| {
            assert_eq!(figures.number(-1_234.5, 1), "−1,234.5");
            assert_eq!(figures.number(-0.04, 1), "0.0");
            assert_eq!(figures.number(f64::NAN, 1), UNKNOWN);
            assert_eq!(figures.money(-5.2), "−$5.20");
            assert_eq!(figures.money(1234.0), "$1,234.00");
            assert_eq!(figures.money(f64::INFINITY), UNKNOWN);
        });
    }

    #[test]
    fn p_values_and_odds() {
        with_figures(|figures| {
            assert_eq!(figures.p_value(0.0004), "< 0.001");
            assert_eq!(figures.p_value(0.0042), "0.004");
            assert_eq!(figures.p_value(0.031), "0.03");
            assert_eq!(figures.p_value(0.5), "0.50");
            assert_eq!(figures.p_value(f64::NAN), UNKNOWN);
            assert_eq!(figures.odds(0.81).unwrap(), "about 8 in 10");
            assert_eq!(figures.odds(0.951).unwrap(), "better than 19 in 20");
            assert_eq!(figures.odds(0.03).unwrap(), "less than 1 in 20");
            assert_eq!(figures.odds(0.06).unwrap(), "about 1 in 10");
            assert_eq!(figures.odds(f64::NAN), None);
        });
    }

    #[test]
    fn shares() {
        with_figures(|figures| {
            assert_eq!(figures.percent(0.0), "0.0 %");
            assert_eq!(figures.percent(0.0001), "< 0.1 %");
            assert_eq!(figures.percent(0.054), "5.4 %");
            assert_eq!(figures.percent(0.94), "94 %");
        });
    }
}
