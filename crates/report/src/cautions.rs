//! Cautions at the end of the report: what to mind before a machine does what the trial suggests.

use checkstrip_model::results::Results;
use checkstrip_words::{Words, say};

/// Parts of treatment names that mean a pass with a machine, in English and Spanish, whatever the language of the
/// report.
const MACHINE_PASSES: &[&str] = &[
    "roll",
    "till",
    "harrow",
    "cultivat",
    "hoe",
    "disc",
    "disk",
    "chisel",
    "rip",
    "spray",
    "spread",
    "drill",
    "plant",
    "pack",
    "mow",
    "crimp",
    "inject",
    "sidedress",
    "rodill",
    "rolo",
    "labran",
    "rastr",
    "cincel",
    "arad",
    "pulveriz",
    "fumig",
    "siembra",
    "sembr",
    "esparc",
    "inyec",
];

/// The cautions for these results.
pub(crate) fn cautions(results: &Results, words: &Words) -> Vec<String> {
    let treatments = results.strips.iter().map(|strip| strip.treatment.as_str());
    let mut found = of_the_work(treatments, words);
    found.push(say!(words, "caution-one-year"));
    found
}

/// What to mind when doing the work that the treatments' names tell of.
pub(crate) fn of_the_work<'a>(
    treatments: impl Iterator<Item = &'a str>,
    words: &Words,
) -> Vec<String> {
    let mut found = Vec::new();
    let mut names = treatments.map(str::to_lowercase);
    if names.any(|name| MACHINE_PASSES.iter().any(|pass| name.contains(pass))) {
        found.push(say!(words, "caution-wide-tools"));
        found.push(say!(words, "caution-shafts"));
        found.push(say!(words, "caution-road"));
    }
    found.push(say!(words, "caution-manual"));
    found
}
