//! `checkstrip inspect`.

use crate::arguments::InspectArguments;
use crate::console::Console;
use crate::meaning::log_setup;
use checkstrip_job::{ColumnSummary, Inspection, inspect};
use checkstrip_model::units::{M2_PER_ACRE, M2_PER_HA, UnitSystem};

pub(crate) fn run(arguments: &InspectArguments, console: &Console) -> anyhow::Result<()> {
    let setup = log_setup(&arguments.logs, &arguments.log)?;
    console.progress("reading the log");
    let found = inspect(&setup)?;
    console.result(&found, || words(&found, console.units))
}

fn words(found: &Inspection, units: UnitSystem) -> String {
    let input = &found.input;
    let mut lines = Vec::new();
    for file in &input.files {
        lines.push(format!("{}: {} records", file.path, file.records));
    }
    let area = match units {
        UnitSystem::Farm => format!("{:.2} ac", input.area_ha * M2_PER_HA / M2_PER_ACRE),
        UnitSystem::Si => format!("{:.2} ha", input.area_ha),
    };
    lines.push(format!(
        "{} machine(s), {} passes, {area} by distance × width",
        found.machines.len(),
        found.cleaning.passes
    ));
    if let Some([first, last]) = found.time_span_s {
        lines.push(format!(
            "from {} to {} ({:.1} h)",
            moment(first),
            moment(last),
            (last - first) / 3600.0
        ));
    }
    let [west, south, east, north] = found.extent_deg;
    lines.push(format!(
        "lon {west:.5} to {east:.5}, lat {south:.5} to {north:.5}"
    ));
    lines.push(format!(
        "grain delay: {:.1} s ({}); {}",
        found.cleaning.grain_delay_s,
        found.cleaning.grain_delay_source,
        found.cleaning.grain_delay_note
    ));
    lines.push(format!(
        "cleaning with the usual settings would keep {} of {} records",
        found.cleaning.kept, input.records
    ));
    lines.push(String::new());
    lines.push(format!(
        "{:<16} {:<24} {:>12} {:>12} {:>12} {:>8}",
        "column", "in the file", "lowest", "median", "highest", "missing"
    ));
    lines.extend(found.columns.iter().map(column));
    if !found.unrecognised.is_empty() {
        lines.push(format!("not recognised: {}", found.unrecognised.join(", ")));
    }
    for problem in &found.problems {
        lines.push(format!("problem: {problem}"));
    }
    for warning in &found.warnings {
        lines.push(format!("warning ({}): {}", warning.code, warning.message));
    }
    lines.join("\n")
}

fn column(column: &ColumnSummary) -> String {
    let source = match (column.header.is_empty(), column.unit.is_empty()) {
        (true, _) => format!("({})", column.derived),
        (false, true) => column.header.clone(),
        (false, false) => format!("{} [{}]", column.header, column.unit),
    };
    match column.range {
        Some([low, middle, high]) => format!(
            "{:<16} {source:<24} {:>12} {:>12} {:>12} {:>8}",
            column.name,
            figure(low),
            figure(middle),
            figure(high),
            column.missing
        ),
        None => format!(
            "{:<16} {source:<24} {}",
            column.name,
            column.names.join(", ")
        ),
    }
}

fn figure(value: f64) -> String {
    if value.abs() >= 1e6 {
        format!("{value:.0}")
    } else {
        format!("{value:.4}")
    }
}

/// A moment as a date when it is one (Unix time), otherwise as seconds.
fn moment(seconds: f64) -> String {
    /// 1 January 1990: earlier than any yield log.
    const OLDEST: f64 = 631_152_000.0;
    match jiff::Timestamp::from_second(seconds as i64) {
        Ok(time) if seconds > OLDEST => time.strftime("%Y-%m-%d %H:%M UTC").to_string(),
        _ => format!("{seconds:.0} s"),
    }
}
