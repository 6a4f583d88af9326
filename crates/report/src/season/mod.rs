//! The report of a season: a single HTML file that says first what all fields together say, shows where they lie
//! and the forest plots, then every field with its answer, and the fields that have none with their reason.

mod tables;

use crate::ReportError;
use crate::cautions::of_the_work;
use crate::figures::Figures;
use crate::page::{FIXED_WORDS, SaidWarning, environment, said_warnings};
use crate::pooled::{plot_in_words, pooled_answer};
use crate::tables::Table;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use checkstrip_model::results::{Pooled, Season};
use checkstrip_words::{Reader, Words, say};
use minijinja::value::Serde;
use serde::Serialize;
use std::collections::BTreeMap;

/// What the report shows.
#[derive(Debug)]
pub struct SeasonReport<'a> {
    /// The season.
    pub season: &'a Season,
    /// The pooled answers with their forest plots, PNG files.
    pub pooled: Vec<(&'a Pooled, &'a [u8])>,
    /// Each treatment with the map of its fields, a PNG file.
    pub maps: &'a [(String, Vec<u8>)],
}

/// What the template reads.
#[derive(Serialize)]
struct Page {
    /// Fixed words by their ids in the language files.
    words: BTreeMap<String, String>,
    title: String,
    about: String,
    together: Option<Table>,
    first_map: Option<Picture>,
    maps: Vec<Picture>,
    answer: Vec<String>,
    warnings: Vec<SaidWarning>,
    forests: Vec<Picture>,
    fields: Option<Table>,
    without: Option<Table>,
    cautions: Vec<String>,
    footer: String,
}

/// A picture of the page.
#[derive(Serialize)]
struct Picture {
    title: String,
    /// The PNG file in base 64.
    data: String,
    says: String,
}

/// The report as one HTML document in UTF-8, for `reader`.
///
/// # Errors
/// When the page cannot be put together, which would be a fault of this program.
pub fn render_season(report: &SeasonReport, reader: Reader) -> Result<String, ReportError> {
    let season = report.season;
    let words = reader.words;
    let mut maps = report.maps.iter().map(|(treatment, png)| Picture {
        title: say!(words, "season-map-title", treatment = treatment),
        data: STANDARD.encode(png),
        says: say!(words, "season-map-says", treatment = treatment),
    });
    let forests = report.pooled.iter().map(|(pooled, png)| {
        let field = pooled.crop.as_field("");
        let figures = Figures::new(&field, reader);
        Picture {
            title: figures.crop(),
            data: STANDARD.encode(png),
            says: plot_in_words(pooled, figures),
        }
    });
    let filled = |table: Table| (!table.is_empty()).then_some(table);
    let treatments = season
        .fields
        .iter()
        .filter_map(|field| field.results.as_ref())
        .flat_map(|results| &results.treatments)
        .map(|says| says.treatment.as_str());
    let mut cautions = vec![say!(words, "caution-fields-tried")];
    cautions.extend(of_the_work(treatments, words));
    let page = Page {
        words: words.fixed(&[FIXED_WORDS[0], FIXED_WORDS[1], "season-", "pooled-forest"]),
        title: say!(
            words,
            "season-title",
            season = &season.name,
            fields = fields(season.fields.len(), words)
        ),
        about: about(season, words),
        together: filled(tables::together(report, reader)),
        first_map: maps.next(),
        maps: maps.collect(),
        answer: answer(report, reader),
        warnings: said_warnings(&season.warnings, words),
        forests: forests.collect(),
        fields: filled(tables::fields(season, reader)),
        without: filled(tables::without(season, words)),
        cautions,
        footer: say!(
            words,
            "season-footer",
            tool = &season.tool.name,
            version = &season.tool.version,
            schema = &season.schema
        ),
    };
    Ok(environment()?
        .get_template("season.html")?
        .render(Serde(page))?)
}

fn fields(count: usize, words: &Words) -> String {
    words.counted("count-fields", count)
}

fn about(season: &Season, words: &Words) -> String {
    let with = season.fields.iter().filter(|field| field.results.is_some());
    let with = with.count();
    match season.fields.len() - with {
        0 => say!(words, "season-about-all"),
        without => say!(
            words,
            "season-about",
            with = fields(with, words),
            without = words.count(without)
        ),
    }
}

/// The pooled answers in words, crop by crop, and why a crop has none.
fn answer(report: &SeasonReport, reader: Reader) -> Vec<String> {
    let words = reader.words;
    let several = report.season.pooled.len() > 1;
    let mut said = Vec::new();
    for (pooled, _) in &report.pooled {
        let field = pooled.crop.as_field("");
        let figures = Figures::new(&field, reader);
        for paragraph in pooled_answer(pooled, figures) {
            said.push(match several {
                true => say!(
                    words,
                    "season-of-crop",
                    crop = figures.crop(),
                    said = paragraph
                ),
                false => paragraph,
            });
        }
    }
    for crop in &report.season.pooled {
        if let Some(reason) = &crop.reason {
            said.push(say!(
                words,
                "season-not-pooled",
                crop = words.crop(&crop.crop),
                reason = reason.lines().next().unwrap_or_default()
            ));
        }
    }
    if said.is_empty() {
        said.push(say!(words, "season-none"));
    }
    said
}
