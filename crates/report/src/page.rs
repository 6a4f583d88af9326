//! Puts the page together: every part as text or places, then the template.

use crate::along_strips::{AlongSection, along_section};
use crate::answer::answer;
use crate::cautions::cautions;
use crate::figures::{Figures, number};
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
use checkstrip_model::{
    results::{Results, Tool},
    units::UnitSystem,
};
use minijinja::syntax::SyntaxConfig;
use minijinja::value::Serde;
use minijinja::{Environment, UndefinedBehavior};
use serde::Serialize;

#[derive(Serialize)]
pub(crate) struct MapFigure<'a> {
    key: &'a str,
    title: &'a str,
    caption: &'a str,
    /// The PNG file in base 64.
    data: String,
}

/// Maps as templates read them.
pub(crate) fn map_figures<'a>(maps: &[ReportMap<'a>]) -> Vec<MapFigure<'a>> {
    maps.iter()
        .map(|map| MapFigure {
            key: map.key,
            title: map.title,
            caption: map.caption,
            data: STANDARD.encode(map.png),
        })
        .collect()
}

/// What the template reads.
#[derive(Serialize)]
struct Page<'a> {
    title: &'a str,
    about: String,
    answer: Vec<String>,
    headline: &'a str,
    warnings: &'a [Warning],
    plots: Vec<Plot>,
    zones: Option<ZonesSection>,
    along: Option<AlongSection>,
    stand: Option<StandSection>,
    maps: Vec<MapFigure<'a>>,
    strips: Option<Table>,
    inset: String,
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
    tool: &'a Tool,
    schema: &'a str,
    bushel: String,
    cautions: Vec<&'static str>,
}

pub(crate) fn render(
    results: &Results,
    maps: &[ReportMap],
    units: UnitSystem,
) -> Result<String, ReportError> {
    let figures = Figures {
        field: &results.field,
        units,
    };
    let filled = |table: Table| (!table.is_empty()).then_some(table);
    let page = Page {
        title: &results.field.name,
        about: format!(
            "{} at {} % moisture, {} {} under the header",
            results.field.crop,
            results.field.market_moisture_pct,
            figures.area(results.input.area_ha * 10_000.0),
            figures.area_unit()
        ),
        answer: answer(results, units),
        headline: &results.headline,
        warnings: &results.warnings,
        plots: plots(results, figures),
        zones: zones_section(results, figures),
        along: along_section(results, figures),
        stand: stand_section(results, figures),
        maps: map_figures(maps),
        strips: filled(tables::strips(results, figures)),
        inset: figures.length(results.strip_source.inset_m),
        comparisons: filled(tables::comparisons(results, figures)),
        cleaning: tables::cleaning(results),
        cleaning_facts: tables::cleaning_facts(&results.cleaning, figures),
        machines: machines_section(results, figures),
        family: tables::has_family(results),
        rates: results
            .rate_response
            .as_ref()
            .map(|response| rate_section(response, figures)),
        money: filled(tables::money(results, figures)),
        money_details: money_details(results, figures),
        files: tables::files(results),
        columns: filled(tables::columns(results)),
        settings: tables::settings(results, figures),
        tool: &results.tool,
        schema: &results.schema,
        bushel: number(results.field.bushel_kg, 2),
        cautions: cautions(results),
    };

    Ok(environment()?
        .get_template("report.html")?
        .render(Serde(page))?)
}

/// The pages, what they build on, and what they share.
const TEMPLATES: [(&str, &str); 12] = [
    ("base.html", include_str!("../templates/base.html")),
    ("report.html", include_str!("../templates/report.html")),
    ("pooled.html", include_str!("../templates/pooled.html")),
    ("planting.html", include_str!("../templates/planting.html")),
    ("report.css", include_str!("../templates/report.css")),
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
