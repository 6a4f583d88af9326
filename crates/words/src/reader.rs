//! What is known of the reader: units, language and paper, which travel together to reports and maps.

use crate::words::Words;
use checkstrip_model::units::{Paper, UnitSystem};

/// Whom a report or a map is for.
#[derive(Debug, Clone, Copy)]
pub struct Reader<'a> {
    /// Units of figures.
    pub units: UnitSystem,
    /// Language of words and marks of figures.
    pub words: &'a Words,
    /// What reports are printed on.
    pub paper: Paper,
}

impl<'a> Reader<'a> {
    /// A reader with the paper that is usual with these units.
    pub fn new(units: UnitSystem, words: &'a Words) -> Reader<'a> {
        Reader {
            units,
            words,
            paper: Paper::usual(units),
        }
    }
}

/// A reader of English.
impl From<UnitSystem> for Reader<'static> {
    fn from(units: UnitSystem) -> Reader<'static> {
        Reader::new(units, Words::english())
    }
}
