//! What a file of words holds: its texts, with the row each stands in and the values it names.

use crate::language::Language;
use fluent_bundle::FluentResource;
use fluent_syntax::ast::{Entry, Expression, InlineExpression, Pattern, PatternElement};
use std::collections::{BTreeMap, BTreeSet};

/// One text of a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Text {
    pub(crate) id: String,
    /// Where it begins, bytes from the start of the file.
    pub(crate) at: usize,
    /// Whether it says anything.
    pub(crate) says: bool,
    /// Values that it names.
    pub(crate) variables: BTreeSet<String>,
    /// Those of them that a reader sees, rather than only a choice between wordings.
    pub(crate) seen: BTreeSet<String>,
    /// Functions that it calls.
    pub(crate) functions: BTreeSet<String>,
    /// Other texts that it takes over.
    pub(crate) taken_over: BTreeSet<String>,
}

/// The texts of a parsed file, in their order.
pub(crate) fn texts_of(resource: &FluentResource) -> Vec<Text> {
    let source = resource.source();
    let mut found = Vec::new();
    for entry in resource.entries() {
        let Entry::Message(message) = entry else {
            continue;
        };
        let mut text = Text {
            id: message.id.name.to_owned(),
            at: message.id.name.as_ptr() as usize - source.as_ptr() as usize,
            says: message.value.is_some(),
            variables: BTreeSet::new(),
            seen: BTreeSet::new(),
            functions: BTreeSet::new(),
            taken_over: BTreeSet::new(),
        };
        if let Some(pattern) = &message.value {
            look_through(pattern, &mut text);
        }
        found.push(text);
    }
    found
}

/// The texts of a built-in language by their ids.
pub(crate) fn texts(language: Language) -> BTreeMap<String, Text> {
    let resources = language
        .files()
        .map(|(_, content)| FluentResource::try_new(content.to_owned()).unwrap_or_else(|(r, _)| r));
    let all = resources.iter().flat_map(texts_of);
    all.map(|text| (text.id.clone(), text)).collect()
}

fn look_through(pattern: &Pattern<&str>, text: &mut Text) {
    for element in &pattern.elements {
        let PatternElement::Placeable { expression } = element else {
            continue;
        };
        match expression {
            Expression::Inline(inline) => look_at(inline, true, text),
            Expression::Select { selector, variants } => {
                look_at(selector, false, text);
                for variant in variants {
                    look_through(&variant.value, text);
                }
            }
        }
    }
}

fn look_at(inline: &InlineExpression<&str>, seen: bool, text: &mut Text) {
    match inline {
        InlineExpression::VariableReference { id } => {
            text.variables.insert(id.name.to_owned());
            if seen {
                text.seen.insert(id.name.to_owned());
            }
        }
        InlineExpression::FunctionReference { id, arguments } => {
            text.functions.insert(id.name.to_owned());
            for argument in &arguments.positional {
                look_at(argument, seen, text);
            }
        }
        InlineExpression::MessageReference { id, .. } => {
            text.taken_over.insert(id.name.to_owned());
        }
        InlineExpression::Placeable { expression } => match expression.as_ref() {
            Expression::Inline(inner) => look_at(inner, seen, text),
            Expression::Select { selector, variants } => {
                look_at(selector, false, text);
                for variant in variants {
                    look_through(&variant.value, text);
                }
            }
        },
        InlineExpression::StringLiteral { .. }
        | InlineExpression::NumberLiteral { .. }
        | InlineExpression::TermReference { .. } => {}
    }
}
