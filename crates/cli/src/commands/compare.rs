//! `checkstrip compare`.

use crate::arguments::CompareArguments;
use crate::console::Console;
use crate::meaning::trial;
use checkstrip_job::{TrialSetup, WantedFiles, compare, write_comparison};
use checkstrip_report::answer_in_words;
use std::path::Path;

pub(crate) fn run(arguments: &CompareArguments, console: &Console) -> anyhow::Result<()> {
    let (setup, out) = trial(arguments)?;
    run_trial(&setup, &out, &WantedFiles::from(&arguments.wanted), console)
}

/// Compares and writes; also what `demo` does with its invented farm.
pub(crate) fn run_trial(
    setup: &TrialSetup,
    out: &Path,
    wanted: &WantedFiles,
    console: &Console,
) -> anyhow::Result<()> {
    // A mistake in the small file of words should not wait for the large log.
    let words = console.language.or(&setup.language).read()?;
    let reader = console.reader(&words);
    let progress = |what: &str| console.progress(what);
    let (cleaned, compared) = compare(setup, &progress)?;
    let written = write_comparison(&cleaned, &compared, out, wanted, reader, &progress)?;
    console.finish();
    console.warn(&compared.results.warnings);
    console.warn(&written.warnings);
    console.result(&compared.results, || {
        let mut words = answer_in_words(&compared.results, reader);
        words.push(String::new());
        if let Some(report) = written.files.first() {
            words.push(format!("Report: {}", report.display()));
        }
        words.push(format!("Maps, tables and results.json: {}", out.display()));
        words.join("\n")
    })
}
