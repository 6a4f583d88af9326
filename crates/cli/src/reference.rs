//! Pages of the documentation that are made from the program's own tables: `docs/command-line.md` from the
//! definitions of the arguments, `docs/headers.md` from the table of names; and the words of a language. Tests hold
//! the pages to them.

use crate::arguments::{Arguments, ReferencePage};
use checkstrip_words::Language;
use clap::CommandFactory;
use std::io::Write;

/// The page of commands as Markdown.
fn page() -> String {
    let mut page = String::from(
        "# Command line\n\n\
         Made from the program itself (`checkstrip reference`); do not edit by hand.\n\n\
         Exit status: 0 done; 1 the input cannot be used (the message says why and where); 2 wrong \
         command line.\n",
    );
    let mut command = Arguments::command().term_width(100);
    command.build();
    page.push_str(&section("checkstrip", &mut command.clone()));
    for sub in command
        .get_subcommands_mut()
        .filter(|sub| !sub.is_hide_set())
    {
        if sub.get_name() != "help" {
            let name = format!("checkstrip {}", sub.get_name());
            page.push_str(&section(&name, sub));
        }
    }
    page
}

fn section(name: &str, command: &mut clap::Command) -> String {
    let help = command.render_long_help().to_string();
    let lines: Vec<&str> = help.lines().map(str::trim_end).collect();
    format!(
        "\n## `{name}`\n\n```text\n{}\n```\n",
        lines.join("\n").trim_end()
    )
}

pub(crate) fn print(which: ReferencePage, language: Language) -> anyhow::Result<()> {
    let text = match which {
        ReferencePage::Commands => page(),
        ReferencePage::Headers => checkstrip_formats::header_guide(),
        ReferencePage::Words => language.whole_file(),
    };
    Ok(std::io::stdout().write_all(text.as_bytes())?)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_documented_command_line_is_the_real_one() {
        let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../docs/command-line.md");
        let documented = std::fs::read_to_string(path).unwrap_or_default();
        assert!(
            documented == page(),
            "docs/command-line.md is out of date: run `checkstrip reference > docs/command-line.md`"
        );
    }
}
