//! Spectra of skips and multiples, row by row in windows of a few hundred metres: short enough that a
//! period holds its phase in spite of slip and of imprecise distances, many enough to say where a fault
//! began and ended, and of bounded cost.

use std::ops::Range;

use serde::{Deserialize, Serialize};

use crate::PlantingError;
use crate::false_alarm::effective_length;
use crate::passes::{Passes, PlantingPass};
use crate::periodogram::{Basis, FrequencyGrid};
use crate::reading::Reading;
use crate::scratch::Scratch;
use crate::settings::PlantingSettings;
use crate::stored_columns::{Number, bytes, numbers};

/// Frequencies per independent frequency of a window: a peak between two of them loses under 5 %.
const OVERSAMPLING: f64 = 4.0;

/// Frequencies beyond both ends of those searched, so that the ends have a background on both sides too.
pub(crate) const MARGIN: usize = 16;

/// A window has to hold so many records of a row.
const FEWEST_RECORDS: usize = 24;

/// Distances between a row's records in the shortest period that can be seen; 2 is the limit of even
/// spacing, where a record's own length blurs what it holds to two thirds.
const RECORDS_PER_PERIOD: f64 = 2.2;

/// Seed rates that vary less than this are one rate, and seeds then count the same as metres.
const LEAST_RATE_VARIATION: f64 = 0.01;

/// What repeats.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Signal {
    /// Places where a seed is missing.
    Skips,
    /// Places with more than one seed.
    Multiples,
    /// Seeds that did not fall one by one, for logs that hold neither skips nor multiples.
    SingulationLoss,
}

impl Signal {
    fn reading(self) -> Reading {
        match self {
            Signal::Skips => Reading::Skips,
            Signal::Multiples => Reading::Multiples,
            Signal::SingulationLoss => Reading::Singulation,
        }
    }

    /// The percentage of trouble that a reading stands for.
    pub(crate) fn level_pct(self, reading: f64) -> f64 {
        match self {
            Signal::SingulationLoss => 100.0 - reading,
            _ => reading,
        }
    }
}

/// What periods are measured by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Axis {
    /// Metres of ground, which wheels and chains turn by.
    Distance,
    /// Seeds asked for, which a seed disc turns by, in metres at the mean seed rate.
    Seeds,
}

/// What is looked at, the same in every window of a log.
#[derive(Debug, Clone)]
pub(crate) struct SpectraPlan {
    /// The frequencies of the spectra, with margins beyond those searched.
    pub(crate) grid: FrequencyGrid,
    /// Places on the grid of the frequencies searched.
    pub(crate) searched: Range<usize>,
    pub(crate) signals: Vec<Signal>,
    pub(crate) axes: Vec<Axis>,
    pub(crate) rows: usize,
    /// Mean seed rate asked for or, where that is not logged, the usual rate placed, 1/ha.
    pub(crate) mean_rate_ha: Option<f64>,
    pub(crate) shortest_period_m: f64,
    window_m: f64,
}

/// What is looked at in a log; `None` when it holds nothing that could repeat or its records lie too far
/// apart for any period asked about.
///
/// # Errors
/// When what was put aside cannot be read.
pub(crate) fn plan(
    passes: &Passes,
    settings: &PlantingSettings,
) -> Result<Option<SpectraPlan>, PlantingError> {
    let has = |reading| passes.has(reading);
    let signals = match (has(Reading::Skips), has(Reading::Multiples)) {
        (true, true) => vec![Signal::Skips, Signal::Multiples],
        (true, false) => vec![Signal::Skips],
        (false, true) => vec![Signal::Multiples],
        (false, false) if has(Reading::Singulation) => vec![Signal::SingulationLoss],
        (false, false) => return Ok(None),
    };
    let shortest_period_m = settings
        .shortest_period_m
        .max(RECORDS_PER_PERIOD * passes.record_m);
    // Not a number where the way is none.
    if shortest_period_m.is_nan() || shortest_period_m >= settings.longest_period_m {
        return Ok(None);
    }
    let rate = passes.target_rate()?;
    let axes = match rate {
        Some([_, variation]) if variation > LEAST_RATE_VARIATION => {
            vec![Axis::Distance, Axis::Seeds]
        }
        _ => vec![Axis::Distance],
    };
    let step = 1.0 / (OVERSAMPLING * settings.window_m);
    let first = (1.0 / settings.longest_period_m / step).ceil() as usize;
    let last = (1.0 / shortest_period_m / step).floor() as usize;
    let below = MARGIN.min(first.saturating_sub(1));
    let searched = below..below + (last + 1).saturating_sub(first).max(1);
    let mean_rate_ha = match rate {
        Some([mean, _]) => Some(mean),
        None => passes.usual_rate_ha()?,
    };
    Ok(Some(SpectraPlan {
        grid: FrequencyGrid {
            step,
            first: first - below,
            count: searched.end + MARGIN,
        },
        searched,
        signals,
        axes,
        rows: passes.rows,
        mean_rate_ha,
        shortest_period_m,
        window_m: settings.window_m,
    }))
}

impl SpectraPlan {
    /// Width of the range of frequencies searched, cycles/m.
    pub(crate) fn range(&self) -> f64 {
        self.searched.len() as f64 * self.grid.step
    }
}

/// One window of a pass with the spectra of all rows.
#[derive(Debug, Clone)]
pub(crate) struct Window {
    pub(crate) pass: usize,
    /// First and last place along the pass, m.
    pub(crate) distance_m: [f64; 2],
    pub(crate) time_s: [f64; 2],
    /// Baluev's effective length, m.
    pub(crate) effective_m: f64,
    /// Mean seed rate asked for, 1/ha.
    pub(crate) rate_ha: Option<f64>,
    /// Where the strength at every frequency is put aside, axis by axis, signal by signal, row by row.
    strength: u64,
    /// Signal by signal and row by row, the mean percentage and the records it is of.
    level: Vec<[f32; 2]>,
}

impl Window {
    /// The strength of a series at every frequency.
    ///
    /// # Errors
    /// When what was put aside cannot be read.
    pub(crate) fn strength(
        &self,
        plan: &SpectraPlan,
        [axis, signal, row]: [usize; 3],
        scratch: &Scratch,
    ) -> Result<Vec<f32>, PlantingError> {
        let series = (axis * plan.signals.len() + signal) * plan.rows + row;
        let length = plan.grid.count * f32::WIDTH;
        let start = self.strength + (series * length) as u64;
        Ok(numbers(&scratch.get(start, length)?))
    }

    /// Mean percentage of a row's signal and how many records it is of.
    pub(crate) fn level(&self, plan: &SpectraPlan, signal: usize, row: usize) -> [f32; 2] {
        self.level[signal * plan.rows + row]
    }
}

/// The windows of a pass, their spectra put aside in `scratch`. A pass shorter than half a window has none.
///
/// # Errors
/// When the disk is full.
pub(crate) fn windows(
    pass: &PlantingPass,
    plan: &SpectraPlan,
    scratch: &Scratch,
) -> Result<Vec<Window>, PlantingError> {
    let length = pass.length_m();
    if length < plan.window_m / 2.0 {
        return Ok(Vec::new());
    }
    let count = (length / plan.window_m).round().max(1.0) as usize;
    let edge = |at: usize| {
        let distance = length * at as f64 / count as f64;
        pass.distance_m.partition_point(|&d| d < distance)
    };
    let rate = rate_of_moments(pass);
    (0..count)
        .filter_map(|at| {
            let to = if at + 1 == count {
                pass.moments()
            } else {
                edge(at + 1)
            };
            window(pass, plan, scratch, &rate, [edge(at), to]).transpose()
        })
        .collect()
}

/// Mean rate asked for of the rows at each moment; `NaN` where there is none.
fn rate_of_moments(pass: &PlantingPass) -> Vec<f32> {
    let mut sum = vec![0.0f32; pass.moments()];
    let mut count = vec![0u16; pass.moments()];
    for row in 0..pass.rows {
        for (at, &rate) in pass
            .row(Reading::TargetSeedRate, row)
            .unwrap_or_default()
            .iter()
            .enumerate()
        {
            if rate > 0.0 {
                sum[at] += rate;
                count[at] += 1;
            }
        }
    }
    sum.iter()
        .zip(count)
        .map(|(sum, count)| sum / f32::from(count))
        .collect()
}

fn window(
    pass: &PlantingPass,
    plan: &SpectraPlan,
    scratch: &Scratch,
    rate: &[f32],
    [from, to]: [usize; 2],
) -> Result<Option<Window>, PlantingError> {
    if to < from + FEWEST_RECORDS {
        return Ok(None);
    }
    let distance = &pass.distance_m[from..to];
    let rates = &rate[from..to];
    let places: Vec<Vec<f64>> = plan
        .axes
        .iter()
        .map(|axis| match (axis, plan.mean_rate_ha) {
            (Axis::Seeds, Some(mean)) => along_seeds(&pass.step_m[from..to], rates, mean),
            _ => distance.to_vec(),
        })
        .collect();
    let shared: Vec<Basis> = places
        .iter()
        .map(|places| Basis::new(places, plan.grid))
        .collect();
    let series = plan.signals.len() * plan.rows;
    let mut level = vec![[f32::NAN, 0.0]; series];
    let mut strength = vec![0.0; plan.axes.len() * series * plan.grid.count];
    let (mut one, mut values) = (Vec::new(), Vec::new());
    for (at_signal, signal) in plan.signals.iter().enumerate() {
        for row in 0..plan.rows {
            let Some(readings) = pass.row(signal.reading(), row) else {
                continue;
            };
            let readings = &readings[from..to];
            values.clear();
            values.extend(readings.iter().filter(|value| !value.is_nan()));
            if values.len() < FEWEST_RECORDS {
                continue;
            }
            let at = at_signal * plan.rows + row;
            level[at] = [
                values.iter().sum::<f32>() / values.len() as f32,
                values.len() as f32,
            ];
            for axis in 0..plan.axes.len() {
                if values.len() == readings.len() {
                    shared[axis].strength(&values, &mut one);
                } else {
                    let own: Vec<f64> = places[axis]
                        .iter()
                        .zip(readings)
                        .filter(|(_, value)| !value.is_nan())
                        .map(|(&place, _)| place)
                        .collect();
                    Basis::new(&own, plan.grid).strength(&values, &mut one);
                }
                let start = (axis * series + at) * plan.grid.count;
                strength[start..start + plan.grid.count].copy_from_slice(&one);
            }
        }
    }
    let known: Vec<f32> = rates.iter().copied().filter(|r| !r.is_nan()).collect();
    let rate_ha = (!known.is_empty())
        .then(|| known.iter().map(|&r| f64::from(r)).sum::<f64>() / known.len() as f64);
    Ok(Some(Window {
        pass: pass.number,
        distance_m: [distance[0], distance[distance.len() - 1]],
        time_s: [pass.time_s[from], pass.time_s[to - 1]],
        effective_m: effective_length(distance),
        rate_ha,
        strength: scratch.put(&bytes(&strength))?,
        level,
    }))
}

/// The way in seeds asked for, as metres at the mean rate.
fn along_seeds(steps: &[f32], rates: &[f32], mean_rate: f64) -> Vec<f64> {
    let mut way = 0.0;
    steps
        .iter()
        .zip(rates)
        .map(|(&step, &rate)| {
            let share = f64::from(rate) / mean_rate;
            way += f64::from(step) * if share.is_finite() { share } else { 1.0 };
            way
        })
        .collect()
}
