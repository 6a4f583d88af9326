//! From the records of a planting or as-applied log to bands of ground, each with what was put on it.

use super::{OutlineBy, OutlineSetup};
use checkstrip_model::units::shortest;
use checkstrip_model::{Column, FieldLog, Operation, Problem, silence_that_ends_a_pass_s};
use checkstrip_spatial::worked_ground::Band;

/// A band with the place of its treatment among the labels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct LabelledBand {
    pub(super) label: usize,
    pub(super) band: Band,
}

/// All bands of a log.
#[derive(Debug, Default)]
pub(super) struct LabelledBands {
    pub(super) labels: Vec<String>,
    pub(super) bands: Vec<LabelledBand>,
    /// Width of the whole implement, m.
    pub(super) width_m: f64,
    /// Moments that were not at work, or at work without a treatment to name.
    pub(super) idle: usize,
    /// Moments, of all rows together.
    pub(super) moments: usize,
}

/// Positions nearer to each other than this give no direction that the receiver's noise leaves, m.
const LEAST_STEP_M: f64 = 2.0;
/// The machine moved on without a record when two are farther apart than this, m.
const LONGEST_STEP_M: f64 = 25.0;

/// What is at work across the machine: label, middle to the right, width.
type Across = Vec<(usize, f64, f64)>;

/// The bands of `log`, whose positions in the plane are `east_m`, `north_m`.
///
/// # Errors
/// When the log does not say what `setup` asks for, or how wide the machine is.
pub(super) fn labelled_bands(
    log: &FieldLog,
    east_m: &[f64],
    north_m: &[f64],
    setup: &OutlineSetup,
) -> Result<LabelledBands, Problem> {
    let machine = Machine::new(log, setup)?;
    let naming = Naming::new(log, &setup.by)?;
    let mut found = LabelledBands {
        width_m: machine.width_m,
        ..LabelledBands::default()
    };
    let order = order_of_driving(log);
    let time = log.numbers(Column::Timestamp);
    let silence_s = longest_silence_s(log, &order);
    let same_moment = |a: usize, b: usize| {
        same_machine(log, a, b)
            && match time {
                Some(time) if time[a].is_finite() => time[a] == time[b],
                _ => east_m[a] == east_m[b] && north_m[a] == north_m[b],
            }
    };
    let way_m = |a: usize, b: usize| (east_m[b] - east_m[a]).hypot(north_m[b] - north_m[a]);
    let mut bands = Vec::new();
    let mut emit = |from: usize, to: usize, across: &Across| {
        let place = |record: usize| [east_m[record], north_m[record]];
        bands.extend(
            across
                .iter()
                .map(|&(label, right_m, width_m)| LabelledBand {
                    label,
                    band: Band {
                        from: place(from),
                        to: place(to),
                        right_m,
                        width_m,
                    },
                }),
        );
    };
    let mut before: Option<usize> = None;
    let mut anchor: Option<(usize, Across)> = None;
    let is_of_rows = log.numbers(Column::Row).is_some();
    for moment in order.chunk_by(|&a, &b| is_of_rows && same_moment(a, b)) {
        let at = moment[0];
        if !(east_m[at].is_finite() && north_m[at].is_finite()) {
            continue;
        }
        found.moments += 1;
        let across = machine.across(log, moment, &naming, &mut found.labels);
        found.idle += usize::from(across.is_empty());
        let is_on = |a: usize| {
            let waited = time.map_or(0.0, |time| time[at] - time[a]);
            same_machine(log, a, at)
                && way_m(a, at) <= LONGEST_STEP_M
                && (waited.is_nan() || waited <= silence_s)
        };
        // A record tells what was done on the way to it. Short ways are put together first.
        anchor = match (anchor, before.filter(|&before| is_on(before))) {
            (Some((from, held)), Some(before)) => {
                if held != across {
                    emit(from, before, &held);
                    Some((before, across))
                } else if way_m(from, at) >= LEAST_STEP_M {
                    emit(from, at, &held);
                    Some((at, across))
                } else {
                    Some((from, held))
                }
            }
            (None, Some(before)) => Some((before, across)),
            (Some((from, held)), None) => {
                if let Some(before) = before {
                    emit(from, before, &held);
                }
                None
            }
            (None, None) => None,
        };
        before = Some(at);
    }
    if let (Some((from, held)), Some(before)) = (anchor, before) {
        emit(from, before, &held);
    }
    found.bands = bands;
    Ok(found)
}

/// Records in the order in which each machine drove.
fn order_of_driving(log: &FieldLog) -> Vec<usize> {
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
    fn new(log: &FieldLog, setup: &OutlineSetup) -> Result<Machine, Problem> {
        let logged = log.numbers(Column::Width).and_then(|widths| {
            let mut known: Vec<f64> = widths.iter().copied().filter(|w| *w > 0.0).collect();
            let middle = known.len() / 2;
            (!known.is_empty()).then(|| *known.select_nth_unstable_by(middle, f64::total_cmp).1)
        });
        let width = setup.log.header_width_m.or(logged);
        let rows = log.numbers(Column::Row).map(|rows| {
            let highest = rows.iter().copied().fold(0.0, f64::max);
            (highest, setup.row_spacing_m.or(width.map(|w| w / highest)))
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
        naming: &Naming<'_>,
        labels: &mut Vec<String>,
    ) -> Across {
        let mut place = |record: usize| {
            let name = is_at_work(log, record).then(|| naming.name(record))??;
            Some(match labels.iter().position(|known| *known == name) {
                Some(at) => at,
                None => {
                    labels.push(name);
                    labels.len() - 1
                }
            })
        };
        let Some((count, spacing)) = self.rows else {
            let record = moment[0];
            let logged = log.numbers(Column::Width).map(|widths| widths[record]);
            let width = logged.filter(|width| *width > 0.0).unwrap_or(self.width_m);
            return place(record)
                .map(|label| (label, 0.0, width))
                .into_iter()
                .collect();
        };
        let numbers = log.numbers(Column::Row).unwrap_or_default();
        let mut rows: Vec<(f64, usize)> = moment
            .iter()
            .filter_map(|&record| Some((numbers[record], place(record)?)))
            .collect();
        rows.sort_by(|a, b| a.0.total_cmp(&b.0));
        rows.chunk_by(|a, b| b.0 - a.0 <= 1.0 && a.1 == b.1)
            .map(|group| {
                let (first, last) = (group[0].0, group[group.len() - 1].0);
                let middle = (first + last - 1.0 - count) / 2.0;
                (group[0].1, middle * spacing, (last - first + 1.0) * spacing)
            })
            .collect()
    }
}

/// Whether the machine put something on at `record`: it was in work, and what it logs of rates is not nothing.
fn is_at_work(log: &FieldLog, record: usize) -> bool {
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

/// What a record's treatment is called.
enum Naming<'l> {
    One(&'l str),
    Product(&'l checkstrip_model::Labels),
    Rate(&'l [f64], &'static str),
}

impl<'l> Naming<'l> {
    fn new(log: &'l FieldLog, by: &'l OutlineBy) -> Result<Naming<'l>, Problem> {
        let refuse =
            |message: &str, hint: &str| Err(Problem::new(log.first_path(), message).hint(hint));
        let rates = [
            (Column::TargetSeedRate, "seeds/ha"),
            (Column::TargetMass, "kg/ha"),
            (Column::TargetVolume, "L/ha"),
        ];
        match by {
            OutlineBy::Treatment(name) => Ok(Naming::One(name)),
            OutlineBy::Product => match log.labels(Column::Product) {
                Some(products) => Ok(Naming::Product(products)),
                None => refuse(
                    "does not say which product, variety or hybrid was used",
                    "outline it by the rate asked for (--by rate), or all of it as one treatment (--treatment NAME)",
                ),
            },
            OutlineBy::Rate => {
                let mut logged = rates.into_iter();
                match logged.find_map(|(column, unit)| Some((log.numbers(column)?, unit))) {
                    Some((rates, unit)) => Ok(Naming::Rate(rates, unit)),
                    None => refuse(
                        match log.operation {
                            Operation::Planting => "does not say which seed rate was asked for",
                            _ => "does not say which rate was asked for",
                        },
                        "outline it by product (--by product), or all of it as one treatment (--treatment NAME)",
                    ),
                }
            }
        }
    }

    /// `None` where the log says nothing, or nothing was asked for.
    fn name(&self, record: usize) -> Option<String> {
        match self {
            Naming::One(name) => Some((*name).to_owned()),
            Naming::Product(products) => {
                let name = products.name(record);
                (!name.is_empty()).then(|| name.to_owned())
            }
            Naming::Rate(rates, unit) => {
                let rate = rates[record];
                (rate.is_finite() && rate > 0.0).then(|| format!("{} {unit}", three_digits(rate)))
            }
        }
    }
}

/// `rate` to three digits: what machines log of a rate asked for wavers in the digits behind.
fn three_digits(rate: f64) -> String {
    let scale = 10.0_f64.powf(2.0 - rate.log10().floor());
    let rounded = (rate * scale).round() / scale;
    shortest(rounded, scale.log10().max(0.0) as usize)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rates_have_three_digits() {
        let said = [79_074.3, 140.04, 12.3456, 0.5, 99.96];
        let said: Vec<String> = said.into_iter().map(three_digits).collect();
        assert_eq!(said, ["79100", "140", "12.3", "0.5", "100"]);
    }
}
