//! The tables of a planting report.

use super::figures::{Shown, count, measure_name, number};
use crate::figures::UNKNOWN;
use crate::tables::{Table, figures_under, words_under};
use checkstrip_model::SourceFile;
use checkstrip_model::units::UnitSystem;
use checkstrip_planting::{Measure, NoSpeedEffect, PlantingFindings, RowFigures};

/// The measures that a table of rows shows, where the log has them.
const SHOWN: [Measure; 10] = [
    Measure::Population,
    Measure::Singulation,
    Measure::Skips,
    Measure::Multiples,
    Measure::SpacingVariation,
    Measure::GroundContact,
    Measure::LostContact,
    Measure::Downforce,
    Measure::RideQuality,
    Measure::Vacuum,
];

/// Short names of the measures in headings.
fn heading(measure: Measure) -> &'static str {
    match measure {
        Measure::SpacingVariation => "spacing CV",
        Measure::GroundContact => "contact",
        Measure::LostContact => "contact lost",
        other => measure_name(other),
    }
}

/// Headings and rows of the rows of a planter, the one in most trouble first and the whole planter last;
/// figures that are called are starred. At most `most` rows, but every row that is called.
pub(super) fn rows(
    findings: &PlantingFindings,
    units: UnitSystem,
    most: usize,
) -> (Vec<String>, Vec<Vec<String>>) {
    let measures: Vec<Measure> = SHOWN
        .into_iter()
        .filter(|&measure| findings.planter.get(measure).is_some())
        .collect();
    let mut headings = vec!["row".to_owned(), "#trouble".to_owned()];
    headings.extend(measures.iter().map(|&measure| {
        let unit = Shown::of(measure, units).unit;
        format!("#{}, {unit}", heading(measure))
    }));
    let called = |row: usize, measure: Measure| {
        let mut of_row = findings.deviations.iter();
        of_row.any(|d| d.row == row && d.measure == measure && d.called)
    };
    let line = |figures: &RowFigures, row: Option<usize>| -> Vec<String> {
        let cells = measures.iter().map(|&measure| {
            let told = Shown::of(measure, units).number(figures.get(measure));
            match row.is_some_and(|row| called(row, measure)) {
                true => format!("{told}*"),
                false => told,
            }
        });
        cells.collect()
    };
    // A planter of fewer rows than can be compared has no order of trouble.
    let order: Vec<(usize, String)> = if findings.deviations.is_empty() {
        let rows = 1..=findings.rows;
        rows.map(|row| (row, UNKNOWN.to_owned())).collect()
    } else {
        let rows = findings.trouble.iter();
        rows.map(|trouble| (trouble.row, number(trouble.score, 1)))
            .collect()
    };
    let any_called = |row: usize| findings.deviations.iter().any(|d| d.row == row && d.called);
    let mut lines = Vec::new();
    for (place, (row, score)) in order.iter().enumerate() {
        if place >= most && !any_called(*row) {
            continue;
        }
        let Some(figures) = findings.row_figures.get(row - 1) else {
            continue;
        };
        let mut cells = vec![row.to_string(), score.clone()];
        cells.extend(line(figures, Some(*row)));
        lines.push(cells);
    }
    let mut all = vec!["all".to_owned(), String::new()];
    all.extend(line(&findings.planter, None));
    lines.push(all);
    (headings, lines)
}

/// [`rows`] as a table of the report: all of them.
pub(super) fn row_table(findings: &PlantingFindings, units: UnitSystem) -> Table {
    let (headings, rows) = rows(findings, units, usize::MAX);
    let headings: Vec<&str> = headings.iter().map(String::as_str).collect();
    table("Rows, the one in most trouble first", &headings, rows)
}

/// What speed does.
pub(super) fn speed(findings: &PlantingFindings, units: UnitSystem) -> Table {
    let mut rows = Vec::new();
    let slower = Shown::speed(units).with_unit(findings.settings.slow_down_m_s);
    for effect in &findings.speed.effects {
        let told = |value: f64| number(value, 2);
        let mut ends = effect.change_interval_95.map(told);
        if effect.change_interval_95[0] > effect.change_interval_95[1] {
            ends.reverse();
        }
        rows.push(vec![
            measure_name(effect.measure).to_owned(),
            told(effect.change_when_slower),
            format!("{} to {}", ends[0], ends[1]),
            count(effect.passes),
            Shown::speed(units).with_unit(effect.speed_spread_m_s),
        ]);
    }
    for absent in &findings.speed.refused {
        let (measure, why) = match absent {
            NoSpeedEffect::NotMeasured { .. } => continue,
            NoSpeedEffect::FewPasses {
                measure,
                passes,
                needed,
            } => (measure, format!("{passes} passes, {needed} needed")),
            NoSpeedEffect::EvenSpeed {
                measure,
                spread_m_s,
                ..
            } => {
                let spread = Shown::speed(units).with_unit(*spread_m_s);
                (measure, format!("speed hardly varied ({spread})"))
            }
        };
        rows.push(vec![
            measure_name(*measure).to_owned(),
            UNKNOWN.to_owned(),
            why,
            String::new(),
            String::new(),
        ]);
    }
    table(
        &format!("Expected change when planting {slower} slower, percentage points"),
        &[
            "Measure",
            "#Change",
            "#95 % interval",
            "#Passes",
            "#Spread of speeds",
        ],
        rows,
    )
}

/// The settings that every figure rests on.
pub(super) fn settings(findings: &PlantingFindings) -> Result<Table, serde_json::Error> {
    let mut rows = Vec::new();
    if let serde_json::Value::Object(settings) = serde_json::to_value(&findings.settings)? {
        for (key, value) in settings {
            let nested = match value {
                serde_json::Value::Object(inner) => inner
                    .into_iter()
                    .map(|(name, value)| (format!("{key}.{name}"), value))
                    .collect(),
                value => vec![(key, value)],
            };
            let lines = nested.into_iter().map(|(key, value)| {
                let told = match value.as_f64() {
                    Some(value) if value != 0.0 && value.abs() < 0.01 => value.to_string(),
                    Some(value) => number(value, 3),
                    None => value.to_string(),
                };
                vec![key, told]
            });
            rows.extend(lines);
        }
    }
    Ok(table("Settings, SI units", &["Setting", "#Value"], rows))
}

/// The files that went in.
pub(super) fn files(files: &[SourceFile]) -> Table {
    let rows = files
        .iter()
        .map(|file| vec![file.path.clone(), count(file.records), file.sha256.clone()])
        .collect();
    table("Files", &["File", "#Records", "SHA-256"], rows)
}

/// A table whose headings begin with `#` where the column holds figures.
fn table(caption: &str, headings: &[&str], rows: Vec<Vec<String>>) -> Table {
    let headings = headings
        .iter()
        .map(|heading| match heading.strip_prefix('#') {
            Some(text) => figures_under(text.to_owned()),
            None => words_under((*heading).to_owned()),
        })
        .collect();
    Table::new(caption.to_owned(), headings, rows)
}
