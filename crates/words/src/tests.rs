//! What must hold of every language file: both languages have the same texts with the same values, every text is
//! used and every text used is there; and what is said of a reader's own file that cannot be used.

use crate::language_file::{texts, texts_of};
use crate::{Language, Words, english_text};
use checkstrip_model::Warning;
use fluent_bundle::FluentResource;
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

#[test]
fn every_file_can_be_read_and_no_text_stands_twice() {
    for language in Language::ALL {
        let mut ids = BTreeSet::new();
        for (name, content) in language.files() {
            let resource = FluentResource::try_new(content.to_owned())
                .unwrap_or_else(|(_, faults)| panic!("{language:?} {name}: {faults:?}"));
            for text in texts_of(&resource) {
                assert!(text.says, "{language:?} {name}: {} says nothing", text.id);
                assert!(
                    text.functions.iter().all(|function| function == "FIGURE"),
                    "{}",
                    text.id
                );
                assert!(
                    ids.insert(text.id.clone()),
                    "{language:?} {name}: {} twice",
                    text.id
                );
            }
        }
    }
}

#[test]
fn languages_have_the_same_texts_with_the_same_values() {
    let english = texts(Language::English);
    for &language in Language::ALL {
        let other = texts(language);
        let ids = |of: &std::collections::BTreeMap<String, crate::language_file::Text>| {
            of.keys().cloned().collect::<BTreeSet<String>>()
        };
        assert_eq!(ids(&english), ids(&other), "{language:?}");
        for (id, text) in &english {
            assert_eq!(text.variables, other[id].variables, "{language:?} {id}");
            assert_eq!(text.seen, other[id].seen, "{language:?} {id}");
        }
    }
}

/// Every source and template file of the workspace but the language files and tests.
fn sources(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).unwrap().flatten() {
        let path = entry.path();
        let name = entry.file_name().to_string_lossy().into_owned();
        if path.is_dir() {
            if !matches!(name.as_str(), "node_modules" | "snapshots" | "languages") {
                sources(&path, found);
            }
        } else if (name.ends_with(".rs") || name.ends_with(".html")) && name != "tests.rs" {
            found.push(path);
        }
    }
}

/// What stands between the quotation marks of a source file.
fn quoted(source: &str) -> impl Iterator<Item = &str> {
    source.split('"').skip(1)
}

#[test]
fn every_text_is_used_and_every_text_used_is_there() {
    let crates = Path::new(env!("CARGO_MANIFEST_DIR")).parent().unwrap();
    let mut paths = Vec::new();
    sources(crates, &mut paths);
    let known = texts(Language::English);
    let mut used: BTreeSet<String> = BTreeSet::new();
    for path in &paths {
        let source = std::fs::read_to_string(path).unwrap();
        for text in quoted(&source) {
            used.insert(text.to_owned());
            // Codes of warnings and variants, from which ids are made.
            used.insert(text.replace('_', "-"));
        }
        // The first string after `say!(words,` is an id, and so is what a template asks for.
        for (opening, of) in [("say!(", 0), ("words[", 0), (".counted(", 0)] {
            for asked in source.split(opening).skip(1 + of) {
                let head: String = asked.chars().take(160).collect();
                let Some(id) = quoted(&head).next().filter(|_| head.contains('"')) else {
                    continue;
                };
                let before = head.split('"').next().unwrap_or_default();
                let is_id = id.contains('-')
                    && id
                        .chars()
                        .all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-');
                if is_id && !before.contains(')') {
                    assert!(known.contains_key(id), "{}: {id}", path.display());
                }
            }
        }
    }
    let families = [
        "warning",
        "headline",
        "grain-delay",
        "along-none",
        "left-out",
        "not-pooled",
        "machine-why",
        "ticket-left",
    ];
    for id in known.keys() {
        let is_used = used.contains(id)
            || families.iter().any(|family| {
                id.strip_prefix(&format!("{family}-")).is_some_and(|rest| {
                    used.contains(rest)
                        || rest.match_indices('-').any(|(at, _)| {
                            used.contains(&rest[..at]) && used.contains(&rest[at + 1..])
                        })
                })
            });
        let of_the_crate = matches!(id.as_str(), "language-tag" | "decimal-mark" | "group-mark");
        assert!(is_used || of_the_crate, "{id} is used nowhere");
    }
}

#[test]
fn figures_and_plurals_follow_the_language() {
    let english = Words::english();
    let spanish = Words::of(Language::Spanish);
    assert_eq!(english.number(-1_234.5, 1), "−1,234.5");
    // ISO 80000-1:2009, 7.3.1 and 7.3.2: a comma or a point before decimals, a small space between groups.
    assert_eq!(spanish.number(-1_234.5, 1), "−1\u{202f}234,5");
    assert_eq!(english.counted("count-blocks", 1), "1 block");
    assert_eq!(english.counted("count-blocks", 1_200), "1,200 blocks");
    assert_eq!(spanish.counted("count-blocks", 6), "6 bloques");
    assert_eq!(spanish.shortest(15.5), "15,5");
    assert_eq!(spanish.crop("corn"), "maíz");
    assert_eq!(spanish.crop("quinoa"), "quinoa");
}

#[test]
fn warnings_are_said_in_the_readers_language_from_their_values() {
    let warned = crate::warning(
        "straddling_headers",
        said_values!(treatment = "rolled", share = 79.4),
    );
    assert_eq!(
        warned.message,
        "Many header widths of \"rolled\" and the check reached across a strip's edge: the plain difference carries \
         about 79 % of the true contrast."
    );
    let spanish = Words::of(Language::Spanish);
    let said = spanish.warning(&warned);
    assert!(said.contains("«rolled»") && said.contains("79 %"), "{said}");
    // What has no text, or lacks a value that its text names, stays as it is.
    let unknown = Warning::new("strips_file", "strips.geojson: said in English");
    assert_eq!(spanish.warning(&unknown), unknown.message);
    let old = Warning::new("few_kept", "Only 3 of 9 records were kept.");
    assert_eq!(spanish.warning(&old), old.message);
    assert_eq!(
        english_text("headline", "", &said_values!(variant = "no-check")),
        "No comparison: no check was named."
    );
}

fn own(text: &str) -> Result<Words, String> {
    let file = std::env::temp_dir().join(format!(
        "checkstrip-words-{}-{:x}.ftl",
        std::process::id(),
        text.bytes()
            .fold(5381u64, |hash, byte| hash.wrapping_mul(33)
                ^ u64::from(byte))
    ));
    std::fs::write(&file, text).unwrap();
    let read = Words::with_file(Language::Spanish, &file).map_err(|error| {
        error
            .to_string()
            .replace(&file.display().to_string(), "own.ftl")
    });
    std::fs::remove_file(&file).unwrap();
    read
}

#[test]
fn own_words_are_laid_over_a_language() {
    let words =
        own("report-strips = Fajas\ngroup-mark = { \",\" }\ndecimal-mark = { \".\" }\n").unwrap();
    assert_eq!(say!(words, "report-strips"), "Fajas");
    assert_eq!(say!(words, "report-maps"), "Mapas");
    assert_eq!(words.number(1_234.5, 1), "1,234.5");
    assert_eq!(words.fixed(&["report-strips"])["report-strips"], "Fajas");
}

#[test]
fn own_words_that_cannot_be_used_say_where_and_why() {
    for (text, says) in [
        (
            "report-strip = Fajas\n",
            "own.ftl, row 1: there is no text report-strip\nhint: the nearest is report-strips",
        ),
        (
            "# mine\nreport-strips = A\nreport-strips = B\n",
            "row 3: report-strips stands here a second time",
        ),
        (
            "plot-block = bloque { $blok }\n",
            "row 1: plot-block has no value $blok\nhint: plot-block is given $block",
        ),
        ("plot-block = bloque\n", "plot-block leaves out $block"),
        (
            "report-maps = Mapas\nreport-strips Fajas\n",
            "row 2: this is no text of a Fluent file",
        ),
        (
            "report-maps = { report-strips }\n",
            "takes over another text",
        ),
        ("report-maps = { UPPER(\"x\") }\n", "calls UPPER"),
    ] {
        let error = own(text).unwrap_err();
        assert!(error.contains(says), "{text}: {error}");
    }
    let missing = Words::with_file(Language::English, Path::new("no/such/words.ftl"));
    assert!(
        missing
            .unwrap_err()
            .to_string()
            .contains("no/such/words.ftl")
    );
}
