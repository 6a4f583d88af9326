//! Medians, the one statistic the cleaning steps share: a few wild records must not move it.

/// Scale that makes the median absolute deviation of a normal sample estimate its standard
/// deviation: Hampel, F. R. (1974), *The influence curve and its role in robust estimation*, Journal
/// of the American Statistical Association 69, 383–393.
pub(crate) const MAD_TO_SD: f64 = 1.4826;

/// Median by selection, in linear time; reorders the values. `NaN` when there are none.
pub(crate) fn median(values: &mut [f64]) -> f64 {
    if values.is_empty() {
        return f64::NAN;
    }
    let even = values.len().is_multiple_of(2);
    let middle = values.len() / 2;
    let (below, &mut upper, _) = values.select_nth_unstable_by(middle, f64::total_cmp);
    if even {
        let lower = below.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        lower + (upper - lower) / 2.0
    } else {
        upper
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn median_of_odd_even_and_none() {
        assert_eq!(median(&mut [3.0, 1.0, 2.0]), 2.0);
        assert_eq!(median(&mut [4.0, 1.0, 3.0, 2.0]), 2.5);
        assert!(median(&mut []).is_nan());
    }
}
