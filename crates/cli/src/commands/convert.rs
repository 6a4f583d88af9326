//! `checkstrip convert`.

use crate::arguments::ConvertArguments;
use crate::console::Console;
use checkstrip_formats::{Conversion, ConvertOptions, convert};

pub(crate) fn run(arguments: &ConvertArguments, console: &Console) -> anyhow::Result<()> {
    console.progress("converting");
    let options = ConvertOptions {
        bbox: arguments.bbox,
        columns: arguments.columns.clone(),
    };
    let done = convert(&arguments.input, &arguments.output, &options)?;
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
    if let Some([west, south, east, north]) = done.bbox {
        lines.push(format!(
            "{} left out, outside the box {west}, {south}, {east}, {north}.",
            done.left_out
        ));
    }
    lines.extend(
        done.changes
            .iter()
            .map(|change| format!("changed: {change}")),
    );
    lines.push(format!("wrote {}", done.output));
    lines.join("\n")
}
