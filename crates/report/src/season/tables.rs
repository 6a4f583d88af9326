//! Tables of a season: the treatments over all fields, every field, the fields without results.

use super::SeasonReport;
use crate::figures::{Figures, UNKNOWN};
use crate::tables::{Table, figures_under, words_under};
use checkstrip_model::results::{Field, Season};
use checkstrip_words::{Reader, Words, say};

/// Every pooled treatment.
pub(super) fn together(report: &SeasonReport, reader: Reader) -> Table {
    let words = reader.words;
    let mut rows = Vec::new();
    for (pooled, _) in &report.pooled {
        let field = pooled.crop.as_field("");
        let figures = Figures::new(&field, reader);
        let likely = |odds: Option<f64>| {
            let said = odds.and_then(|odds| figures.odds(odds));
            said.unwrap_or(UNKNOWN.to_owned())
        };
        for treatment in &pooled.treatments {
            let payoff = treatment.payoff.as_ref();
            rows.push(vec![
                treatment.treatment.clone(),
                figures.crop(),
                figures.count(treatment.fields),
                figures.gain(treatment.advantage_kg_ha),
                figures.yield_interval(treatment.interval_95_kg_ha),
                payoff.map_or(UNKNOWN.to_owned(), |payoff| {
                    figures.break_even(payoff.break_even_bu_ac)
                }),
                likely(payoff.map(|payoff| payoff.odds_mean_pays)),
                likely(payoff.and_then(|payoff| payoff.odds_next_field_pays)),
            ]);
        }
    }
    Table::new(
        say!(words, "season-table-together"),
        vec![
            words_under(say!(words, "column-treatment")),
            words_under(say!(words, "column-crop")),
            figures_under(say!(words, "column-fields")),
            figures_under(say!(
                words,
                "column-mean-difference",
                unit = reader.units.yields()
            )),
            figures_under(say!(words, "column-interval")),
            figures_under(say!(words, "column-break-even")),
            figures_under(say!(words, "column-odds-mean")),
            figures_under(say!(words, "column-odds-further")),
        ],
        rows,
    )
}

/// Every field with results.
pub(super) fn fields(season: &Season, reader: Reader) -> Table {
    let words = reader.words;
    let mut rows = Vec::new();
    for season_field in &season.fields {
        let Some(results) = &season_field.results else {
            continue;
        };
        let field = Field {
            name: season_field.field.clone(),
            crop: results.crop.clone(),
            market_moisture_pct: results.market_moisture_pct,
            bushel_kg: results.bushel_kg,
        };
        let figures = Figures::new(&field, reader);
        for says in &results.treatments {
            let odds = says.odds_it_pays.filter(|_| says.blocks != 1);
            let likely = odds.and_then(|odds| figures.odds(odds));
            rows.push(vec![
                field.name.clone(),
                figures.crop(),
                says.treatment.clone(),
                figures.gain(says.advantage_kg_ha.unwrap_or(f64::NAN)),
                figures.yield_interval(says.interval_95_kg_ha.unwrap_or([f64::NAN; 2])),
                figures.count(says.blocks),
                likely.unwrap_or(UNKNOWN.to_owned()),
                figures.money_per_area(says.net_per_ac.unwrap_or(f64::NAN)),
                figures.count(results.warnings),
            ]);
        }
    }
    Table::new(
        say!(words, "season-table-fields"),
        vec![
            words_under(say!(words, "column-field")),
            words_under(say!(words, "column-crop")),
            words_under(say!(words, "column-treatment")),
            figures_under(say!(
                words,
                "column-difference",
                unit = reader.units.yields()
            )),
            figures_under(say!(words, "column-interval")),
            figures_under(say!(words, "column-blocks")),
            figures_under(say!(words, "column-odds")),
            figures_under(say!(words, "column-net-per", unit = reader.units.areas())),
            figures_under(say!(words, "column-warnings")),
        ],
        rows,
    )
}

/// Fields without results, each with the reason.
pub(super) fn without(season: &Season, words: &Words) -> Table {
    let rows = season.fields.iter().filter(|field| field.results.is_none());
    let rows = rows.map(|field| {
        let reason = match &field.reason {
            Some(reason) => reason.replace('\n', " "),
            None => say!(words, "season-not-done"),
        };
        vec![field.field.clone(), field.folder.clone(), reason]
    });
    Table::new(
        say!(words, "season-table-without"),
        vec![
            words_under(say!(words, "column-field")),
            words_under(say!(words, "column-folder")),
            words_under(say!(words, "column-why")),
        ],
        rows.collect(),
    )
}
