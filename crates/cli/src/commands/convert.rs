//! `checkstrip convert`.

use crate::arguments::ConvertArguments;
use crate::console::Console;
use checkstrip_formats::{Conversion, convert};

pub(crate) fn run(arguments: &ConvertArguments, console: &Console) -> anyhow::Result<()> {
    console.progress("converting");
    let done = convert(&arguments.input, &arguments.output)?;
    console.finish();
    for problem in &done.problems {
        console.say(&format!("problem: {problem}"));
    }
    console.result(&done, || words(&done))
}

fn words(done: &Conversion) -> String {
    let what = match done.geometry {
        "none" => "records",
        geometry => geometry,
    };
    let mut lines = vec![format!(
        "{} {what} with {} columns, in {}, written as {}.",
        done.features,
        done.columns.len(),
        done.crs,
        done.format
    )];
    lines.extend(
        done.changes
            .iter()
            .map(|change| format!("changed: {change}")),
    );
    lines.push(format!("wrote {}", done.output));
    lines.join("\n")
}
