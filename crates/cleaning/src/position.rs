//! Position faults: records without a position, and records whose position the machine cannot have
//! reached. A receiver that loses its correction jumps metres away for a record or two and comes
//! back; such records would paint yield where nothing was cut.
//!
//! The drive is broken wherever a step is longer than the machine can have gone. Pieces of the
//! drive shorter than [`SHORT_PIECE`] records next to a break are the jumps; longer pieces are taken
//! for the drive itself. The rule follows Blackmore, S. and Moore, M. (1999), *Remedial correction
//! of yield map data*, Precision Agriculture 1, 53–66, who reject positions that the speed does not
//! allow.

use checkstrip_model::Status;

/// Pieces of at least this many records are believed.
const SHORT_PIECE: usize = 5;
/// Position noise that a step may have on top, m.
const NOISE_M: f64 = 3.0;
/// A step may be this many times the logged distance.
const DISTANCE_SLACK: f64 = 2.0;
/// No machine goes faster, m/s (about 27 mph, a combine on the road).
const FASTEST_M_S: f64 = 12.0;

/// What a step is judged by. All columns are in driving order.
pub(crate) struct Steps<'a> {
    pub east_m: &'a [f64],
    pub north_m: &'a [f64],
    pub time_s: &'a [f64],
    pub machine: &'a [u32],
    /// Logged distance, if the log has one of its own.
    pub distance_m: Option<&'a [f64]>,
    /// A silence longer than this begins a new drive, s.
    pub gap_s: f64,
}

/// Marks position faults among records that are still kept.
pub(crate) fn position_faults(steps: &Steps, status: &mut [Status]) {
    let mut pieces: Vec<Piece> = Vec::new();
    let mut last: Option<usize> = None;
    let mut travelled = 0.0;
    for at in 0..status.len() {
        if !steps.east_m[at].is_finite() || !steps.north_m[at].is_finite() {
            if status[at].is_kept() {
                status[at] = Status::Position;
            }
            continue;
        }
        if !status[at].is_kept() {
            continue;
        }
        let step = steps.distance_m.map_or(f64::NAN, |d| d[at]);
        travelled += if step.is_finite() {
            step.max(0.0)
        } else {
            f64::INFINITY
        };
        let joined = last.map(|before| {
            let elapsed = steps.time_s[at] - steps.time_s[before];
            if steps.machine[at] != steps.machine[before] || elapsed > steps.gap_s {
                return Join::NewDrive;
            }
            let length = (steps.east_m[at] - steps.east_m[before])
                .hypot(steps.north_m[at] - steps.north_m[before]);
            let reach = (FASTEST_M_S * elapsed).min(DISTANCE_SLACK * travelled) + NOISE_M;
            if length <= reach {
                Join::Reached
            } else {
                Join::Jump
            }
        });
        match (joined, pieces.last_mut()) {
            (Some(Join::Reached), Some(piece)) => piece.records.push(at),
            (joined, previous) => {
                let jump = joined == Some(Join::Jump);
                if let Some(previous) = previous {
                    previous.jump_after = jump;
                }
                pieces.push(Piece {
                    records: vec![at],
                    jump_before: jump,
                    jump_after: false,
                });
            }
        }
        last = Some(at);
        travelled = 0.0;
    }
    let lengths: Vec<usize> = pieces.iter().map(|piece| piece.records.len()).collect();
    for (place, piece) in pieces.iter().enumerate() {
        let own = lengths[place];
        let longer = |neighbour: usize| lengths[neighbour] > own;
        // Two single jumps in a row stand between long pieces: look past short ones.
        let past = |mut at: usize, step: isize| loop {
            let jump = if step < 0 {
                pieces[at].jump_before
            } else {
                pieces[at].jump_after
            };
            if !jump {
                return false;
            }
            at = at.wrapping_add_signed(step);
            if longer(at) {
                return true;
            }
        };
        if own < SHORT_PIECE && (past(place, -1) || past(place, 1)) {
            for &at in &piece.records {
                status[at] = Status::Position;
            }
        }
    }
}

#[derive(PartialEq, Clone, Copy)]
enum Join {
    Reached,
    Jump,
    NewDrive,
}

struct Piece {
    records: Vec<usize>,
    jump_before: bool,
    jump_after: bool,
}

#[cfg(test)]
mod tests {
    use super::*;

    fn run(east: &[f64]) -> Vec<Status> {
        let n = east.len();
        let time: Vec<f64> = (0..n).map(|t| t as f64).collect();
        let mut status = vec![Status::Kept; n];
        let steps = Steps {
            east_m: east,
            north_m: &vec![0.0; n],
            time_s: &time,
            machine: &vec![0; n],
            distance_m: Some(&vec![2.0; n]),
            gap_s: 5.0,
        };
        position_faults(&steps, &mut status);
        status
    }

    #[test]
    fn two_jumps_in_a_row_are_found_and_the_drive_goes_on() {
        let mut east: Vec<f64> = (0..30).map(|i| 2.0 * f64::from(i)).collect();
        east[10] += 25.0;
        east[11] -= 18.0;
        east[20] = f64::NAN;
        let status = run(&east);
        let bad: Vec<usize> = (0..30).filter(|&i| status[i] == Status::Position).collect();
        assert_eq!(bad, [10, 11, 20]);
    }

    #[test]
    fn a_lasting_shift_is_believed() {
        let east: Vec<f64> = (0..30)
            .map(|i| 2.0 * f64::from(i) + if i > 14 { 40.0 } else { 0.0 })
            .collect();
        assert!(run(&east).iter().all(|s| s.is_kept()));
    }

    #[test]
    fn a_jump_at_the_very_start_is_found() {
        let mut east: Vec<f64> = (0..30).map(|i| 2.0 * f64::from(i)).collect();
        east[0] = 90.0;
        let status = run(&east);
        assert_eq!(status[0], Status::Position);
        assert!(status[1..].iter().all(|s| s.is_kept()));
    }
}
