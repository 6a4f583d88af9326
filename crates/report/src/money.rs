//! The money section below its table: what would turn the answer, in sentences, and the odds at other
//! prices, costs and amounts.

use crate::figures::Figures;
use crate::tables::{Table, figures_under, words_under};
use checkstrip_model::results::{OddsGrid, Payoff, Results};
use checkstrip_words::say;
use serde::Serialize;

/// One treatment's part of the money section.
#[derive(Debug, Serialize)]
pub(crate) struct MoneyOf {
    heading: String,
    sentences: Vec<String>,
    tables: Vec<Table>,
}

/// One part per treatment that has something to say beyond the table.
pub(crate) fn money_details(results: &Results, figures: Figures) -> Vec<MoneyOf> {
    results
        .payoff
        .iter()
        .map(|payoff| MoneyOf {
            heading: say!(
                figures.words,
                "money-turn-heading",
                treatment = &payoff.treatment
            ),
            sentences: [
                even(payoff, figures),
                sure(payoff, figures),
                prices(payoff, figures),
            ]
            .into_iter()
            .flatten()
            .collect(),
            tables: [grid(payoff, figures), amounts(payoff, figures)]
                .into_iter()
                .flatten()
                .collect(),
        })
        .filter(|part| !part.sentences.is_empty() || !part.tables.is_empty())
        .collect()
}

/// Where the net is zero.
fn even(payoff: &Payoff, figures: Figures) -> Option<String> {
    let turns = payoff.turning_points?;
    let worth = turns.even_cost_per_ac?;
    let cost = payoff.cost_per_ac;
    let with_odds = payoff.odds_it_pays.is_finite();
    let words = figures.words;
    Some(match turns.even_price_per_bu {
        Some(price) if cost > 0.0 => say!(
            words,
            if with_odds {
                "money-even-odds"
            } else {
                "money-even"
            },
            price = figures.price(price),
            cost = figures.money_an_area(worth)
        ),
        Some(price) => say!(
            words,
            if with_odds {
                "money-even-saving-odds"
            } else {
                "money-even-saving"
            },
            saving = figures.money_an_area(-cost),
            price = figures.price(price)
        ),
        None if cost > 0.0 && worth < 0.0 => say!(
            words,
            "money-no-price",
            saving = figures.money_an_area(-worth)
        ),
        None if cost > 0.0 => say!(words, "money-no-difference"),
        None => say!(words, "money-any-price"),
    })
}

/// Where the lower end of the interval pays.
fn sure(payoff: &Payoff, figures: Figures) -> Option<String> {
    let turns = payoff.turning_points?;
    let worth = turns.sure_cost_per_ac?;
    if payoff.cost_per_ac <= 0.0 {
        return None;
    }
    Some(match turns.sure_price_per_bu {
        Some(price) => say!(
            figures.words,
            "money-sure",
            price = figures.price(price),
            cost = figures.money_an_area(worth)
        ),
        None => say!(figures.words, "money-never-sure"),
    })
}

/// What another price would do to the odds.
fn prices(payoff: &Payoff, figures: Figures) -> Option<String> {
    let grid = payoff.odds_grid.as_ref()?;
    let own = grid
        .costs_per_ac
        .iter()
        .position(|cost| *cost == payoff.cost_per_ac)?;
    let at = |place: usize| {
        Some((
            figures.price(*grid.prices_per_bu.get(place)?),
            figures.odds(*grid.odds.get(own)?.get(place)?)?,
        ))
    };
    let (low, low_odds) = at(0)?;
    let (high, high_odds) = at(grid.prices_per_bu.len().checked_sub(1)?)?;
    let words = figures.words;
    Some(if low_odds == high_odds {
        say!(
            words,
            "money-prices-same",
            low = low,
            high = high,
            odds = low_odds
        )
    } else {
        say!(
            words,
            "money-prices",
            low = low,
            low_odds = low_odds,
            high = high,
            high_odds = high_odds
        )
    })
}

/// Odds in percent; near the ends no more is said than is known.
fn share(odds: f64, figures: Figures) -> String {
    let words = figures.words;
    match odds {
        p if p > 0.99 => say!(words, "percent-large", share = figures.number(99.0, 0)),
        p if p < 0.01 => say!(words, "percent-small", share = figures.number(1.0, 0)),
        p => figures.percentage(p * 100.0, 0),
    }
}

fn grid(payoff: &Payoff, figures: Figures) -> Option<Table> {
    let OddsGrid {
        prices_per_bu,
        costs_per_ac,
        odds,
    } = payoff.odds_grid.as_ref()?;
    let words = figures.words;
    let mut headings = vec![words_under(say!(
        words,
        "column-cost-per",
        unit = figures.area_unit()
    ))];
    let prices = prices_per_bu.iter();
    headings.extend(prices.map(|price| figures_under(figures.price(*price))));
    let rows = costs_per_ac
        .iter()
        .zip(odds)
        .map(|(cost, odds)| {
            let shown = figures.money_per_area(*cost);
            let shown = if *cost == payoff.cost_per_ac {
                say!(words, "money-grid-own", cost = shown)
            } else {
                shown
            };
            let mut row = vec![shown];
            row.extend(odds.iter().map(|p| share(*p, figures)));
            row
        })
        .collect();
    let caption = say!(words, "money-grid", treatment = &payoff.treatment);
    Some(Table::new(caption, headings, rows))
}

fn amounts(payoff: &Payoff, figures: Figures) -> Option<Table> {
    if payoff.odds_at_least.is_empty() {
        return None;
    }
    let rows = payoff
        .odds_at_least
        .iter()
        .map(|at_least| {
            vec![
                figures.money_per_area(at_least.net_per_ac),
                figures.break_even(at_least.gain_bu_ac),
                share(at_least.odds, figures),
            ]
        })
        .collect();
    let words = figures.words;
    Some(Table::new(
        say!(words, "money-amounts", treatment = &payoff.treatment),
        vec![
            words_under(say!(
                words,
                "money-amounts-left",
                unit = figures.area_unit()
            )),
            figures_under(say!(words, "money-amounts-gain")),
            figures_under(say!(words, "money-amounts-odds")),
        ],
        rows,
    ))
}
