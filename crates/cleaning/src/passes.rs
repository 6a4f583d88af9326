//! Passes: unbroken stretches of cutting. A pass ends where the header goes up, the machine stops
//! logging, its own pass number changes or, when it keeps none, where it turns. Grain delay, pass
//! ends and the wake of a header all go by passes.

use crate::drive::Drive;
use checkstrip_model::Status;

/// A turn of more than this within [`TURN_RECORDS`] records ends a pass, degrees.
const TURN_DEG: f64 = 45.0;
/// Records over which a turn is looked for.
const TURN_RECORDS: usize = 3;

/// Pass number of every record in driving order, from 1; 0 where the machine was not cutting: the
/// header up, no width, no position, or a record that only repeats the one before.
pub(crate) fn passes(drive: &Drive) -> Vec<u32> {
    let n = drive.len();
    let mut pass = vec![0; n];
    let mut number = 0;
    let mut last_cutting: Option<usize> = None;
    for at in 0..n {
        let cutting = drive.header_down[at]
            && drive.width_m[at] > 0.0
            && drive.heading_deg[at].is_finite()
            && !drive.order.repeated[at]
            && drive.order.status[at] != Status::Position;
        if !cutting {
            continue;
        }
        let goes_on = last_cutting.is_some_and(|before| {
            // Records without a position inside a pass do not end it; the piece does.
            drive.piece[before] == drive.piece[at]
                && drive
                    .logged_pass
                    .as_ref()
                    .is_none_or(|p| p[before] == p[at])
                && (drive.logged_pass.is_some() || !turns(drive, at))
        });
        if !goes_on {
            number += 1;
        }
        pass[at] = number;
        last_cutting = Some(at);
    }
    pass
}

fn turns(drive: &Drive, at: usize) -> bool {
    let Some(before) = at.checked_sub(TURN_RECORDS) else {
        return false;
    };
    drive.piece[before] == drive.piece[at]
        && angle_between(drive.heading_deg[before], drive.heading_deg[at]) > TURN_DEG
}

/// Smaller angle between two headings, degrees from 0 to 180; `NaN` when either is.
pub(crate) fn angle_between(a: f64, b: f64) -> f64 {
    let turn = (a - b).rem_euclid(360.0);
    turn.min(360.0 - turn)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn angles_go_the_short_way() {
        assert_eq!(angle_between(350.0, 10.0), 20.0);
        assert_eq!(angle_between(10.0, 350.0), 20.0);
        assert_eq!(angle_between(0.0, 180.0), 180.0);
    }
}
