//! Every word that a reader of reports and maps meets, and how figures are written, in the reader's language:
//! `report` and `spatial` say what they say through [`Words`], `cleaning`, `trial` and `job` make the English text
//! of warnings from the same files. The words stand in `languages/` as Fluent files (Project Fluent,
//! projectfluent.org), one folder a language; a file of the reader's own is laid over them.
//!
//! How a language is chosen, adjusted and added is in `docs/languages.md`.

mod error;
mod figure_text;
mod language;
mod language_file;
mod names;
mod own_words;
mod rate_curve;
mod reader;
mod warnings;
mod words;

pub use checkstrip_model::{SaidList, SaidText, SaidValue, SaidValues};
pub use error::WordsError;
pub use figure_text::{Marks, UNKNOWN};
pub use language::Language;
pub use rate_curve::why_curve;
pub use reader::Reader;
pub use warnings::{english_text, said_warning, warning};
pub use words::Words;

/// Says a text by its id: `say!(words, "id")`, or `say!(words, "id", block = 3, treatment = name)` where it takes
/// values. Counts are given as numbers, so that a language can choose its plural by them; figures that a reader
/// sees are given as text, written by [`Words::number`].
#[macro_export]
macro_rules! say {
    ($words:expr, $id:expr $(, $name:ident = $value:expr)* $(,)?) => {
        $words.say($id, &[$((stringify!($name), $crate::SaidValue::from($value))),*])
    };
}

/// A map of named values for a text that is kept beside its English form:
/// `said_values!(variant = "given", blocks = 6)`.
#[macro_export]
macro_rules! said_values {
    ($($name:ident = $value:expr),* $(,)?) => {
        ::std::collections::BTreeMap::from([
            $((stringify!($name).to_owned(), $crate::SaidValue::from($value))),*
        ])
    };
}

#[cfg(test)]
mod tests;
