//! From records to passes: moments in order of time, the way along each unbroken stretch of planting,
//! and each row's readings side by side. Breaks are those of the harvest's passes: a silence, the
//! planter lifted, another pass number or, in logs without pass numbers, a turn.

use checkstrip_model::silence_that_ends_a_pass_s;

use crate::PlantingError;
use crate::reading::{READINGS, Reading, is_unbelieved};
use crate::records::{Kept, PlantingRecords};
use crate::scratch::Scratch;
use crate::seed_spacing::{row_offset_m, seed_spacing_m, seeds_per_ha};
use crate::settings::PlantingSettings;

/// A turn of more than this within [`TURN_S`] ends a pass, degrees.
const TURN_DEG: f64 = 45.0;
/// Time over which a turn is looked for, s.
const TURN_S: f64 = 6.0;
/// Moments to each side from which the direction of travel is taken.
const AROUND: usize = 3;
/// Positions of one moment that differ by less than this are one, m.
const SAME_PLACE_M: f64 = 0.1;

/// One pass with all rows: moments along the way, and every reading row by row.
#[derive(Debug, Clone)]
pub struct PlantingPass {
    /// Number of the pass, from 1, in the order in which they were driven.
    pub number: usize,
    /// Rows of the planter.
    pub rows: usize,
    /// End of each moment's interval, s.
    pub time_s: Vec<f64>,
    /// Way from the start of the pass to each moment, m.
    pub distance_m: Vec<f64>,
    /// Way since the moment before, m.
    pub step_m: Vec<f32>,
    /// Speed at each moment, m/s.
    pub speed_m_s: Vec<f32>,
    /// Row after row, each with an entry per moment; `NaN` is no reading.
    readings: [Option<Vec<f32>>; READINGS],
    /// Moments that were too slow to judge.
    pub(crate) slow_moments: usize,
    /// Readings that cannot be.
    pub(crate) unbelieved: usize,
    /// Whether the rows are logged at the same moments, so that they can be compared moment by moment.
    pub(crate) shared_moments: bool,
    /// Nominal spacing by row and moment, in logs that hold every seed.
    nominal_m: Option<Vec<f32>>,
}

impl PlantingPass {
    /// Number of moments.
    pub fn moments(&self) -> usize {
        self.time_s.len()
    }

    /// Length of the pass, m.
    pub fn length_m(&self) -> f64 {
        self.distance_m.last().copied().unwrap_or(0.0)
    }

    /// The readings of row `row` (from 0) along the pass.
    pub fn row(&self, reading: Reading, row: usize) -> Option<&[f32]> {
        let moments = self.moments();
        self.readings[reading as usize]
            .as_ref()
            .map(|values| &values[row * moments..(row + 1) * moments])
    }

    /// The ground that each record of a row stands for, m: in logs that hold every seed its own spacing,
    /// else the way since the moment before.
    pub(crate) fn ground_m(&self, row: usize) -> &[f32] {
        match (&self.nominal_m, self.row(Reading::SeedSpacing, row)) {
            (Some(_), Some(spacings)) => spacings,
            _ => &self.step_m,
        }
    }

    /// Nominal spacings of a row's seeds, m, in logs that hold every seed.
    pub(crate) fn nominal_m(&self, row: usize) -> Option<&[f32]> {
        let moments = self.moments();
        self.nominal_m
            .as_ref()
            .map(|values| &values[row * moments..(row + 1) * moments])
    }
}

/// Where the passes of a log are.
#[derive(Debug)]
pub struct Passes<'r> {
    records: &'r PlantingRecords,
    settings: &'r PlantingSettings,
    /// For each pass, its first record in order of time and the record after its last.
    ranges: Vec<[usize; 2]>,
    /// Rows of the planter.
    pub rows: usize,
    /// Moments in the log.
    pub moments: usize,
    /// Usual time from moment to moment, s.
    pub usual_interval_s: f64,
    /// Passes left out for being too short.
    pub short_passes: usize,
    /// Way from one record of a row to its next, m, on average over the passes.
    pub record_m: f64,
    /// The usual spacing, m, when every record is one seed.
    pub single_seed_m: Option<f64>,
    /// Distance between two rows, m: the setting, or the log's working width over its rows.
    pub row_spacing_m: Option<f64>,
}

/// Everything that is the same for all rows at a moment.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Moment {
    first: usize,
    end: usize,
    time_s: f64,
    speed_m_s: f64,
    step_m: f64,
    at_m: [f64; 2],
    heading_deg: f64,
    /// The machine's own pass, as any number; `None` where the log does not tell.
    pass: Option<f64>,
    working: bool,
}

/// A moment while its records are read.
#[derive(Debug, Clone, Copy, Default)]
struct MomentSums {
    first: usize,
    end: usize,
    time_s: f64,
    speed: Sum,
    step: Sum,
    at: [Sum; 2],
    heading_deg: f64,
    pass: Option<f64>,
    working: bool,
}

impl MomentSums {
    fn moment(&self) -> Moment {
        Moment {
            first: self.first,
            end: self.end,
            time_s: self.time_s,
            speed_m_s: self.speed.mean(),
            step_m: self.step.mean(),
            at_m: self.at.map(|sum| sum.mean()),
            heading_deg: self.heading_deg,
            pass: self.pass,
            working: self.working,
        }
    }
}

/// Finds the passes of a log.
///
/// # Errors
/// When a setting makes no sense, no pass is left, or what was put aside cannot be read.
pub fn passes<'r>(
    records: &'r PlantingRecords,
    settings: &'r PlantingSettings,
) -> Result<Passes<'r>, PlantingError> {
    settings.check()?;
    let rows = records.rows();
    let width = usual(records, Kept::Width)?.map(|width| width / rows as f64);
    let mut found = Passes {
        records,
        settings,
        ranges: Vec::new(),
        rows,
        moments: 0,
        usual_interval_s: f64::NAN,
        short_passes: 0,
        record_m: f64::NAN,
        single_seed_m: None,
        row_spacing_m: settings.row_spacing_m.or(width),
    };
    let mut intervals = Vec::new();
    let mut before = f64::NAN;
    for part in records.parts(0, records.len()) {
        let times = part.doubles(Kept::Time)?;
        for time_s in times
            .into_iter()
            .flatten()
            .filter(|time_s| !time_s.is_nan())
        {
            if time_s != before {
                intervals.push(time_s - before);
                before = time_s;
            }
        }
    }
    found.moments = intervals.len();
    intervals.retain(|&interval| interval > 0.0);
    if !intervals.is_empty() {
        let middle = intervals.len() / 2;
        found.usual_interval_s = *intervals.select_nth_unstable_by(middle, f64::total_cmp).1;
    }
    drop(intervals);
    found.split()?;
    if found.ranges.is_empty() {
        return Err(PlantingError::NoPasses {
            moments: found.moments,
            shortest_m: settings.shortest_pass_m,
        });
    }
    Ok(found)
}

/// The median of the values above 0 of ten thousand records spread over the log.
fn usual(records: &PlantingRecords, kept: Kept) -> Result<Option<f64>, PlantingError> {
    let mut found = records.sample(kept)?.unwrap_or_default();
    found.retain(|&value| value > 0.0);
    if found.is_empty() {
        return Ok(None);
    }
    let middle = found.len() / 2;
    Ok(Some(
        *found.select_nth_unstable_by(middle, f64::total_cmp).1,
    ))
}

impl Passes<'_> {
    /// Number of passes.
    pub fn len(&self) -> usize {
        self.ranges.len()
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.ranges.is_empty()
    }

    /// Where more than this is put aside.
    pub(crate) fn scratch(&self) -> &Scratch {
        self.records.scratch()
    }

    /// Whether the passes hold a reading, from a column or, for single seeds, from their spacings.
    pub(crate) fn has(&self, reading: Reading) -> bool {
        self.records.has(Kept::Reading(reading))
            || (self.single_seed_m.is_some()
                && matches!(reading, Reading::Skips | Reading::Multiples))
    }

    /// Calls `each` with every moment of the records `from..to`.
    fn each_moment(
        &self,
        from: usize,
        to: usize,
        mut each: impl FnMut(&Moment),
    ) -> Result<(), PlantingError> {
        let mut at_hand: Option<MomentSums> = None;
        for part in self.records.parts(from, to) {
            let times = part.doubles(Kept::Time)?;
            let (speed, step) = (part.doubles(Kept::Speed)?, part.doubles(Kept::Step)?);
            let (east, north) = (part.doubles(Kept::East)?, part.doubles(Kept::North)?);
            let (heading, pass) = (part.doubles(Kept::Heading)?, part.doubles(Kept::Pass)?);
            let working = part.singles(Kept::Working)?;
            let value = |column: &Option<Vec<f64>>, at: usize| column.as_ref().map(|v| v[at]);
            for (at, time_s) in times.into_iter().flatten().enumerate() {
                if time_s.is_nan() {
                    continue;
                }
                let record = part.first() + at;
                let sums = match &mut at_hand {
                    Some(sums) if sums.time_s == time_s => sums,
                    other => {
                        if let Some(done) = other.take() {
                            each(&done.moment());
                        }
                        other.insert(MomentSums {
                            first: record,
                            time_s,
                            heading_deg: value(&heading, at).unwrap_or(f64::NAN),
                            pass: value(&pass, at),
                            ..MomentSums::default()
                        })
                    }
                };
                sums.speed.add(value(&speed, at));
                sums.step.add(value(&step, at));
                sums.at[0].add(value(&east, at));
                sums.at[1].add(value(&north, at));
                sums.working |= working.as_ref().is_none_or(|v| v[at] != 0.0);
                sums.end = record + 1;
            }
        }
        if let Some(done) = at_hand {
            each(&done.moment());
        }
        Ok(())
    }

    /// The moments of pass `index`.
    pub(crate) fn moments_of(&self, index: usize) -> Result<Vec<Moment>, PlantingError> {
        let [from, to] = self.ranges[index];
        let mut moments: Vec<Moment> = Vec::new();
        self.each_moment(from, to, |moment| moments.push(*moment))?;
        Ok(moments)
    }

    fn split(&mut self) -> Result<(), PlantingError> {
        let silence_s = silence_that_ends_a_pass_s(self.usual_interval_s);
        let has_numbers = self.records.has(Kept::Pass);
        let mut ranges: Vec<[usize; 2]> = Vec::new();
        let mut lengths: Vec<f64> = Vec::new();
        let mut before: Option<Moment> = None;
        // A moment about TURN_S ago in the same pass, to see turns by.
        let mut earlier: Option<Moment> = None;
        self.each_moment(0, self.records.len(), |moment| {
            if !moment.working {
                before = None;
                return;
            }
            let goes_on = before.is_some_and(|b| {
                moment.time_s - b.time_s <= silence_s
                    && b.pass == moment.pass
                    && (has_numbers || !earlier.is_some_and(|e| turns(&e, &b, moment)))
            });
            match ranges.last_mut() {
                Some(range) if goes_on => {
                    range[1] = moment.end;
                    if let (Some(length), Some(b)) = (lengths.last_mut(), &before) {
                        *length += way(b, moment);
                    }
                    if earlier.is_none_or(|e| moment.time_s - e.time_s >= TURN_S) {
                        earlier = before;
                    }
                }
                _ => {
                    ranges.push([moment.first, moment.end]);
                    lengths.push(0.0);
                    earlier = None;
                }
            }
            before = Some(*moment);
        })?;
        let shortest = self.settings.shortest_pass_m;
        let all = ranges.len();
        let mut length_m = 0.0;
        self.ranges = ranges
            .into_iter()
            .zip(lengths)
            .filter(|&(_, length)| length >= shortest)
            .map(|(range, length)| {
                length_m += length;
                range
            })
            .collect();
        self.short_passes = all - self.ranges.len();
        let records: usize = self.ranges.iter().map(|[from, to]| to - from).sum();
        self.record_m = length_m * self.rows as f64 / records as f64;
        self.single_seed_m = self.single_seed_m()?;
        Ok(())
    }

    /// Seeds fall when their row drops them: in a log that holds every seed few rows share a moment, and
    /// a row's records lie as far apart as the spacing they hold.
    fn single_seed_m(&self) -> Result<Option<f64>, PlantingError> {
        let spacing = usual(self.records, Kept::Reading(Reading::SeedSpacing))?;
        let is_seeds =
            |spacing: &f64| !self.shared_moments() && (self.record_m / spacing - 1.0).abs() < 0.3;
        Ok(spacing.filter(is_seeds))
    }

    /// Whether at least half of the rows are in a moment, on average.
    fn shared_moments(&self) -> bool {
        2 * self.records.len() >= self.rows * self.moments
    }

    /// Pass `index` with its readings put together row by row.
    ///
    /// # Errors
    /// When what was put aside cannot be read.
    pub fn pass(&self, index: usize) -> Result<PlantingPass, PlantingError> {
        self.pass_of(index, &self.moments_of(index)?)
    }

    /// Pass `index`, whose moments are known.
    pub(crate) fn pass_of(
        &self,
        index: usize,
        moments: &[Moment],
    ) -> Result<PlantingPass, PlantingError> {
        let (rows, n) = (self.rows, moments.len());
        let mut pass = PlantingPass {
            number: index + 1,
            rows,
            time_s: moments.iter().map(|m| m.time_s).collect(),
            distance_m: Vec::with_capacity(n),
            step_m: Vec::with_capacity(n),
            speed_m_s: Vec::with_capacity(n),
            readings: std::array::from_fn(|at| {
                let has = self.records.has(Kept::Reading(Reading::ALL[at]));
                has.then(|| vec![f32::NAN; rows * n])
            }),
            slow_moments: 0,
            unbelieved: 0,
            shared_moments: self.shared_moments(),
            nominal_m: None,
        };
        let mut distance = 0.0;
        let mut is_slow = vec![false; n];
        for (at, moment) in moments.iter().enumerate() {
            // The first interval began before the pass and is taken to be as long as the second.
            let step = match at {
                0 => moments.get(1).map_or(0.0, |second| way(moment, second)),
                _ => way(&moments[at - 1], moment),
            };
            if at > 0 {
                distance += step;
            }
            let interval = match at {
                0 => moments
                    .get(1)
                    .map_or(f64::NAN, |m| m.time_s - moment.time_s),
                _ => moment.time_s - moments[at - 1].time_s,
            };
            let speed = if moment.speed_m_s.is_finite() {
                moment.speed_m_s
            } else {
                step / interval
            };
            pass.distance_m.push(distance);
            pass.step_m.push(step as f32);
            pass.speed_m_s.push(speed as f32);
            if speed < self.settings.lowest_speed_m_s {
                pass.slow_moments += 1;
                is_slow[at] = true;
            }
        }
        self.put_side_by_side(index, moments, &is_slow, &mut pass)?;
        if let Some(usual) = self.single_seed_m {
            self.judge_seeds(&mut pass, usual);
        }
        Ok(pass)
    }

    /// Puts the readings of rows at work into the pass, except those of moments too slow to judge.
    fn put_side_by_side(
        &self,
        index: usize,
        moments: &[Moment],
        is_slow: &[bool],
        pass: &mut PlantingPass,
    ) -> Result<(), PlantingError> {
        let [from, to] = self.ranges[index];
        let n = moments.len();
        let mut at = 0;
        for part in self.records.parts(from, to) {
            let rows = part.singles(Kept::Row)?;
            let working = part.singles(Kept::Working)?;
            let target = part.doubles(Kept::Reading(Reading::TargetSeedRate))?;
            // Where the readings of each record belong.
            let places: Vec<Option<usize>> = rows
                .into_iter()
                .flatten()
                .enumerate()
                .map(|(place, row)| {
                    let record = part.first() + place;
                    while at + 1 < n && moments[at].end <= record {
                        at += 1;
                    }
                    let at_work = working.as_ref().is_none_or(|v| v[place] != 0.0)
                        && target.as_ref().is_none_or(|v| v[place] != 0.0);
                    (at_work && !row.is_nan() && !is_slow[at]).then(|| (row as usize - 1) * n + at)
                })
                .collect();
            for &reading in Reading::ALL {
                let kept = Kept::Reading(reading);
                let Some(into) = pass.readings[reading as usize].as_mut() else {
                    continue;
                };
                let values = match kept.is_single() {
                    true => part.singles(kept)?,
                    false => part.doubles(kept)?.map(|values| {
                        let values = values.into_iter();
                        values.map(|value| reading.believe(value)).collect()
                    }),
                };
                for (value, place) in values.into_iter().flatten().zip(&places) {
                    let Some(place) = *place else { continue };
                    if is_unbelieved(value) {
                        pass.unbelieved += 1;
                    } else if !value.is_nan() {
                        into[place] = value;
                    }
                }
            }
        }
        Ok(())
    }

    /// In a log that holds every seed, skips and multiples are what its spacings say of each.
    fn judge_seeds(&self, pass: &mut PlantingPass, usual_m: f64) {
        let Some(spacings) = &pass.readings[Reading::SeedSpacing as usize] else {
            return;
        };
        let nominal: Vec<f32> = match (
            &pass.readings[Reading::TargetSeedRate as usize],
            self.row_spacing_m,
        ) {
            (Some(target), Some(width)) => target
                .iter()
                .map(|&rate| seed_spacing_m(f64::from(rate), width) as f32)
                .collect(),
            _ => vec![usual_m as f32; spacings.len()],
        };
        let judged = |is: fn(f32) -> bool| -> Vec<f32> {
            spacings
                .iter()
                .zip(&nominal)
                .map(|(spacing, nominal)| match spacing / nominal {
                    ratio if ratio.is_nan() => f32::NAN,
                    ratio if is(ratio) => 100.0,
                    _ => 0.0,
                })
                .collect()
        };
        let (skips, multiples) = (judged(|ratio| ratio > 1.5), judged(|ratio| ratio <= 0.5));
        pass.readings[Reading::Skips as usize].get_or_insert(skips);
        pass.readings[Reading::Multiples as usize].get_or_insert(multiples);
        pass.nominal_m = Some(nominal);
    }

    /// Where every row was at every moment of pass `index`, row after row, m east and north; `NaN` where a
    /// row has no record. `None` for logs without positions. Positions that differ within a moment are the
    /// rows' own; others are the planter's, and rows lie beside it across the way.
    pub(crate) fn row_positions(
        &self,
        index: usize,
        moments: &[Moment],
    ) -> Result<Option<Vec<[f64; 2]>>, PlantingError> {
        if !self.records.has(Kept::East) {
            return Ok(None);
        }
        let spacing = self.row_spacing_m.unwrap_or(0.0);
        let [from, to] = self.ranges[index];
        let n = moments.len();
        let mut found = vec![[f64::NAN; 2]; self.rows * n];
        let mut own = vec![false; n];
        let mut at = 0;
        for part in self.records.parts(from, to) {
            let (east, north) = (part.doubles(Kept::East)?, part.doubles(Kept::North)?);
            let (Some(rows), Some(east), Some(north)) = (part.singles(Kept::Row)?, east, north)
            else {
                continue;
            };
            for (place, row) in rows.into_iter().enumerate() {
                while at + 1 < n && moments[at].end <= part.first() + place {
                    at += 1;
                }
                let point = [east[place], north[place]];
                let [off_east, off_north] = [0, 1].map(|axis| point[axis] - moments[at].at_m[axis]);
                own[at] |= off_east.hypot(off_north) > SAME_PLACE_M;
                if !row.is_nan() {
                    found[(row as usize - 1) * n + at] = point;
                }
            }
        }
        for at in (0..n).filter(|&at| !own[at]) {
            // The direction from the moments around it.
            let before = &moments[at.saturating_sub(AROUND)].at_m;
            let after = &moments[(at + AROUND).min(n - 1)].at_m;
            let way = [after[0] - before[0], after[1] - before[1]];
            let length = way[0].hypot(way[1]);
            let right = [way[1] / length, -way[0] / length];
            for row in 0..self.rows {
                let offset = row_offset_m(row + 1, self.rows, spacing);
                let point = &mut found[row * n + at];
                *point = [point[0] + right[0] * offset, point[1] + right[1] * offset];
            }
        }
        Ok(Some(found))
    }

    /// The usual seed rate placed, 1/ha: as logged, or from the usual spacing.
    pub(crate) fn usual_rate_ha(&self) -> Result<Option<f64>, PlantingError> {
        if let Some(logged) = usual(self.records, Kept::Reading(Reading::SeedRate))? {
            return Ok(Some(logged));
        }
        let spacing = usual(self.records, Kept::Reading(Reading::SeedSpacing))?;
        Ok(spacing
            .zip(self.row_spacing_m)
            .map(|(spacing, width)| seeds_per_ha(spacing, width)))
    }

    /// Mean and coefficient of variation of the seed rates asked for, 1/ha, over ten thousand records
    /// spread over the log.
    pub(crate) fn target_rate(&self) -> Result<Option<[f64; 2]>, PlantingError> {
        let target = self
            .records
            .sample(Kept::Reading(Reading::TargetSeedRate))?;
        let (mut count, mut sum, mut squares) = (0.0, 0.0, 0.0);
        for rate in target.into_iter().flatten() {
            if rate > 0.0 && rate.is_finite() {
                count += 1.0;
                sum += rate;
                squares += rate * rate;
            }
        }
        let mean = sum / count;
        let variance: f64 = squares / count - mean * mean;
        Ok(mean
            .is_finite()
            .then(|| [mean, variance.max(0.0).sqrt() / mean]))
    }
}

/// Way from one moment to the next, m: as logged, or speed × time, or from position to position.
fn way(before: &Moment, moment: &Moment) -> f64 {
    let by_speed = moment.speed_m_s * (moment.time_s - before.time_s);
    let by_position = (moment.at_m[0] - before.at_m[0]).hypot(moment.at_m[1] - before.at_m[1]);
    [moment.step_m, by_speed, by_position]
        .into_iter()
        .find(|way| way.is_finite() && *way >= 0.0)
        .unwrap_or(0.0)
}

/// Whether the planter turned between a moment some seconds ago and now.
fn turns(earlier: &Moment, before: &Moment, moment: &Moment) -> bool {
    let by_position = |from: &Moment, to: &Moment| {
        let [east, north] = [to.at_m[0] - from.at_m[0], to.at_m[1] - from.at_m[1]];
        // Steps shorter than 0.3 m say nothing about the direction, as in the harvest's motion.
        if east.hypot(north) < 0.3 {
            f64::NAN
        } else {
            east.atan2(north).to_degrees()
        }
    };
    let (then, now) = if moment.heading_deg.is_finite() && earlier.heading_deg.is_finite() {
        (earlier.heading_deg, moment.heading_deg)
    } else {
        (by_position(earlier, before), by_position(before, moment))
    };
    let turn = (now - then).rem_euclid(360.0);
    turn.min(360.0 - turn) > TURN_DEG
}

#[derive(Debug, Clone, Copy, Default)]
struct Sum {
    sum: f64,
    count: usize,
}

impl Sum {
    fn add(&mut self, value: Option<f64>) {
        if let Some(value) = value
            && value.is_finite()
        {
            self.sum += value;
            self.count += 1;
        }
    }

    fn mean(&self) -> f64 {
        self.sum / self.count as f64
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::planting_log::PlantingLog;

    /// Two rows, two passes of 15 moments at 2 m/s with 20 s between them, the records of a moment the
    /// wrong way round.
    struct Made {
        row: Vec<f64>,
        time: Vec<f64>,
        speed: Vec<f64>,
        skips: Vec<f64>,
    }

    fn made() -> Made {
        let mut made = Made {
            row: vec![],
            time: vec![],
            speed: vec![],
            skips: vec![],
        };
        for moment in 0..30 {
            let time = f64::from(moment) + if moment >= 15 { 20.0 } else { 0.0 };
            for row in [2.0, 1.0] {
                made.row.push(row);
                made.time.push(time);
                made.speed.push(2.0);
                made.skips.push(row);
            }
        }
        made
    }

    impl Made {
        fn log(&self) -> PlantingLog<'_> {
            let mut log = PlantingLog {
                row: &self.row,
                time_s: &self.time,
                speed_m_s: Some(&self.speed),
                ..PlantingLog::default()
            };
            log.set(Reading::Skips, &self.skips);
            log
        }
    }

    #[test]
    fn a_silence_ends_a_pass_and_rows_are_put_side_by_side() {
        let made = made();
        let records = PlantingRecords::of(&made.log()).unwrap();
        let settings = PlantingSettings::default();
        let found = passes(&records, &settings).unwrap();
        assert_eq!((found.len(), found.rows, found.moments), (2, 2, 30));
        assert_eq!(found.usual_interval_s, 1.0);
        let pass = found.pass(1).unwrap();
        assert_eq!((pass.moments(), pass.length_m()), (15, 28.0));
        assert_eq!(pass.row(Reading::Skips, 0).unwrap(), [1.0; 15]);
        assert_eq!(pass.row(Reading::Skips, 1).unwrap(), [2.0; 15]);
        assert!(pass.row(Reading::Vacuum, 0).is_none());
    }

    /// Law: the order of the records does not matter.
    #[test]
    fn records_row_after_row_give_the_same_passes() {
        let made = made();
        let mut order: Vec<usize> = (0..made.row.len()).collect();
        order.sort_by(|&a, &b| made.row[a].total_cmp(&made.row[b]));
        let take = |v: &[f64]| order.iter().map(|&i| v[i]).collect::<Vec<_>>();
        let other = Made {
            row: take(&made.row),
            time: take(&made.time),
            speed: take(&made.speed),
            skips: take(&made.skips),
        };
        let settings = PlantingSettings::default();
        let [a, b] = [made.log(), other.log()].map(|log| {
            let records = PlantingRecords::of(&log).unwrap();
            passes(&records, &settings).unwrap().pass(0).unwrap()
        });
        assert_eq!(a.distance_m, b.distance_m);
        assert_eq!(a.row(Reading::Skips, 1), b.row(Reading::Skips, 1));
    }

    #[test]
    fn a_turn_ends_a_pass_and_a_bend_does_not() {
        let mut made = made();
        // One unbroken drive.
        for (at, time) in made.time.iter_mut().enumerate() {
            *time = (at / 2) as f64;
        }
        let heading = |second: f64, gentle: f64| {
            (0..60)
                .map(|at| if at / 2 < 15 { 0.0 } else { second } + gentle * f64::from(at / 2))
                .collect::<Vec<_>>()
        };
        let settings = PlantingSettings::default();
        for (headings, expected) in [(heading(90.0, 0.0), 2), (heading(0.0, 3.0), 1)] {
            let mut log = made.log();
            log.heading_deg = Some(&headings);
            let records = PlantingRecords::of(&log).unwrap();
            assert_eq!(passes(&records, &settings).unwrap().len(), expected);
        }
    }

    #[test]
    fn unusable_logs_are_refused() {
        let made = made();
        let settings = PlantingSettings::default();
        let refuse = |log: PlantingLog| {
            let records = PlantingRecords::of(&log);
            let found = records.and_then(|records| passes(&records, &settings).map(|_| ()));
            found.unwrap_err()
        };
        assert_eq!(refuse(PlantingLog::default()), PlantingError::NoRows);
        let mut log = made.log();
        log.time_s = &[];
        assert_eq!(refuse(log), PlantingError::NoTimes);
        let mut log = made.log();
        log.speed_m_s = None;
        assert_eq!(refuse(log), PlantingError::NoWay);
        let mut log = made.log();
        let short = vec![0.0; 3];
        log.set(Reading::Vacuum, &short);
        assert!(matches!(
            refuse(log),
            PlantingError::Length { found: 3, .. }
        ));
        let mut log = made.log();
        let rows = vec![1.5; 60];
        log.row = &rows;
        assert!(matches!(refuse(log), PlantingError::Row { record: 1, .. }));
        let mut log = made.log();
        let up = vec![0.0; 60];
        log.working = Some(&up);
        assert!(matches!(
            refuse(log),
            PlantingError::NoPasses { moments: 30, .. }
        ));
    }

    #[test]
    fn readings_that_cannot_be_are_counted_and_left_out() {
        let mut made = made();
        made.skips[0] = 250.0;
        let records = PlantingRecords::of(&made.log()).unwrap();
        let settings = PlantingSettings::default();
        let pass = passes(&records, &settings).unwrap().pass(0).unwrap();
        assert_eq!(pass.unbelieved, 1);
        assert!(pass.row(Reading::Skips, 1).unwrap()[0].is_nan());
    }
}
