//! Texts that results carry: their English form is made here from the English file, so that the text stands in
//! one place, and their values are kept beside it, so that a report says the same in another language.

use crate::words::Words;
use checkstrip_model::{SaidText, SaidValues, Warning};

/// The warning `code`, in English: what the text `warning-CODE` of the language file says with these values. Where
/// a code has several texts, the value `variant` names the one, `warning-CODE-VARIANT`.
pub fn warning(code: &str, values: SaidValues) -> Warning {
    Warning {
        code: code.to_owned(),
        message: english_text("warning", code, &values),
        values,
    }
}

/// The English form of a text of the family `family` with these values; the id ends as [`warning`] says.
pub fn english_text(family: &str, code: &str, values: &SaidValues) -> String {
    Words::english()
        .said(family, code, values)
        .unwrap_or_else(|| code.to_owned())
}

/// A warning as a text within another.
pub fn said_warning(warning: &Warning) -> SaidText {
    let text = SaidText::of_variant("warning", &warning.code, &warning.values);
    if Words::english().has(&text.id) {
        text
    } else {
        SaidText::new(
            "said-as-it-is",
            crate::said_values!(said = &warning.message),
        )
    }
}

impl Words {
    /// A warning in this language. Where no text belongs to its code, as with the problems of a file, its message
    /// stays as the program wrote it.
    pub fn warning(&self, warning: &Warning) -> String {
        self.said("warning", &warning.code, &warning.values)
            .unwrap_or_else(|| warning.message.clone())
    }

    /// A text that results carry, in this language; `english` when it was written without its values, as in results
    /// of an earlier version.
    pub fn carried(&self, family: &str, english: &str, values: &SaidValues) -> String {
        if values.is_empty() {
            return english.to_owned();
        }
        self.said(family, "", values)
            .unwrap_or_else(|| english.to_owned())
    }

    /// The text `FAMILY-CODE-VARIANT`; `None` when there is none.
    fn said(&self, family: &str, code: &str, values: &SaidValues) -> Option<String> {
        let text = SaidText::of_variant(family, code, values);
        let values = text.values.iter();
        self.try_say(&text.id, values.map(|(name, value)| (name.as_str(), value)))
    }
}
