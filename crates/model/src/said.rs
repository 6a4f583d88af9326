//! Values that a text names. Results carry them beside texts in English, so that reports say the same in another
//! language.

use std::collections::BTreeMap;

/// The values of one text by their names. Where a text has several forms, `variant` names the one.
pub type SaidValues = BTreeMap<String, SaidValue>;

/// A value that a text names.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
#[serde(untagged)]
pub enum SaidValue {
    /// A count of things; a language chooses its plural by it.
    Count(usize),
    /// Any other number; the text says with how many decimals it is written.
    Number(f64),
    /// A name, or a figure that is written already.
    Text(String),
    /// Texts of the language file, one after the other.
    List(SaidList),
}

/// Texts one after the other.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct SaidList {
    /// What stands between them.
    pub between: String,
    /// The texts.
    pub texts: Vec<SaidText>,
}

/// A text of the language file with its values.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct SaidText {
    /// Its id in the language file.
    pub id: String,
    /// Its values.
    #[serde(default, skip_serializing_if = "SaidValues::is_empty")]
    pub values: SaidValues,
}

impl SaidText {
    /// The text `id` with these values.
    pub fn new(id: &str, values: SaidValues) -> SaidText {
        SaidText {
            id: id.to_owned(),
            values,
        }
    }

    /// The text of `family` and `code` whose form the value `variant` names: its id is `family-code-variant`, with
    /// hyphens for underscores, without the parts that are empty.
    pub fn of_variant(family: &str, code: &str, values: &SaidValues) -> SaidText {
        let mut values = values.clone();
        let variant = match values.remove("variant") {
            Some(SaidValue::Text(variant)) => variant,
            _ => String::new(),
        };
        let mut id = family.to_owned();
        for part in [code, &variant] {
            if !part.is_empty() {
                id.push('-');
                id.push_str(&part.replace('_', "-"));
            }
        }
        SaidText { id, values }
    }
}

/// One text by itself.
impl From<SaidText> for SaidValue {
    fn from(text: SaidText) -> SaidValue {
        SaidValue::List(SaidList {
            between: String::new(),
            texts: vec![text],
        })
    }
}

impl From<SaidList> for SaidValue {
    fn from(list: SaidList) -> SaidValue {
        SaidValue::List(list)
    }
}

impl From<usize> for SaidValue {
    fn from(count: usize) -> SaidValue {
        SaidValue::Count(count)
    }
}

impl From<f64> for SaidValue {
    fn from(number: f64) -> SaidValue {
        SaidValue::Number(number)
    }
}

impl From<&str> for SaidValue {
    fn from(text: &str) -> SaidValue {
        SaidValue::Text(text.to_owned())
    }
}

impl From<&String> for SaidValue {
    fn from(text: &String) -> SaidValue {
        SaidValue::Text(text.clone())
    }
}

impl From<String> for SaidValue {
    fn from(text: String) -> SaidValue {
        SaidValue::Text(text)
    }
}
