//! `checkstrip inspect`: what files hold, in a grower's words.

use std::fmt::Write;

use crate::arguments::InspectArguments;
use crate::console::Console;
use crate::ground_in_words::area;
use crate::meaning::log_setup;
use checkstrip_job::{
    ColumnSummary, HarvestInspection, Inspection, LogInspection, PolygonInspection, StripUse,
    inspect,
};
use checkstrip_model::units::{KG_PER_LB, UnitSystem};
use checkstrip_model::{Operation, Problem};
use checkstrip_report::moment;

pub(crate) fn run(arguments: &InspectArguments, console: &Console) -> anyhow::Result<()> {
    let setup = log_setup(&arguments.logs, &arguments.log)?;
    console.progress("reading the files");
    let found = inspect(&setup)?;
    console.result(&found, || words(&found, console.units))
}

fn words(found: &Inspection, units: UnitSystem) -> String {
    let log = found.log.iter().map(|log| log_in_words(log, units));
    let polygons = found.polygons.iter();
    let parts: Vec<String> = log
        .chain(polygons.map(|polygons| polygons_in_words(polygons, units)))
        .collect();
    parts.join("\n\n")
}

/// A line of the summary: what it is of, and what is said.
fn line(what: &str, said: &str) -> String {
    format!("  {what:<11}{said}")
}

fn log_in_words(found: &LogInspection, units: UnitSystem) -> String {
    let mut lines = Vec::new();
    for (file, format) in found.files.iter().zip(&found.formats) {
        lines.push(format!("{}: {format}, {} records", file.path, file.records));
    }
    let mut title = found.operation.log_in_words().to_owned();
    title[..1].make_ascii_uppercase();
    lines.push(title);
    let machines: Vec<String> = found
        .machines
        .iter()
        .map(|machine| format!("{} ({} records)", machine.name, machine.records))
        .collect();
    lines.push(match machines.is_empty() {
        true => line("machine", "the log names none"),
        false => line("machine", &machines.join(", ")),
    });
    if let Some(rows) = found.planter_rows {
        lines.push(line("rows", &format!("{rows} rows of the planter")));
    }
    if let Some(crop) = &found.crop {
        let assumed = found.warnings.iter().any(|w| w.code == "crop_assumed");
        let source = match assumed {
            true => "assumed, the log does not say: name it with --crop",
            false => "as named",
        };
        lines.push(line("crop", &format!("{} ({source})", crop.name)));
    }
    if !found.products.is_empty() {
        lines.push(line("product", &found.products.join(", ")));
    }
    lines.extend(found.facts.iter().map(|(what, said)| line(what, said)));
    lines.push(match found.time_span_s {
        Some([first, last]) => line(
            "when",
            &format!(
                "{} to {} ({:.1} h)",
                moment(first),
                moment(last),
                (last - first) / 3600.0
            ),
        ),
        None => line("when", "the log does not say"),
    });
    let [west, south, east, north] = found.extent_deg;
    let place = match west.is_finite() && south.is_finite() {
        true => format!("lon {west:.5} to {east:.5}, lat {south:.5} to {north:.5}"),
        false => "no positions".to_owned(),
    };
    lines.push(line("where", &place));
    if let Some(harvest) = &found.harvest {
        lines.extend(harvest_in_words(harvest, units));
    }
    lines.push("For a comparison".to_owned());
    lines.extend(match found.operation {
        Operation::Harvest => {
            let missing = found.missing.iter();
            let mut missing: Vec<String> = missing
                .map(|missing| line("missing", &missing.message))
                .collect();
            if missing.is_empty() {
                missing.push(line("complete", "the log has all that a comparison uses"));
            }
            missing.push(line(
                "besides",
                "the strips: polygons with an attribute \"treatment\" (lay them out with checkstrip plan)",
            ));
            missing
        }
        Operation::Planting | Operation::Application => vec![line(
            "missing",
            "the harvest log of this field: what a treatment gained shows in the grain",
        )],
        Operation::StandCount => vec![line(
            "use",
            "give it to checkstrip compare beside the harvest log (--stand, or [stand] in the trial file)",
        )],
    });
    lines.push(String::new());
    lines.extend(columns(&found.columns));
    if !found.unrecognised.is_empty() {
        lines.push(format!("not recognised: {}", found.unrecognised.join(", ")));
    }
    lines.extend(found.problems.iter().map(problem));
    for warning in &found.warnings {
        lines.push(format!("warning ({}): {}", warning.code, warning.message));
    }
    lines.join("\n")
}

fn problem(problem: &Problem) -> String {
    format!("problem: {problem}")
}

fn harvest_in_words(found: &HarvestInspection, units: UnitSystem) -> Vec<String> {
    let (input, cleaning) = (&found.input, &found.cleaning);
    let grain = match units {
        UnitSystem::Farm => format!(
            "{:.0} lb of grain as it came, {:.0} bu at market moisture",
            input.wet_mass_kg / KG_PER_LB,
            input.market_bu
        ),
        UnitSystem::Si => format!(
            "{:.1} t of grain as it came, {:.1} t at market moisture",
            input.wet_mass_kg / 1e3,
            input.market_mass_kg / 1e3
        ),
    };
    let mut harvested = format!(
        "{} by distance × width in {} passes",
        area(input.area_ha, units),
        cleaning.passes
    );
    if input.wet_mass_kg > 0.0 {
        let _ = write!(harvested, "; {grain}");
    }
    vec![
        line("harvested", &harvested),
        line(
            "delay",
            &format!(
                "{:.1} s from header to sensor ({}); {}",
                cleaning.grain_delay_s, cleaning.grain_delay_source, cleaning.grain_delay_note
            ),
        ),
        line(
            "cleaning",
            &format!(
                "with the usual settings would keep {} of {} records",
                cleaning.kept, input.records
            ),
        ),
    ]
}

fn polygons_in_words(found: &PolygonInspection, units: UnitSystem) -> String {
    let mut lines = vec![
        format!(
            "{}: {}, {} polygon{}",
            found.path,
            found.format,
            found.polygons,
            if found.polygons == 1 { "" } else { "s" }
        ),
        line(
            "ground",
            &format!("{}, in {}", area(found.area_ha, units), found.crs),
        ),
    ];
    for attribute in &found.attributes {
        let mut said = attribute.values.join(", ");
        if attribute.distinct > attribute.values.len() {
            let _ = write!(
                said,
                " and {} more",
                attribute.distinct - attribute.values.len()
            );
        }
        if attribute.missing > 0 {
            let _ = write!(said, " (missing on {})", attribute.missing);
        }
        lines.push(format!(
            "  {:<11} {said}",
            format!("\"{}\"", attribute.name)
        ));
    }
    lines.push("As the strips of a comparison".to_owned());
    match &found.as_strips {
        StripUse::Ready { treatments, blocks } => {
            let counts: Vec<String> = treatments
                .iter()
                .map(|t| format!("{} ({} strips)", t.treatment, t.strips))
                .collect();
            lines.push(line("complete", &counts.join(", ")));
            lines.push(match blocks {
                0 => line(
                    "blocks",
                    "not named: found from which strips lie side by side",
                ),
                blocks => line("blocks", &blocks.to_string()),
            });
            lines.push(line("besides", "the harvest log of this field"));
        }
        StripUse::Lacks(lacking) => {
            lines.push(line("missing", &lacking.message));
            if !lacking.hint.is_empty() {
                lines.push(line("", &lacking.hint));
            }
        }
    }
    lines.extend(found.problems.iter().map(problem));
    lines.join("\n")
}

/// The table of columns.
fn columns(columns: &[ColumnSummary]) -> Vec<String> {
    /// Headers are given this much room at least, and at most.
    const ROOM: [usize; 2] = [24, 52];
    let sources: Vec<String> = columns.iter().map(source).collect();
    let longest = sources.iter().map(|source| source.chars().count()).max();
    let room = longest.unwrap_or(0).clamp(ROOM[0], ROOM[1]);
    let title = format!(
        "{:<16} {:<room$} {:>12} {:>12} {:>12} {:>8}",
        "column", "in the file", "lowest", "median", "highest", "missing"
    );
    let rows = columns.iter().zip(&sources).map(|(column, source)| {
        let begins = format!("{:<16} {source:<room$}", column.name);
        match column.range {
            Some([low, middle, high]) => format!(
                "{begins} {:>12} {:>12} {:>12} {:>8}",
                figure(low),
                figure(middle),
                figure(high),
                column.missing
            ),
            None => format!("{begins} {}", names(column)),
        }
    });
    std::iter::once(title).chain(rows).collect()
}

/// Where a column comes from.
fn source(column: &ColumnSummary) -> String {
    match (column.header.is_empty(), column.unit.is_empty()) {
        (true, _) => format!("({})", column.derived),
        (false, true) => column.header.clone(),
        (false, false) => format!("{} [{}]", column.header, column.unit),
    }
}

/// The first names of a column, and how many there are.
fn names(column: &ColumnSummary) -> String {
    const LISTED: usize = 8;
    let mut names: Vec<&str> = column.names.iter().map(String::as_str).collect();
    names.truncate(LISTED);
    match column.distinct > names.len() {
        true => format!("{}, … ({} in all)", names.join(", "), column.distinct),
        false => names.join(", "),
    }
}

fn figure(value: f64) -> String {
    if value.abs() >= 1e6 {
        format!("{value:.0}")
    } else {
        format!("{value:.4}")
    }
}
