//! A named warning: something a reader of the results should know, that did not stop the job.

use crate::said::SaidValues;

/// A warning with a stable code.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Warning {
    /// Stable name, for programs.
    pub code: String,
    /// One or two sentences, for people.
    pub message: String,
    /// What the message names, so that a report in another language can say the same.
    #[serde(default, skip_serializing_if = "SaidValues::is_empty")]
    pub values: SaidValues,
}

impl Warning {
    /// A warning `code` that says `message` in the words of this program, in every language.
    pub fn new(code: &str, message: impl Into<String>) -> Warning {
        Warning {
            code: code.to_owned(),
            message: message.into(),
            values: SaidValues::new(),
        }
    }
}
