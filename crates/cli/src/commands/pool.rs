//! `checkstrip pool`.

use crate::arguments::PoolArguments;
use crate::console::Console;
use checkstrip_job::{PoolSetup, pool_results, write_pooled};
use checkstrip_report::pooled_in_words;
use std::path::PathBuf;

pub(crate) fn run(arguments: &PoolArguments, console: &Console) -> anyhow::Result<()> {
    let words = console.language.read()?;
    let reader = console.reader(&words);
    console.progress("reading the results");
    let pooled = pool_results(&PoolSetup {
        results: arguments.results.clone(),
        crop: arguments.crop.clone(),
        treatments: arguments.treatments.clone(),
        base: PathBuf::new(),
    })?;
    console.progress("drawing the forest plot and writing the report");
    let written = write_pooled(&pooled, &arguments.out, reader)?;
    console.finish();
    console.warn(&pooled.warnings);
    console.result(&pooled, || {
        let mut words = pooled_in_words(&pooled, reader);
        words.push(String::new());
        if let Some(report) = written.first() {
            words.push(format!("Report: {}", report.display()));
        }
        words.push(format!(
            "Forest plot, table and pooled.json: {}",
            arguments.out.display()
        ));
        words.join("\n")
    })
}
