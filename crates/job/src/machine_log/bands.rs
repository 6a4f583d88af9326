//! From the records of a planting or as-applied log to bands of ground, each with the label of what was put on
//! it. Which records count, and what they are called, is the caller's to say.

use checkstrip_model::{Column, FieldLog, Problem, silence_that_ends_a_pass_s};
use checkstrip_spatial::worked_ground::Band;

/// A band with its label.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct LabelledBand {
    pub(crate) label: usize,
    pub(crate) band: Band,
    /// Mean over its way of what its records were given, in their unit.
    pub(crate) value: f64,
    /// First and last place of its records in driving order.
    places: [usize; 2],
}

/// All bands of a log.
#[derive(Debug, Default)]
pub(crate) struct LabelledBands {
    pub(crate) bands: Vec<LabelledBand>,
    /// The records in driving order, machine by machine.
    order: Vec<usize>,
    /// Width of the whole implement, m.
    pub(crate) width_m: f64,
    /// Moments without a label on any row.
    pub(crate) idle: usize,
    /// Moments, of all rows together.
    pub(crate) moments: usize,
}

/// Positions nearer to each other than this give no direction that the receiver's noise leaves, m.
const LEAST_STEP_M: f64 = 2.0;
/// The machine moved on without a record when two are farther apart than this, m.
const LONGEST_STEP_M: f64 = 25.0;

/// A turn of more than this ends a pass, degrees. Common practice, no source.
const TURN_DEG: f64 = 45.0;

impl LabelledBands {
    /// The pass of each record of the log, from 1; 0 where nothing was at work. A pass ends where the work
    /// stops, the machine turns or its log breaks off.
    pub(crate) fn passes(&self) -> Vec<u32> {
        let mut pass = vec![0; self.order.len()];
        let mut number = 0;
        let mut last: Option<&Band> = None;
        for LabelledBand { band, places, .. } in &self.bands {
            let goes_on = last.is_some_and(|last| {
                let turn = (band.heading_deg() - last.heading_deg()).rem_euclid(360.0);
                let is_same_step = band.from == last.from && band.to == last.to;
                let is_next_step = band.from == last.to && turn.min(360.0 - turn) <= TURN_DEG;
                is_same_step || is_next_step
            });
            number += u32::from(!goes_on);
            for &record in &self.order[places[0]..=places[1]] {
                if pass[record] == 0 {
                    pass[record] = number;
                }
            }
            last = Some(band);
        }
        pass
    }
}

/// What is at work on a part of the machine's width.
#[derive(Debug, Clone, Copy)]
struct Part {
    label: usize,
    /// Its middle, m to the right of the machine's.
    right_m: f64,
    width_m: f64,
    value: f64,
}

impl Part {
    fn is_on_with(&self, other: &Part) -> bool {
        let same = |part: &Part| (part.label, part.right_m, part.width_m);
        same(self) == same(other)
    }
}

/// What is at work across the machine since the moment `from`, from left to right; values add up over the way.
/// A moment is told by its first and its last place in driving order.
struct Held {
    from: [usize; 2],
    parts: Vec<Part>,
    way_m: f64,
}

impl Held {
    fn new(from: [usize; 2], parts: Vec<Part>) -> Held {
        let mut held = Held {
            from,
            parts,
            way_m: 0.0,
        };
        held.parts.iter_mut().for_each(|part| part.value = 0.0);
        held
    }

    fn is_on(&self, parts: &[Part]) -> bool {
        let mut pairs = self.parts.iter().zip(parts);
        self.parts.len() == parts.len() && pairs.all(|(a, b)| a.is_on_with(b))
    }

    fn add(&mut self, parts: &[Part], way_m: f64) {
        self.way_m += way_m;
        for (sum, part) in self.parts.iter_mut().zip(parts) {
            sum.value += part.value * way_m;
        }
    }
}

/// How the machine works, where its log does not say so.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct MachineWidth {
    pub(crate) width_m: Option<f64>,
    pub(crate) row_spacing_m: Option<f64>,
}

/// The bands of `log`, whose positions in the plane are `east_m`, `north_m`. `label` gives the label of a record's
/// ground and a value of it, such as a rate; `None` where the record makes no band.
///
/// # Errors
/// When the log does not say how wide the machine is.
pub(crate) fn labelled_bands(
    log: &FieldLog,
    [east_m, north_m]: [&[f64]; 2],
    given: MachineWidth,
    label: &mut dyn FnMut(usize) -> Option<(usize, f64)>,
) -> Result<LabelledBands, Problem> {
    let machine = Machine::new(log, given)?;
    let mut found = LabelledBands {
        width_m: machine.width_m,
        ..LabelledBands::default()
    };
    let order = order_of_driving(log);
    let time = log.numbers(Column::Timestamp);
    let going_on = GoingOn::new(log, [east_m, north_m], &order);
    let same_moment = |a: usize, b: usize| {
        same_machine(log, a, b)
            && match time {
                Some(time) if time[a].is_finite() => time[a] == time[b],
                _ => east_m[a] == east_m[b] && north_m[a] == north_m[b],
            }
    };
    let mut bands = Vec::new();
    let mut emit = |held: &Held, to: [usize; 2]| {
        let place = |moment: [usize; 2]| {
            let record = order[moment[0]];
            [east_m[record], north_m[record]]
        };
        bands.extend(held.parts.iter().map(|part| LabelledBand {
            label: part.label,
            band: Band {
                from: place(held.from),
                to: place(to),
                right_m: part.right_m,
                width_m: part.width_m,
            },
            value: part.value / held.way_m,
            places: [held.from[0], to[1]],
        }));
    };
    let mut before: Option<[usize; 2]> = None;
    let mut anchor: Option<Held> = None;
    let mut next_place = 0;
    let is_of_rows = log.numbers(Column::Row).is_some();
    for moment in order.chunk_by(|&a, &b| is_of_rows && same_moment(a, b)) {
        let at = moment[0];
        let here = [next_place, next_place + moment.len() - 1];
        next_place += moment.len();
        if !(east_m[at].is_finite() && north_m[at].is_finite()) {
            continue;
        }
        found.moments += 1;
        let across = machine.across(log, moment, label);
        found.idle += usize::from(across.is_empty());
        // A record tells what was done on the way to it. Short ways are put together first.
        anchor = match (
            anchor,
            before.filter(|&[first, _]| going_on.is_on(order[first], at)),
        ) {
            (held, Some(before)) => {
                let mut held = match held {
                    Some(held) if held.is_on(&across) => held,
                    Some(held) => {
                        emit(&held, before);
                        Held::new(before, across.clone())
                    }
                    None => Held::new(before, across.clone()),
                };
                held.add(&across, going_on.way_m(order[before[0]], at));
                if going_on.way_m(order[held.from[0]], at) >= LEAST_STEP_M {
                    emit(&held, here);
                    held = Held::new(here, across);
                }
                Some(held)
            }
            (held, None) => {
                if let (Some(held), Some(before)) = (held, before) {
                    emit(&held, before);
                }
                None
            }
        };
        before = Some(here);
    }
    if let (Some(held), Some(before)) = (anchor, before) {
        emit(&held, before);
    }
    found.bands = bands;
    found.order = order;
    Ok(found)
}

/// Whether a machine drove on from one record to the next.
pub(crate) struct GoingOn<'l> {
    log: &'l FieldLog,
    east_north_m: [&'l [f64]; 2],
    silence_s: f64,
}

impl<'l> GoingOn<'l> {
    pub(crate) fn new(log: &'l FieldLog, east_north_m: [&'l [f64]; 2], order: &[usize]) -> Self {
        GoingOn {
            log,
            east_north_m,
            silence_s: longest_silence_s(log, order),
        }
    }

    pub(crate) fn way_m(&self, a: usize, b: usize) -> f64 {
        let [east, north] = self.east_north_m;
        (east[b] - east[a]).hypot(north[b] - north[a])
    }

    pub(crate) fn is_on(&self, a: usize, b: usize) -> bool {
        let time = self.log.numbers(Column::Timestamp);
        let waited = time.map_or(0.0, |time| time[b] - time[a]);
        same_machine(self.log, a, b)
            && self.way_m(a, b) <= LONGEST_STEP_M
            && (waited.is_nan() || waited <= self.silence_s)
    }
}

/// Records in the order in which each machine drove.
pub(crate) fn order_of_driving(log: &FieldLog) -> Vec<usize> {
    let mut order: Vec<usize> = (0..log.len()).collect();
    let machine = |record: usize| log.labels(Column::Machine).map(|names| names.index[record]);
    match log.numbers(Column::Timestamp) {
        Some(time) => order.sort_by(|&a, &b| {
            machine(a)
                .cmp(&machine(b))
                .then(time[a].total_cmp(&time[b]))
        }),
        None => order.sort_by_key(|&record| (machine(record), log.file[record])),
    }
    order
}

fn same_machine(log: &FieldLog, a: usize, b: usize) -> bool {
    let machine = log.labels(Column::Machine);
    machine.is_none_or(|names| names.index[a] == names.index[b])
}

/// The longest time between two records of one pass, s; without end where the log has no time.
fn longest_silence_s(log: &FieldLog, order: &[usize]) -> f64 {
    let Some(time) = log.numbers(Column::Timestamp) else {
        return f64::INFINITY;
    };
    let pairs = order.windows(2).map(|pair| time[pair[1]] - time[pair[0]]);
    let mut steps: Vec<f64> = pairs.filter(|step| *step > 0.0).collect();
    let middle = steps.len() / 2;
    match steps.is_empty() {
        true => f64::INFINITY,
        false => {
            let (_, usual, _) = steps.select_nth_unstable_by(middle, f64::total_cmp);
            silence_that_ends_a_pass_s(*usual)
        }
    }
}

/// How wide the machine is, and where its rows are.
struct Machine {
    width_m: f64,
    /// Number of rows and their spacing, m.
    rows: Option<(f64, f64)>,
}

impl Machine {
    fn new(log: &FieldLog, given: MachineWidth) -> Result<Machine, Problem> {
        let logged = log.numbers(Column::Width).and_then(|widths| {
            let mut known: Vec<f64> = widths.iter().copied().filter(|w| *w > 0.0).collect();
            let middle = known.len() / 2;
            (!known.is_empty()).then(|| *known.select_nth_unstable_by(middle, f64::total_cmp).1)
        });
        let width = given.width_m.or(logged);
        let rows = log.numbers(Column::Row).map(|rows| {
            let highest = rows.iter().copied().fold(0.0, f64::max);
            (highest, given.row_spacing_m.or(width.map(|w| w / highest)))
        });
        let refuse =
            |message: &str, hint: &str| Err(Problem::new(log.first_path(), message).hint(hint));
        match (rows, width) {
            (Some((count, Some(spacing))), _) if count >= 1.0 => Ok(Machine {
                width_m: count * spacing,
                rows: Some((count, spacing)),
            }),
            (Some(_), _) => refuse(
                "does not say how far apart the rows are",
                "give --row-spacing, such as --row-spacing \"30 in\"",
            ),
            (None, Some(width_m)) => Ok(Machine {
                width_m,
                rows: None,
            }),
            (None, None) => refuse(
                "does not say how wide the machine works",
                "give --width, such as --width \"40 ft\"",
            ),
        }
    }

    /// What was at work at one moment, from left to right.
    fn across(
        &self,
        log: &FieldLog,
        moment: &[usize],
        label: &mut dyn FnMut(usize) -> Option<(usize, f64)>,
    ) -> Vec<Part> {
        let Some((count, spacing)) = self.rows else {
            let record = moment[0];
            let logged = log.numbers(Column::Width).map(|widths| widths[record]);
            let width_m = logged.filter(|width| *width > 0.0).unwrap_or(self.width_m);
            let part = label(record).map(|(label, value)| Part {
                label,
                right_m: 0.0,
                width_m,
                value,
            });
            return part.into_iter().collect();
        };
        let numbers = log.numbers(Column::Row).unwrap_or_default();
        let mut rows: Vec<(f64, (usize, f64))> = moment
            .iter()
            .filter_map(|&record| Some((numbers[record], label(record)?)))
            .collect();
        rows.sort_by(|a, b| a.0.total_cmp(&b.0));
        rows.chunk_by(|a, b| b.0 - a.0 <= 1.0 && a.1.0 == b.1.0)
            .map(|group| {
                let (first, last) = (group[0].0, group[group.len() - 1].0);
                let middle = (first + last - 1.0 - count) / 2.0;
                let values = group.iter().map(|row| row.1.1);
                Part {
                    label: group[0].1.0,
                    right_m: middle * spacing,
                    width_m: (last - first + 1.0) * spacing,
                    value: values.sum::<f64>() / group.len() as f64,
                }
            })
            .collect()
    }
}

/// Whether the machine put something on at `record`: it was in work, and what it logs of rates is not nothing.
pub(crate) fn is_at_work(log: &FieldLog, record: usize) -> bool {
    let value = |column: Column| log.numbers(column).map(|values| values[record]);
    if value(Column::HeaderDown) == Some(0.0) {
        return false;
    }
    let rates = [Column::SeedRate, Column::AppliedMass, Column::AppliedVolume];
    let mut known = rates
        .into_iter()
        .filter_map(value)
        .filter(|rate| rate.is_finite())
        .peekable();
    known.peek().is_none() || known.any(|rate| rate > 0.0)
}
