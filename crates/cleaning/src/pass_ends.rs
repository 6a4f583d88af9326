//! Starts and ends of passes. The stream of grain fills after the header enters the crop and runs
//! out after it leaves; the readings in between belong to no ground in particular. A standstill
//! inside a pass lets the stream run dry in the same way.
//!
//! Removing a fixed time at both ends is the usual practice (common practice, no source); Simbahan
//! et al. (2004, Agronomy Journal 96, 1091–1102) call the same step the removal of short-term start
//! and end effects.

use crate::drive::Drive;
use checkstrip_model::Status;

/// Slower than this the machine stands, m/s.
const STANDING_M_S: f64 = 0.2;

/// Marks records within `start_s` of where cutting began and within `end_s` of where it ended.
pub(crate) fn pass_ends(
    drive: &Drive,
    pass: &[u32],
    start_s: f64,
    end_s: f64,
    mut mark: impl FnMut(usize, Status),
) {
    let time = &drive.order.time_s;
    let standing = |at: usize| drive.distance_m[at] < STANDING_M_S * drive.interval_s[at];
    let mut from = 0;
    while from < drive.len() {
        if pass[from] == 0 || standing(from) {
            from += 1;
            continue;
        }
        let mut to = from;
        for at in from..drive.len() {
            // Records without a position inside a pass have no pass number and do not end it.
            if pass[at] != 0 && (pass[at] != pass[from] || standing(at)) {
                break;
            }
            if pass[at] == pass[from] {
                to = at;
            }
        }
        let began = time[from] - drive.interval_s[from];
        for at in from..=to {
            if time[at] - began <= start_s {
                mark(at, Status::PassStart);
            } else if time[to] - time[at] < end_s {
                mark(at, Status::PassEnd);
            }
        }
        from = to + 1;
    }
}
