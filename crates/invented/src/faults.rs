//! What goes wrong in a log, where it was put, and with it which records a cleaning ought to find.

use crate::drive::{Moment, Stop};
use crate::plan::FaultCounts;
use crate::random::Random;
use crate::route::Leg;

/// A kind of fault put into a log.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum FaultKind {
    /// The position is 12 m to 40 m off.
    PositionJump,
    /// The flow reads zero although grain flows.
    ZeroFlow,
    /// The flow reads several times too much.
    FlowSpike,
    /// The moisture reads 0 % or 45 %.
    BadMoisture,
    /// The machine stands in the crop with its header down.
    Stop,
    /// The record repeats the one before it.
    RepeatedRow,
}

/// A fault and the record that has it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Fault {
    /// Its record, from 0, in the log's order.
    pub record: usize,
    /// What was done to it.
    pub kind: FaultKind,
}

/// A stop stands this far from the ends of its pass at least, m.
const STOP_FROM_END_M: f64 = 30.0;

/// Chooses where the machine stops: as many passes as there are stops, a place in each.
pub(crate) fn choose_stops(legs: &[Leg], count: usize, random: &mut Random) -> Vec<Stop> {
    let mut long: Vec<usize> = (0..legs.len())
        .filter(|&i| legs[i].cut.is_some() && legs[i].length_m() > 2.0 * STOP_FROM_END_M)
        .collect();
    random.shuffle(&mut long);
    long.truncate(count);
    long.into_iter()
        .map(|leg| Stop {
            leg,
            along_m: random.between(STOP_FROM_END_M, legs[leg].length_m() - STOP_FROM_END_M),
            seconds: random.between(20.0, 40.0).round(),
        })
        .collect()
}

/// Chooses the records of every other fault among those in work and moving, no record twice.
/// Repeats are chosen as the record that is written again.
pub(crate) fn choose_records(
    moments: &[Moment],
    counts: FaultCounts,
    random: &mut Random,
) -> Vec<Fault> {
    let mut free: Vec<bool> = moments
        .iter()
        .map(|m| m.header_down && !m.stopped)
        .collect();
    let mut faults = Vec::new();
    let wanted = [
        (FaultKind::PositionJump, counts.position_jumps, 2),
        (FaultKind::ZeroFlow, counts.zero_flows, 1),
        (FaultKind::FlowSpike, counts.flow_spikes, 1),
        (FaultKind::BadMoisture, counts.bad_moistures, 1),
        (FaultKind::RepeatedRow, counts.repeated_rows, 1),
    ];
    for (kind, count, long) in wanted {
        let mut placed = 0;
        // A crowded log gets fewer faults rather than an endless search.
        for _ in 0..count * 50 {
            if placed == count || moments.len() <= long {
                break;
            }
            let at = random.below(moments.len() - long);
            if free[at..at + long].iter().all(|&f| f) {
                free[at..at + long].fill(false);
                faults.extend((at..at + long).map(|record| Fault { record, kind }));
                placed += 1;
            }
        }
    }
    faults
}
