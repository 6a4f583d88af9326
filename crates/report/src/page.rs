//! Puts the page together: every part as text or places, then the template.

use crate::along_strips::{AlongSection, along_section};
use crate::answer::answer;
use crate::cautions::cautions;
use crate::figures::Figures;
use crate::glance::{Glance, glance};
use crate::machines::{MachinesSection, machines_section};
use crate::money::{MoneyOf, money_details};
use crate::plots::{Plot, plots};
use crate::rate_response::{RateSection, rate_section};
use crate::stand::{StandSection, stand_section};
use crate::tables::{self, Table};
use crate::where_it_paid::{ZonesSection, zones_section};
use crate::{ReportError, ReportMap};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use checkstrip_model::Warning;
use checkstrip_model::results::Results;
use checkstrip_words::{Reader, Words, say};
use minijinja::syntax::SyntaxConfig;
use minijinja::value::Serde;
use minijinja::{Environment, UndefinedBehavior};
use serde::Serialize;
use std::collections::BTreeMap;

#[derive(Serialize)]
pub(crate) struct MapFigure<'a> {
    key: &'a str,
    title: &'a str,
    caption: &'a str,
    /// What is read out in its place.
    alt: String,
    /// The PNG file in base 64.
    data: String,
}

/// Maps as templates read them.
pub(crate) fn map_figures<'a>(maps: &[ReportMap<'a>], words: &Words) -> Vec<MapFigure<'a>> {
    maps.iter()
        .map(|map| MapFigure {
            key: map.key,
            title: map.title,
            caption: map.caption,
            alt: say!(
                words,
                "report-map-alt",
                title = map.title,
                caption = map.caption
            ),
            data: STANDARD.encode(map.png),
        })
        .collect()
}

/// Ids of the fixed words that every page has: its language, its headings.
pub(crate) const FIXED_WORDS: [&str; 2] = ["language-tag", "report-"];

/// A warning as it is read: its message in the reader's language.
#[derive(Serialize)]
pub(crate) struct SaidWarning {
    message: String,
}

/// Warnings in the reader's language.
pub(crate) fn said_warnings(warnings: &[Warning], words: &Words) -> Vec<SaidWarning> {
    let said = warnings.iter().map(|warning| SaidWarning {
        message: words.warning(warning),
    });
    said.collect()
}

/// What the template reads.
#[derive(Serialize)]
struct Page<'a> {
    /// Fixed words, such as headings, by their ids in the language files.
    words: BTreeMap<String, String>,
    title: &'a str,
    about: String,
    glance: Option<Glance>,
    /// The map of the first page.
    first_map: Option<MapFigure<'a>>,
    answer: Vec<String>,
    headline: String,
    warnings: Vec<SaidWarning>,
    plots: Vec<Plot>,
    zones: Option<ZonesSection>,
    along: Option<AlongSection>,
    stand: Option<StandSection>,
    maps: Vec<MapFigure<'a>>,
    strips: Option<Table>,
    strips_note: String,
    comparisons: Option<Table>,
    cleaning: Table,
    cleaning_facts: Vec<String>,
    machines: Option<MachinesSection>,
    /// Whether some intervals hold for all treatments at once.
    family: bool,
    rates: Option<RateSection>,
    money: Option<Table>,
    money_details: Vec<MoneyOf>,
    files: Table,
    columns: Option<Table>,
    settings: Table,
    footer: String,
    cautions: Vec<String>,
}

pub(crate) fn render(
    results: &Results,
    maps: &[ReportMap],
    reader: Reader,
) -> Result<String, ReportError> {
    let figures = Figures::new(&results.field, reader);
    let words = reader.words;
    let filled = |table: Table| (!table.is_empty()).then_some(table);
    let mut maps = map_figures(maps, words).into_iter();
    let page = Page {
        words: words.fixed(&FIXED_WORDS),
        title: &results.field.name,
        about: say!(
            words,
            "report-about",
            crop = figures.crop(),
            moisture = words.shortest(results.field.market_moisture_pct),
            area = figures.area(results.input.area_ha * 10_000.0),
            unit = figures.area_unit()
        ),
        glance: glance(results, figures),
        first_map: maps.next(),
        answer: answer(results, figures),
        headline: words.carried("headline", &results.headline, &results.headline_values),
        warnings: said_warnings(&results.warnings, words),
        plots: plots(results, figures),
        zones: zones_section(results, figures),
        along: along_section(results, figures),
        stand: stand_section(results, figures),
        maps: maps.collect(),
        strips: filled(tables::strips(results, figures)),
        strips_note: say!(
            words,
            "report-strips-note",
            inset = figures.length(results.strip_source.inset_m)
        ),
        comparisons: filled(tables::comparisons(results, figures)),
        cleaning: tables::cleaning(results, figures),
        cleaning_facts: tables::cleaning_facts(&results.cleaning, figures),
        machines: machines_section(results, figures),
        family: tables::has_family(results),
        rates: results
            .rate_response
            .as_ref()
            .map(|response| rate_section(response, figures)),
        money: filled(tables::money(results, figures)),
        money_details: money_details(results, figures),
        files: tables::files(results, figures),
        columns: filled(tables::columns(results, figures)),
        settings: tables::settings(results, figures),
        footer: say!(
            words,
            "report-footer",
            tool = &results.tool.name,
            version = &results.tool.version,
            schema = &results.schema,
            bushel = figures.number(results.field.bushel_kg, 2)
        ),
        cautions: cautions(results, words),
    };

    Ok(environment()?
        .get_template("report.html")?
        .render(Serde(page))?)
}

/// The pages, what they build on, and what they share.
const TEMPLATES: [(&str, &str); 15] = [
    ("base.html", include_str!("../templates/base.html")),
    ("report.html", include_str!("../templates/report.html")),
    ("season.html", include_str!("../templates/season.html")),
    ("pooled.html", include_str!("../templates/pooled.html")),
    ("planting.html", include_str!("../templates/planting.html")),
    ("report.css", include_str!("../templates/report.css")),
    (
        "map_figure.html",
        include_str!("../templates/map_figure.html"),
    ),
    ("chart.css", include_str!("../templates/chart.css")),
    ("table.html", include_str!("../templates/table.html")),
    (
        "row_figure.html",
        include_str!("../templates/row_figure.html"),
    ),
    ("axes.html", include_str!("../templates/axes.html")),
    (
        "where_it_paid.html",
        include_str!("../templates/where_it_paid.html"),
    ),
    (
        "along_strips.html",
        include_str!("../templates/along_strips.html"),
    ),
    ("stand.html", include_str!("../templates/stand.html")),
    ("machines.html", include_str!("../templates/machines.html")),
];

/// The templates of this crate's pages.
pub(crate) fn environment() -> Result<Environment<'static>, ReportError> {
    let mut environment = Environment::new();
    environment.set_undefined_behavior(UndefinedBehavior::Strict);
    environment.set_syntax(
        SyntaxConfig::builder()
            .trim_blocks(true)
            .lstrip_blocks(true)
            .build()?,
    );
    for (name, source) in TEMPLATES {
        environment.add_template(name, source)?;
    }
    Ok(environment)
}
