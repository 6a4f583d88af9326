//! Crops: what a bushel weighs and at which moisture the market buys.
//!
//! # Sources
//! Bushel weights and market moistures are the customary ones of the United States grain trade, as
//! tabulated in Murphy, W. J. (1993), *Tables for Weights and Measurement: Crops*, University of
//! Missouri Extension publication G4020 (weights, from memory), and Hellevang, K. J. (1995), *Grain
//! Moisture Content Effects and Management*, North Dakota State University AE-905 (moistures, from
//! memory). Moisture windows outside which a reading is not believed are common practice, no source.

use crate::units::KG_PER_LB;

/// A crop as the market weighs it.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Crop {
    /// Name as written in the trial file.
    pub name: String,
    /// Weight of one bushel at market moisture, kg.
    pub bushel_kg: f64,
    /// Moisture the market buys at, percent, wet basis.
    pub market_moisture_pct: f64,
    /// Lowest moisture reading that is believed, percent.
    pub lowest_moisture_pct: f64,
    /// Highest moisture reading that is believed, percent.
    pub highest_moisture_pct: f64,
    /// Yields above this are not believed, kg/ha at market moisture.
    pub highest_yield_kg_ha: f64,
}

/// name, pounds per bushel, market moisture %, believed moisture % from and to, highest kg/ha.
const CROPS: &[(&str, f64, f64, f64, f64, f64)] = &[
    ("soybean", 60.0, 13.0, 5.0, 30.0, 9_000.0),
    ("corn", 56.0, 15.5, 6.0, 42.0, 25_000.0),
    ("wheat", 60.0, 13.5, 5.0, 30.0, 15_000.0),
    ("barley", 48.0, 14.5, 5.0, 30.0, 15_000.0),
    ("oats", 32.0, 14.0, 5.0, 30.0, 12_000.0),
    ("rye", 56.0, 14.0, 5.0, 30.0, 13_000.0),
    ("sorghum", 56.0, 14.0, 5.0, 35.0, 16_000.0),
    ("canola", 50.0, 10.0, 3.0, 25.0, 8_000.0),
    ("sunflower", 25.0, 10.0, 3.0, 30.0, 7_000.0),
    ("dry bean", 60.0, 15.0, 5.0, 30.0, 7_000.0),
];

/// Other spellings of the crops above.
const SPELLINGS: &[(&str, &str)] = &[
    ("soybeans", "soybean"),
    ("beans", "soybean"),
    ("maize", "corn"),
    ("milo", "sorghum"),
    ("grain sorghum", "sorghum"),
    ("sunflowers", "sunflower"),
    ("dry beans", "dry bean"),
    ("oat", "oats"),
];

impl Crop {
    /// The crop known under `name` (case is ignored), or `None`.
    ///
    /// ```
    /// let soybean = checkstrip_model::Crop::known("Soybeans").unwrap();
    /// assert!((soybean.bushel_kg - 27.2155).abs() < 1e-4);
    /// assert_eq!(soybean.market_moisture_pct, 13.0);
    /// ```
    pub fn known(name: &str) -> Option<Crop> {
        let folded = name.trim().to_lowercase().replace(['_', '-'], " ");
        let folded = SPELLINGS
            .iter()
            .find(|(from, _)| *from == folded)
            .map_or(folded.as_str(), |row| row.1);
        let row = CROPS.iter().find(|row| row.0 == folded)?;
        Some(Crop {
            name: row.0.to_owned(),
            bushel_kg: row.1 * KG_PER_LB,
            market_moisture_pct: row.2,
            lowest_moisture_pct: row.3,
            highest_moisture_pct: row.4,
            highest_yield_kg_ha: row.5,
        })
    }

    /// A crop that the table above does not hold, weighed as its grower says.
    pub fn custom(name: &str, bushel_lb: f64, market_moisture_pct: f64) -> Crop {
        Crop {
            name: name.to_owned(),
            bushel_kg: bushel_lb * KG_PER_LB,
            market_moisture_pct,
            lowest_moisture_pct: 2.0,
            highest_moisture_pct: 45.0,
            highest_yield_kg_ha: 25_000.0,
        }
    }

    /// The names [`Crop::known`] takes, for messages.
    pub fn names() -> Vec<&'static str> {
        CROPS.iter().map(|row| row.0).collect()
    }

    /// Mass at market moisture of `wet_kg` grain at `moisture_pct`: the dry matter stays, the water
    /// is set to the market's share.
    ///
    /// ```
    /// // 100 kg at 20 % hold 80 kg of dry matter; at 15.5 % that is 80 / 0.845 kg.
    /// let corn = checkstrip_model::Crop::known("corn").unwrap();
    /// assert!((corn.at_market_moisture(100.0, 20.0) - 94.674556).abs() < 1e-6);
    /// ```
    pub fn at_market_moisture(&self, wet_kg: f64, moisture_pct: f64) -> f64 {
        wet_kg * (100.0 - moisture_pct) / (100.0 - self.market_moisture_pct)
    }
}
