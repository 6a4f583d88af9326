//! A reader's own file of words, looked through before it is used: a mistake in it must not turn up as a hole in
//! a report.

use crate::error::WordsError;
use crate::language::Language;
use crate::language_file::{Text, texts, texts_of};
use fluent_bundle::FluentResource;
use std::collections::BTreeSet;
use std::path::Path;

/// A file that can be laid over a language.
pub(crate) struct OwnWords {
    pub(crate) resource: FluentResource,
    /// The language that the file says it is in.
    pub(crate) language_tag: Option<String>,
}

impl OwnWords {
    /// Looks through the content of the file at `path`.
    ///
    /// # Errors
    /// As [`Words::with_file`](crate::Words::with_file).
    pub(crate) fn read(
        language: Language,
        path: &Path,
        content: String,
    ) -> Result<OwnWords, WordsError> {
        // A byte order mark, which some editors put first, would make the first text unreadable.
        let content = content.trim_start_matches('\u{feff}').to_owned();
        let wrong = |content: &str, at: usize, what: String, hint: String| WordsError::Wrong {
            path: path.to_owned(),
            row: row_of(content, at),
            what,
            hint,
        };
        let resource = FluentResource::try_new(content).map_err(|(resource, faults)| {
            let (at, kind) = faults.first().map_or((0, String::new()), |fault| {
                (fault.pos.start, fault.kind.to_string())
            });
            wrong(
                resource.source(),
                at,
                format!("this is no text of a Fluent file: {}", lower(&kind)),
                "a text is written id = words, values in braces as { $size }, further rows indented"
                    .to_owned(),
            )
        })?;
        let content = resource.source();
        let known = texts(language);
        let mut seen_ids = BTreeSet::new();
        for text in texts_of(&resource) {
            let wrong = |what: String, hint: String| wrong(content, text.at, what, hint);
            let id = &text.id;
            let Some(built_in) = known.get(id) else {
                let nearest = nearest(id, known.keys().map(String::as_str));
                return Err(wrong(
                    format!("there is no text {id}"),
                    format!(
                        "the nearest is {nearest}; checkstrip reference words {} prints them all",
                        language.key()
                    ),
                ));
            };
            if !seen_ids.insert(id.clone()) {
                return Err(wrong(
                    format!("{id} stands here a second time"),
                    "keep one of them".to_owned(),
                ));
            }
            if !text.says {
                return Err(wrong(
                    format!("{id} says nothing"),
                    "write its words after the equals sign, or take the row out".to_owned(),
                ));
            }
            check_values(&text, built_in).map_err(|(what, hint)| wrong(what, hint))?;
            if let Some(other) = text.functions.iter().find(|f| *f != "FIGURE") {
                return Err(wrong(
                    format!("{id} calls {other}, which there is not"),
                    "figures come written already; FIGURE($value, decimals: 1) is the only function"
                        .to_owned(),
                ));
            }
            if let Some(other) = text.taken_over.iter().next() {
                return Err(wrong(
                    format!("{id} takes over another text, {other}"),
                    "write the words out: a text that takes over others may end in a circle"
                        .to_owned(),
                ));
            }
        }
        let language_tag = tag_of(&resource);
        Ok(OwnWords {
            resource,
            language_tag,
        })
    }
}

/// Whether a text names just the values that it is given, and leaves out none that a reader has to see.
fn check_values(text: &Text, built_in: &Text) -> Result<(), (String, String)> {
    let id = &text.id;
    if let Some(unknown) = text.variables.difference(&built_in.variables).next() {
        let given: Vec<String> = built_in
            .variables
            .iter()
            .map(|name| format!("${name}"))
            .collect();
        let hint = if given.is_empty() {
            format!("{id} takes no values")
        } else {
            format!("{id} is given {}", given.join(", "))
        };
        return Err((format!("{id} has no value ${unknown}"), hint));
    }
    if let Some(missing) = built_in.seen.difference(&text.seen).next() {
        return Err((
            format!("{id} leaves out ${missing}"),
            format!(
                "every figure and name of the built-in words has to be read: put {{ ${missing} }} where it belongs"
            ),
        ));
    }
    Ok(())
}

/// What the file says its language is.
fn tag_of(resource: &FluentResource) -> Option<String> {
    use fluent_syntax::ast::{Entry, PatternElement};
    resource.entries().find_map(|entry| {
        let Entry::Message(message) = entry else {
            return None;
        };
        let pattern = message
            .value
            .as_ref()
            .filter(|_| message.id.name == "language-tag")?;
        match pattern.elements.first()? {
            PatternElement::TextElement { value } => Some(value.trim().to_owned()),
            PatternElement::Placeable { .. } => None,
        }
    })
}

fn row_of(content: &str, at: usize) -> usize {
    content
        .bytes()
        .take(at)
        .filter(|byte| *byte == b'\n')
        .count()
        + 1
}

fn lower(sentence: &str) -> String {
    let mut letters = sentence.chars();
    letters.next().map_or(String::new(), |first| {
        first.to_lowercase().chain(letters).collect()
    })
}

/// The id with the fewest changes of letters from `id`.
fn nearest<'a>(id: &str, known: impl Iterator<Item = &'a str>) -> &'a str {
    known
        .min_by_key(|other| changes(id, other))
        .unwrap_or_default()
}

/// Letters to put in, take out or change to turn one id into the other (Levenshtein, V. I. 1966, *Binary codes
/// capable of correcting deletions, insertions, and reversals*).
fn changes(from: &str, to: &str) -> usize {
    let mut row: Vec<usize> = (0..=to.len()).collect();
    for (i, a) in from.bytes().enumerate() {
        let mut before = row[0];
        row[0] = i + 1;
        for (j, b) in to.bytes().enumerate() {
            let changed = before + usize::from(a != b);
            before = row[j + 1];
            row[j + 1] = changed.min(row[j] + 1).min(before + 1);
        }
    }
    row[to.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn changes_are_counted() {
        assert_eq!(changes("kitten", "sitting"), 3);
        assert_eq!(changes("", "abc"), 3);
        assert_eq!(
            nearest("report-strip", ["money", "report-strips"].into_iter()),
            "report-strips"
        );
    }
}
