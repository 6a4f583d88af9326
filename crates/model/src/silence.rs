//! When a machine that logs nothing has stopped working, for harvests, plantings and applications alike.

/// A silence of this many usual intervals ends a pass.
const INTERVALS: f64 = 3.5;
/// No shorter silence ends it, s.
const SHORTEST_S: f64 = 5.0;

/// How long a machine that usually logs every `usual_interval_s` may be silent within a pass, s. Common practice, no
/// source.
///
/// ```
/// use checkstrip_model::silence_that_ends_a_pass_s;
/// assert_eq!(silence_that_ends_a_pass_s(1.0), 5.0);
/// assert_eq!(silence_that_ends_a_pass_s(3.0), 10.5);
/// ```
pub fn silence_that_ends_a_pass_s(usual_interval_s: f64) -> f64 {
    (INTERVALS * usual_interval_s).max(SHORTEST_S)
}
