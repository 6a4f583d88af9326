//! The report of a pooled answer: a single HTML file like that of one field, the answer in words
//! first, the forest plot, then everything it rests on. What each section means is in
//! `docs/pooling.md`.

mod answer;
mod tables;

pub(crate) use answer::{answer as pooled_answer, checks, plot_in_words};

use crate::ReportError;
use crate::cautions::of_the_work;
use crate::figures::Figures;
use crate::page::{FIXED_WORDS, SaidWarning, environment, said_warnings};
use crate::tables::Table;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use checkstrip_model::results::Pooled;
use checkstrip_words::{Reader, say};
use minijinja::value::Serde;
use serde::Serialize;
use std::collections::BTreeMap;

/// What the template reads.
#[derive(Serialize)]
struct Page {
    /// Fixed words by their ids in the language files.
    words: BTreeMap<String, String>,
    title: String,
    about: String,
    answer: Vec<String>,
    warnings: Vec<SaidWarning>,
    /// The forest plot in base 64, and what it shows in words.
    plot: String,
    plot_says: String,
    treatments: Vec<TreatmentPart>,
    left_out: Option<Table>,
    files: Table,
    cautions: Vec<String>,
    footer: String,
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

/// The report as one HTML document in UTF-8, for `reader`; `forest_png` is what
/// [`forest_plot`](crate::forest_plot) drew.
///
/// # Errors
/// When the page cannot be put together, which would be a fault of this program.
pub fn render_pooled(
    pooled: &Pooled,
    forest_png: &[u8],
    reader: Reader,
) -> Result<String, ReportError> {
    let field = pooled.crop.as_field("");
    let figures = Figures::new(&field, reader);
    let words = reader.words;
    let names: Vec<&str> = pooled
        .treatments
        .iter()
        .map(|treatment| treatment.treatment.as_str())
        .collect();
    let mut cautions = vec![say!(words, "caution-fields-tried")];
    cautions.extend(of_the_work(names.iter().copied(), words));
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
        words: words.fixed(&[FIXED_WORDS[0], FIXED_WORDS[1], "pooled-"]),
        title: say!(
            words,
            "pooled-title",
            treatments = names.join(", "),
            fields = figures.counted("count-fields", entered.len())
        ),
        about: say!(
            words,
            "pooled-about",
            crop = figures.crop(),
            moisture = words.shortest(pooled.crop.market_moisture_pct)
        ),
        answer: answer::answer(pooled, figures),
        warnings: said_warnings(&pooled.warnings, words),
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
        files: tables::files(pooled, figures),
        cautions,
        footer: say!(
            words,
            "pooled-footer",
            tool = &pooled.tool.name,
            version = &pooled.tool.version,
            schema = &pooled.schema,
            bushel = figures.number(pooled.crop.bushel_kg, 2)
        ),
    };
    Ok(environment()?
        .get_template("pooled.html")?
        .render(Serde(page))?)
}

/// The pooled answer in plain sentences, one paragraph per treatment: what [`render_pooled`] puts
/// first, for the command line and other summaries.
pub fn pooled_in_words(pooled: &Pooled, reader: Reader) -> Vec<String> {
    let field = pooled.crop.as_field("");
    answer::answer(pooled, Figures::new(&field, reader))
}

#[cfg(test)]
pub(crate) mod tests;
