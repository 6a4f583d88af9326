//! Speed: standing, crawling, racing and abrupt changes. While the machine changes speed, grain
//! already inside still arrives at the old rate, so that flow over ground is wrong for seconds.
//! Standing records have no ground at all.
//!
//! Limits and the abrupt-change rule follow Simbahan, G. C., Dobermann, A. and Ping, J. L. (2004),
//! *Screening yield monitor data improves grain yield maps*, Agronomy Journal 96, 1091–1102, with
//! the change taken against a running median instead of the record before, so that one odd reading
//! does not condemn its neighbour.

use crate::drive::Drive;
use crate::recipe::Recipe;
use crate::robust::median;

/// Half width of the running median, s.
const AROUND_S: f64 = 5.0;

/// For each record in driving order, whether its speed is faulty. Records outside a pass are not
/// judged.
pub(crate) fn speed_faults(drive: &Drive, pass: &[u32], recipe: &Recipe) -> Vec<bool> {
    let n = drive.len();
    let around = (AROUND_S / drive.order.typical_interval_s)
        .round()
        .clamp(1.0, 50.0) as usize;
    let mut window = Vec::with_capacity(2 * around + 1);
    (0..n)
        .map(|at| {
            if pass[at] == 0 {
                return false;
            }
            // The distance is what the footprint is made of, so both must make sense.
            let speed = drive.speed_m_s[at];
            let over_ground = drive.distance_m[at] / drive.interval_s[at];
            let limits = recipe.lowest_speed_m_s..=recipe.highest_speed_m_s;
            if !limits.contains(&speed) || !limits.contains(&over_ground) {
                return true;
            }
            window.clear();
            let low = at.saturating_sub(around);
            let high = (at + around + 1).min(n);
            window.extend(
                (low..high)
                    .filter(|&other| pass[other] == pass[at])
                    .map(|other| drive.speed_m_s[other])
                    .filter(|v| *v >= recipe.lowest_speed_m_s),
            );
            let usual = median(&mut window);
            (speed - usual).abs() > recipe.abrupt_speed_share * usual
        })
        .collect()
}
