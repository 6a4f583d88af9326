//! What each row did, pass by pass and over the log: population, skips, multiples, singulation, spacing,
//! ground contact, downforce, ride and vacuum, weighted by ground or seeds and never by records, together
//! with how far each row was from the whole planter at the same moments.

use serde::{Deserialize, Serialize};

use crate::passes::PlantingPass;
use crate::reading::Reading;
use crate::seed_spacing::seeds_per_ha;
use crate::settings::PlantingSettings;

macro_rules! measures {
    ($($variant:ident $unit:literal $doc:literal;)*) => {
        /// What is summed up for a row.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(rename_all = "snake_case")]
        pub enum Measure { $(#[doc = $doc] $variant),* }

        impl Measure {
            /// Every measure.
            pub const ALL: &[Measure] = &[$(Measure::$variant),*];

            /// The unit of its figures.
            pub fn unit(self) -> &'static str { match self { $(Measure::$variant => $unit),* } }
        }
    };
}

measures! {
    Population "1/ha" "Seeds placed; from the spacing where no seed rate is logged.";
    TargetPopulation "1/ha" "Seeds asked for.";
    Singulation "%" "Seeds that fell one by one; 100 less skips and multiples where it is not logged.";
    Skips "%" "Places where a seed is missing.";
    Multiples "%" "Places with more than one seed.";
    SpacingVariation "%" "Coefficient of variation of the spacing.";
    GroundContact "%" "Time with the gauge wheels on the ground.";
    LostContact "%" "Share of the ground on which contact was lost.";
    TooMuchDownforce "%" "Share of the ground on which the gauge wheels carried too much.";
    Downforce "N" "Load on the gauge wheels.";
    RideQuality "%" "Time without bouncing.";
    Vacuum "Pa" "Vacuum at the meter.";
}

/// Number of measures.
pub(crate) const MEASURES: usize = Measure::ALL.len();

impl Measure {
    /// Whether every seed counts alike, rather than every metre.
    fn of_seeds(self) -> bool {
        matches!(
            self,
            Measure::Singulation | Measure::Skips | Measure::Multiples
        )
    }
}

/// Sums of one measure of one row on one pass.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(crate) struct RowSum {
    /// Metres or seeds.
    pub(crate) weight: f64,
    pub(crate) sum: f64,
    /// Sum of what the row was above the mean of the rows at the same moment; or above 0 where rows are
    /// logged at moments of their own.
    pub(crate) above: f64,
    /// Sums with speed, for the relation to it.
    pub(crate) speed: f64,
    pub(crate) speed_speed: f64,
    pub(crate) speed_value: f64,
}

impl RowSum {
    pub(crate) fn add(&mut self, other: &RowSum) {
        self.weight += other.weight;
        self.sum += other.sum;
        self.above += other.above;
        self.speed += other.speed;
        self.speed_speed += other.speed_speed;
        self.speed_value += other.speed_value;
    }

    pub(crate) fn mean(&self) -> Option<f64> {
        (self.weight > 0.0).then(|| self.sum / self.weight)
    }

    pub(crate) fn mean_above(&self) -> Option<f64> {
        (self.weight > 0.0).then(|| self.above / self.weight)
    }
}

/// All measures of all rows on one pass, measure after measure, and in it row after row.
#[derive(Debug, Clone)]
pub(crate) struct PassSums {
    pub(crate) number: usize,
    pub(crate) from_s: f64,
    pub(crate) to_s: f64,
    pub(crate) length_m: f64,
    pub(crate) mean_speed_m_s: f64,
    pub(crate) moments: usize,
    pub(crate) slow_moments: usize,
    pub(crate) unbelieved: usize,
    pub(crate) rows: usize,
    sums: Vec<RowSum>,
}

impl PassSums {
    pub(crate) fn of(&self, measure: Measure, row: usize) -> &RowSum {
        &self.sums[measure as usize * self.rows + row]
    }
}

/// Sums up a pass.
pub(crate) fn pass_sums(
    pass: &PlantingPass,
    row_spacing_m: Option<f64>,
    settings: &PlantingSettings,
) -> PassSums {
    let (rows, moments) = (pass.rows, pass.moments());
    let mut sums = vec![RowSum::default(); MEASURES * rows];
    let mut values = vec![f32::NAN; rows * moments];
    let mut means = vec![f32::NAN; moments];
    for &measure in Measure::ALL {
        if !fill(pass, measure, row_spacing_m, settings, &mut values) {
            continue;
        }
        if pass.shared_moments {
            mean_of_rows(&values, rows, &mut means);
        } else {
            // Rows logged each at its own moments are compared by their means over the pass.
            means.fill(0.0);
        }
        for row in 0..rows {
            let (ground, rate) = (pass.ground_m(row), seed_rate(pass, row));
            // Every record of a log that holds each seed is one seed.
            let each_seed = pass.nominal_m(row).is_some();
            let of_row = &values[row * moments..(row + 1) * moments];
            let sum = &mut sums[measure as usize * rows + row];
            for (at, &value) in of_row.iter().enumerate() {
                let weight = match rate {
                    _ if measure.of_seeds() && each_seed => 1.0,
                    Some(rate) if measure.of_seeds() => f64::from(ground[at] * rate[at]),
                    _ => f64::from(ground[at]),
                };
                // A record without a rate has no known number of seeds and counts as none.
                let counts = value.is_finite() && weight > 0.0 && weight.is_finite();
                if !counts || !pass.speed_m_s[at].is_finite() {
                    continue;
                }
                let (value, speed) = (f64::from(value), f64::from(pass.speed_m_s[at]));
                sum.weight += weight;
                sum.sum += weight * value;
                sum.above += weight * (value - f64::from(means[at]));
                sum.speed += weight * speed;
                sum.speed_speed += weight * speed * speed;
                sum.speed_value += weight * speed * value;
            }
        }
    }
    let (length, time) = (
        pass.length_m(),
        pass.time_s.last().unwrap_or(&f64::NAN) - pass.time_s.first().unwrap_or(&f64::NAN),
    );
    PassSums {
        number: pass.number,
        from_s: pass.time_s.first().copied().unwrap_or(f64::NAN),
        to_s: pass.time_s.last().copied().unwrap_or(f64::NAN),
        length_m: length,
        mean_speed_m_s: length / time,
        moments,
        slow_moments: pass.slow_moments,
        unbelieved: pass.unbelieved,
        rows,
        sums,
    }
}

/// The rate that seeds are counted by: asked for, for it is what the skips are a share of; or placed.
fn seed_rate(pass: &PlantingPass, row: usize) -> Option<&[f32]> {
    pass.row(Reading::TargetSeedRate, row)
        .or_else(|| pass.row(Reading::SeedRate, row))
}

/// Puts a measure of all rows into `values`, or says that the pass does not have it.
pub(crate) fn fill(
    pass: &PlantingPass,
    measure: Measure,
    row_spacing_m: Option<f64>,
    settings: &PlantingSettings,
    values: &mut [f32],
) -> bool {
    let moments = pass.moments();
    let lost = settings.lowest_ground_contact_pct as f32;
    let (light, heavy) = (
        settings.lowest_downforce_n as f32,
        settings.highest_downforce_n as f32,
    );
    let share = |of: bool| if of { 100.0 } else { 0.0 };
    for row in 0..pass.rows {
        let into = &mut values[row * moments..(row + 1) * moments];
        let one = |reading| pass.row(reading, row);
        let mut map = |from: Option<&[f32]>, as_measure: &dyn Fn(f32) -> f32| {
            let Some(from) = from else { return false };
            for (into, &from) in into.iter_mut().zip(from) {
                *into = if from.is_nan() {
                    from
                } else {
                    as_measure(from)
                };
            }
            true
        };
        let same = |value: f32| value;
        let has = match measure {
            Measure::Population => {
                map(one(Reading::SeedRate), &same)
                    || row_spacing_m.is_some_and(|width| {
                        map(one(Reading::SeedSpacing), &|spacing| {
                            seeds_per_ha(f64::from(spacing), width) as f32
                        })
                    })
            }
            Measure::TargetPopulation => map(one(Reading::TargetSeedRate), &same),
            Measure::Singulation => {
                map(one(Reading::Singulation), &same)
                    || match (one(Reading::Skips), one(Reading::Multiples)) {
                        (Some(skips), Some(multiples)) => {
                            for ((into, skips), multiples) in
                                into.iter_mut().zip(skips).zip(multiples)
                            {
                                *into = 100.0 - skips - multiples;
                            }
                            true
                        }
                        _ => false,
                    }
            }
            Measure::Skips => map(one(Reading::Skips), &same),
            Measure::Multiples => map(one(Reading::Multiples), &same),
            Measure::SpacingVariation => map(one(Reading::SpacingVariation), &same),
            Measure::GroundContact => map(one(Reading::GroundContact), &same),
            Measure::LostContact => {
                map(one(Reading::GroundContact), &|c| share(c < lost))
                    || map(one(Reading::Downforce), &|n| share(n < light))
            }
            Measure::TooMuchDownforce => map(one(Reading::Downforce), &|n| share(n > heavy)),
            Measure::Downforce => map(one(Reading::Downforce), &same),
            Measure::RideQuality => map(one(Reading::RideQuality), &same),
            Measure::Vacuum => map(one(Reading::Vacuum), &same),
        };
        if !has {
            return false;
        }
    }
    true
}

/// The mean of the rows that have a reading, moment by moment.
fn mean_of_rows(values: &[f32], rows: usize, means: &mut [f32]) {
    let moments = means.len();
    let mut counts = vec![0u16; moments];
    means.fill(0.0);
    for row in 0..rows {
        for (at, &value) in values[row * moments..(row + 1) * moments]
            .iter()
            .enumerate()
        {
            if !value.is_nan() {
                means[at] += value;
                counts[at] += 1;
            }
        }
    }
    for (mean, count) in means.iter_mut().zip(counts) {
        *mean /= f32::from(count);
    }
}

/// Figures of one row, over the log or on one pass. Absent where the log has no such reading.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct RowFigures {
    /// Ground with readings of any kind, m.
    pub distance_m: f64,
    /// Seeds placed per area, 1/ha.
    pub population_ha: Option<f64>,
    /// Seeds asked for, 1/ha.
    pub target_population_ha: Option<f64>,
    /// Seeds that fell one by one, percent.
    pub singulation_pct: Option<f64>,
    /// Skips, percent.
    pub skips_pct: Option<f64>,
    /// Multiples, percent.
    pub multiples_pct: Option<f64>,
    /// Coefficient of variation of the spacing, percent.
    pub spacing_variation_pct: Option<f64>,
    /// Time with the gauge wheels on the ground, percent.
    pub ground_contact_pct: Option<f64>,
    /// Ground on which contact was lost, percent.
    pub lost_contact_pct: Option<f64>,
    /// Ground on which the gauge wheels carried too much, percent.
    pub too_much_downforce_pct: Option<f64>,
    /// Load on the gauge wheels, N.
    pub downforce_n: Option<f64>,
    /// Ride, percent.
    pub ride_quality_pct: Option<f64>,
    /// Vacuum, Pa.
    pub vacuum_pa: Option<f64>,
}

impl RowFigures {
    /// The figures that sums stand for, `sum` giving those of each measure.
    pub(crate) fn of(sum: impl Fn(Measure) -> RowSum) -> RowFigures {
        let mean = |measure| sum(measure).mean();
        let distance_m = Measure::ALL
            .iter()
            .filter(|measure| !measure.of_seeds())
            .map(|&measure| sum(measure).weight)
            .fold(0.0, f64::max);
        RowFigures {
            distance_m,
            population_ha: mean(Measure::Population),
            target_population_ha: mean(Measure::TargetPopulation),
            singulation_pct: mean(Measure::Singulation),
            skips_pct: mean(Measure::Skips),
            multiples_pct: mean(Measure::Multiples),
            spacing_variation_pct: mean(Measure::SpacingVariation),
            ground_contact_pct: mean(Measure::GroundContact),
            lost_contact_pct: mean(Measure::LostContact),
            too_much_downforce_pct: mean(Measure::TooMuchDownforce),
            downforce_n: mean(Measure::Downforce),
            ride_quality_pct: mean(Measure::RideQuality),
            vacuum_pa: mean(Measure::Vacuum),
        }
    }

    /// One figure of them.
    pub fn get(&self, measure: Measure) -> Option<f64> {
        match measure {
            Measure::Population => self.population_ha,
            Measure::TargetPopulation => self.target_population_ha,
            Measure::Singulation => self.singulation_pct,
            Measure::Skips => self.skips_pct,
            Measure::Multiples => self.multiples_pct,
            Measure::SpacingVariation => self.spacing_variation_pct,
            Measure::GroundContact => self.ground_contact_pct,
            Measure::LostContact => self.lost_contact_pct,
            Measure::TooMuchDownforce => self.too_much_downforce_pct,
            Measure::Downforce => self.downforce_n,
            Measure::RideQuality => self.ride_quality_pct,
            Measure::Vacuum => self.vacuum_pa,
        }
    }
}

/// One pass: where it was in time, and every row on it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PassQuality {
    /// Number of the pass, from 1.
    pub pass: usize,
    /// First and last moment, s.
    pub time_s: [f64; 2],
    /// Length, m.
    pub length_m: f64,
    /// Mean speed, m/s.
    pub mean_speed_m_s: f64,
    /// Moments in it.
    pub moments: usize,
    /// Moments that were too slow to judge.
    pub slow_moments: usize,
    /// The rows, from the left.
    pub rows: Vec<RowFigures>,
}

impl PassQuality {
    pub(crate) fn of(sums: &PassSums) -> PassQuality {
        PassQuality {
            pass: sums.number,
            time_s: [sums.from_s, sums.to_s],
            length_m: sums.length_m,
            mean_speed_m_s: sums.mean_speed_m_s,
            moments: sums.moments,
            slow_moments: sums.slow_moments,
            rows: (0..sums.rows)
                .map(|row| RowFigures::of(|measure| *sums.of(measure, row)))
                .collect(),
        }
    }
}

/// The sums of a row over all passes.
pub(crate) fn over_passes(passes: &[PassSums], measure: Measure, row: usize) -> RowSum {
    let mut sum = RowSum::default();
    for pass in passes {
        sum.add(pass.of(measure, row));
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::passes::passes;
    use crate::planting_log::PlantingLog;
    use crate::records::PlantingRecords;

    /// One row at 2 m/s and then at 4 m/s, a second a record: means go by ground and seeds.
    #[test]
    fn means_are_weighted_by_ground_and_by_seeds() {
        let time: Vec<f64> = (0..41).map(f64::from).collect();
        let row = vec![1.0; 41];
        let fast = |at: usize| at > 20;
        let pick = |slow: f64, quick: f64| -> Vec<f64> {
            (0..41)
                .map(|at| if fast(at) { quick } else { slow })
                .collect()
        };
        let (speed, rate, skips) = (pick(2.0, 4.0), pick(80_000.0, 40_000.0), pick(1.0, 4.0));
        let (contact, force) = (pick(99.0, 50.0), pick(2_000.0, 400.0));
        let mut log = PlantingLog {
            row: &row,
            time_s: &time,
            speed_m_s: Some(&speed),
            ..PlantingLog::default()
        };
        log.set(Reading::TargetSeedRate, &rate);
        log.set(Reading::Skips, &skips);
        log.set(Reading::GroundContact, &contact);
        log.set(Reading::Downforce, &force);
        let settings = PlantingSettings::default();
        let records = PlantingRecords::of(&log).unwrap();
        let found = passes(&records, &settings).unwrap();
        let sums = pass_sums(&found.pass(0).unwrap(), None, &settings);
        let figures = RowFigures::of(|measure| *sums.of(measure, 0));
        // 21 records of 2 m (the first as long as the second) and 20 of 4 m.
        assert!((figures.distance_m - 122.0).abs() < 1e-6);
        let rate = (42.0 * 80_000.0 + 80.0 * 40_000.0) / 122.0;
        assert!((figures.target_population_ha.unwrap() - rate).abs() < 1e-6);
        let skips = (42.0 * 80_000.0 + 80.0 * 40_000.0 * 4.0) / (42.0 * 80_000.0 + 80.0 * 40_000.0);
        assert!((figures.skips_pct.unwrap() - skips).abs() < 1e-9);
        assert!((figures.lost_contact_pct.unwrap() - 8_000.0 / 122.0).abs() < 1e-9);
        assert!((figures.too_much_downforce_pct.unwrap() - 4_200.0 / 122.0).abs() < 1e-9);
        assert_eq!(figures.singulation_pct, None);
    }

    #[test]
    fn rows_are_held_against_the_planter_at_the_same_moment() {
        let values = [1.0, 2.0, f32::NAN, 3.0, 4.0, 8.0];
        let mut means = [0.0; 3];
        mean_of_rows(&values, 2, &mut means);
        assert_eq!(means, [2.0, 3.0, 8.0]);
    }
}
