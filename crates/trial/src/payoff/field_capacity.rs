//! Ground that a machine works in an hour: speed × width (ASABE Standard EP496.3, 2006, *Agricultural
//! Machinery Management*, clause 5: effective field capacity is that times field efficiency).

use checkstrip_model::units::{M_PER_FOOT, M_PER_MILE, M2_PER_ACRE};

/// Acres an hour at `speed_mph` over `width_ft`, before field efficiency.
///
/// ```
/// # use checkstrip_trial::field_capacity_ac_h;
/// // Common practice, no source: 40 ft at 10 mph is 48.5 acres an hour.
/// assert!((field_capacity_ac_h(10.0, 40.0) - 48.5).abs() < 0.05);
/// ```
pub fn field_capacity_ac_h(speed_mph: f64, width_ft: f64) -> f64 {
    speed_mph * M_PER_MILE * width_ft * M_PER_FOOT / M2_PER_ACRE
}
