//! Neighbouring windows whose intervals for all windows at once lie on the same side of zero, put
//! together to stretches: what the report names.

use checkstrip_model::results::{AlongStretch, AlongWindow};

/// The stretches, from the beginning on; windows next to each other are `step_m` apart.
pub(super) fn stretches(windows: &[AlongWindow], step_m: f64) -> Vec<AlongStretch> {
    let mut found: Vec<AlongStretch> = Vec::new();
    let mut last_from_m = f64::NEG_INFINITY;
    for window in windows {
        let side = match window.interval_95_family_kg_ha {
            Some([low, _]) if low > 0.0 => "gain",
            Some([_, high]) if high < 0.0 => "loss",
            _ => continue,
        };
        let is_next = window.from_m - last_from_m < 1.5 * step_m;
        last_from_m = window.from_m;
        match found.last_mut().filter(|last| is_next && last.side == side) {
            Some(stretch) => stretch.to_m = window.to_m,
            None => found.push(AlongStretch {
                from_m: window.from_m,
                to_m: window.to_m,
                side: side.to_owned(),
            }),
        }
    }
    found
}
