//! What one cell of a log says: a number, a switch, a moment or a name. All formats come through
//! here, so that `NA` means the same in a text file and in an attribute table.

use std::borrow::Cow;

use checkstrip_model::spelling;
use jiff::{Timestamp, civil};

/// A value as its format holds it.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Cell {
    /// Nothing, or a value that no column takes.
    Empty,
    /// A number that needs no reading.
    Number(f64),
    /// A whole number, which may have more digits than a `Number` holds.
    Whole(i64),
    /// True or false.
    Truth(bool),
    /// Text, which may hold a number.
    Text(Box<str>),
}

impl Cell {
    /// A cell of text; no text is no value.
    pub(crate) fn text(text: &str) -> Cell {
        match text {
            "" => Cell::Empty,
            text => Cell::Text(text.into()),
        }
    }

    /// The value as text, `None` where there is none.
    pub(crate) fn as_text(&self) -> Option<Cow<'_, str>> {
        Some(match self {
            Cell::Empty => return None,
            Cell::Number(value) => Cow::Owned(value.to_string()),
            Cell::Whole(value) => Cow::Owned(value.to_string()),
            Cell::Truth(value) => Cow::Borrowed(if *value { "true" } else { "false" }),
            Cell::Text(text) => Cow::Borrowed(text),
        })
    }
}

/// Whether a trimmed cell stands for "no reading".
pub(crate) fn is_missing(cell: &[u8]) -> bool {
    cell.len() <= 4
        && [&b""[..], b"na", b"n/a", b"nan", b"null", b"none"]
            .iter()
            .any(|word| cell.eq_ignore_ascii_case(word))
}

/// The number in a trimmed cell: `NaN` for no reading, `None` for anything that is no finite number.
pub(crate) fn number(cell: &[u8], decimal_comma: bool) -> Option<f64> {
    let parsed = if decimal_comma && cell.len() <= LONGEST && cell.contains(&b',') {
        let mut copy = [0; LONGEST];
        let copy = &mut copy[..cell.len()];
        copy.copy_from_slice(cell);
        if copy.contains(&b'.') {
            return None;
        }
        copy.iter_mut()
            .filter(|byte| **byte == b',')
            .for_each(|byte| *byte = b'.');
        fast_float2::parse::<f64, _>(&*copy)
    } else {
        fast_float2::parse::<f64, _>(cell)
    };
    match parsed {
        Ok(value) if value.is_finite() => Some(value),
        _ if is_missing(cell) => Some(f64::NAN),
        _ => None,
    }
}

/// The number in a trimmed cell of which nothing is known: `Empty` for no reading, `None` for anything else.
/// Codes with zeros in front are no numbers, nor are whole ones of more digits than can be held.
pub(crate) fn plain(cell: &[u8], decimal_comma: bool) -> Option<Cell> {
    let digits = cell.strip_prefix(b"-").unwrap_or(cell);
    let is_code = digits.len() > 1 && digits[0] == b'0' && digits[1].is_ascii_digit();
    if is_code || cell.starts_with(b"+") {
        return None;
    }
    if !digits.is_empty() && digits.iter().all(u8::is_ascii_digit) {
        let whole = std::str::from_utf8(cell).ok()?.parse::<i64>().ok()?;
        return Some(Cell::Whole(whole));
    }
    let value = number(cell, decimal_comma)?;
    Some(match value.is_nan() {
        true => Cell::Empty,
        false => Cell::Number(value),
    })
}

/// Numbers with a decimal comma are not longer than this.
const LONGEST: usize = 64;

/// The state of a switch: 1 or 0, `NaN` for no reading, `None` for anything else.
pub(crate) fn switch(cell: &[u8]) -> Option<f64> {
    let text = std::str::from_utf8(cell).unwrap_or_default();
    let says = |words: &[&str]| {
        words.iter().any(|word| {
            text.eq_ignore_ascii_case(word) || (!text.is_ascii() && spelling::plain(text) == *word)
        })
    };
    if says(&[
        "1", "true", "down", "on", "yes", "lowered", "t", "y", "unten", "ein", "ja", "bas", "oui",
        "abajo", "si", "baixado", "sim",
    ]) {
        return Some(1.0);
    }
    if says(&[
        "0",
        "false",
        "up",
        "off",
        "no",
        "raised",
        "f",
        "n",
        "oben",
        "aus",
        "nein",
        "haut",
        "non",
        "arriba",
        "levantado",
        "nao",
    ]) {
        return Some(0.0);
    }
    number(cell, false).filter(|value| *value == 0.0 || *value == 1.0 || value.is_nan())
}

/// A moment written after ISO 8601, in seconds from 1970-01-01 UTC; without an offset it is taken
/// as UTC.
pub(crate) fn moment(cell: &[u8]) -> Option<f64> {
    let text = std::str::from_utf8(cell).ok()?;
    let timestamp = text.parse::<Timestamp>().ok().or_else(|| {
        let local: civil::DateTime = text.parse().ok()?;
        jiff::tz::Offset::UTC.to_timestamp(local).ok()
    })?;
    Some(timestamp.as_microsecond() as f64 / 1e6)
}

/// A name as it is compared: surrounding blanks away, and `12.0` is `12`.
pub(crate) fn label(cell: &str) -> &str {
    let cell = cell.trim();
    match cell.split_once('.') {
        Some((whole, zeros))
            if !zeros.is_empty()
                && zeros.bytes().all(|byte| byte == b'0')
                && !whole.is_empty()
                && whole.bytes().all(|byte| byte.is_ascii_digit()) =>
        {
            whole
        }
        _ => cell,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_and_their_absence() {
        assert_eq!(number(b"1.5", false), Some(1.5));
        assert_eq!(number(b"-1,5", true), Some(-1.5));
        assert_eq!(number(b"1,5", false), None);
        assert_eq!(number(b"1.234,5", true), None);
        assert_eq!(number(b"1e-3", false), Some(0.001));
        for missing in [&b""[..], b"NA", b"NaN", b"null", b"n/a"] {
            assert!(number(missing, false).is_some_and(f64::is_nan));
        }
        for wrong in [&b"inf"[..], b"-Infinity", b"12abc", b"1e999", b"--"] {
            assert_eq!(number(wrong, false), None);
        }
    }

    #[test]
    fn cells_of_which_nothing_is_known() {
        for (text, cell) in [
            ("1", Cell::Whole(1)),
            ("-3", Cell::Whole(-3)),
            ("1.50", Cell::Number(1.5)),
            ("NA", Cell::Empty),
            ("", Cell::Empty),
        ] {
            assert_eq!(plain(text.as_bytes(), false), Some(cell), "{text}");
        }
        for text in ["007", "-01", "P2", "+1", "99999999999999999999", "--", "-"] {
            assert_eq!(plain(text.as_bytes(), false), None, "{text}");
        }
        assert_eq!(plain(b"1,5", true), Some(Cell::Number(1.5)));
    }

    #[test]
    fn switches_in_words() {
        assert_eq!(switch(b"Lowered"), Some(1.0));
        assert_eq!(switch(b"UP"), Some(0.0));
        assert_eq!(switch(b"1.0"), Some(1.0));
        assert_eq!(switch("Sí".as_bytes()), Some(1.0));
        assert_eq!(switch("NÃO".as_bytes()), Some(0.0));
        assert_eq!(switch(b"oben"), Some(0.0));
        assert_eq!(switch(b"2"), None);
        assert!(switch(b"").is_some_and(f64::is_nan));
    }

    /// Examples of RFC 3339, section 5.8.
    #[test]
    fn moments_of_rfc_3339() {
        assert_eq!(moment(b"1985-04-12T23:20:50.52Z"), Some(482_196_050.52));
        assert_eq!(moment(b"1996-12-19T16:39:57-08:00"), Some(851_042_397.0));
        assert_eq!(moment(b"1996-12-20 00:39:57"), Some(851_042_397.0));
        assert_eq!(moment(b"yesterday"), None);
    }

    /// The documentation states how much memory a value takes.
    #[test]
    fn a_value_with_its_record_is_32_bytes() {
        assert_eq!(size_of::<(usize, Cell)>(), 32);
    }

    #[test]
    fn names_lose_empty_decimals() {
        assert_eq!(label(" 12.0 "), "12");
        assert_eq!(label("12.50"), "12.50");
        assert_eq!(label("v1.0"), "v1.0");
    }
}
