//! `checkstrip demo`.

use crate::arguments::DemoArguments;
use crate::commands::compare::run_trial;
use crate::console::Console;
use checkstrip_invented::write_season;
use checkstrip_job::{WantedFiles, read_trial_file};

pub(crate) fn run(arguments: &DemoArguments, console: &Console) -> anyhow::Result<()> {
    console.progress("inventing a farm's season");
    let season = write_season(&arguments.out)?;
    console.say(&format!(
        "An invented farm's season is in {}; nothing in it is real.",
        arguments.out.display()
    ));
    let setup = read_trial_file(&season.trial)?;
    run_trial(
        &setup,
        &arguments.out.join("results"),
        &WantedFiles::default(),
        console,
    )
}
