//! Yields and shares of a yield: what a grower gives for a gain or a spread, and how one is recorded.

use checkstrip_model::units::{bu_per_acre, spellings, to_si};
use checkstrip_model::{Crop, Quantity};
use serde::Serialize;

/// A difference in yield, or a spread.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum YieldAmount {
    /// kg/ha.
    KgHa(f64),
    /// Percent of the yield.
    Percent(f64),
}

impl YieldAmount {
    /// An amount such as `"0.5 bu/ac"`, `"120 kg/ha"` or `"5 %"`; more than 0.
    ///
    /// # Errors
    /// A sentence saying what was expected and what was found.
    ///
    /// ```
    /// use checkstrip_job::YieldAmount;
    /// let soybean = checkstrip_model::Crop::known("soybean").unwrap();
    /// assert_eq!(YieldAmount::parse("5 %", &soybean), Ok(YieldAmount::Percent(5.0)));
    /// assert_eq!(YieldAmount::parse("90 kg/ha", &soybean), Ok(YieldAmount::KgHa(90.0)));
    /// assert!(YieldAmount::parse("3", &soybean).is_err());
    /// ```
    pub fn parse(text: &str, crop: &Crop) -> Result<YieldAmount, String> {
        let text = text.trim();
        let split = text
            .find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | '-' | '+')))
            .unwrap_or(text.len());
        let (number, unit) = (&text[..split], text[split..].trim());
        let value: f64 = number.parse().map_err(|_| {
            format!("expected an amount such as \"0.5 bu/ac\" or \"5 %\", found {text:?}")
        })?;
        if !value.is_finite() || value <= 0.0 {
            return Err(format!("{text:?} is not more than 0"));
        }
        if matches!(unit, "%" | "pct" | "percent") {
            return Ok(YieldAmount::Percent(value));
        }
        match to_si(Quantity::Yield, unit, crop.bushel_kg) {
            Some(factor) => Ok(YieldAmount::KgHa(value * factor)),
            None => Err(format!(
                "{text:?} has no unit that is known: use %, {}",
                spellings(Quantity::Yield).join(", ")
            )),
        }
    }
}

/// One amount in every unit that can be told.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Amounts {
    /// kg/ha.
    pub kg_ha: Option<f64>,
    /// bu/ac.
    pub bu_ac: Option<f64>,
    /// Percent of the expected yield.
    pub pct: Option<f64>,
}

impl Amounts {
    /// From kg/ha or percent, whichever is known; what is not a number is left out.
    pub(super) fn new(kg_ha: Option<f64>, pct: Option<f64>, bushel_kg: f64) -> Amounts {
        let known = |value: Option<f64>| value.filter(|v| v.is_finite());
        let kg_ha = known(kg_ha);
        Amounts {
            kg_ha,
            bu_ac: kg_ha.map(|kg_ha| bu_per_acre(kg_ha, bushel_kg)),
            pct: known(pct),
        }
    }
}
