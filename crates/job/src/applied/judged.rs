//! What every record of the log did, so that grounds can be told apart: its product, and its rate beside the limits of
//! all rates that were asked for. Rates are judged by the median over some of the way, so that a single reading makes no
//! hole in a strip and an edge between two rates stays where it is.

use super::RateKind;
use crate::machine_log::{GoingOn, MachineLog, is_at_work, order_of_driving};
use checkstrip_model::{Column, FieldLog};

/// Rates are medians over so much of the way, m. Common practice, no source: some ten readings of a machine that logs
/// every second.
pub(super) const JUDGED_OVER_M: f64 = 20.0;

/// What a record put on, as far as classes depend on it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Done {
    /// Place of its product among the log's; `None` where it is not logged.
    pub(super) product: Option<usize>,
    /// How many limits its rate lies above; `None` where it is not logged.
    pub(super) above: Option<usize>,
    /// Place of what the log says it was asked, where the plan is the log's; `None`: nothing.
    pub(super) asked: Option<usize>,
    /// Nothing was put on.
    pub(super) is_idle: bool,
}

/// The ends of what still counts as asked, of every rate asked for, in order.
#[derive(Debug, Clone, Default)]
pub(super) struct Limits(Vec<f64>);

impl Limits {
    pub(super) fn new(rates: impl Iterator<Item = f64>, tolerance: f64) -> Limits {
        let ends = rates.flat_map(|rate| [low(rate, tolerance), high(rate, tolerance)]);
        let mut ends: Vec<f64> = ends.collect();
        ends.sort_by(f64::total_cmp);
        ends.dedup();
        Limits(ends)
    }

    pub(super) fn below(&self, rate: f64) -> usize {
        self.0.partition_point(|limit| *limit < rate)
    }

    /// For the rate `asked`: whether a rate that lies above so many limits is less (below 0), as asked (0) or more.
    pub(super) fn side(&self, above: usize, asked: f64, tolerance: f64) -> i8 {
        match above {
            above if above <= self.below(low(asked, tolerance)) => -1,
            above if above > self.below(high(asked, tolerance)) => 1,
            _ => 0,
        }
    }
}

/// Rounding does not make a rate that is off by the whole tolerance one too far.
const ROUNDING: f64 = 1e-9;

fn low(rate: f64, tolerance: f64) -> f64 {
    rate * (1.0 - tolerance) * (1.0 - ROUNDING)
}

fn high(rate: f64, tolerance: f64) -> f64 {
    rate * (1.0 + tolerance) * (1.0 + ROUNDING)
}

/// Places of the products of a log's records; `None` where a record has none.
pub(super) fn product_of(log: &FieldLog, record: usize) -> Option<usize> {
    let products = log.labels(Column::Product)?;
    let place = products.index[record] as usize;
    (!products.names[place].is_empty()).then_some(place)
}

/// The rate of every record as it is judged: the median over [`JUDGED_OVER_M`] of the way around it, of the same row,
/// product and rate asked for. Records that are not at work keep their reading.
pub(super) fn judged_rates(machine: &MachineLog, kind: RateKind) -> Vec<f64> {
    let log = &machine.log;
    let Some(rates) = log.numbers(kind.put_on()) else {
        return vec![f64::NAN; log.len()];
    };
    let mut order = order_of_driving(log);
    let going_on = GoingOn::new(log, machine.east_north_m(), &order);
    let row = log.numbers(Column::Row);
    let asked = log.numbers(kind.asked());
    if let Some(row) = row {
        order.sort_by(|&a, &b| row[a].total_cmp(&row[b]));
    }
    let is_on = |a: usize, b: usize| {
        let same_target = asked
            .is_none_or(|asked| asked[a] == asked[b] || (asked[a].is_nan() && asked[b].is_nan()));
        let counts = |record: usize| is_at_work(log, record) && rates[record].is_finite();
        row.is_none_or(|row| row[a] == row[b])
            && same_target
            && product_of(log, a) == product_of(log, b)
            && counts(a)
            && counts(b)
            && going_on.is_on(a, b)
    };
    let mut judged = rates.to_vec();
    let mut window = Vec::new();
    for run in order.chunk_by(|&a, &b| is_on(a, b)) {
        let mut along = vec![0.0; run.len()];
        for at in 1..run.len() {
            along[at] = along[at - 1] + going_on.way_m(run[at - 1], run[at]);
        }
        let (mut from, mut to) = (0, 0);
        for (at, &record) in run.iter().enumerate() {
            while along[at] - along[from] > JUDGED_OVER_M / 2.0 {
                from += 1;
            }
            while to < run.len() && along[to] - along[at] <= JUDGED_OVER_M / 2.0 {
                to += 1;
            }
            window.clear();
            window.extend(run[from..to].iter().map(|&other| rates[other]));
            let middle = window.len() / 2;
            judged[record] = *window.select_nth_unstable_by(middle, f64::total_cmp).1;
        }
    }
    judged
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rate_is_judged_beside_every_rate_asked_for() {
        let limits = Limits::new([100.0, 105.0, 200.0].into_iter(), 0.1);
        let side = |rate: f64, asked: f64| limits.side(limits.below(rate), asked, 0.1);
        assert_eq!(
            [side(90.0, 100.0), side(110.0, 100.0), side(100.0, 100.0)],
            [0, 0, 0]
        );
        assert_eq!([side(89.9, 100.0), side(110.1, 100.0)], [-1, 1]);
        assert_eq!(
            [side(110.1, 105.0), side(100.0, 200.0), side(181.0, 200.0)],
            [0, -1, 0]
        );
        assert_eq!(side(300.0, 200.0), 1);
    }
}
