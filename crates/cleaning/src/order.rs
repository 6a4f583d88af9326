//! The order in which the ground was driven, and a clock that never runs backwards. Machines write
//! several files, clocks are set back in the middle of a pass, exports repeat records or round
//! times to the second; every later step needs records in driving order with rising times.

use crate::robust::median;
use checkstrip_model::{Column, FieldLog, Status};

/// Records in driving order, machine by machine.
#[derive(Debug, Default)]
pub(crate) struct Order {
    /// For each place in driving order, the record in the log.
    pub record: Vec<u32>,
    /// For each place, its machine.
    pub machine: Vec<u32>,
    /// Names of the machines.
    pub machines: Vec<String>,
    /// Rising time of each place within its machine, s from the log's earliest record.
    pub time_s: Vec<f64>,
    /// Kept, or `Time` for records without a time and repeated ones.
    pub status: Vec<Status>,
    /// Whether a record only repeats the one before it: no time passed and no ground was cut.
    pub repeated: Vec<bool>,
    /// Records at which the clock ran backwards, with by how much, s.
    pub clock_jumps: Vec<(u32, f64)>,
    /// Usual time between records, s.
    pub typical_interval_s: f64,
    /// How machines and times were found when the log did not say, in words.
    pub notes: Vec<(Column, String)>,
    /// Files whose records were not in order of time and were sorted.
    pub sorted_files: usize,
}

/// Above this share of backward steps a file is taken to be unsorted rather than to have a clock
/// that was set back.
const UNSORTED_SHARE: f64 = 0.01;

/// No harvest lasts longer, s: a time further than this from the log's median is no time.
const LONGEST_HARVEST_S: f64 = 366.0 * 86_400.0;

/// Puts the records of a log into driving order.
///
/// Records of one machine follow each other; within it files go by their first time and records by
/// their place in the file, unless the file is unsorted. A step backwards in time is taken for a
/// clock that was set back: the drive goes on one interval later. Records without a time, and
/// records that repeat time and position of the one before, get status `Time`.
pub(crate) fn driving_order(log: &FieldLog) -> Order {
    let mut order = Order::default();
    let raw_time = times(log, &mut order.notes);
    let machine_of = machines(log, &raw_time, &mut order);
    let typical = typical_step(&raw_time, log);
    order.typical_interval_s = typical;

    let (lon, lat) = (log.numbers(Column::Lon), log.numbers(Column::Lat));
    let same_place = |a: usize, b: usize| {
        let same = |column: Option<&[f64]>| column.is_none_or(|c| c[a] == c[b]);
        same(lon) && same(lat)
    };
    let origin = raw_time
        .iter()
        .copied()
        .filter(|t| t.is_finite())
        .fold(f64::INFINITY, f64::min);

    for machine in 0..order.machines.len() as u32 {
        let mut files: Vec<Vec<u32>> = vec![Vec::new(); log.files.len().max(1)];
        for record in 0..log.len() {
            if machine_of[record] == machine {
                files[log.file[record] as usize].push(record as u32);
            }
        }
        files.retain(|records| !records.is_empty());
        for records in &mut files {
            let backward = records
                .windows(2)
                .filter(|w| raw_time[w[1] as usize] < raw_time[w[0] as usize])
                .count();
            if backward > 3 && backward as f64 > UNSORTED_SHARE * records.len() as f64 {
                records.sort_by(|&a, &b| raw_time[a as usize].total_cmp(&raw_time[b as usize]));
                order.sorted_files += 1;
            }
        }
        let first = |records: &Vec<u32>| {
            records
                .iter()
                .map(|&r| raw_time[r as usize])
                .find(|t| t.is_finite())
                .unwrap_or(f64::INFINITY)
        };
        files.sort_by(|a, b| first(a).total_cmp(&first(b)));

        let mut previous: Option<(usize, f64)> = None;
        let (mut clock, mut offset) = (0.0f64, 0.0f64);
        let start = order.record.len();
        for record in files.into_iter().flatten() {
            let at = record as usize;
            let raw = raw_time[at];
            let mut status = Status::Kept;
            let mut repeated = false;
            if raw.is_nan() {
                status = Status::Time;
                clock += typical;
            } else {
                match previous {
                    None => clock = raw - origin,
                    Some((before, before_raw)) => {
                        if raw < before_raw {
                            order.clock_jumps.push((record, before_raw - raw));
                            offset = clock + typical - (raw - origin);
                        } else if raw == before_raw && same_place(before, at) {
                            status = Status::Time;
                            repeated = true;
                        }
                        clock = raw - origin + offset;
                    }
                }
                previous = Some((at, raw));
            }
            order.record.push(record);
            order.machine.push(machine);
            order.time_s.push(clock);
            order.status.push(status);
            order.repeated.push(repeated);
        }
        spread_equal_times(
            &mut order.time_s[start..],
            &order.repeated[start..],
            typical,
        );
    }
    if !log.has(Column::Interval) {
        // A clock of whole seconds hides how often records really come.
        let steps = order.time_s.windows(2).map(|w| w[1] - w[0]);
        let mut steps: Vec<f64> = steps.filter(|&step| step > 0.0).collect();
        if !steps.is_empty() {
            order.typical_interval_s = median(&mut steps);
        }
    }
    order
}

/// Times of a clock that counts whole seconds while records come faster: records that share a time
/// and are not repeated are spread evenly up to the next time.
fn spread_equal_times(times: &mut [f64], repeated: &[bool], typical: f64) {
    let mut from = 0;
    while from < times.len() {
        let mut to = from + 1;
        while to < times.len() && times[to] <= times[from] {
            to += 1;
        }
        let genuine = (from..to).filter(|&i| i == from || !repeated[i]).count();
        if genuine > 1 {
            let span = if to < times.len() {
                times[to] - times[from]
            } else {
                typical
            };
            let step = span.min(genuine as f64 * typical.max(0.1)) / genuine as f64;
            let start = times[from];
            let mut k = 0;
            for i in from..to {
                if i > from && !repeated[i] {
                    k += 1;
                }
                times[i] = start + step * k as f64;
            }
        }
        from = to;
    }
}

/// The time column, or times made from intervals, or one second a record.
fn times(log: &FieldLog, notes: &mut Vec<(Column, String)>) -> Vec<f64> {
    if let Some(times) = log.numbers(Column::Timestamp) {
        let mut known: Vec<f64> = times.iter().copied().filter(|t| t.is_finite()).collect();
        let middle = median(&mut known);
        let possible = |t: &f64| {
            if (t - middle).abs() <= LONGEST_HARVEST_S {
                *t
            } else {
                f64::NAN
            }
        };
        return times.iter().map(possible).collect();
    }
    let intervals: Vec<f64> = match (
        log.numbers(Column::Interval),
        log.numbers(Column::Distance),
        log.numbers(Column::Speed),
    ) {
        (Some(interval), _, _) => {
            notes.push((Column::Timestamp, "intervals added up in file order".into()));
            interval.to_vec()
        }
        (None, Some(distance), Some(speed)) => {
            notes.push((
                Column::Timestamp,
                "distance over speed added up in file order".into(),
            ));
            distance
                .iter()
                .zip(speed)
                .map(|(d, v)| d / v.max(0.1))
                .collect()
        }
        _ => {
            notes.push((
                Column::Timestamp,
                "assumed one second a record in file order".into(),
            ));
            vec![1.0; log.len()]
        }
    };
    let mut clock = 0.0;
    intervals
        .into_iter()
        .map(|interval| {
            clock += if interval.is_finite() && interval > 0.0 {
                interval
            } else {
                1.0
            };
            clock
        })
        .collect()
}

/// Machine of each record: the log's own column, or one a file when files overlap in time.
fn machines(log: &FieldLog, times: &[f64], order: &mut Order) -> Vec<u32> {
    if let Some(labels) = log.labels(Column::Machine) {
        order.machines = labels.names.clone();
        return labels.index.clone();
    }
    let mut spans = vec![(f64::INFINITY, f64::NEG_INFINITY); log.files.len().max(1)];
    for (record, &time) in times.iter().enumerate() {
        if time.is_finite() {
            let span = &mut spans[log.file[record] as usize];
            *span = (span.0.min(time), span.1.max(time));
        }
    }
    let overlap = |a: (f64, f64), b: (f64, f64)| {
        let shared = a.1.min(b.1) - a.0.max(b.0);
        shared > 0.1 * (a.1 - a.0).min(b.1 - b.0).max(1.0)
    };
    let timed = log.has(Column::Timestamp);
    let together = (0..spans.len()).any(|a| (0..a).any(|b| timed && overlap(spans[a], spans[b])));
    if together {
        order.machines = log.files.iter().map(|file| file.path.clone()).collect();
        order.notes.push((
            Column::Machine,
            "one machine a file, because the files overlap in time".into(),
        ));
        return log.file.clone();
    }
    order.machines = vec![String::from("machine")];
    vec![0; log.len()]
}

/// Median positive step of the times, or of the interval column.
fn typical_step(times: &[f64], log: &FieldLog) -> f64 {
    let mut steps: Vec<f64> = match log.numbers(Column::Interval) {
        Some(intervals) => intervals.iter().copied().filter(|&s| s > 0.0).collect(),
        None => times
            .windows(2)
            .map(|w| w[1] - w[0])
            .filter(|&s| s > 0.0)
            .collect(),
    };
    if steps.is_empty() {
        1.0
    } else {
        median(&mut steps)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use checkstrip_model::SourceFile;

    fn log(times: &[f64]) -> FieldLog {
        let mut log = FieldLog::with_records(times.len());
        log.files.push(SourceFile {
            path: "invented.csv".into(),
            sha256: String::new(),
            records: times.len(),
        });
        let north: Vec<f64> = (0..times.len()).map(|i| 43.0 + 1e-5 * i as f64).collect();
        log.set_numbers(Column::Lon, vec![-30.0; times.len()]);
        log.set_numbers(Column::Lat, north);
        log.set_numbers(Column::Timestamp, times.to_vec());
        log
    }

    #[test]
    fn a_clock_set_back_goes_on_one_interval_later() {
        let order = driving_order(&log(&[10., 11., 12., 13., 5., 6., 7.]));
        assert_eq!(order.time_s, [5., 6., 7., 8., 9., 10., 11.]);
        assert_eq!(order.clock_jumps, [(4, 8.0)]);
        assert!(order.status.iter().all(|s| s.is_kept()));
    }

    #[test]
    fn a_repeated_record_is_told_from_a_coarse_clock() {
        let mut repeated = log(&[1., 2., 2., 3., 4.]);
        let mut lat = repeated.numbers(Column::Lat).unwrap().to_vec();
        lat[2] = lat[1];
        repeated.set_numbers(Column::Lat, lat);
        let order = driving_order(&repeated);
        assert_eq!(order.repeated, [false, false, true, false, false]);
        assert_eq!(order.status[2], Status::Time);

        let coarse = driving_order(&log(&[1., 1., 1., 1., 2., 2., 2., 2., 3.]));
        assert!(coarse.status.iter().all(|s| s.is_kept()));
        assert_eq!(
            coarse.time_s,
            [0., 0.25, 0.5, 0.75, 1., 1.25, 1.5, 1.75, 2.]
        );
        assert_eq!(coarse.typical_interval_s, 0.25);
    }

    #[test]
    fn shuffled_records_are_sorted_and_missing_times_bridged() {
        let shuffled: Vec<f64> = (0..40).map(|i| f64::from((i * 7) % 40)).collect();
        let order = driving_order(&log(&shuffled));
        assert_eq!(order.sorted_files, 1);
        assert!(order.time_s.windows(2).all(|w| w[0] < w[1]));

        let gaps = driving_order(&log(&[0., 1., f64::NAN, 3., 4.]));
        assert_eq!(gaps.time_s, [0., 1., 2., 3., 4.]);
        assert_eq!(gaps.status[2], Status::Time);
    }

    #[test]
    fn files_that_overlap_in_time_are_two_machines() {
        let mut log = log(&[0., 1., 2., 3., 0., 1., 2., 3.]);
        let second = SourceFile {
            path: "second.csv".into(),
            ..log.files[0].clone()
        };
        log.files.push(second);
        for record in 4..8 {
            log.file[record] = 1;
        }
        let order = driving_order(&log);
        assert_eq!(order.machines, ["invented.csv", "second.csv"]);
        assert_eq!(order.machine, [0, 0, 0, 0, 1, 1, 1, 1]);
        assert!(order.clock_jumps.is_empty());
    }
}
