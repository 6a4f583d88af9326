//! Numbers as text with a fixed number of decimals, trailing zeros left off. Exports write millions
//! of them, for which the general formatter of the standard library is too slow.

use std::io::Write;

const POWERS: [f64; 10] = [1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9];

/// Above 2⁵² half of the last decimal is no longer exact.
const EXACT: f64 = 4_503_599_627_370_496.0;

/// Appends `value`, a finite number, rounded to `decimals` (at most 9).
pub(crate) fn push(out: &mut Vec<u8>, value: f64, decimals: u8) {
    let decimals = usize::from(decimals).min(POWERS.len() - 1);
    let scaled = value.abs() * POWERS[decimals];
    if scaled >= EXACT {
        // Writing to a vector cannot fail.
        let _ = write!(out, "{value:.decimals$}");
        return;
    }
    let mut rest = (scaled + 0.5) as u64;
    let mut left = decimals;
    while left > 0 && rest.is_multiple_of(10) {
        rest /= 10;
        left -= 1;
    }
    if value < 0.0 && rest > 0 {
        out.push(b'-');
    }
    // 2⁵² has 16 digits, and there may be a point and a zero before it.
    let mut digits = [b'0'; 20];
    let mut at = digits.len();
    if left > 0 {
        for _ in 0..left {
            at -= 1;
            digits[at] = b'0' + (rest % 10) as u8;
            rest /= 10;
        }
        at -= 1;
        digits[at] = b'.';
    }
    loop {
        at -= 1;
        digits[at] = b'0' + (rest % 10) as u8;
        rest /= 10;
        if rest == 0 {
            break;
        }
    }
    out.extend_from_slice(&digits[at..]);
}

/// Appends a whole number.
pub(crate) fn push_whole(out: &mut Vec<u8>, value: u64) {
    let mut digits = [b'0'; 20];
    let mut at = digits.len();
    let mut rest = value;
    loop {
        at -= 1;
        digits[at] = b'0' + (rest % 10) as u8;
        rest /= 10;
        if rest == 0 {
            break;
        }
    }
    out.extend_from_slice(&digits[at..]);
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn text(value: f64, decimals: u8) -> String {
        let mut out = Vec::new();
        push(&mut out, value, decimals);
        String::from_utf8(out).unwrap()
    }

    #[test]
    fn corners() {
        assert_eq!(text(0.0, 3), "0");
        assert_eq!(text(-0.0001, 3), "0");
        assert_eq!(text(-93.978_42, 8), "-93.97842");
        assert_eq!(text(0.05, 1), "0.1");
        assert_eq!(text(1.999_96, 4), "2");
        assert_eq!(text(100.0, 3), "100");
        assert_eq!(text(1e20, 3), "100000000000000000000.000");
        assert_eq!(text(4_503_599_627_370_495.0, 0), "4503599627370495");
    }

    proptest! {
        #[test]
        fn what_is_written_is_the_number_to_its_decimals(value in -1e9_f64..1e9, decimals in 0_u8..=6) {
            let back: f64 = text(value, decimals).parse().unwrap();
            let half = 0.5 / POWERS[usize::from(decimals)];
            prop_assert!((back - value).abs() <= half * (1.0 + 1e-6) + value.abs() * 1e-15);
        }

        #[test]
        fn whole_numbers(value: u64) {
            let mut out = Vec::new();
            push_whole(&mut out, value);
            prop_assert_eq!(String::from_utf8(out).unwrap(), value.to_string());
        }
    }
}
