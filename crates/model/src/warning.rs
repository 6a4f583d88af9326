//! A named warning: something a reader of the results should know, that did not stop the job.

/// A warning with a stable code.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Warning {
    /// Stable name, for programs.
    pub code: String,
    /// One or two sentences, for people.
    pub message: String,
}

impl Warning {
    /// A warning `code` that says `message`.
    pub fn new(code: &str, message: impl Into<String>) -> Warning {
        Warning {
            code: code.to_owned(),
            message: message.into(),
        }
    }
}
