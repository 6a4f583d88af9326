//! Which rows are worse than the others of the same planter at the same moments, so that soil, speed and
//! driver fall out: how far each row lies from the others, how sure that is, a trouble score that orders
//! the rows, and the rows that are called out.

use serde::{Deserialize, Serialize};

use crate::row_quality::{Measure, PassSums};
use crate::settings::{PlantingSettings, RowLimits};

/// From the median absolute deviation to the standard deviation of a normal distribution.
const MAD_TO_DEVIATION: f64 = 1.482_6;

/// A planter of fewer rows has no others to compare a row with.
const FEWEST_ROWS: usize = 4;

/// Which way a row has to be off to be in trouble.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Bad {
    Above,
    Below,
    Both,
}

/// How a measure is judged: which way is bad, its limit, and whether that is in percent of the others.
fn rule(measure: Measure, limits: &RowLimits) -> Option<(Bad, f64, bool)> {
    Some(match measure {
        Measure::Population => (Bad::Both, limits.population_pct, true),
        Measure::TargetPopulation => return None,
        Measure::Singulation => (Bad::Below, limits.singulation_points, false),
        Measure::Skips => (Bad::Above, limits.skips_points, false),
        Measure::Multiples => (Bad::Above, limits.multiples_points, false),
        Measure::SpacingVariation => (Bad::Above, limits.spacing_variation_points, false),
        Measure::GroundContact => (Bad::Below, limits.ground_contact_points, false),
        Measure::LostContact | Measure::TooMuchDownforce => {
            (Bad::Above, limits.ground_share_points, false)
        }
        Measure::Downforce => (Bad::Both, limits.downforce_pct, true),
        Measure::RideQuality => (Bad::Below, limits.ride_points, false),
        Measure::Vacuum => (Bad::Both, limits.vacuum_pct, true),
    })
}

/// Measures that enter the trouble score. Singulation says again what skips and multiples say, and
/// contact, downforce and vacuum are causes rather than troubles.
const SCORED: [Measure; 6] = [
    Measure::Population,
    Measure::Skips,
    Measure::Multiples,
    Measure::SpacingVariation,
    Measure::LostContact,
    Measure::RideQuality,
];

/// How far one row lies from the other rows in one measure.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct RowDeviation {
    /// Row, from 1.
    pub row: usize,
    /// What was measured.
    pub measure: Measure,
    /// The row's own mean.
    pub value: f64,
    /// What the median of the planter's rows would have read on the same ground.
    pub others: f64,
    /// Row less others: in the measure's unit, or in percent of the others for population, downforce and
    /// vacuum.
    pub deviation: f64,
    /// Whether `deviation` is in percent of the others.
    pub relative: bool,
    /// Standard error of the deviation from pass to pass; absent for fewer than three passes.
    pub std_error: Option<f64>,
    /// Robust standard deviation of the rows' deviations.
    pub spread_of_rows: f64,
    /// Deviation in standard deviations: over the larger of the two above.
    pub deviations: f64,
    /// The limit it was held against.
    pub limit: f64,
    /// Passes that had both the row and the measure.
    pub passes: usize,
    /// Passes on which the row was off to the same side.
    pub passes_same_side: usize,
    /// Whether it is called: off in a bad direction by more than the limit, far outside the spread of the
    /// rows, and on at least two thirds of the passes to the same side.
    pub called: bool,
}

impl RowDeviation {
    /// How many limits the row is off to a bad side; 0 on the good side.
    pub(crate) fn trouble(&self) -> f64 {
        self.deviation.abs() / self.limit
    }
}

/// A row's place in the order of trouble.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RowTrouble {
    /// Row, from 1.
    pub row: usize,
    /// Sum of the parts: a row one limit worse in one measure has 1.
    pub score: f64,
    /// What each measure adds to it.
    pub parts: Vec<(Measure, f64)>,
}

/// How every row lies to the others in every measure, measure by measure.
pub(crate) fn compare_rows(passes: &[PassSums], settings: &PlantingSettings) -> Vec<RowDeviation> {
    let rows = passes.first().map_or(0, |pass| pass.rows);
    if rows < FEWEST_ROWS {
        return Vec::new();
    }
    Measure::ALL
        .iter()
        .filter_map(|&measure| {
            let rule = rule(measure, &settings.row_limits)?;
            Some(compare(passes, rows, measure, rule, settings))
        })
        .flatten()
        .collect()
}

fn compare(
    passes: &[PassSums],
    rows: usize,
    measure: Measure,
    (bad, limit, relative): (Bad, f64, bool),
    settings: &PlantingSettings,
) -> Vec<RowDeviation> {
    // By row: weight and deviation on each pass. The mean that a row is held against contains the bad
    // rows too; the median row of the pass takes that out again.
    let mut on_passes: Vec<Vec<[f64; 2]>> = vec![Vec::new(); rows];
    for pass in passes {
        let above: Vec<Option<f64>> = (0..rows)
            .map(|row| pass.of(measure, row).mean_above())
            .collect();
        let Some(middle) = median(above.iter().copied().flatten()) else {
            continue;
        };
        for (row, above) in above.iter().enumerate() {
            if let Some(above) = above {
                on_passes[row].push([pass.of(measure, row).weight, above - middle]);
            }
        }
    }
    let means: Vec<Option<f64>> = on_passes
        .iter()
        .map(|of_row| weighted_mean(of_row))
        .collect();
    let centre = median(means.iter().copied().flatten()).unwrap_or(0.0);
    let mut found: Vec<RowDeviation> = Vec::with_capacity(rows);
    for (row, of_row) in on_passes.iter().enumerate() {
        let Some(mean) = means[row] else { continue };
        let Some(value) = crate::row_quality::over_passes(passes, measure, row).mean() else {
            continue;
        };
        let deviation = mean - centre;
        let others = value - deviation;
        let scale = if relative { 100.0 / others.abs() } else { 1.0 };
        if !scale.is_finite() {
            continue;
        }
        let same = |&[_, d]: &[f64; 2]| d * deviation > 0.0;
        found.push(RowDeviation {
            row: row + 1,
            measure,
            value,
            others,
            deviation: deviation * scale,
            relative,
            std_error: std_error(of_row, mean).map(|error| error * scale),
            spread_of_rows: 0.0,
            deviations: 0.0,
            limit,
            passes: of_row.len(),
            passes_same_side: of_row.iter().filter(|pass| same(pass)).count(),
            called: false,
        });
    }
    let spread =
        MAD_TO_DEVIATION * median(found.iter().map(|d| d.deviation.abs())).unwrap_or(f64::NAN);
    for row in &mut found {
        let scale = spread.max(row.std_error.unwrap_or(0.0));
        row.spread_of_rows = spread;
        // Rows that are all alike have no spread: any difference is then beyond it.
        row.deviations = if scale > 0.0 {
            row.deviation / scale
        } else if row.deviation == 0.0 {
            0.0
        } else {
            f64::MAX.copysign(row.deviation)
        };
        row.called = is_bad(bad, row.deviation)
            && row.deviation.abs() > limit
            && row.deviations.abs() > settings.row_deviations
            && 3 * row.passes_same_side >= 2 * row.passes;
    }
    found
}

fn is_bad(bad: Bad, deviation: f64) -> bool {
    match bad {
        Bad::Above => deviation > 0.0,
        Bad::Below => deviation < 0.0,
        Bad::Both => deviation != 0.0,
    }
}

/// The rows, the one in most trouble first. The score is the sum over population, skips, multiples,
/// spacing variation, lost contact and ride of how many limits the row is off to the bad side.
pub(crate) fn order_of_trouble(
    deviations: &[RowDeviation],
    rows: usize,
    limits: &RowLimits,
) -> Vec<RowTrouble> {
    let mut found: Vec<RowTrouble> = (1..=rows)
        .map(|row| {
            let parts: Vec<(Measure, f64)> = deviations
                .iter()
                .filter(|d| d.row == row && SCORED.contains(&d.measure))
                .filter(|d| {
                    rule(d.measure, limits).is_some_and(|(bad, _, _)| is_bad(bad, d.deviation))
                })
                .map(|d| (d.measure, d.trouble()))
                .collect();
            RowTrouble {
                row,
                score: parts.iter().map(|(_, part)| part).sum(),
                parts,
            }
        })
        .collect();
    found.sort_by(|a, b| b.score.total_cmp(&a.score).then(a.row.cmp(&b.row)));
    found
}

fn weighted_mean(of_row: &[[f64; 2]]) -> Option<f64> {
    let weight: f64 = of_row.iter().map(|[w, _]| w).sum();
    (weight > 0.0).then(|| of_row.iter().map(|[w, d]| w * d).sum::<f64>() / weight)
}

/// Standard error of a weighted mean, the passes being the independent pieces.
fn std_error(of_row: &[[f64; 2]], mean: f64) -> Option<f64> {
    let n = of_row.len() as f64;
    if of_row.len() < 3 {
        return None;
    }
    let weight: f64 = of_row.iter().map(|[w, _]| w).sum();
    let squares: f64 = of_row.iter().map(|[w, d]| (w * (d - mean)).powi(2)).sum();
    Some((squares * n / (n - 1.0)).sqrt() / weight)
}

/// The median; `None` of nothing.
pub(crate) fn median(values: impl Iterator<Item = f64>) -> Option<f64> {
    let mut values: Vec<f64> = values.collect();
    if values.is_empty() {
        return None;
    }
    values.sort_unstable_by(f64::total_cmp);
    let (half, odd) = (values.len() / 2, values.len() % 2 == 1);
    Some(if odd {
        values[half]
    } else {
        (values[half - 1] + values[half]) / 2.0
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

    /// Eight rows on four passes of 30 moments; skips follow the soil of each moment, which is the same
    /// for all rows, rows differ by a tenth, and row 5 has two points more.
    fn sums() -> Vec<PassSums> {
        let (mut row, mut time, mut speed, mut skips) = (vec![], vec![], vec![], vec![]);
        for moment in 0..120 {
            for r in 1..=8 {
                row.push(f64::from(r));
                time.push(f64::from(moment) + f64::from(moment / 30) * 60.0);
                speed.push(2.0);
                let soil = 3.0 + 3.0 * f64::from(moment % 30) / 30.0;
                let own = f64::from((r * 5) % 8) * 0.05 + f64::from((moment * r) % 7) * 0.1;
                skips.push(soil + own + if r == 5 { 2.0 } else { 0.0 });
            }
        }
        let mut log = PlantingLog {
            row: &row,
            time_s: &time,
            speed_m_s: Some(&speed),
            ..PlantingLog::default()
        };
        log.set(Reading::Skips, &skips);
        let settings = PlantingSettings::default();
        let records = PlantingRecords::of(&log).unwrap();
        let found = passes(&records, &settings).unwrap();
        (0..found.len())
            .map(|at| pass_sums(&found.pass(at).unwrap(), None, &settings))
            .collect()
    }

    #[test]
    fn the_worse_row_is_called_and_only_it() {
        let settings = PlantingSettings::default();
        let found = compare_rows(&sums(), &settings);
        let called: Vec<usize> = found.iter().filter(|d| d.called).map(|d| d.row).collect();
        assert_eq!(called, [5]);
        let row = found.iter().find(|d| d.called).unwrap();
        assert!((row.deviation - 2.0).abs() < 0.3, "{row:?}");
        assert!((row.value - row.others - row.deviation).abs() < 1e-9);
        assert_eq!((row.passes, row.passes_same_side), (4, 4));
        let order = order_of_trouble(&found, 8, &settings.row_limits);
        assert_eq!(order[0].row, 5);
        assert!((order[0].score - row.deviation).abs() < 1e-9);
        assert_eq!(order.len(), 8);
    }

    #[test]
    fn fewer_rows_than_four_are_not_compared() {
        let mut sums = sums();
        for pass in &mut sums {
            pass.rows = 3;
        }
        assert!(compare_rows(&sums, &PlantingSettings::default()).is_empty());
    }

    #[test]
    fn medians() {
        assert_eq!(median([].into_iter()), None);
        assert_eq!(median([3.0, 1.0, 2.0].into_iter()), Some(2.0));
        assert_eq!(median([4.0, 1.0, 2.0, 3.0].into_iter()), Some(2.5));
    }
}
