//! Faults that repeat along a row: found by their period over any stretch of the work, with the
//! probability that chance gives as much anywhere in the log; told apart by what turns at that period;
//! and dated.
//!
//! # Why the periodogram
//! A blocked cell leaves out one seed a turn, so its skips are points at one phase. Where a record holds
//! one seed or none, the periodogram of its 0s and 1s is Rayleigh's statistic of the skips' phases; where
//! a record holds a dozen seeds the periodogram still works and point statistics have nothing to go by.
//! Strengths of many windows are added up, not their phases, because distances slip.

use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use crate::PlantingError;
use crate::false_alarm::{ln_false_alarm_of_sum, ln_gamma_tail};
use crate::row_comparison::median;
use crate::scratch::Scratch;
use crate::seed_spacing::{disc_circumference_m, seed_spacing_m};
use crate::settings::PlantingSettings;
use crate::window_spectra::{Axis, MARGIN, Signal, SpectraPlan, Window};

/// Cell counts of common seed discs. Common practice, no source.
const COMMON_CELLS: [u32; 18] = [
    20, 24, 26, 27, 30, 32, 36, 40, 48, 50, 56, 60, 64, 72, 80, 90, 108, 120,
];

/// Harmonics looked at: a peak may be as high as this multiple of the true frequency.
const HARMONICS: usize = 6;

/// A single frequency is there, once others are, when noise gives as much with this probability.
const LN_PRESENT: f64 = -9.210_340_371_976_182; // ln 0.0001

/// The same for a row beside others with the same period.
const LN_SHARED: f64 = -4.605_170_185_988_091; // ln 0.01

/// A subharmonic of less than this share of the peak's excess is not the true period.
const FUNDAMENTAL_SHARE: f64 = 0.25;

/// Faults of one row and signal looked for, one after the other.
const MOST_FAULTS: usize = 4;

/// Metres or seeds fit better when their strengths differ by more than this: a likelihood ratio of 400.
const AXIS_MARGIN: f64 = 6.0;

/// How far the swings of the seed rate shift a rhythm's peak on the wrong axis, as a share.
const AXES_APART: f64 = 0.25;

/// Places on the disc, or turns of a wheel, that share one circumference evenly.
const MOST_PLACES: u32 = 4;

/// A place in the work.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Place {
    /// Number of the pass, from 1.
    pub pass: usize,
    /// Way along it, m.
    pub distance_m: f64,
    /// Moment, s.
    pub time_s: f64,
}

/// A stretch over which a fault repeated.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Episode {
    /// Where the first window with the fault begins.
    pub began: Place,
    /// Whether it was there from the first window on, so that it began before the log or with it.
    pub from_start: bool,
    /// Where the last window with the fault ends.
    pub ended: Place,
    /// Whether it was still there in the last window.
    pub to_end: bool,
    /// Windows of the stretch.
    pub windows: usize,
}

/// What a period agrees with.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PeriodMatch {
    /// "seed disc", or the name of the known rhythm.
    pub what: String,
    /// Its way on the ground in one turn, m.
    pub circumference_m: f64,
    /// Places a turn at which the fault would sit.
    pub places: u32,
    /// Period times places over the circumference, less 1.
    pub off_share: f64,
}

/// What the period turns with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum TurnsWith {
    /// With the metering: the period holds in seeds while the seed rate changes.
    Metering,
    /// With the ground: the period holds in metres while the seed rate changes.
    Ground,
    /// The seed rate changed too little to tell.
    Undecided,
}

/// What the repeating fault is put down to.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "kind")]
pub enum RhythmCause {
    /// The seed disc of the row: a cell that is blocked (skips) or picks up several seeds (multiples).
    SeedDisc {
        /// Cells of the disc.
        cells: u32,
        /// Places on the disc, evenly spread.
        places: u32,
    },
    /// Something turning with the metering, the disc's cells being unknown.
    Metering {
        /// Seeds in a period: the cells of the disc if one cell is at fault.
        seeds: f64,
        /// Common discs of about so many cells.
        common_cells: Vec<u32>,
    },
    /// A rhythm that the grower named.
    Known {
        /// Its name.
        name: String,
    },
    /// At least half of the rows at once: the implement, its drive or the field, not a cell.
    Implement,
    /// Both the disc and a named rhythm have this period, and the seed rate changed too little to tell.
    Ambiguous,
    /// Nothing known has this period.
    Unnamed {
        /// Common discs of one cell to this period, where the seed spacing is known: candidates, no finding.
        common_cells: Vec<u32>,
    },
}

/// A fault that repeats.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RepeatingFault {
    /// Rows, from 1; several for a rhythm of the implement.
    pub rows: Vec<usize>,
    /// What repeats.
    pub signal: Signal,
    /// Other signals that repeat at the same period in the same rows.
    pub also: Vec<Signal>,
    /// Period on the ground, m; in metres at the mean seed rate where `axis` is seeds.
    pub period_m: f64,
    /// Its standard error, m.
    pub period_std_error_m: f64,
    /// Seeds in a period, where the seed spacing is known.
    pub period_seeds: Option<f64>,
    /// What the period was measured by.
    pub axis: Axis,
    /// What it turns with.
    pub turns_with: TurnsWith,
    /// What it is put down to.
    pub cause: RhythmCause,
    /// Everything known that has this period.
    pub matches: Vec<PeriodMatch>,
    /// Multiples of the frequency that are there as well.
    pub harmonics: Vec<usize>,
    /// Stretches over which it was there, in order.
    pub episodes: Vec<Episode>,
    /// Mean percentage of the signal in these windows (first row).
    pub level_with_pct: f64,
    /// Mean percentage in all other windows.
    pub level_without_pct: Option<f64>,
    /// Strength over the best stretch, background divided out, and its windows; noise has a strength of
    /// one a window.
    pub strength: f64,
    /// Windows of the best stretch.
    pub strength_windows: usize,
    /// Probability that chance gives as much anywhere in the log.
    pub false_alarm: f64,
}

/// What was searched, so that a false-alarm probability can be traced.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RhythmSearch {
    /// Signals searched.
    pub signals: Vec<Signal>,
    /// What periods were measured by.
    pub axes: Vec<Axis>,
    /// Windows in the log.
    pub windows: usize,
    /// Stretches of windows searched.
    pub stretches: usize,
    /// Searches that the false-alarm probability is corrected for: rows × signals × axes × stretches.
    pub searches: usize,
    /// Shortest period that could be seen, m.
    pub shortest_period_m: f64,
    /// Longest period looked for, m.
    pub longest_period_m: f64,
    /// Frequencies looked at.
    pub frequencies: usize,
}

/// A peak of one row, signal and axis.
#[derive(Debug, Clone)]
struct Call {
    axis: usize,
    signal: usize,
    row: usize,
    frequency: f64,
    std_error: f64,
    harmonics: Vec<usize>,
    /// Windows of the fault, first and the one after the last.
    stretches: Vec<[usize; 2]>,
    /// The stretch it was found on.
    found_on: [usize; 2],
    strength: f64,
    ln_false_alarm: f64,
}

/// Finds what repeats in a log's windows, which are in the order in which they were driven and whose spectra are
/// put aside in `scratch`.
///
/// # Errors
/// When what was put aside cannot be read.
pub(crate) fn repeating_faults(
    windows: &[Window],
    plan: &SpectraPlan,
    scratch: &Scratch,
    row_spacing_m: Option<f64>,
    settings: &PlantingSettings,
) -> Result<(Vec<RepeatingFault>, RhythmSearch), PlantingError> {
    let stretches = stretches(windows.len());
    let series: Vec<[usize; 3]> = (0..plan.axes.len())
        .flat_map(|axis| (0..plan.signals.len()).map(move |signal| [axis, signal]))
        .flat_map(|[axis, signal]| (0..plan.rows).map(move |row| [axis, signal, row]))
        .collect();
    let search = RhythmSearch {
        signals: plan.signals.clone(),
        axes: plan.axes.clone(),
        windows: windows.len(),
        stretches: stretches.len(),
        searches: series.len() * stretches.len(),
        shortest_period_m: plan.shortest_period_m,
        longest_period_m: settings.longest_period_m,
        frequencies: plan.searched.len(),
    };
    let searcher = Searcher {
        windows,
        plan,
        scratch,
        settings,
        stretches,
        ln_searches: (search.searches.max(1) as f64).ln(),
    };
    let of_series: Vec<Result<Vec<Call>, PlantingError>> = series
        .into_par_iter()
        .map(|series| searcher.calls(series))
        .collect();
    let mut calls: Vec<Call> = Vec::new();
    for more in of_series {
        calls.extend(more?);
    }
    calls.sort_by(|a, b| {
        a.ln_false_alarm
            .total_cmp(&b.ln_false_alarm)
            .then(a.row.cmp(&b.row))
    });
    Ok((searcher.faults(calls, row_spacing_m)?, search))
}

/// Stretches of windows: every length that is a power of two, half overlapping, and the whole.
fn stretches(windows: usize) -> Vec<[usize; 2]> {
    let mut found = Vec::new();
    let mut length = 1;
    while length < windows {
        let step = (length / 2).max(1);
        found.extend(
            (0..=windows - length)
                .step_by(step)
                .map(|from| [from, from + length]),
        );
        length *= 2;
    }
    if windows > 0 {
        found.push([0, windows]);
    }
    found
}

struct Searcher<'a> {
    windows: &'a [Window],
    plan: &'a SpectraPlan,
    scratch: &'a Scratch,
    settings: &'a PlantingSettings,
    stretches: Vec<[usize; 2]>,
    ln_searches: f64,
}

/// Strengths of one row added up over windows, so that any stretch is a difference.
struct RunningSums {
    count: usize,
    sums: Vec<f64>,
    background: Vec<f64>,
}

impl RunningSums {
    /// Strength over a stretch at a frequency, in units of the background.
    fn over(&self, [from, to]: [usize; 2], frequency: usize) -> f64 {
        let at = |window: usize| self.sums[window * self.count + frequency];
        (at(to) - at(from)) / self.background[frequency]
    }

    /// The same at the highest of the frequency and its neighbours.
    fn near(&self, stretch: [usize; 2], frequency: usize) -> f64 {
        (frequency.saturating_sub(1)..=(frequency + 1).min(self.count - 1))
            .map(|at| self.over(stretch, at))
            .fold(0.0, f64::max)
    }
}

impl Searcher<'_> {
    /// Sums of a series, windows that `masked` says left out.
    fn sums(&self, series: [usize; 3], masked: &[bool]) -> Result<RunningSums, PlantingError> {
        let count = self.plan.grid.count;
        let mut sums = vec![0.0; (self.windows.len() + 1) * count];
        for (at, window) in self.windows.iter().enumerate() {
            let (before, after) = sums.split_at_mut((at + 1) * count);
            let strength = window.strength(self.plan, series, self.scratch)?;
            let before = &before[at * count..];
            for k in 0..count {
                let more = if masked[at] { 0.0 } else { strength[k] };
                after[k] = before[k] + f64::from(more);
            }
        }
        let counted = masked.iter().filter(|&&masked| !masked).count();
        let background = background(&sums[self.windows.len() * count..], counted);
        Ok(RunningSums {
            count,
            sums,
            background,
        })
    }

    /// The faults of one series, the strongest first.
    fn calls(&self, series: [usize; 3]) -> Result<Vec<Call>, PlantingError> {
        let mut masked = vec![false; self.windows.len()];
        let mut calls: Vec<Call> = Vec::new();
        for _ in 0..MOST_FAULTS {
            let sums = self.sums(series, &masked)?;
            let Some(call) = self.strongest(series, &sums) else {
                break;
            };
            for [from, to] in call.stretches.iter().chain([&call.found_on]) {
                masked[*from..*to].fill(true);
            }
            // The same fault again, elsewhere in the field, is another stretch of it.
            let same = calls
                .iter_mut()
                .find(|c| self.same_period(c.frequency, c.std_error, &call));
            match same {
                Some(earlier) => earlier.stretches.extend(call.stretches),
                None => calls.push(call),
            }
        }
        for call in &mut calls {
            call.stretches.sort_unstable();
        }
        Ok(calls)
    }

    fn same_period(&self, frequency: f64, std_error: f64, call: &Call) -> bool {
        let tolerance =
            self.settings.period_tolerance * frequency + 3.0 * std_error.hypot(call.std_error);
        (frequency - call.frequency).abs() <= tolerance
    }

    /// The most significant peak over all stretches, when it is significant.
    fn strongest(&self, series: [usize; 3], sums: &RunningSums) -> Option<Call> {
        let mut best: Option<(f64, [usize; 2], usize, f64)> = None;
        for &stretch in &self.stretches {
            let (peak, strength) = self
                .plan
                .searched
                .clone()
                .map(|k| (k, sums.over(stretch, k)))
                .max_by(|a, b| a.1.total_cmp(&b.1))?;
            let ln_false_alarm = ln_false_alarm_of_sum(
                strength,
                stretch[1] - stretch[0],
                self.plan.range(),
                self.effective_m(stretch),
            );
            if best.is_none_or(|(so_far, ..)| ln_false_alarm < so_far) {
                best = Some((ln_false_alarm, stretch, peak, strength));
            }
        }
        let (ln_false_alarm, found_on, peak, strength) = best?;
        let ln_family = ln_false_alarm + self.ln_searches;
        if ln_family > self.settings.false_alarm.ln() {
            return None;
        }
        let (place, fundamental) = self.fundamental(sums, found_on, peak);
        let frequency = place * self.plan.grid.step;
        let length = found_on[1] - found_on[0];
        let excess = (sums.near(found_on, fundamental) - length as f64).max(1.0);
        let harmonics = (2..=HARMONICS)
            .filter(|&times| {
                self.plan
                    .grid
                    .nearest(frequency * times as f64)
                    .is_some_and(|k| self.present(sums, found_on, k, LN_PRESENT))
            })
            .collect();
        // Montgomery, M. H. and O'Donoghue, D. (1999), Delta Scuti Star Newsletter 13, 28: √6 over
        // 2π × length × √strength, the strength being a quarter of readings × (amplitude / noise)².
        let std_error =
            6.0f64.sqrt() / (std::f64::consts::TAU * self.length_m(found_on) * excess.sqrt());
        Some(Call {
            axis: series[0],
            signal: series[1],
            row: series[2],
            frequency,
            std_error,
            harmonics,
            stretches: vec![self.dated(sums, found_on, fundamental)],
            found_on,
            strength,
            ln_false_alarm: ln_family.min(0.0),
        })
    }

    /// Mean effective length of a stretch's windows, m.
    fn effective_m(&self, [from, to]: [usize; 2]) -> f64 {
        let windows = &self.windows[from..to];
        let squares: f64 = windows.iter().map(|w| w.effective_m.powi(2)).sum();
        (squares / windows.len() as f64).sqrt()
    }

    /// Mean length of a stretch's windows, m.
    fn length_m(&self, [from, to]: [usize; 2]) -> f64 {
        let windows = &self.windows[from..to];
        let sum: f64 = windows
            .iter()
            .map(|w| w.distance_m[1] - w.distance_m[0])
            .sum();
        sum / windows.len() as f64
    }

    fn present(&self, sums: &RunningSums, stretch: [usize; 2], k: usize, ln_limit: f64) -> bool {
        let length = (stretch[1] - stretch[0]) as f64;
        let strength = sums.near(stretch, k);
        // Three neighbouring frequencies were looked at.
        strength > length && ln_gamma_tail(strength, length) + 3.0f64.ln() < ln_limit
    }

    /// The lowest frequency whose multiple the peak is, as a place on the grid with decimals and without.
    fn fundamental(&self, sums: &RunningSums, stretch: [usize; 2], peak: usize) -> (f64, usize) {
        let length = (stretch[1] - stretch[0]) as f64;
        let excess = sums.over(stretch, peak) - length;
        let grid = self.plan.grid;
        let place = self.between(sums, stretch, peak);
        for times in (2..=HARMONICS).rev() {
            let lower = grid.nearest(place * grid.step / times as f64);
            let Some(lower) = lower.filter(|k| self.plan.searched.contains(k)) else {
                continue;
            };
            let of_lower = sums.near(stretch, lower) - length;
            if of_lower > FUNDAMENTAL_SHARE * excess
                && self.present(sums, stretch, lower, LN_PRESENT)
            {
                return (place / times as f64, lower);
            }
        }
        (place, peak)
    }

    /// A peak's place between the frequencies of the grid, by the parabola through it and its neighbours.
    fn between(&self, sums: &RunningSums, stretch: [usize; 2], peak: usize) -> f64 {
        let place = (self.plan.grid.first + peak) as f64;
        if peak == 0 || peak + 1 == sums.count {
            return place;
        }
        let [a, b, c] = [peak - 1, peak, peak + 1].map(|k| sums.over(stretch, k));
        let bend = a - 2.0 * b + c;
        if bend < 0.0 {
            place + 0.5 * (a - c) / bend
        } else {
            place
        }
    }

    /// The windows over which the frequency is there: the stretch that is likeliest to have strengths of
    /// the mean found rather than noise's mean of 1 (both exponential), by Kadane's running maximum.
    fn dated(&self, sums: &RunningSums, found_on: [usize; 2], k: usize) -> [usize; 2] {
        let each: Vec<f64> = (0..self.windows.len())
            .map(|at| sums.over([at, at + 1], k))
            .collect();
        let mut stretch = found_on;
        // The mean of the stretch found changes it a little, and that the mean.
        for _ in 0..3 {
            let mean = (sums.over(stretch, k) / (stretch[1] - stretch[0]) as f64).max(1.5);
            let (mut best, mut sum, mut from) = (f64::MIN, 0.0, 0);
            for (at, strength) in each.iter().enumerate() {
                sum += strength * (1.0 - 1.0 / mean) - mean.ln();
                if sum > best {
                    best = sum;
                    stretch = [from, at + 1];
                }
                if sum < 0.0 {
                    sum = 0.0;
                    from = at + 1;
                }
            }
        }
        stretch
    }

    /// From peaks of single series to faults: rhythms of many rows gathered, the better axis kept, signals
    /// of one fault put together.
    fn faults(
        &self,
        calls: Vec<Call>,
        row_spacing_m: Option<f64>,
    ) -> Result<Vec<RepeatingFault>, PlantingError> {
        let mut left: Vec<Call> = calls;
        let mut found: Vec<(Call, Vec<usize>, Vec<usize>)> = Vec::new();
        while !left.is_empty() {
            let call = left.remove(0);
            let rows = self.rows_with(&call)?;
            let everywhere = self.plan.rows >= 4 && 2 * rows.len() >= self.plan.rows;
            let belongs = |other: &Call| {
                // In some rows a harmonic may be higher than the rhythm that all share.
                let harmonic = everywhere && self.is_harmonic(&call, other);
                (other.row == call.row || everywhere) && (harmonic || self.same_fault(&call, other))
            };
            let mut also: Vec<usize> = left
                .iter()
                .filter(|other| belongs(other) && other.signal != call.signal)
                .map(|other| other.signal)
                .collect();
            also.sort_unstable();
            also.dedup();
            left.retain(|other| !belongs(other));
            let rows = if everywhere { rows } else { vec![call.row] };
            found.push((call, rows, also));
        }
        found
            .into_iter()
            .map(|(call, rows, also)| self.fault(&call, rows, &also, row_spacing_m))
            .collect()
    }

    /// Whether two calls are of one rhythm. On the same axis by their frequencies. On the other axis a
    /// rhythm is smeared by the swings of the seed rate, and found, if at all, weaker and a little off: of
    /// calls in the same windows the stronger counts.
    fn same_fault(&self, call: &Call, other: &Call) -> bool {
        if call.axis == other.axis {
            return self.same_period(call.frequency, call.std_error, other);
        }
        let overlap = call
            .stretches
            .iter()
            .any(|a| other.stretches.iter().any(|b| a[0] < b[1] && b[0] < a[1]));
        let near = (call.frequency / other.frequency - 1.0).abs() < AXES_APART;
        overlap && (near || call.row == other.row)
    }

    /// Whether one call's frequency is a small multiple of the other's.
    fn is_harmonic(&self, call: &Call, other: &Call) -> bool {
        let (low, high) = if call.frequency < other.frequency {
            (call, other)
        } else {
            (other, call)
        };
        let times = (high.frequency / low.frequency).round();
        call.axis == other.axis
            && times <= HARMONICS as f64
            && self.same_period(times * low.frequency, times * low.std_error, high)
    }

    /// Rows (from 0) in which the period of a call is there.
    fn rows_with(&self, call: &Call) -> Result<Vec<usize>, PlantingError> {
        let Some(k) = self.plan.grid.nearest(call.frequency) else {
            return Ok(vec![call.row]);
        };
        let unmasked = vec![false; self.windows.len()];
        let mut rows = Vec::new();
        for row in 0..self.plan.rows {
            let is_there = row == call.row || {
                let sums = self.sums([call.axis, call.signal, row], &unmasked)?;
                self.present(&sums, call.found_on, k, LN_SHARED)
            };
            rows.extend(is_there.then_some(row));
        }
        Ok(rows)
    }

    fn fault(
        &self,
        call: &Call,
        rows: Vec<usize>,
        also: &[usize],
        row_spacing_m: Option<f64>,
    ) -> Result<RepeatingFault, PlantingError> {
        let settings = self.settings;
        let period_m = 1.0 / call.frequency;
        let period_std_error_m = call.std_error / call.frequency.powi(2);
        let spacing_m = self.spacing_m(call, row_spacing_m);
        let period_seeds = spacing_m.map(|spacing| period_m / spacing);
        let turns_with = self.turns_with(call)?;
        let tolerance = settings.period_tolerance + 3.0 * period_std_error_m / period_m;
        let mut matches = Vec::new();
        if let (Some(cells), Some(spacing)) = (settings.disc_cells, spacing_m) {
            let circumference = disc_circumference_m(cells, spacing);
            matches.extend(
                (1..=MOST_PLACES)
                    .map(|places| matching("seed disc", circumference, places, period_m))
                    .filter(|m| m.off_share.abs() <= tolerance),
            );
        }
        let disc = matches.first().cloned();
        let known: Vec<PeriodMatch> = settings
            .known_rhythms
            .iter()
            .map(|rhythm| matching(&rhythm.name, rhythm.period_m, 1, period_m))
            .filter(|m| m.off_share.abs() <= tolerance)
            .collect();
        matches.extend(known.iter().cloned());
        let common_cells = period_seeds.map_or(Vec::new(), |seeds| {
            COMMON_CELLS
                .into_iter()
                .filter(|&cells| (seeds / f64::from(cells) - 1.0).abs() <= tolerance)
                .collect()
        });
        let of_disc = disc
            .zip(settings.disc_cells)
            .filter(|_| turns_with != TurnsWith::Ground)
            .map(|(m, cells)| RhythmCause::SeedDisc {
                cells,
                places: m.places,
            });
        let of_known = known
            .first()
            .filter(|_| turns_with != TurnsWith::Metering)
            .map(|m| RhythmCause::Known {
                name: m.what.clone(),
            });
        let cause = if rows.len() > 1 {
            RhythmCause::Implement
        } else {
            match (of_disc, of_known, turns_with, period_seeds) {
                (Some(_), Some(_), TurnsWith::Undecided, _) => RhythmCause::Ambiguous,
                (Some(disc), ..) => disc,
                (None, Some(known), ..) => known,
                (None, None, TurnsWith::Metering, Some(seeds)) => RhythmCause::Metering {
                    seeds,
                    common_cells,
                },
                (None, None, ..) => RhythmCause::Unnamed { common_cells },
            }
        };
        let level = |inside: bool| self.level(call, inside);
        Ok(RepeatingFault {
            rows: rows.iter().map(|row| row + 1).collect(),
            signal: self.plan.signals[call.signal],
            also: also.iter().map(|&at| self.plan.signals[at]).collect(),
            period_m,
            period_std_error_m,
            period_seeds,
            axis: self.plan.axes[call.axis],
            turns_with,
            cause,
            matches,
            harmonics: call.harmonics.clone(),
            episodes: self.episodes(call),
            level_with_pct: level(true).unwrap_or(f64::NAN),
            level_without_pct: level(false),
            strength: call.strength,
            strength_windows: call.found_on[1] - call.found_on[0],
            false_alarm: call.ln_false_alarm.exp(),
        })
    }

    /// Distance from seed to seed where the fault was, m; on the axis of seeds at the mean rate.
    fn spacing_m(&self, call: &Call, row_spacing_m: Option<f64>) -> Option<f64> {
        let rate = match self.plan.axes[call.axis] {
            Axis::Seeds => self.plan.mean_rate_ha?,
            Axis::Distance => {
                let [from, to] = call.found_on;
                let rates = self.windows[from..to].iter().filter_map(|w| w.rate_ha);
                median(rates).or(self.plan.mean_rate_ha)?
            }
        };
        Some(seed_spacing_m(rate, row_spacing_m?)).filter(|spacing| spacing.is_finite())
    }

    /// Whether metres or seeds give the sharper period.
    fn turns_with(&self, call: &Call) -> Result<TurnsWith, PlantingError> {
        if self.plan.axes.len() < 2 {
            return Ok(TurnsWith::Undecided);
        }
        let unmasked = vec![false; self.windows.len()];
        let grid = self.plan.grid;
        let low = grid
            .nearest(call.frequency * (1.0 - AXES_APART))
            .unwrap_or(0);
        let high = grid
            .nearest(call.frequency * (1.0 + AXES_APART))
            .unwrap_or(grid.count - 1);
        let best = |axis: usize| -> Result<f64, PlantingError> {
            let sums = self.sums([axis, call.signal, call.row], &unmasked)?;
            let strengths = (low..=high).map(|k| sums.over(call.found_on, k));
            Ok(strengths.fold(0.0, f64::max))
        };
        let of = |wanted: Axis| {
            let axis = self.plan.axes.iter().position(|&axis| axis == wanted);
            axis.map_or(Ok(0.0), best)
        };
        let (ground, seeds) = (of(Axis::Distance)?, of(Axis::Seeds)?);
        Ok(if seeds > ground + AXIS_MARGIN {
            TurnsWith::Metering
        } else if ground > seeds + AXIS_MARGIN {
            TurnsWith::Ground
        } else {
            TurnsWith::Undecided
        })
    }

    fn episodes(&self, call: &Call) -> Vec<Episode> {
        call.stretches
            .iter()
            .map(|&[from, to]| {
                let (first, last) = (&self.windows[from], &self.windows[to - 1]);
                let place = |window: &Window, end: usize| Place {
                    pass: window.pass,
                    distance_m: window.distance_m[end],
                    time_s: window.time_s[end],
                };
                Episode {
                    began: place(first, 0),
                    from_start: from == 0,
                    ended: place(last, 1),
                    to_end: to == self.windows.len(),
                    windows: to - from,
                }
            })
            .collect()
    }

    /// Mean percentage of the call's signal and row inside or outside its stretches.
    fn level(&self, call: &Call, inside: bool) -> Option<f64> {
        let (mut sum, mut count) = (0.0, 0.0);
        for (at, window) in self.windows.iter().enumerate() {
            let within = call
                .stretches
                .iter()
                .any(|&[from, to]| (from..to).contains(&at));
            let [level, records] = window.level(self.plan, call.signal, call.row);
            if within == inside && records > 0.0 {
                sum += f64::from(level * records);
                count += f64::from(records);
            }
        }
        let signal = self.plan.signals[call.signal];
        (count > 0.0).then(|| signal.level_pct(sum / count))
    }
}

fn matching(what: &str, circumference_m: f64, places: u32, period_m: f64) -> PeriodMatch {
    PeriodMatch {
        what: what.to_owned(),
        circumference_m,
        places,
        off_share: period_m * f64::from(places) / circumference_m - 1.0,
    }
}

/// What noise adds at each frequency, in strengths a window, at least 1: the higher of the medians of the
/// strengths of all windows at frequencies a little below and a little above, so that a slope of the noise,
/// as slow changes of the soil and readings averaged by the monitor make it, is not taken for a rhythm.
/// Never under 1, so that it can only make the search more cautious.
fn background(total: &[f64], windows: usize) -> Vec<f64> {
    /// A peak reaches so many frequencies to each side.
    const PEAK: usize = 4;
    let windows = windows.max(1) as f64;
    // The median of a sum of exponentials over its mean: Wilson, E. B. and Hilferty, M. M. (1931), The
    // distribution of chi-square, Proceedings of the National Academy of Sciences 17, 684–688.
    let median_over_mean = (1.0 - 1.0 / (9.0 * windows)).powi(3);
    let mut near = Vec::with_capacity(MARGIN);
    let mut middle = |from: usize, to: usize| {
        near.clear();
        near.extend_from_slice(&total[from.min(total.len())..to.min(total.len())]);
        if near.is_empty() {
            return 0.0;
        }
        let half = near.len() / 2;
        *near.select_nth_unstable_by(half, f64::total_cmp).1
    };
    (0..total.len())
        .map(|k| {
            let below = middle(k.saturating_sub(MARGIN), k.saturating_sub(PEAK));
            let above = middle(k + PEAK + 1, k + MARGIN + 1);
            (below.max(above) / windows / median_over_mean).max(1.0)
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stretches_cover_every_power_of_two() {
        assert_eq!(stretches(0), Vec::<[usize; 2]>::new());
        assert_eq!(stretches(1), [[0, 1]]);
        assert_eq!(
            stretches(3),
            [[0, 1], [1, 2], [2, 3], [0, 2], [1, 3], [0, 3]]
        );
        let many = stretches(100);
        assert!(many.len() < 500, "{}", many.len());
        assert!(many.iter().all(|[from, to]| from < to && *to <= 100));
    }

    #[test]
    fn background_follows_slow_noise_and_not_a_peak() {
        let slope = |k: usize| 100.0 + 40_000.0 / (k + 20) as f64;
        let mut total: Vec<f64> = (0..400).map(slope).collect();
        total[100] = 5_000.0;
        let found = background(&total, 100);
        assert_eq!(found.len(), 400);
        // Never below the slope, and not lifted by the peak.
        assert!((MARGIN..400).all(|k| 100.0 * found[k] >= slope(k).min(total[k])));
        assert!(100.0 * found[100] < 1.3 * slope(100));
        assert!((found[398] - 1.98).abs() < 0.05, "{}", found[398]);
    }
}
