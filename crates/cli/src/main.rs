//! The `checkstrip` command: reads arguments, calls the crates, shows messages and turns what
//! happened into an exit status. It computes nothing itself.
//!
//! Exit status: 0 done; 1 the input cannot be used; 2 wrong command line; 3 some fields of a batch failed.

mod arguments;
mod commands;
mod console;
mod ground_in_words;
mod meaning;
mod reference;

use arguments::{Arguments, Command};
use clap::Parser;
use console::Console;
use std::process::ExitCode;

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    let console = Console::new(&arguments.shared);
    let done = run(arguments.command, &console);
    match done {
        Ok(status) => status,
        Err(error) if is_broken_pipe(&error) => ExitCode::SUCCESS,
        Err(error) => {
            console.error(&error);
            ExitCode::from(1)
        }
    }
}

fn run(command: Command, console: &Console) -> anyhow::Result<ExitCode> {
    match command {
        Command::Batch(batch) => return commands::batch::run(&batch, console),
        Command::Demo(demo) => commands::demo::run(&demo, console),
        Command::Inspect(inspect) => commands::inspect::run(&inspect, console),
        Command::Clean(clean) => commands::clean::run(&clean, console),
        Command::Compare(compare) => commands::compare::run(&compare, console),
        Command::Map(map) => commands::map::run(&map, console),
        Command::Surface(surface) => commands::surface::run(&surface, console),
        Command::Plan(plan) => commands::plan::run(&plan, console),
        Command::Payoff(payoff) => commands::payoff::run(&payoff, console),
        Command::Planting(planting) => commands::planting::run(&planting, console),
        Command::Pool(pool) => commands::pool::run(&pool, console),
        Command::Convert(convert) => commands::convert::run(&convert, console),
        Command::Outline(outline) => commands::outline::run(&outline, console),
        Command::Applied(applied) => commands::applied::run(&applied, console),
        Command::Draw(draw) => commands::draw::run(&draw, console),
        Command::Completions(completions) => commands::generated::completions(&completions),
        Command::Man(man) => commands::generated::man(&man, console),
        Command::Reference(reference) => reference::print(reference.page, reference.of.into()),
    }?;
    Ok(ExitCode::SUCCESS)
}

/// Whoever read our output has seen enough: not an error.
fn is_broken_pipe(error: &anyhow::Error) -> bool {
    error
        .chain()
        .filter_map(|cause| cause.downcast_ref::<std::io::Error>())
        .any(|cause| cause.kind() == std::io::ErrorKind::BrokenPipe)
}
