//! What speed does to the seed: the slope of spacing variation, singulation, skips, multiples and ride on
//! speed within each row, and what slowing down is expected to bring, with an interval that takes passes,
//! not records, for independent.
//!
//! # Source
//! Regression with fixed effects of rows; standard errors by clusters of passes: Liang, K.-Y. and Zeger,
//! S. L. (1986), *Longitudinal data analysis using generalized linear models*, Biometrika 73, 13–22, with
//! the factor clusters / (clusters - 1) and Student's t of clusters - 1 degrees of freedom (Cameron, A. C.
//! and Miller, D. L., 2015, *A practitioner's guide to cluster-robust inference*, Journal of Human
//! Resources 50, 317–372).

use serde::{Deserialize, Serialize};
use statrs::distribution::{ContinuousCDF, StudentsT};

use crate::row_quality::{Measure, PassSums, RowSum, over_passes};
use crate::settings::PlantingSettings;

/// Fewer passes say nothing about how sure a slope is.
const FEWEST_PASSES: usize = 6;

/// What is held against speed.
const MEASURES: [Measure; 5] = [
    Measure::SpacingVariation,
    Measure::Singulation,
    Measure::Skips,
    Measure::Multiples,
    Measure::RideQuality,
];

/// The relation of one measure to speed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SpeedEffect {
    /// What is held against speed.
    pub measure: Measure,
    /// Change for 1 m/s more, in the measure's unit.
    pub slope_per_m_s: f64,
    /// Its standard error, by clusters of passes.
    pub std_error_per_m_s: f64,
    /// 95 % interval of the slope.
    pub interval_95_per_m_s: [f64; 2],
    /// By how much slower was asked about, m/s.
    pub slower_by_m_s: f64,
    /// Expected change of the measure when slowing down by that much.
    pub change_when_slower: f64,
    /// 95 % interval of that change.
    pub change_interval_95: [f64; 2],
    /// Passes that the relation rests on.
    pub passes: usize,
    /// Rows that it rests on.
    pub rows: usize,
    /// Mean speed, m/s.
    pub mean_speed_m_s: f64,
    /// Standard deviation of the speed within rows, m/s.
    pub speed_spread_m_s: f64,
}

/// Why there is no relation to speed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "kind")]
pub enum NoSpeedEffect {
    /// The log has no such reading.
    NotMeasured {
        /// What was to be held against speed.
        measure: Measure,
    },
    /// Too few passes.
    FewPasses {
        /// What was to be held against speed.
        measure: Measure,
        /// Passes with the measure.
        passes: usize,
        /// Passes needed.
        needed: usize,
    },
    /// Speed hardly varied.
    EvenSpeed {
        /// What was to be held against speed.
        measure: Measure,
        /// Standard deviation of the speed, m/s.
        spread_m_s: f64,
        /// Standard deviation needed, m/s.
        needed_m_s: f64,
    },
}

/// The relations to speed, and why others are absent.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct SpeedAndSpacing {
    /// The relations found.
    pub effects: Vec<SpeedEffect>,
    /// Those refused.
    pub refused: Vec<NoSpeedEffect>,
}

/// Relates every measure to speed.
pub(crate) fn speed_and_spacing(
    passes: &[PassSums],
    settings: &PlantingSettings,
) -> SpeedAndSpacing {
    let mut found = SpeedAndSpacing::default();
    for measure in MEASURES {
        match relate(passes, measure, settings) {
            Ok(effect) => found.effects.push(effect),
            Err(refused) => found.refused.push(refused),
        }
    }
    found
}

/// Sums of products around a row's means, from sums around 0.
fn around(sum: &RowSum, mean_speed: f64, mean_value: f64) -> [f64; 2] {
    let speed_speed =
        sum.speed_speed - 2.0 * mean_speed * sum.speed + mean_speed * mean_speed * sum.weight;
    let speed_value = sum.speed_value - mean_speed * sum.sum - mean_value * sum.speed
        + mean_speed * mean_value * sum.weight;
    [speed_speed, speed_value]
}

fn relate(
    passes: &[PassSums],
    measure: Measure,
    settings: &PlantingSettings,
) -> Result<SpeedEffect, NoSpeedEffect> {
    let rows = passes.first().map_or(0, |pass| pass.rows);
    // Each row's own mean speed and value, which its fixed effect takes out.
    let means: Vec<Option<[f64; 2]>> = (0..rows)
        .map(|row| {
            let sum = over_passes(passes, measure, row);
            (sum.weight > 0.0).then(|| [sum.speed / sum.weight, sum.sum / sum.weight])
        })
        .collect();
    let used = means.iter().flatten().count();
    if used == 0 {
        return Err(NoSpeedEffect::NotMeasured { measure });
    }
    let (mut weight, mut speed, mut speed_speed, mut speed_value) = (0.0, 0.0, 0.0, 0.0);
    let mut clusters: Vec<[f64; 2]> = Vec::new();
    for pass in passes {
        let (mut of_pass, mut of_weight) = ([0.0; 2], 0.0);
        for (row, means) in means.iter().enumerate() {
            let sum = pass.of(measure, row);
            let Some([mean_speed, mean_value]) = *means else {
                continue;
            };
            let [ss, sv] = around(sum, mean_speed, mean_value);
            of_pass = [of_pass[0] + ss, of_pass[1] + sv];
            of_weight += sum.weight;
            speed += sum.speed;
        }
        if of_weight > 0.0 {
            weight += of_weight;
            speed_speed += of_pass[0];
            speed_value += of_pass[1];
            clusters.push(of_pass);
        }
    }
    if clusters.len() < FEWEST_PASSES {
        return Err(NoSpeedEffect::FewPasses {
            measure,
            passes: clusters.len(),
            needed: FEWEST_PASSES,
        });
    }
    let spread_m_s = (speed_speed.max(0.0) / weight).sqrt();
    if spread_m_s < settings.least_speed_spread_m_s {
        return Err(NoSpeedEffect::EvenSpeed {
            measure,
            spread_m_s,
            needed_m_s: settings.least_speed_spread_m_s,
        });
    }
    let slope = speed_value / speed_speed;
    let n = clusters.len() as f64;
    // What each pass says beyond the slope: the sum of its residuals times the speed.
    let scores: f64 = clusters
        .iter()
        .map(|[ss, sv]| (sv - slope * ss).powi(2))
        .sum();
    let std_error = (scores * n / (n - 1.0)).sqrt() / speed_speed;
    let quantile = StudentsT::new(0.0, 1.0, n - 1.0).map_or(f64::NAN, |t| t.inverse_cdf(0.975));
    let half = quantile * std_error;
    let slower = settings.slow_down_m_s;
    Ok(SpeedEffect {
        measure,
        slope_per_m_s: slope,
        std_error_per_m_s: std_error,
        interval_95_per_m_s: [slope - half, slope + half],
        slower_by_m_s: slower,
        change_when_slower: -slope * slower,
        change_interval_95: [(-slope - half) * slower, (-slope + half) * slower],
        passes: clusters.len(),
        rows: used,
        mean_speed_m_s: speed / weight,
        speed_spread_m_s: spread_m_s,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::passes::passes;
    use crate::planting_log::PlantingLog;
    use crate::reading::Reading;
    use crate::records::PlantingRecords;
    use crate::row_quality::pass_sums;

    /// Two rows with their own levels, eight passes of 20 moments, speeds and noise from a fixed table.
    fn made(spread: f64) -> (Vec<f64>, Vec<f64>, Vec<f64>, Vec<f64>) {
        let (mut row, mut time, mut speed, mut cv) = (vec![], vec![], vec![], vec![]);
        for pass in 0..8 {
            for moment in 0..20 {
                let v = 2.0 + spread * (f64::from((pass * 5 + moment * 3) % 11) / 5.0 - 1.0);
                for r in 1..=2 {
                    row.push(f64::from(r));
                    time.push(f64::from(pass * 100 + moment));
                    speed.push(v);
                    let noise = f64::from((pass * 7 + moment * moment + r) % 13) / 13.0
                        + f64::from((pass * pass) % 5) * 0.4;
                    cv.push(10.0 * f64::from(r) + 6.0 * v + noise);
                }
            }
        }
        (row, time, speed, cv)
    }

    fn effect(made: &(Vec<f64>, Vec<f64>, Vec<f64>, Vec<f64>)) -> SpeedAndSpacing {
        let (row, time, speed, cv) = made;
        let steps = vec![2.0; row.len()];
        let mut log = PlantingLog {
            row,
            time_s: time,
            speed_m_s: Some(speed),
            step_m: Some(&steps),
            ..PlantingLog::default()
        };
        log.set(Reading::SpacingVariation, cv);
        let settings = PlantingSettings::default();
        let records = PlantingRecords::of(&log).unwrap();
        let found = passes(&records, &settings).unwrap();
        let sums: Vec<_> = (0..found.len())
            .map(|at| pass_sums(&found.pass(at).unwrap(), None, &settings))
            .collect();
        speed_and_spacing(&sums, &settings)
    }

    /// Outside reference: statsmodels 0.15.0, ols("cv ~ speed + C(row)").fit(cov_type="cluster",
    /// cov_kwds={"groups": pass, "use_correction": False}) on the same numbers, its standard error times
    /// √(8/7); `fixtures/speed.py`.
    #[test]
    fn slope_and_clustered_error_are_those_of_statsmodels() {
        let found = effect(&made(0.5));
        let cv = &found.effects[0];
        assert_eq!(cv.measure, Measure::SpacingVariation);
        assert!((cv.slope_per_m_s - SLOPE).abs() < 1e-5, "{cv:?}");
        assert!((cv.std_error_per_m_s - ERROR).abs() < 1e-5, "{cv:?}");
        assert!((cv.change_when_slower + SLOPE * 0.44704).abs() < 1e-5);
        assert!(cv.interval_95_per_m_s[0] < 6.0 && 6.0 < cv.interval_95_per_m_s[1]);
        assert!(cv.change_interval_95[0] < cv.change_interval_95[1]);
        assert_eq!((cv.passes, cv.rows), (8, 2));
        assert_eq!(found.refused.len(), 4);
    }

    const SLOPE: f64 = 5.992_073_141;
    const ERROR: f64 = 0.082_806_242;

    #[test]
    fn an_even_speed_is_refused() {
        let found = effect(&made(0.05));
        assert!(found.effects.is_empty());
        assert!(matches!(
            found.refused[0],
            NoSpeedEffect::EvenSpeed { spread_m_s, .. } if spread_m_s < 0.1
        ));
    }
}
