//! How a figure is written, on maps and in reports alike.

/// What stands for a figure that is not known.
pub const UNKNOWN: &str = "–";

/// A number with `decimals` decimals, thousands separated, negative with a minus sign; [`UNKNOWN`] when
/// it is not finite. What rounds to nothing has no sign.
///
/// ```
/// assert_eq!(checkstrip_drawing::number(-1234.56, 1), "−1,234.6");
/// assert_eq!(checkstrip_drawing::number(-0.04, 1), "0.0");
/// ```
pub fn number(value: f64, decimals: usize) -> String {
    if !value.is_finite() {
        return UNKNOWN.to_owned();
    }
    let plain = format!("{:.decimals$}", value.abs());
    let (whole, fraction) = plain.split_once('.').unwrap_or((&plain, ""));
    let mut text = String::with_capacity(plain.len() + 6);
    if value < 0.0 && plain.bytes().any(|digit| (b'1'..=b'9').contains(&digit)) {
        text.push('−');
    }
    for (place, digit) in whole.chars().enumerate() {
        if place > 0 && (whole.len() - place).is_multiple_of(3) {
            text.push(',');
        }
        text.push(digit);
    }
    if !fraction.is_empty() {
        text.push('.');
        text.push_str(fraction);
    }
    text
}

/// A count of things.
pub fn count(things: usize) -> String {
    number(things as f64, 0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_have_separators_and_a_minus_sign() {
        assert_eq!(number(1_234_567.0, 0), "1,234,567");
        assert_eq!(number(-1234.56, 1), "−1,234.6");
        assert_eq!(number(-0.04, 1), "0.0");
        assert_eq!(number(999.0, 0), "999");
        assert_eq!(number(f64::NAN, 2), UNKNOWN);
    }
}
