//! `checkstrip completions` and `checkstrip man`: made from the definitions of the arguments.

use crate::arguments::{Arguments, CompletionsArguments, ManArguments};
use crate::console::Console;
use anyhow::Context;
use clap::CommandFactory;
use std::io::Write;

pub(crate) fn completions(arguments: &CompletionsArguments) -> anyhow::Result<()> {
    let mut script = Vec::new();
    clap_complete::generate(
        arguments.shell,
        &mut Arguments::command(),
        "checkstrip",
        &mut script,
    );
    Ok(std::io::stdout().write_all(&script)?)
}

pub(crate) fn man(arguments: &ManArguments, console: &Console) -> anyhow::Result<()> {
    let out = &arguments.out;
    let failed = || format!("{}: manual pages cannot be written there", out.display());
    std::fs::create_dir_all(out).with_context(failed)?;
    clap_mangen::generate_to(Arguments::command(), out).with_context(failed)?;
    console.result(&serde_json::json!({ "pages": out }), || {
        format!("wrote the manual pages to {}", out.display())
    })
}
