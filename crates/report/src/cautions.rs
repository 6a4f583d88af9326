//! Cautions at the end of the report: what to mind before a machine does what the trial suggests.

use checkstrip_model::results::Results;

/// Parts of treatment names that mean a pass with a machine.
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
];

/// The cautions for these results.
pub(crate) fn cautions(results: &Results) -> Vec<&'static str> {
    let treatments = results.strips.iter().map(|strip| strip.treatment.as_str());
    let mut found = of_the_work(treatments);
    found.push(
        "One field in one year is one field in one year: repeat the strips before changing how the \
         whole farm is worked.",
    );
    found
}

/// What to mind when doing the work that the treatments' names tell of.
pub(crate) fn of_the_work<'a>(treatments: impl Iterator<Item = &'a str>) -> Vec<&'static str> {
    let mut found = Vec::new();
    let mut names = treatments.map(str::to_lowercase);
    if names.any(|name| MACHINE_PASSES.iter().any(|pass| name.contains(pass))) {
        found.push(
            "Rollers and other wide tools run on when the tractor stops: keep people clear, hitch \
             with the engine off, and lower or lock folding wings before anyone steps near.",
        );
        found.push("Keep shields on every PTO shaft, and stop it before leaving the seat.");
        found.push(
            "On the road: fold, lock, light and mark the tool, mind its width and weight on \
             bridges and soft shoulders, and travel at the speed the tool allows.",
        );
    }
    found.push("Follow the machine's manual, local rules and licensed practice.");
    found
}
