//! The words of one reader: a built-in language, with a file of the reader's own laid over it.

use crate::error::WordsError;
use crate::figure_text::Marks;
use crate::language::Language;
use crate::own_words::OwnWords;
use checkstrip_model::{SaidList, SaidValue};
use fluent_bundle::concurrent::FluentBundle;
use fluent_bundle::types::FluentNumber;
use fluent_bundle::{FluentArgs, FluentResource, FluentValue};
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::{Arc, OnceLock};
use unic_langid::LanguageIdentifier;

/// The words of one reader. A copy is cheap; threads share it.
#[derive(Clone)]
pub struct Words {
    inner: Arc<Inner>,
}

struct Inner {
    language: Language,
    /// Content of the reader's own file.
    own: Option<String>,
    bundle: FluentBundle<FluentResource>,
    marks: Marks,
}

impl std::fmt::Debug for Words {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Words")
            .field("language", &self.inner.language)
            .field("own", &self.inner.own)
            .finish_non_exhaustive()
    }
}

impl Default for Words {
    fn default() -> Words {
        Words::english().clone()
    }
}

impl Words {
    /// A built-in language as it is.
    pub fn of(language: Language) -> Words {
        Words::laid_over(language, None)
    }

    /// English as it is built in: also the text that results carry.
    pub fn english() -> &'static Words {
        static ENGLISH: OnceLock<Words> = OnceLock::new();
        ENGLISH.get_or_init(|| Words::of(Language::English))
    }

    /// A built-in language with the words of the file at `path` laid over it.
    ///
    /// # Errors
    /// When the file cannot be read, is no Fluent file, has a text that there is not or one twice, or a text that
    /// names a value it is not given or leaves out one that the reader needs; each with its row.
    pub fn with_file(language: Language, path: &Path) -> Result<Words, WordsError> {
        let content = std::fs::read_to_string(path).map_err(|source| WordsError::Read {
            path: path.to_owned(),
            source,
        })?;
        let own = OwnWords::read(language, path, content)?;
        Ok(Words::laid_over(language, Some(own)))
    }

    fn laid_over(language: Language, own: Option<OwnWords>) -> Words {
        // Plurals follow the language that the file says it is in.
        let tag = own.as_ref().and_then(|own| own.language_tag.clone());
        let locale: LanguageIdentifier = tag
            .as_deref()
            .unwrap_or(language.key())
            .parse()
            .unwrap_or_default();
        let mut bundle = FluentBundle::new_concurrent(vec![locale]);
        // The marks that keep left-to-right and right-to-left text apart are seen as boxes on maps.
        bundle.set_use_isolating(false);
        // What a language lacks is said in English.
        for from in [Language::English, language] {
            for (_, content) in from.files() {
                // Tests parse every built-in file without fault.
                let resource =
                    FluentResource::try_new(content.to_owned()).unwrap_or_else(|(r, _)| r);
                bundle.add_resource_overriding(resource);
            }
        }
        let mut content = None;
        if let Some(own) = own {
            content = Some(own.resource.source().to_owned());
            bundle.add_resource_overriding(own.resource);
        }
        let marks = Marks {
            decimal: fixed_text(&bundle, "decimal-mark").unwrap_or_else(|| ".".to_owned()),
            group: fixed_text(&bundle, "group-mark").unwrap_or_default(),
        };
        let of_function = marks.clone();
        // A name given twice is the only fault there can be.
        let _ = bundle.add_function("FIGURE", move |positional, named| {
            let decimals = match named.get("decimals") {
                Some(FluentValue::Number(decimals)) => decimals.value.clamp(0.0, 9.0) as usize,
                _ => 0,
            };
            match positional.first() {
                Some(FluentValue::Number(figure)) => {
                    of_function.ungrouped(figure.value, decimals).into()
                }
                Some(other) => other.clone(),
                None => FluentValue::Error,
            }
        });
        Words {
            inner: Arc::new(Inner {
                language,
                own: content,
                bundle,
                marks,
            }),
        }
    }

    /// The built-in language.
    pub fn language(&self) -> Language {
        self.inner.language
    }

    /// The content of the reader's own file, when there is one.
    pub fn own(&self) -> Option<&str> {
        self.inner.own.as_deref()
    }

    /// The text `id` with these values; use the macro [`say!`](crate::say).
    pub fn say(&self, id: &str, values: &[(&str, SaidValue)]) -> String {
        self.try_say(id, values.iter().map(|(name, value)| (*name, value)))
            // Tests find every id that no language has.
            .unwrap_or_else(|| id.to_owned())
    }

    /// The text `id`; `None` when there is none, or a value that it names is not given.
    pub(crate) fn try_say<'v>(
        &self,
        id: &str,
        values: impl Iterator<Item = (&'v str, &'v SaidValue)>,
    ) -> Option<String> {
        let pattern = self.inner.bundle.get_message(id)?.value()?;
        let mut args = FluentArgs::new();
        for (name, value) in values {
            let value: FluentValue = match value {
                SaidValue::Count(count) => FluentNumber::from(*count).into(),
                SaidValue::Number(number) => FluentNumber::from(*number).into(),
                SaidValue::Text(text) => text.as_str().into(),
                SaidValue::List(list) => self.listed(list).into(),
            };
            args.set(name, value);
        }
        let mut faults = Vec::new();
        let said = self
            .inner
            .bundle
            .format_pattern(pattern, Some(&args), &mut faults);
        faults.is_empty().then(|| said.into_owned())
    }

    /// Whether there is a text `id`.
    pub(crate) fn has(&self, id: &str) -> bool {
        self.inner.bundle.has_message(id)
    }

    /// Texts one after the other.
    pub fn listed(&self, list: &SaidList) -> String {
        let said: Vec<String> = list
            .texts
            .iter()
            .map(|text| {
                let values = text
                    .values
                    .iter()
                    .map(|(name, value)| (name.as_str(), value));
                self.try_say(&text.id, values)
                    .unwrap_or_else(|| text.id.clone())
            })
            .collect();
        said.join(&list.between)
    }

    /// Every text whose id begins with one of `prefixes` and that takes no value, by its id: what a template of a
    /// page reads.
    pub fn fixed(&self, prefixes: &[&str]) -> BTreeMap<String, String> {
        let ids = crate::language_file::texts(Language::English);
        ids.values()
            .filter(|text| text.variables.is_empty())
            .filter(|text| prefixes.iter().any(|prefix| text.id.starts_with(prefix)))
            .map(|text| (text.id.clone(), self.say(&text.id, &[])))
            .collect()
    }

    /// The marks of figures.
    pub fn marks(&self) -> &Marks {
        &self.inner.marks
    }

    /// A number with `decimals` decimals, as [`Marks::number`] writes it.
    pub fn number(&self, value: f64, decimals: usize) -> String {
        self.inner.marks.number(value, decimals)
    }

    /// A number with as many decimals as it has, such as a market moisture of 15.5.
    pub fn shortest(&self, value: f64) -> String {
        let plain = value.to_string();
        let decimals = plain
            .split_once('.')
            .map_or(0, |(_, decimals)| decimals.len());
        self.number(value, decimals)
    }

    /// A count of things.
    pub fn count(&self, things: usize) -> String {
        self.number(things as f64, 0)
    }

    /// `1 block`, `6 blocks`: `id` is a text that takes `count` for its plural and `shown`, the count as written.
    pub fn counted(&self, id: &str, things: usize) -> String {
        let values = [
            ("count", SaidValue::from(things)),
            ("shown", SaidValue::from(self.count(things))),
        ];
        self.say(id, &values)
    }
}

/// A text that takes no value.
fn fixed_text(bundle: &FluentBundle<FluentResource>, id: &str) -> Option<String> {
    let pattern = bundle.get_message(id)?.value()?;
    Some(
        bundle
            .format_pattern(pattern, None, &mut Vec::new())
            .into_owned(),
    )
}
