//! The money section below its table: what would turn the answer, in sentences, and the odds at other
//! prices, costs and amounts.

use crate::figures::{Figures, number, odds};
use crate::tables::Table;
use checkstrip_model::results::{OddsGrid, Payoff, Results};
use serde::Serialize;

/// One treatment's part of the money section.
#[derive(Debug, Serialize)]
pub(crate) struct MoneyOf {
    treatment: String,
    sentences: Vec<String>,
    tables: Vec<Table>,
}

/// One part per treatment that has something to say beyond the table.
pub(crate) fn money_details(results: &Results, figures: Figures) -> Vec<MoneyOf> {
    results
        .payoff
        .iter()
        .map(|payoff| MoneyOf {
            treatment: payoff.treatment.clone(),
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

fn per_area(figures: Figures, per_ac: f64) -> String {
    let area = figures.area_word();
    let article = if area.starts_with('a') { "an" } else { "a" };
    format!("{} {article} {area}", figures.money_per_area(per_ac))
}

/// Where the net is zero.
fn even(payoff: &Payoff, figures: Figures) -> Option<String> {
    let turns = payoff.turning_points?;
    let worth = turns.even_cost_per_ac?;
    let cost = payoff.cost_per_ac;
    let odds = if payoff.odds_it_pays.is_finite() {
        "; there the odds are even"
    } else {
        ""
    };
    Some(match turns.even_price_per_bu {
        Some(price) if cost > 0.0 => format!(
            "With the difference found, it just pays for itself at {}, or at a cost of {}{odds}.",
            figures.price(price),
            per_area(figures, worth)
        ),
        Some(price) => format!(
            "It saves {} and loses grain: it just pays for itself at {}, and not above{odds}.",
            per_area(figures, -cost),
            figures.price(price)
        ),
        None if cost > 0.0 && worth < 0.0 => format!(
            "With the difference found, no price makes it pay: it would have to save {}.",
            per_area(figures, -worth)
        ),
        None if cost > 0.0 => "With no difference in yield, no price makes it pay.".to_owned(),
        None => {
            "It costs no more than the check and, with the difference found, loses no grain: it \
                 pays at any price."
                .to_owned()
        }
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
        Some(price) => format!(
            "Even the lower end of the 95 % interval pays from {} on, or up to a cost of {}.",
            figures.price(price),
            per_area(figures, worth)
        ),
        None => "The lower end of the 95 % interval pays at no price.".to_owned(),
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
            odds(*grid.odds.get(own)?.get(place)?)?,
        ))
    };
    let (low, low_odds) = at(0)?;
    let (high, high_odds) = at(grid.prices_per_bu.len().checked_sub(1)?)?;
    Some(if low_odds == high_odds {
        format!("From {low} to {high} the odds that it paid stay {low_odds}.")
    } else {
        format!("At {low} the odds that it paid are {low_odds}, at {high} {high_odds}.")
    })
}

/// Odds in percent; near the ends no more is said than is known.
fn share(odds: f64) -> String {
    match odds {
        p if p > 0.99 => "> 99 %".to_owned(),
        p if p < 0.01 => "< 1 %".to_owned(),
        p => format!("{} %", number(p * 100.0, 0)),
    }
}

fn grid(payoff: &Payoff, figures: Figures) -> Option<Table> {
    let OddsGrid {
        prices_per_bu,
        costs_per_ac,
        odds,
    } = payoff.odds_grid.as_ref()?;
    let mut headings = vec![format!("Cost per {}", figures.area_unit())];
    headings.extend(
        prices_per_bu
            .iter()
            .map(|price| format!("#{}", figures.price(*price))),
    );
    let headings: Vec<&str> = headings.iter().map(String::as_str).collect();
    let rows = costs_per_ac
        .iter()
        .zip(odds)
        .map(|(cost, odds)| {
            let own = if *cost == payoff.cost_per_ac {
                " (as given)"
            } else {
                ""
            };
            let mut row = vec![format!("{}{own}", figures.money_per_area(*cost))];
            row.extend(odds.iter().map(|p| share(*p)));
            row
        })
        .collect();
    Some(Table::new(
        &format!("Odds that {} paid, by cost and price", payoff.treatment),
        &headings,
        rows,
    ))
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
                share(at_least.odds),
            ]
        })
        .collect();
    Some(Table::new(
        &format!("Odds that {} left at least so much", payoff.treatment),
        &[
            &format!("Left per {}", figures.area_unit()),
            "#Gain it takes",
            "#Odds",
        ],
        rows,
    ))
}
