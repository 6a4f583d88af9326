//! How much the grain stream is smeared on its way. Threshing, augers and elevators mix grain that
//! was cut seconds apart; the mixing shows where a pass begins and ends, as a flow that rises and
//! falls over seconds instead of at once. It is modelled as a first-order lag after a pure transport
//! delay: Searcy, S. W., Schueller, J. K., Bae, Y. H., Borgelt, S. C. and Stout, B. A. (1989),
//! *Mapping of spatially variable yield during grain combining*, Transactions of the ASAE 32(3),
//! 826–829.
//!
//! At every pass start and end that was logged without a break, the flow is predicted from the
//! ground taken in per record, lagged by each smear that is tried; the transport delay is tied to it
//! by the mean delay that is known already. The header goes down a little before the crop and up a
//! little after it, so starts and ends each have an offset of their own. The smear with the least
//! squared error wins.

use crate::drive::Drive;
use crate::robust::median;

/// Smears that are tried reach from nothing to this, s.
const LONGEST_S: f64 = 6.0;
/// They lie this far apart, s.
const STEP_S: f64 = 0.25;
/// The header may be this much too early or too late at the crop's edge, s.
const OFFSET_S: f64 = 3.0;
/// Fewer starts and ends than this say nothing.
const FEWEST: usize = 8;
/// Logs slower than this cannot show a smear of seconds, s between records.
const SLOWEST_S: f64 = 2.0;

/// The smear time constant, s, or `None` when the log cannot show it.
///
/// `mean_delay_s` is the mean transit time; `flow` has unbelieved readings bridged.
pub(crate) fn grain_smear(
    drive: &Drive,
    pass: &[u32],
    flow: &[f64],
    mean_delay_s: f64,
) -> Option<f64> {
    let typical = drive.order.typical_interval_s;
    if typical > SLOWEST_S || drive.header_down.iter().all(|&down| down) {
        return None;
    }
    let edges = edges(drive, pass, flow, mean_delay_s);
    let count = |start: bool| edges.iter().filter(|edge| edge.start == start).count();
    if count(true) < FEWEST || count(false) < FEWEST {
        return None;
    }
    let smears = (0..=(LONGEST_S / STEP_S) as usize).map(|i| i as f64 * STEP_S);
    let offsets: Vec<f64> = (0..=(4.0 * OFFSET_S) as usize)
        .map(|i| i as f64 * 0.5 - OFFSET_S)
        .collect();
    smears
        .map(|smear| {
            let error = |start: bool| {
                offsets
                    .iter()
                    .map(|offset| {
                        edges
                            .iter()
                            .filter(|edge| edge.start == start)
                            .map(|edge| edge.squared_error(smear, mean_delay_s - smear + offset))
                            .sum::<f64>()
                    })
                    .fold(f64::INFINITY, f64::min)
            };
            (smear, error(true) + error(false))
        })
        .min_by(|a, b| a.1.total_cmp(&b.1))
        .map(|(smear, _)| smear)
}

/// The flow around one pass start or end, and the ground taken in before and during it.
struct Edge {
    start: bool,
    /// Grain per record the ground would give at once, kg: intake area × the pass's own yield, from
    /// well before the window on.
    intake: Vec<f64>,
    /// Grain per record that the sensor saw, kg.
    seen: Vec<f64>,
    /// Where the window, over which the two are compared, begins.
    from: usize,
    typical_s: f64,
}

impl Edge {
    fn squared_error(&self, smear_s: f64, transport_s: f64) -> f64 {
        let pass_on = if smear_s > 0.0 {
            1.0 - (-self.typical_s / smear_s).exp()
        } else {
            1.0
        };
        let mut held = 0.0;
        let smeared: Vec<f64> = self
            .intake
            .iter()
            .map(|intake| {
                held += pass_on * (intake - held);
                held
            })
            .collect();
        let lag = transport_s / self.typical_s;
        (self.from..self.seen.len())
            .map(|at| {
                let place = at as f64 - lag;
                let below = place.floor();
                let value = |index: f64| {
                    let last = smeared.len() - 1;
                    if index < 0.0 {
                        0.0
                    } else {
                        smeared[(index as usize).min(last)]
                    }
                };
                let share = place - below;
                let expected = value(below) * (1.0 - share) + value(below + 1.0) * share;
                (self.seen[at] - expected).powi(2)
            })
            .sum()
    }
}

/// Pass starts and ends with logging unbroken from a minute before to well after them.
fn edges(drive: &Drive, pass: &[u32], flow: &[f64], mean_delay_s: f64) -> Vec<Edge> {
    let typical = drive.order.typical_interval_s;
    let records = |seconds: f64| (seconds / typical).round().max(0.0) as usize;
    let (warm, before, after) = (
        records(60.0),
        records(6.0),
        records(mean_delay_s.max(0.0) + 14.0),
    );
    let lag = (mean_delay_s / typical).round() as isize;
    let area = |at: usize| {
        if pass[at] > 0 && drive.header_down[at] {
            drive.distance_m[at] * drive.width_m[at]
        } else {
            0.0
        }
    };
    let order = &drive.order;
    let unbroken = |from: usize, to: usize| {
        (from + 1..to).all(|at| {
            order.machine[at] == order.machine[at - 1]
                && order.time_s[at] - order.time_s[at - 1] <= drive.gap_s
        })
    };
    let mut edges = Vec::new();
    for at in 1..drive.len() {
        let start = match (drive.header_down[at - 1], drive.header_down[at]) {
            (false, true) => true,
            (true, false) => false,
            _ => continue,
        };
        let (Some(from), to) = (at.checked_sub(before), at + after) else {
            continue;
        };
        if to >= drive.len() || !unbroken(from, to) {
            continue;
        }
        let mut first = from.saturating_sub(warm);
        while !unbroken(first, from) {
            first += 1;
        }
        // The pass's own yield, 10 to 40 s inside the crop.
        let inside = if start {
            at + records(10.0)..at + records(40.0)
        } else {
            at.saturating_sub(records(40.0))..at.saturating_sub(records(10.0))
        };
        let shifted = |at: usize| flow.get((at as isize + lag).max(0) as usize).copied();
        let mut yields: Vec<f64> = inside
            .filter(|&at| at < drive.len() && area(at) > 0.0)
            .filter_map(|at| shifted(at).map(|flow| flow * drive.interval_s[at] / area(at)))
            .collect();
        if yields.len() < records(15.0) {
            continue;
        }
        let level = median(&mut yields);
        let edge = Edge {
            start,
            intake: (first..to).map(|at| area(at) * level).collect(),
            seen: (first..to)
                .map(|at| flow[at] * drive.interval_s[at])
                .collect(),
            from: from - first,
            typical_s: typical,
        };
        // One missing reading would make every smear's error unknown.
        if edge.intake.iter().chain(&edge.seen).all(|v| v.is_finite()) {
            edges.push(edge);
        }
    }
    edges
}
