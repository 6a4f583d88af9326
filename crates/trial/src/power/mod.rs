//! How small a gain a trial can show: the power of its t test, turned round. The plan job gives it
//! the variation from strip to strip, as told, as usual, or as measured by laying pretended strips
//! over a past harvest. Formulas and sources are in `docs/planning.md`.

mod noncentral_t;
#[cfg(test)]
mod reference;
mod smallest_gain;
mod uniformity;

pub use smallest_gain::{POWER, Sides, TrialSize};
pub use uniformity::{MeasuredVariation, PretendedTrial};

#[cfg(test)]
mod whole_trials;
