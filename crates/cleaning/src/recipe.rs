//! The settings of all cleaning steps, with their defaults and what these rest on. The trial
//! file's `[cleaning]` table is read into this, and the results file carries it back, defaults
//! filled in.

use crate::CleaningError;
use crate::settings::SETTINGS;
use serde::{Deserialize, Serialize};

/// How the grain delay is set.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum DelaySetting {
    /// Found from the log itself.
    Auto,
    /// Given, s.
    Given(f64),
}

impl Serialize for DelaySetting {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self {
            DelaySetting::Auto => serializer.serialize_str("auto"),
            DelaySetting::Given(seconds) => serializer.serialize_f64(*seconds),
        }
    }
}

impl<'de> Deserialize<'de> for DelaySetting {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        #[derive(Deserialize)]
        #[serde(untagged)]
        enum Raw {
            Seconds(f64),
            Word(String),
        }
        match Raw::deserialize(deserializer) {
            Ok(Raw::Seconds(seconds)) => Ok(DelaySetting::Given(seconds)),
            Ok(Raw::Word(word)) if word.trim().eq_ignore_ascii_case("auto") => {
                Ok(DelaySetting::Auto)
            }
            Ok(Raw::Word(word)) => word
                .trim()
                .trim_end_matches('s')
                .trim()
                .parse()
                .map(DelaySetting::Given)
                .map_err(|_| {
                    serde::de::Error::custom(format!(
                        "grain_delay is {word:?}, expected \"auto\" or seconds such as 12"
                    ))
                }),
            Err(_) => Err(serde::de::Error::custom(
                "grain_delay is neither \"auto\" nor a number of seconds such as 12",
            )),
        }
    }
}

/// What is done about machines that read differently on neighbouring swaths.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum BiasSetting {
    /// Taken out where it is beyond chance.
    #[default]
    Auto,
    /// Reported only.
    Off,
}

/// Settings of the cleaning steps. Every default is explained in `docs/cleaning.md`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Recipe {
    /// Shift of the grain flow against the ground: `"auto"` or seconds.
    pub grain_delay: DelaySetting,
    /// Records this soon after the header went into the crop are dropped, s. Lengthened to three
    /// times the smear of the grain stream where that is known. Default 4: common practice, no
    /// source.
    pub pass_start_s: f64,
    /// Records this close before the header left the crop are dropped, s. Default 4: common
    /// practice, no source.
    pub pass_end_s: f64,
    /// Slower than this is dropped, m/s. Default 0.5 (about 1 mph).
    pub lowest_speed_m_s: f64,
    /// Faster than this is dropped, m/s. Default 4.5 (about 10 mph).
    pub highest_speed_m_s: f64,
    /// Dropped when the speed is further than this share from the median of the ±5 s around it.
    /// Default 0.35.
    pub abrupt_speed_share: f64,
    /// Dropped when more than this share of the footprint had been harvested before. Default 0.7.
    pub most_overlap_share: f64,
    /// Yields under this share of the log's median are dropped. Default 0.05.
    pub lowest_yield_share: f64,
    /// Yields over this are dropped, kg/ha; absent: the crop's own limit.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub highest_yield_kg_ha: Option<f64>,
    /// Neighbours for the local outlier test lie within this many header widths. Default 1.5.
    pub neighbour_header_widths: f64,
    /// Dropped when further from the neighbours' median than this many robust standard deviations
    /// (1.4826 × the median absolute deviation). Default 3.5: Iglewicz, B. and Hoaglin, D. C.
    /// (1993), *How to Detect and Handle Outliers*, ASQC Basic References in Quality Control 16.
    pub outlier_deviations: f64,
    /// Moisture readings under this are not believed, percent; absent: the crop's own limit.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub lowest_moisture_pct: Option<f64>,
    /// Moisture readings over this are not believed, percent; absent: the crop's own limit.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub highest_moisture_pct: Option<f64>,
    /// Bias between machines: `"auto"` takes it out where it is beyond chance, `"off"` only reports it.
    pub machine_bias: BiasSetting,
}

impl Default for Recipe {
    fn default() -> Recipe {
        Recipe {
            grain_delay: DelaySetting::Auto,
            pass_start_s: 4.0,
            pass_end_s: 4.0,
            lowest_speed_m_s: 0.5,
            highest_speed_m_s: 4.5,
            abrupt_speed_share: 0.35,
            most_overlap_share: 0.7,
            lowest_yield_share: 0.05,
            highest_yield_kg_ha: None,
            neighbour_header_widths: 1.5,
            outlier_deviations: 3.5,
            lowest_moisture_pct: None,
            highest_moisture_pct: None,
            machine_bias: BiasSetting::Auto,
        }
    }
}

impl Recipe {
    /// Refuses settings that make no sense.
    ///
    /// # Errors
    /// [`CleaningError::Setting`] naming the key.
    pub fn check(&self) -> Result<(), CleaningError> {
        for setting in SETTINGS {
            let Some(value) = setting.value(self) else {
                continue;
            };
            let low = match setting.key {
                "highest_speed_m_s" => self.lowest_speed_m_s,
                _ => setting.low,
            };
            if !(low..=setting.high).contains(&value) {
                return Err(CleaningError::Setting {
                    name: setting.key,
                    value: value.to_string(),
                    expected: setting.expected,
                });
            }
        }
        Ok(())
    }
}
