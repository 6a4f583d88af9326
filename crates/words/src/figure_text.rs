//! How a figure is written: in reports and on maps alike, with the marks of the reader's language.

/// What stands for a figure that is not known.
pub const UNKNOWN: &str = "–";

/// The marks between the digits of a figure.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Marks {
    /// Before the decimals.
    pub decimal: String,
    /// Between groups of three digits; may be empty.
    pub group: String,
}

impl Marks {
    /// A number with `decimals` decimals, thousands separated, negative with a minus sign; [`UNKNOWN`] when
    /// it is not finite. What rounds to nothing has no sign.
    ///
    /// ```
    /// use checkstrip_words::Marks;
    /// let english = Marks { decimal: ".".into(), group: ",".into() };
    /// assert_eq!(english.number(-1234.56, 1), "−1,234.6");
    /// assert_eq!(english.number(-0.04, 1), "0.0");
    /// ```
    pub fn number(&self, value: f64, decimals: usize) -> String {
        self.written(value, decimals, &self.group)
    }

    /// The same without a mark between groups, as figures stand in warnings.
    pub(crate) fn ungrouped(&self, value: f64, decimals: usize) -> String {
        self.written(value, decimals, "")
    }

    fn written(&self, value: f64, decimals: usize, group: &str) -> String {
        if !value.is_finite() {
            return UNKNOWN.to_owned();
        }
        let plain = format!("{:.decimals$}", value.abs());
        let (whole, fraction) = plain.split_once('.').unwrap_or((&plain, ""));
        let mut text = String::with_capacity(plain.len() + 8);
        if value < 0.0 && plain.bytes().any(|digit| (b'1'..=b'9').contains(&digit)) {
            text.push('−');
        }
        for (place, digit) in whole.chars().enumerate() {
            if place > 0 && (whole.len() - place).is_multiple_of(3) {
                text.push_str(group);
            }
            text.push(digit);
        }
        if !fraction.is_empty() {
            text.push_str(&self.decimal);
            text.push_str(fraction);
        }
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_have_separators_and_a_minus_sign() {
        let english = Marks {
            decimal: ".".into(),
            group: ",".into(),
        };
        assert_eq!(english.number(1_234_567.0, 0), "1,234,567");
        assert_eq!(english.number(-1234.56, 1), "−1,234.6");
        assert_eq!(english.number(-0.04, 1), "0.0");
        assert_eq!(english.number(999.0, 0), "999");
        assert_eq!(english.number(f64::NAN, 2), UNKNOWN);
        let none = Marks {
            decimal: ",".into(),
            group: String::new(),
        };
        assert_eq!(none.number(-1234.56, 1), "−1234,6");
    }
}
