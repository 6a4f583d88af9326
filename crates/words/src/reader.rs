//! What is known of the reader: units and language, which travel together to reports and maps.

use crate::words::Words;
use checkstrip_model::units::UnitSystem;

/// Whom a report or a map is for.
#[derive(Debug, Clone, Copy)]
pub struct Reader<'a> {
    /// Units of figures.
    pub units: UnitSystem,
    /// Language of words and marks of figures.
    pub words: &'a Words,
}

/// A reader of English.
impl From<UnitSystem> for Reader<'static> {
    fn from(units: UnitSystem) -> Reader<'static> {
        Reader {
            units,
            words: Words::english(),
        }
    }
}
