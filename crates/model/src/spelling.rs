//! How words are compared that people write in many ways: headers and units, with capitals or without, with
//! accents or without.

use unicode_normalization::char::{decompose_compatible, is_combining_mark};

/// Calls `each` with what is left of `letter` when case and accents do not count: `É` is `e`, `²` is `2`, `ß`
/// is `s` twice, and a combining accent is nothing.
///
/// ```
/// use checkstrip_model::spelling::plain_letters;
/// let mut plain = String::new();
/// "Höhe m²".chars().for_each(|c| plain_letters(c, |p| plain.push(p)));
/// assert_eq!(plain, "hohe m2");
/// ```
pub fn plain_letters(letter: char, mut each: impl FnMut(char)) {
    match letter {
        'ß' | 'ẞ' => "ss".chars().for_each(each),
        // The ordinal sign is what many keyboards have for a degree.
        'º' | '˚' => each('°'),
        _ => decompose_compatible(letter, |part| {
            if !is_combining_mark(part) {
                part.to_lowercase().for_each(&mut each);
            }
        }),
    }
}

/// `text` when case and accents do not count.
pub fn plain(text: &str) -> String {
    let mut plain = String::with_capacity(text.len());
    text.chars()
        .for_each(|letter| plain_letters(letter, |part| plain.push(part)));
    plain
}
