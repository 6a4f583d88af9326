//! What was found in a planting log, for people: the words that a command prints, and a report as a single
//! HTML file, the answer first. It formats; `checkstrip-planting` computes. What each part means is in
//! `docs/planting.md`.

mod course_plot;
mod figures;
mod tables;
mod words;

pub use figures::{Shown, row_spacing};

use checkstrip_model::results::Tool;
use checkstrip_model::units::UnitSystem;
use checkstrip_model::{SourceFile, Warning};
use checkstrip_planting::PlantingFindings;
use checkstrip_words::Words;
use minijinja::value::Serde;
use serde::Serialize;
use std::collections::BTreeMap;

use crate::page::{FIXED_WORDS, MapFigure, environment, map_figures};
use crate::tables::Table;
use crate::{ReportError, ReportMap};

/// Rows that the words list at least, besides those that are called.
const LISTED: usize = 6;

/// What the report of a planting is made of.
#[derive(Debug, Clone, Copy)]
pub struct PlantingReport<'a> {
    /// Name of the field.
    pub field: &'a str,
    /// The planters, in the order of the log.
    pub planters: &'a [PlanterReport<'a>],
    /// What a reader should know.
    pub warnings: &'a [Warning],
    /// The files that went in.
    pub files: &'a [SourceFile],
    /// What wrote the results.
    pub tool: &'a Tool,
    /// Schema of the results.
    pub schema: &'a str,
}

/// One planter of a report.
#[derive(Debug, Clone, Copy)]
pub struct PlanterReport<'a> {
    /// The machine, where the log names it.
    pub machine: Option<&'a str>,
    /// What was found.
    pub findings: &'a PlantingFindings,
    /// Its maps.
    pub maps: &'a [ReportMap<'a>],
}

/// What the template reads.
#[derive(Serialize)]
struct Page<'a> {
    /// Fixed words that every page has, by their ids in the language files.
    words: BTreeMap<String, String>,
    title: &'a str,
    about: String,
    answer: Vec<String>,
    warnings: &'a [Warning],
    planters: Vec<PlanterPart<'a>>,
    files: Table,
    cautions: &'a [String],
    tool: &'a Tool,
    schema: &'a str,
}

/// The sections of one planter.
#[derive(Serialize)]
struct PlanterPart<'a> {
    /// Empty for the only planter of a log.
    name: String,
    rows: Table,
    courses: Vec<course_plot::CoursePlot>,
    repeating: Vec<String>,
    advice: Vec<words::AdviceInWords>,
    speed: Table,
    maps: Vec<MapFigure<'a>>,
    settings: Table,
}

/// The report as one HTML document in UTF-8, figures in `units`.
///
/// # Errors
/// When the page cannot be put together, which would be a fault of this program.
pub fn render_planting(report: &PlantingReport, units: UnitSystem) -> Result<String, ReportError> {
    // What is said of plantings is in English in every language (docs/languages.md).
    let english = Words::english();
    let several = report.planters.len() > 1;
    let name = |planter: &PlanterReport| match planter.machine {
        Some(machine) if several => machine.to_owned(),
        None if several => "Machine without a name".to_owned(),
        _ => String::new(),
    };
    let (mut about, mut answer, mut parts) = (Vec::new(), Vec::new(), Vec::new());
    for planter in report.planters {
        let findings = planter.findings;
        let said = |what: String| match name(planter) {
            name if name.is_empty() => what,
            name => format!("{name}: {what}"),
        };
        about.push(said(words::about(findings, units)));
        answer.extend(words::answer(findings, units).into_iter().map(said));
        parts.push(PlanterPart {
            name: name(planter),
            rows: tables::row_table(findings, units),
            courses: course_plot::course_plots(findings, units),
            repeating: words::repeating(findings, units),
            advice: words::advice(findings, units),
            speed: tables::speed(findings, units),
            maps: map_figures(planter.maps, english),
            settings: tables::settings(findings)?,
        });
    }
    let cautions = report.planters.first();
    let page = Page {
        words: english.fixed(&FIXED_WORDS),
        title: report.field,
        about: about.join("; "),
        answer,
        warnings: report.warnings,
        planters: parts,
        files: tables::files(report.files),
        cautions: cautions.map_or(&[], |planter| &planter.findings.cautions),
        tool: report.tool,
        schema: report.schema,
    };
    Ok(environment()?
        .get_template("planting.html")?
        .render(Serde(page))?)
}

/// The findings of one planter in plain words, line by line: the answer, rows in the order of trouble, what
/// repeats, what to do.
pub fn planting_in_words(findings: &PlantingFindings, units: UnitSystem) -> Vec<String> {
    let mut lines = vec![words::about(findings, units), String::new()];
    lines.extend(words::answer(findings, units));
    let (headings, rows) = tables::rows(findings, units, LISTED);
    lines.extend(section("Rows, the one in most trouble first"));
    lines.extend(in_columns(&headings, &rows));
    if rows.iter().flatten().any(|cell| cell.ends_with('*')) {
        lines.push("  * worse than the other rows by more than its limit".to_owned());
    }
    lines.extend(section("What repeats along a row"));
    let repeating = words::repeating(findings, units);
    lines.extend(repeating.iter().map(|said| format!("  {said}")));
    lines.extend(section("What to do"));
    let advice = words::advice(findings, units);
    if advice.is_empty() {
        lines.push("  Nothing: no limit is passed.".to_owned());
    }
    for advice in advice {
        lines.push(format!("  {}: {}", advice.who, advice.what_to_do));
        lines.push(format!("    measured: {}", advice.measured));
        if !advice.against.is_empty() {
            lines.push(format!("    against it: {}", advice.against));
        }
    }
    lines.extend(section("Cautions"));
    lines.extend(findings.cautions.iter().map(|said| format!("  {said}")));
    lines
}

fn section(title: &str) -> [String; 2] {
    [String::new(), title.to_owned()]
}

/// A table as text: what a heading names above its unit, figures lined up at the right.
fn in_columns(headings: &[String], rows: &[Vec<String>]) -> Vec<String> {
    let names: Vec<(String, String)> = headings
        .iter()
        .map(|heading| {
            let heading = heading.trim_start_matches('#');
            let (name, unit) = heading.split_once(", ").unwrap_or((heading, ""));
            (name.to_owned(), unit.to_owned())
        })
        .collect();
    // A star stands behind the figures, not in their place.
    let starred = |cell: &str| match cell.strip_suffix('*') {
        Some(figure) => format!("{figure}*"),
        None => format!("{cell} "),
    };
    let width = |column: usize| {
        let cells = rows.iter().filter_map(|row| row.get(column));
        let (name, unit) = &names[column];
        cells
            .map(|cell| starred(cell).chars().count())
            .chain([name.chars().count() + 1, unit.chars().count() + 1])
            .max()
            .unwrap_or(0)
    };
    let widths: Vec<usize> = (0..names.len()).map(width).collect();
    let line = |cells: Vec<String>| {
        let padded: Vec<String> = cells
            .iter()
            .zip(&widths)
            .map(|(cell, &width)| format!("{cell:>width$}"))
            .collect();
        format!("  {}", padded.join("  ")).trim_end().to_owned()
    };
    let mut lines = vec![
        line(names.iter().map(|(name, _)| format!("{name} ")).collect()),
        line(names.iter().map(|(_, unit)| format!("{unit} ")).collect()),
    ];
    lines.extend(
        rows.iter()
            .map(|row| line(row.iter().map(|cell| starred(cell)).collect())),
    );
    lines
}
