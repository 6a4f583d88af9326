//! `checkstrip draw`.

use crate::arguments::DrawArguments;
use crate::console::Console;
use crate::meaning::results_folder;
use checkstrip_job::{logs_of_patterns, read_trial_file};
use checkstrip_web::{PageSetup, Served, serve};
use serde::Serialize;
use std::path::Path;

/// Where the page is.
#[derive(Serialize)]
struct Opened<'a> {
    address: &'a str,
}

pub(crate) fn run(arguments: &DrawArguments, console: &Console) -> anyhow::Result<()> {
    let trial = read_trial_file(&arguments.trial)?;
    let setup = PageSetup {
        words: console.language.or(&trial.language).read()?,
        trial,
        applied: logs_of_patterns(&arguments.applied, Path::new(""))?,
        backgrounds: arguments.backgrounds.clone(),
        out: results_folder(&arguments.trial, &arguments.out),
        units: console.units,
    };
    let served = Served {
        host: arguments.host,
        port: arguments.port,
    };
    if !arguments.host.is_loopback() {
        console.say(
            "warning: other machines on this network can reach the page. Whoever has its whole address \
             sees the log and can change the strips.",
        );
    }
    let progress = |what: &str| console.progress(what);
    let mut shown = Ok(());
    serve(setup, served, &progress, |address| {
        shown = console.result(&Opened { address }, || address.to_owned());
        console.say("Draw in the browser; end with Ctrl-C.");
        if !arguments.no_browser && open::that_detached(address).is_err() {
            console.say("No browser could be opened: open the address yourself.");
        }
    })?;
    shown
}
