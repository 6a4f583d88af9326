//! Golden-section search for a minimum: Kiefer, J. (1953), *Sequential minimax search for a maximum*,
//! Proceedings of the American Mathematical Society 4, 502–506.

/// Where `cost` is least between `low` and `high`, if it falls to one minimum and rises again; some
/// low place otherwise. An end is found as well as a place between.
pub(crate) fn golden_section(low: f64, high: f64, cost: impl Fn(f64) -> f64) -> f64 {
    let ratio = (5f64.sqrt() - 1.0) / 2.0;
    let (mut a, mut b) = (low, high);
    let (mut left, mut right) = (b - ratio * (b - a), a + ratio * (b - a));
    let (mut at_left, mut at_right) = (cost(left), cost(right));
    // Each step keeps 0.618 of the interval: 60 leave 3e-13 of it, less than a minimum can be told
    // to in double precision.
    for _ in 0..60 {
        if at_left <= at_right {
            (b, right, at_right) = (right, left, at_left);
            left = b - ratio * (b - a);
            at_left = cost(left);
        } else {
            (a, left, at_left) = (left, right, at_right);
            right = a + ratio * (b - a);
            at_right = cost(right);
        }
    }
    let middle = 0.5 * (a + b);
    let at_middle = cost(middle);
    [low, high]
        .into_iter()
        .find(|&end| cost(end) <= at_middle)
        .unwrap_or(middle)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn minima_between_and_at_the_ends() {
        assert!((golden_section(-1.0, 4.0, |x| (x - 1.25).powi(2)) - 1.25).abs() < 1e-7);
        assert_eq!(golden_section(2.0, 3.0, |x| x), 2.0);
        assert_eq!(golden_section(2.0, 3.0, |x| -x), 3.0);
    }
}
