//! What every setting of the cleaning is called, what it is measured in and within which bounds it makes
//! sense: the checks of [`Recipe`] and whoever lets a person change a recipe go by this one list.

use crate::recipe::{BiasSetting, DelaySetting, Recipe};
use checkstrip_model::Quantity;

/// How a setting is given.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SettingKind {
    /// A number.
    Number,
    /// Seconds, or found from the log itself when absent.
    SecondsOrAuto,
    /// A number, or the crop's own when absent.
    NumberOrCrop,
    /// `auto` or `off`: 1 or 0.
    AutoOrOff,
}

/// One setting.
#[derive(Debug)]
pub struct Setting {
    /// The key under `[cleaning]`.
    pub key: &'static str,
    /// What it is called on a page.
    pub title: &'static str,
    /// What it does, in a sentence.
    pub help: &'static str,
    /// How it is given.
    pub kind: SettingKind,
    /// What it measures, where it has a unit.
    pub quantity: Option<Quantity>,
    /// Its unit in words; SI where it has a quantity.
    pub unit: &'static str,
    /// Least value that makes sense.
    pub low: f64,
    /// Largest value that makes sense.
    pub high: f64,
    /// Its bounds, in words.
    pub(crate) expected: &'static str,
    value: fn(&Recipe) -> Option<f64>,
}

impl Setting {
    /// Its value in `recipe`; `None` where that is left to the log or the crop.
    pub fn value(&self, recipe: &Recipe) -> Option<f64> {
        (self.value)(recipe)
    }
}

/// Every setting, in the order of [`Recipe`].
pub const SETTINGS: &[Setting] = &[
    Setting {
        key: "grain_delay",
        title: "Grain delay",
        help: "How long grain takes from the cutting edge to the sensor. Found from the log unless given.",
        kind: SettingKind::SecondsOrAuto,
        quantity: Some(Quantity::Duration),
        unit: "s",
        low: -60.0,
        high: 60.0,
        expected: "seconds from -60 to 60",
        value: |recipe| match recipe.grain_delay {
            DelaySetting::Auto => None,
            DelaySetting::Given(seconds) => Some(seconds),
        },
    },
    Setting {
        key: "pass_start_s",
        title: "Start of a pass",
        help: "Records this soon after the header went into the crop are dropped; longer where the grain stream needs longer to fill.",
        kind: SettingKind::Number,
        quantity: Some(Quantity::Duration),
        unit: "s",
        low: 0.0,
        high: 120.0,
        expected: "seconds from 0 to 120",
        value: |recipe| Some(recipe.pass_start_s),
    },
    Setting {
        key: "pass_end_s",
        title: "End of a pass",
        help: "Records this close before the header left the crop are dropped.",
        kind: SettingKind::Number,
        quantity: Some(Quantity::Duration),
        unit: "s",
        low: 0.0,
        high: 120.0,
        expected: "seconds from 0 to 120",
        value: |recipe| Some(recipe.pass_end_s),
    },
    Setting {
        key: "lowest_speed_m_s",
        title: "Lowest speed",
        help: "Slower records are dropped.",
        kind: SettingKind::Number,
        quantity: Some(Quantity::Speed),
        unit: "m/s",
        low: 0.0,
        high: 5.0,
        expected: "m/s from 0 to 5",
        value: |recipe| Some(recipe.lowest_speed_m_s),
    },
    Setting {
        key: "highest_speed_m_s",
        title: "Highest speed",
        help: "Faster records are dropped.",
        kind: SettingKind::Number,
        quantity: Some(Quantity::Speed),
        unit: "m/s",
        low: 0.0,
        high: 20.0,
        expected: "m/s above lowest_speed_m_s and at most 20",
        value: |recipe| Some(recipe.highest_speed_m_s),
    },
    Setting {
        key: "abrupt_speed_share",
        title: "Abrupt change of speed",
        help: "Dropped when the speed is further than this share from what is usual within 5 s.",
        kind: SettingKind::Number,
        quantity: None,
        unit: "share",
        low: 0.01,
        high: 10.0,
        expected: "a share from 0.01",
        value: |recipe| Some(recipe.abrupt_speed_share),
    },
    Setting {
        key: "most_overlap_share",
        title: "Ground already harvested",
        help: "Dropped when more than this share of the ground under the header had been harvested before.",
        kind: SettingKind::Number,
        quantity: None,
        unit: "share",
        low: 0.0,
        high: 1.0,
        expected: "a share from 0 to 1",
        value: |recipe| Some(recipe.most_overlap_share),
    },
    Setting {
        key: "lowest_yield_share",
        title: "Lowest yield",
        help: "Yields under this share of the log's median are dropped.",
        kind: SettingKind::Number,
        quantity: None,
        unit: "share",
        low: 0.0,
        high: 1.0,
        expected: "a share from 0 to 1",
        value: |recipe| Some(recipe.lowest_yield_share),
    },
    Setting {
        key: "highest_yield_kg_ha",
        title: "Highest yield",
        help: "Yields over this are dropped; the crop's own limit unless given.",
        kind: SettingKind::NumberOrCrop,
        quantity: Some(Quantity::Yield),
        unit: "kg/ha",
        low: 1.0,
        high: 1e6,
        expected: "kg/ha above 1",
        value: |recipe| recipe.highest_yield_kg_ha,
    },
    Setting {
        key: "neighbour_header_widths",
        title: "Neighbours within",
        help: "Neighbours a record is held against lie within this many header widths.",
        kind: SettingKind::Number,
        quantity: None,
        unit: "header widths",
        low: 0.5,
        high: 20.0,
        expected: "header widths from 0.5 to 20",
        value: |recipe| Some(recipe.neighbour_header_widths),
    },
    Setting {
        key: "outlier_deviations",
        title: "Far from its neighbours",
        help: "Dropped when further from its neighbours' median than this many robust standard deviations.",
        kind: SettingKind::Number,
        quantity: None,
        unit: "standard deviations",
        low: 1.0,
        high: 100.0,
        expected: "from 1 to 100",
        value: |recipe| Some(recipe.outlier_deviations),
    },
    Setting {
        key: "lowest_moisture_pct",
        title: "Lowest moisture",
        help: "Moisture readings under this are not believed; the crop's own limit unless given.",
        kind: SettingKind::NumberOrCrop,
        quantity: Some(Quantity::Percent),
        unit: "%",
        low: 0.0,
        high: 99.0,
        expected: "percent from 0 to 99",
        value: |recipe| recipe.lowest_moisture_pct,
    },
    Setting {
        key: "highest_moisture_pct",
        title: "Highest moisture",
        help: "Moisture readings over this are not believed; the crop's own limit unless given.",
        kind: SettingKind::NumberOrCrop,
        quantity: Some(Quantity::Percent),
        unit: "%",
        low: 0.0,
        high: 99.0,
        expected: "percent from 0 to 99",
        value: |recipe| recipe.highest_moisture_pct,
    },
    Setting {
        key: "machine_bias",
        title: "Bias between machines",
        help: "What machines read differently on neighbouring swaths is taken out where it is beyond chance.",
        kind: SettingKind::AutoOrOff,
        quantity: None,
        unit: "auto or off",
        low: 0.0,
        high: 1.0,
        expected: "auto or off",
        value: |recipe| {
            Some(f64::from(u8::from(
                recipe.machine_bias == BiasSetting::Auto,
            )))
        },
    },
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_key_of_a_recipe_is_listed_once_and_holds_its_value() {
        let recipe = Recipe {
            grain_delay: DelaySetting::Given(11.0),
            highest_yield_kg_ha: Some(9_000.0),
            lowest_moisture_pct: Some(5.0),
            highest_moisture_pct: Some(35.0),
            ..Recipe::default()
        };
        let written = serde_json::to_value(&recipe).unwrap();
        let written = written.as_object().unwrap();
        let keys: Vec<&str> = SETTINGS.iter().map(|setting| setting.key).collect();
        assert_eq!(keys, written.keys().collect::<Vec<_>>());
        for setting in SETTINGS {
            if setting.kind == SettingKind::AutoOrOff {
                assert_eq!(written[setting.key], "auto");
                continue;
            }
            assert_eq!(written[setting.key].as_f64(), setting.value(&recipe));
        }
    }
}
