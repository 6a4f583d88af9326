//! The `checkstrip-season` command: the parts of `checkstrip batch` that a run over many machines is put
//! together from, over object storage. It lists the fields of a season, does one of them, and gathers the
//! ledger; whoever hands out the fields, such as `distributed/season_on_spark.py`, calls it. It is a program of
//! its own so that `checkstrip` itself cannot open a connection.
//!
//! Exit status: 0 done; 1 something could not be read or written; 2 wrong command line; 3 the field, or some
//! fields of the ledger, failed.
#![forbid(unsafe_code)]

mod arguments;
mod field;
mod fields;
mod ledger;
mod listing;
mod outcome;
mod scratch;
mod store;

use arguments::{Arguments, Command};
use checkstrip_job::FieldStatus;
use clap::Parser;
use std::io::Write;
use std::process::ExitCode;

/// A field failed.
const FAILED: u8 = 3;

fn main() -> ExitCode {
    match run(&Arguments::parse()) {
        Ok(status) => status,
        Err(error) => {
            // Some errors tell their cause themselves, others leave it to the chain: each is said once.
            let mut words = String::new();
            for cause in error.chain().map(ToString::to_string) {
                if words.is_empty() {
                    words = cause;
                } else if !words.contains(&cause) {
                    words = format!("{words}: {cause}");
                }
            }
            // Nobody listening is no reason to fail otherwise.
            let _ = writeln!(std::io::stderr(), "error: {words}");
            ExitCode::from(1)
        }
    }
}

fn run(arguments: &Arguments) -> anyhow::Result<ExitCode> {
    let mut out = std::io::stdout().lock();
    let failed = match &arguments.command {
        Command::Fields(asked) => {
            for place in fields::fields(&asked.season)? {
                writeln!(out, "{}", serde_json::to_string(&place)?)?;
            }
            false
        }
        Command::Field(asked) => {
            let options = arguments.shared.options(asked.export);
            let outcome = field::do_field(&asked.season, &asked.trial, &asked.out, &options)?;
            writeln!(out, "{}", serde_json::to_string(&outcome)?)?;
            outcome.status == FieldStatus::Failed
        }
        Command::Ledger(asked) => {
            let mut options = arguments.shared.options(asked.export);
            options.at_once = asked.at_once.get();
            let outcomes = std::io::stdin().lock();
            let ledger = ledger::gather(&asked.season, &asked.out, &options, outcomes)?;
            let count = |status| ledger.count(status);
            writeln!(
                out,
                "{} fields: {} done, {} unchanged, {} failed.",
                ledger.fields.len(),
                count(FieldStatus::Done),
                count(FieldStatus::Unchanged),
                count(FieldStatus::Failed)
            )?;
            for entry in &ledger.fields {
                if let Some(reason) = &entry.reason {
                    writeln!(out, "{}: {reason}", entry.folder)?;
                }
            }
            count(FieldStatus::Failed) > 0
        }
    };
    out.flush()?;
    Ok(if failed {
        ExitCode::from(FAILED)
    } else {
        ExitCode::SUCCESS
    })
}
