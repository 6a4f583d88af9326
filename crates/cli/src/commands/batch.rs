//! `checkstrip batch`: a season of fields.

use crate::arguments::BatchArguments;
use crate::console::Console;
use checkstrip_job::{
    FieldEntry, FieldStatus, Ledger, SeasonEvent, SeasonOptions, WantedFiles, read_season_file,
    run_season, summarise_season, watch_season,
};
use std::num::NonZeroUsize;
use std::path::Path;
use std::process::ExitCode;

/// The batch is over, and some fields failed.
const SOME_FAILED: u8 = 3;

pub(crate) fn run(arguments: &BatchArguments, console: &Console) -> anyhow::Result<ExitCode> {
    let setup = read_season_file(&arguments.season)?;
    let processors = || std::thread::available_parallelism().map_or(1, NonZeroUsize::get);
    let options = SeasonOptions {
        files: WantedFiles::from(&arguments.wanted),
        units: console.units,
        language: console.language.clone(),
        paper: console.paper,
        at_once: arguments.at_once.map_or_else(processors, NonZeroUsize::get),
        memory: arguments.memory,
    };
    let listener = |event: &SeasonEvent| tell(event, console);
    if arguments.watch {
        console.say(&format!(
            "Looking for the logs of {}; stop with Ctrl-C, nothing is left half done.",
            setup.name
        ));
        match watch_season(&setup, &arguments.out, &options, &listener)? {}
    }
    let ledger = run_season(&setup, &arguments.out, &options, &listener)?;
    console.progress("putting the season together");
    summarise_season(&arguments.out, &ledger, &options)?;
    console.finish();
    console.result(&ledger, || words(&ledger, &arguments.out))?;
    Ok(match ledger.count(FieldStatus::Failed) {
        0 => ExitCode::SUCCESS,
        _ => ExitCode::from(SOME_FAILED),
    })
}

fn tell(event: &SeasonEvent, console: &Console) {
    match event {
        SeasonEvent::Found { fields, to_do } => console.say(&match to_do {
            0 => format!("{}, none of which has to be done.", counted(*fields)),
            _ => format!("{}, {to_do} to do.", counted(*fields)),
        }),
        SeasonEvent::Doing { field, what } => console.progress(&format!("{field}: {what}")),
        SeasonEvent::Ended {
            entry,
            over,
            to_do,
            left_s,
        } => {
            let left = match left_s {
                Some(left_s) if over < to_do => format!(", {} left", duration(*left_s)),
                _ => String::new(),
            };
            console.say(&format!("{over} of {to_do}: {}{left}", told(entry)));
        }
    }
}

fn told(entry: &FieldEntry) -> String {
    match &entry.reason {
        Some(reason) => format!("{} failed: {}", entry.folder, first_line(reason)),
        None => {
            let took = entry
                .seconds
                .map_or(String::new(), |seconds| format!(" in {seconds:.1} s"));
            format!("{} done{took}", entry.folder)
        }
    }
}

fn words(ledger: &Ledger, out: &Path) -> String {
    let count = |status| ledger.count(status);
    let mut lines = vec![format!(
        "{}: {} done, {} unchanged, {} failed.",
        counted(ledger.fields.len()),
        count(FieldStatus::Done),
        count(FieldStatus::Unchanged),
        count(FieldStatus::Failed)
    )];
    for entry in &ledger.fields {
        if let Some(reason) = &entry.reason {
            lines.push(format!("{}: {reason}", entry.folder));
        }
    }
    lines.push(format!("Report: {}", out.join("report.html").display()));
    lines.push(format!("Ledger: {}", out.join("ledger.json").display()));
    lines.join("\n")
}

fn first_line(text: &str) -> &str {
    text.lines().next().unwrap_or_default()
}

fn counted(fields: usize) -> String {
    format!("{fields} field{}", if fields == 1 { "" } else { "s" })
}

/// A time that is not known to the second.
fn duration(seconds: f64) -> String {
    match seconds {
        s if s < 90.0 => format!("about {:.0} s", s.max(1.0)),
        s if s < 5400.0 => format!("about {:.0} min", s / 60.0),
        s => format!("about {:.1} h", s / 3600.0),
    }
}
