//! The settings of all judgements on a planting log, with their defaults and what these rest on. They
//! are written back with the findings, so that every figure can be traced.

use checkstrip_model::units::{M_PER_MILE, N_PER_LBF, parse_force, parse_length, parse_speed};
use serde::{Deserialize, Deserializer, Serialize};

use crate::PlantingError;

/// A rhythm of the machine that the grower knows: a wheel's or a chain's way on the ground.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct KnownRhythm {
    /// What turns: "press wheel", "drive chain".
    pub name: String,
    /// Ground covered in one turn, m.
    #[serde(alias = "period", deserialize_with = "length")]
    pub period_m: f64,
}

/// How much worse than the other rows a row must be before it is worth a word. Defaults: common
/// practice, no source; on invented healthy planters rows differ by a fifth of them.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct RowLimits {
    /// Population away from the other rows', percent of theirs.
    pub population_pct: f64,
    /// More skips, percentage points.
    pub skips_points: f64,
    /// More multiples, percentage points.
    pub multiples_points: f64,
    /// Lower singulation, percentage points.
    pub singulation_points: f64,
    /// Higher coefficient of variation of the spacing, percentage points.
    pub spacing_variation_points: f64,
    /// Less ground contact, percentage points.
    pub ground_contact_points: f64,
    /// More of the ground with lost contact or with too much downforce, percentage points.
    pub ground_share_points: f64,
    /// Lower ride quality, percentage points.
    pub ride_points: f64,
    /// Downforce away from the other rows', percent of theirs.
    pub downforce_pct: f64,
    /// Vacuum away from the other rows', percent of theirs.
    pub vacuum_pct: f64,
}

impl Default for RowLimits {
    fn default() -> RowLimits {
        RowLimits {
            population_pct: 3.0,
            skips_points: 1.0,
            multiples_points: 1.0,
            singulation_points: 1.5,
            spacing_variation_points: 4.0,
            ground_contact_points: 3.0,
            ground_share_points: 10.0,
            ride_points: 4.0,
            downforce_pct: 25.0,
            vacuum_pct: 15.0,
        }
    }
}

/// Settings of a planting log's judgement. Every default is explained in `docs/planting.md`.
///
/// Read from a file, a length, speed or force is a number in the unit that its key ends with, or, under the
/// key without that ending, a text with its unit: `lowest_downforce = "20 lbf"`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct PlantingSettings {
    /// Distance between rows, m; absent: working width over the number of rows, where the log has it.
    #[serde(
        alias = "row_spacing",
        deserialize_with = "known_length",
        skip_serializing_if = "Option::is_none"
    )]
    pub row_spacing_m: Option<f64>,
    /// Cells of the seed disc; absent: unknown, and no blocked cell is named without a doubt.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub disc_cells: Option<u32>,
    /// Rhythms of the machine that a repeating fault is compared with.
    pub known_rhythms: Vec<KnownRhythm>,
    /// Slower moments are not judged, m/s. Default 0.5 (about 1 mph), as in the cleaning of harvests.
    #[serde(alias = "lowest_speed", deserialize_with = "speed")]
    pub lowest_speed_m_s: f64,
    /// Shorter passes are not judged, m. Default 20: common practice, no source.
    #[serde(alias = "shortest_pass", deserialize_with = "length")]
    pub shortest_pass_m: f64,
    /// A record with less ground contact lost it, percent. Default 90: common practice, no source.
    pub lowest_ground_contact_pct: f64,
    /// Less load on the gauge wheels is lost contact in logs that have no ground contact, N. Default
    /// 20 lbf: common practice, no source.
    #[serde(alias = "lowest_downforce", deserialize_with = "force")]
    pub lowest_downforce_n: f64,
    /// More load on the gauge wheels is too much, N. Default 250 lbf: common practice, no source.
    #[serde(alias = "highest_downforce", deserialize_with = "force")]
    pub highest_downforce_n: f64,
    /// How much worse than the other rows is worth a word.
    pub row_limits: RowLimits,
    /// A row is called when it is this many robust standard deviations away from the others. Default 5.
    pub row_deviations: f64,
    /// Share of ground with lost contact (or too much downforce) over the whole planter above which
    /// downforce is advised on, percent. Default 10: common practice, no source.
    pub planter_ground_share_pct: f64,
    /// Skips less multiples (or the other way round) of the whole planter above which the vacuum is
    /// advised on, percentage points. Default 1.
    pub vacuum_balance_points: f64,
    /// Length of the windows in which repeating faults are looked for, m. Default 150.
    #[serde(alias = "window", deserialize_with = "length")]
    pub window_m: f64,
    /// Shortest period looked for, m; lengthened to 2.2 times the distance between a row's records.
    /// Default 1.
    #[serde(alias = "shortest_period", deserialize_with = "length")]
    pub shortest_period_m: f64,
    /// Longest period looked for, m. Default 20.
    #[serde(alias = "longest_period", deserialize_with = "length")]
    pub longest_period_m: f64,
    /// A repeating fault is called when chance would give one as strong anywhere in the log with at
    /// most this probability. Default 0.001.
    pub false_alarm: f64,
    /// A period and the way of one turn are the same when they differ by at most this share (and three
    /// standard errors of the period). Default 0.03: seed rates and distances are not better known.
    pub period_tolerance: f64,
    /// By how much slower is asked about, m/s. Default 1 mph.
    #[serde(alias = "slow_down", deserialize_with = "speed")]
    pub slow_down_m_s: f64,
    /// The relation to speed is refused when speeds spread less than this standard deviation, m/s.
    /// Default 0.1.
    #[serde(alias = "least_speed_spread", deserialize_with = "speed")]
    pub least_speed_spread_m_s: f64,
}

fn length<'de, D: Deserializer<'de>>(deserializer: D) -> Result<f64, D::Error> {
    written(deserializer, parse_length)
}

fn known_length<'de, D: Deserializer<'de>>(deserializer: D) -> Result<Option<f64>, D::Error> {
    length(deserializer).map(Some)
}

fn speed<'de, D: Deserializer<'de>>(deserializer: D) -> Result<f64, D::Error> {
    written(deserializer, parse_speed)
}

fn force<'de, D: Deserializer<'de>>(deserializer: D) -> Result<f64, D::Error> {
    written(deserializer, parse_force)
}

/// A number as it stands, or a text with its unit.
fn written<'de, D: Deserializer<'de>>(
    deserializer: D,
    parse: fn(&str) -> Result<f64, String>,
) -> Result<f64, D::Error> {
    #[derive(Deserialize)]
    #[serde(
        untagged,
        expecting = "expected a number in SI units, or a text with its unit"
    )]
    enum Written {
        Number(f64),
        Text(String),
    }
    match Written::deserialize(deserializer)? {
        Written::Number(number) => Ok(number),
        Written::Text(text) => parse(&text).map_err(serde::de::Error::custom),
    }
}

impl Default for PlantingSettings {
    fn default() -> PlantingSettings {
        PlantingSettings {
            row_spacing_m: None,
            disc_cells: None,
            known_rhythms: Vec::new(),
            lowest_speed_m_s: 0.5,
            shortest_pass_m: 20.0,
            lowest_ground_contact_pct: 90.0,
            lowest_downforce_n: 20.0 * N_PER_LBF,
            highest_downforce_n: 250.0 * N_PER_LBF,
            row_limits: RowLimits::default(),
            row_deviations: 5.0,
            planter_ground_share_pct: 10.0,
            vacuum_balance_points: 1.0,
            window_m: 150.0,
            shortest_period_m: 1.0,
            longest_period_m: 20.0,
            false_alarm: 0.001,
            period_tolerance: 0.03,
            slow_down_m_s: M_PER_MILE / 3600.0,
            least_speed_spread_m_s: 0.1,
        }
    }
}

impl PlantingSettings {
    /// Refuses settings that make no sense.
    ///
    /// # Errors
    /// [`PlantingError::Setting`] with the first such setting.
    pub fn check(&self) -> Result<(), PlantingError> {
        let above_0 = "a number above 0";
        let limits = &self.row_limits;
        let positive = [
            ("row_spacing", self.row_spacing_m.unwrap_or(1.0)),
            ("disc_cells", f64::from(self.disc_cells.unwrap_or(1))),
            ("shortest_pass", self.shortest_pass_m),
            ("highest_downforce", self.highest_downforce_n),
            ("row_deviations", self.row_deviations),
            ("vacuum_balance_points", self.vacuum_balance_points),
            ("planter_ground_share_pct", self.planter_ground_share_pct),
            ("shortest_period", self.shortest_period_m),
            ("slow_down", self.slow_down_m_s),
            ("least_speed_spread", self.least_speed_spread_m_s),
            ("row_limits.population_pct", limits.population_pct),
            ("row_limits.skips_points", limits.skips_points),
            ("row_limits.multiples_points", limits.multiples_points),
            ("row_limits.singulation_points", limits.singulation_points),
            (
                "row_limits.spacing_variation_points",
                limits.spacing_variation_points,
            ),
            (
                "row_limits.ground_contact_points",
                limits.ground_contact_points,
            ),
            ("row_limits.ground_share_points", limits.ground_share_points),
            ("row_limits.ride_points", limits.ride_points),
            ("row_limits.downforce_pct", limits.downforce_pct),
            ("row_limits.vacuum_pct", limits.vacuum_pct),
        ];
        let rhythms = self
            .known_rhythms
            .iter()
            .map(|rhythm| ("known_rhythms.period", rhythm.period_m));
        for (key, value) in positive.into_iter().chain(rhythms) {
            if !(value > 0.0 && value.is_finite()) {
                return Err(PlantingError::Setting {
                    key,
                    value,
                    expected: above_0,
                });
            }
        }
        let rules = [
            (
                "lowest_speed",
                self.lowest_speed_m_s,
                self.lowest_speed_m_s >= 0.0,
                "a speed of 0 or more",
            ),
            (
                "lowest_downforce",
                self.lowest_downforce_n,
                self.lowest_downforce_n < self.highest_downforce_n,
                "less than highest_downforce",
            ),
            (
                "lowest_ground_contact_pct",
                self.lowest_ground_contact_pct,
                (0.0..=100.0).contains(&self.lowest_ground_contact_pct),
                "a share from 0 to 100",
            ),
            (
                "longest_period",
                self.longest_period_m,
                self.longest_period_m > self.shortest_period_m,
                "more than shortest_period",
            ),
            (
                "window",
                self.window_m,
                self.window_m >= 3.0 * self.longest_period_m && self.window_m <= 2_000.0,
                "at least three times longest_period and at most 2000 m",
            ),
            (
                "false_alarm",
                self.false_alarm,
                self.false_alarm > 0.0 && self.false_alarm < 1.0,
                "a probability above 0 and below 1",
            ),
            (
                "period_tolerance",
                self.period_tolerance,
                (0.0..0.5).contains(&self.period_tolerance),
                "a share from 0 to 0.5",
            ),
        ];
        for (key, value, holds, expected) in rules {
            if !holds {
                return Err(PlantingError::Setting {
                    key,
                    value,
                    expected,
                });
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_defaults_are_allowed_and_nonsense_is_not() {
        assert_eq!(PlantingSettings::default().check(), Ok(()));
        let refused = |change: fn(&mut PlantingSettings)| {
            let mut settings = PlantingSettings::default();
            change(&mut settings);
            assert!(settings.check().is_err(), "{settings:?}");
        };
        refused(|s| s.disc_cells = Some(0));
        refused(|s| s.window_m = 30.0);
        refused(|s| s.false_alarm = f64::NAN);
        refused(|s| s.row_limits.skips_points = -1.0);
        refused(|s| s.longest_period_m = 0.5);
        refused(|s| {
            s.known_rhythms = vec![KnownRhythm {
                name: "press wheel".into(),
                period_m: f64::INFINITY,
            }];
        });
    }

    #[test]
    fn settings_are_read_in_farm_units_and_in_those_of_their_keys() {
        let read = |text: &str| serde_json::from_str::<PlantingSettings>(text);
        let farm = r#"{"lowest_downforce": "20 lbf", "slow_down": "1 mph", "row_spacing": "30 in",
            "known_rhythms": [{"name": "press wheel", "period": "7.2 ft"}]}"#;
        let si = r#"{"lowest_downforce_n": 88.96443230521, "slow_down_m_s": 0.44704, "row_spacing_m": 0.762,
            "known_rhythms": [{"name": "press wheel", "period_m": 2.19456}]}"#;
        let (farm, si) = (read(farm).unwrap(), read(si).unwrap());
        assert!((farm.lowest_downforce_n - si.lowest_downforce_n).abs() < 1e-9);
        assert!((farm.slow_down_m_s - si.slow_down_m_s).abs() < 1e-12);
        assert!((farm.row_spacing_m.unwrap() - si.row_spacing_m.unwrap()).abs() < 1e-12);
        assert!((farm.known_rhythms[0].period_m - si.known_rhythms[0].period_m).abs() < 1e-12);
        let refused = |text: &str| read(text).unwrap_err().to_string();
        assert!(refused(r#"{"lowest_downforce": "20"}"#).contains("has no unit"));
        assert!(refused(r#"{"lowest_downforce": "20 ft"}"#).contains("is not a unit of force"));
        assert!(refused(r#"{"window": true}"#).contains("a text with its unit"));
    }

    /// Law: settings as written back with the findings are read as the same settings.
    #[test]
    fn settings_written_are_read_back() {
        let settings = PlantingSettings {
            disc_cells: Some(40),
            row_spacing_m: Some(0.762),
            ..PlantingSettings::default()
        };
        let written = serde_json::to_string(&settings).unwrap();
        assert_eq!(
            serde_json::from_str::<PlantingSettings>(&written).unwrap(),
            settings
        );
    }
}
