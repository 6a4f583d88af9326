//! Single flow readings that cannot be: one record falls to nothing or leaps to several times what
//! the two before and the two after agree on. Grain reaches the sensor through elevators that
//! smear it over seconds, so a real change never lasts one record only. The test is on the sensor's
//! own series, before any shift, because there the fault is one record wide.
//!
//! The step is the rank test of a running median: Tukey, J. W. (1977), *Exploratory Data Analysis*,
//! Addison-Wesley, chapter 7. The limits are this project's own, checked on invented fields.

use crate::drive::Drive;
use crate::robust::median;

/// A reading under this share of its neighbours' median is not believed.
const LOWEST_SHARE: f64 = 0.5;
/// Nor is one over this many times the median.
const HIGHEST_SHARE: f64 = 1.8;
/// Nor is one over this many times the log's usual flow, whatever its neighbours say: no machine
/// takes that in, and one such reading would drown the sums of all others.
const MOST_OF_USUAL: f64 = 10.0;
/// The neighbours agree when they lie within this share of their median from each other.
const AGREEMENT: f64 = 0.5;
/// Neighbours with less than this share of the log's usual flow say nothing.
const LEAST_FLOW_SHARE: f64 = 0.1;

/// For each record in driving order, whether its flow reading can be believed. Missing readings
/// cannot, nor can those of records whose time is faulty.
pub(crate) fn believed_flow(drive: &Drive) -> Vec<bool> {
    let n = drive.len();
    let flow = &drive.flow_kg_s;
    let timed = |at: usize| drive.order.status[at] != checkstrip_model::Status::Time;
    let mut believed: Vec<bool> = (0..n)
        .map(|at| flow[at].is_finite() && flow[at] >= 0.0 && timed(at))
        .collect();
    let mut usual: Vec<f64> = (0..n)
        .filter(|&at| believed[at] && drive.header_down[at])
        .map(|at| flow[at])
        .collect();
    let usual = median(&mut usual);
    let least = LEAST_FLOW_SHARE * usual;
    if usual > 0.0 {
        for at in 0..n {
            believed[at] &= flow[at] <= MOST_OF_USUAL * usual;
        }
    }

    // The series without the records that are out already, so that a repeated record does not
    // stand in for a neighbour.
    let series: Vec<usize> = (0..n).filter(|&at| believed[at]).collect();
    let order = &drive.order;
    for window in series.windows(5) {
        let [a, b, at, c, d] = [window[0], window[1], window[2], window[3], window[4]];
        let unbroken = order.machine[a] == order.machine[d]
            && window
                .windows(2)
                .all(|w| order.time_s[w[1]] - order.time_s[w[0]] <= drive.gap_s);
        if !unbroken {
            continue;
        }
        let mut around = [flow[a], flow[b], flow[c], flow[d]];
        let spread = around.iter().copied().fold(f64::NEG_INFINITY, f64::max)
            - around.iter().copied().fold(f64::INFINITY, f64::min);
        let middle = median(&mut around);
        if middle > least
            && spread <= AGREEMENT * middle
            && !(LOWEST_SHARE * middle..=HIGHEST_SHARE * middle).contains(&flow[at])
        {
            believed[at] = false;
        }
    }
    believed
}
