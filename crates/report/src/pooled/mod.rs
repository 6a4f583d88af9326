//! The report of a pooled answer: a single HTML file like that of one field, the answer in words
//! first, the forest plot, then everything it rests on. What each section means is in
//! `docs/pooling.md`.

mod answer;
mod tables;

use crate::ReportError;
use crate::cautions::of_the_work;
use crate::figures::{Figures, counted, number};
use crate::page::environment;
use crate::tables::Table;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use checkstrip_model::Warning;
use checkstrip_model::results::{Pooled, Tool};
use checkstrip_model::units::UnitSystem;
use minijinja::value::Serde;
use serde::Serialize;

/// What the template reads.
#[derive(Serialize)]
struct Page<'a> {
    title: String,
    about: String,
    answer: Vec<String>,
    warnings: &'a [Warning],
    /// The forest plot in base 64, and what it shows in words.
    plot: String,
    plot_says: String,
    treatments: Vec<TreatmentPart>,
    left_out: Option<Table>,
    files: Table,
    cautions: Vec<&'static str>,
    tool: &'a Tool,
    schema: &'a str,
    bushel: String,
}

/// The sections of one treatment.
#[derive(Serialize)]
struct TreatmentPart {
    name: String,
    fields: Table,
    differ: String,
    figures: Table,
    intervals: Table,
}

/// The report as one HTML document in UTF-8, figures in `units`; `forest_png` is what
/// [`forest_plot`](crate::forest_plot) drew.
///
/// # Errors
/// When the page cannot be put together, which would be a fault of this program.
pub fn render_pooled(
    pooled: &Pooled,
    forest_png: &[u8],
    units: UnitSystem,
) -> Result<String, ReportError> {
    let field = pooled.crop.as_field("");
    let figures = Figures {
        field: &field,
        units,
    };
    let names: Vec<&str> = pooled
        .treatments
        .iter()
        .map(|treatment| treatment.treatment.as_str())
        .collect();
    let mut cautions = vec![
        "The fields are those that happened to be tried, not a draw from all fields: what holds for \
         them holds for others as far as soil, weather and work are alike.",
    ];
    cautions.extend(of_the_work(names.iter().copied()));
    let left_out = tables::left_out(pooled, figures);
    let mut entered: Vec<usize> = pooled
        .treatments
        .iter()
        .flat_map(|treatment| &treatment.entries)
        .map(|entry| entry.input)
        .collect();
    entered.sort_unstable();
    entered.dedup();
    let page = Page {
        title: format!(
            "{}: {} pooled",
            names.join(", "),
            counted_fields(entered.len())
        ),
        about: format!(
            "{} at {} % moisture",
            pooled.crop.name, pooled.crop.market_moisture_pct
        ),
        answer: answer::answer(pooled, figures),
        warnings: &pooled.warnings,
        plot: STANDARD.encode(forest_png),
        plot_says: answer::plot_in_words(pooled, figures),
        treatments: pooled
            .treatments
            .iter()
            .map(|treatment| TreatmentPart {
                name: treatment.treatment.clone(),
                fields: tables::fields(treatment, figures),
                differ: answer::how_fields_differ(treatment, figures),
                figures: tables::heterogeneity(treatment, figures),
                intervals: tables::intervals(treatment, figures),
            })
            .collect(),
        left_out: (!left_out.is_empty()).then_some(left_out),
        files: tables::files(pooled),
        cautions,
        tool: &pooled.tool,
        schema: &pooled.schema,
        bushel: number(pooled.crop.bushel_kg, 2),
    };
    Ok(environment()?
        .get_template("pooled.html")?
        .render(Serde(page))?)
}

/// The pooled answer in plain sentences, one paragraph per treatment: what [`render_pooled`] puts
/// first, for the command line and other summaries.
pub fn pooled_in_words(pooled: &Pooled, units: UnitSystem) -> Vec<String> {
    let field = pooled.crop.as_field("");
    let figures = Figures {
        field: &field,
        units,
    };
    answer::answer(pooled, figures)
}

fn counted_fields(fields: usize) -> String {
    counted(fields, "field", "fields")
}

#[cfg(test)]
pub(crate) mod tests;
