//! The way of the grain from the cutting edge to the sensor: a pure transport delay and after it a
//! first-order smear, the simplest model that shows both what checkstrip's delay estimate must find
//! and why no single shift is perfect. It keeps mass: what goes in comes out, later.

/// What arrives per step, when `input` goes in per step of `step_s` seconds.
///
/// The delay may be any fraction of a step: the running total is shifted, linear within a step. The
/// smear is the exact response, at the end of each step, of dz/dt = (x - z)/smear.
pub(crate) fn transport(input: &[f64], step_s: f64, delay_s: f64, smear_s: f64) -> Vec<f64> {
    let steps = delay_s / step_s;
    let whole = steps.floor() as usize;
    let part = steps - steps.floor();
    let at = |i: usize, back: usize| i.checked_sub(back).map_or(0.0, |i| input[i]);
    let gain = if smear_s > 0.0 {
        1.0 - (-step_s / smear_s).exp()
    } else {
        1.0
    };
    let mut held = 0.0;
    (0..input.len())
        .map(|i| {
            let delayed = at(i, whole) * (1.0 - part) + at(i, whole + 1) * part;
            held += gain * (delayed - held);
            held
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pulse_arrives_late_smeared_and_whole() {
        let mut input = vec![0.0; 400];
        input[10] = 5.0;
        let out = transport(&input, 0.25, 12.1, 2.0);
        let mass: f64 = out.iter().sum();
        assert!((mass - 5.0).abs() < 1e-9, "{mass}");
        assert!(out[..58].iter().all(|&v| v == 0.0));
        // The centre of mass is late by the delay and the smear (less the half step by which the
        // smear's steps end early).
        let late = out
            .iter()
            .enumerate()
            .map(|(i, v)| i as f64 * 0.25 * v)
            .sum::<f64>()
            / mass;
        assert!((late - 2.5 - 12.1 - 2.0).abs() < 0.2, "{late}");
    }

    #[test]
    fn without_delay_and_smear_nothing_changes() {
        let input = [0.0, 1.0, 4.0, 2.0];
        assert_eq!(transport(&input, 0.25, 0.0, 0.0), input);
    }
}
