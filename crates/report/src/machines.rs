//! The section on several machines and scale tickets: how the machines read beside each other, what loads weighed
//! against what the log holds. Absent for one machine without tickets.

use crate::figures::{Figures, UNKNOWN};
use crate::tables::{Table, figures_under, words_under};
use checkstrip_model::results::{MachineBias, Results, TicketCalibration};
use checkstrip_model::units::UnitSystem;
use checkstrip_words::say;
use serde::Serialize;

/// The section, ready for the template.
#[derive(Debug, Serialize)]
pub(crate) struct MachinesSection {
    sentences: Vec<String>,
    tables: Vec<Table>,
}

/// The section; `None` for one machine without tickets.
pub(crate) fn machines_section(results: &Results, figures: Figures) -> Option<MachinesSection> {
    let cleaning = &results.cleaning;
    let (bias, tickets) = (&cleaning.machine_bias, &cleaning.scale_tickets);
    if bias.is_none() && tickets.is_none() {
        return None;
    }
    let mut section = MachinesSection {
        sentences: Vec::new(),
        tables: Vec::new(),
    };
    if let Some(bias) = bias {
        section.sentences.extend(sentences(bias, figures));
        section.tables.push(beside(bias, figures));
        if !bias.treatments.is_empty() {
            section.tables.push(shares(bias, figures));
        }
    }
    if let Some(tickets) = tickets {
        section.sentences.push(said_of_tickets(tickets, figures));
        section.tables.push(ticket_machines(tickets, figures));
        section.tables.push(loads(tickets, figures));
    }
    Some(section)
}

/// Grain in bushels or tonnes, without its unit.
fn grain(kg: f64, figures: Figures) -> String {
    match figures.units {
        UnitSystem::Farm => figures.number(kg / figures.field.bushel_kg, 0),
        UnitSystem::Si => figures.number(kg / 1000.0, 2),
    }
}

fn grain_unit(figures: Figures) -> &'static str {
    match figures.units {
        UnitSystem::Farm => "bu",
        UnitSystem::Si => "t",
    }
}

/// A factor that grain is multiplied by.
fn factor(value: Option<f64>, figures: Figures) -> String {
    value.map_or(UNKNOWN.to_owned(), |factor| figures.number(factor, 3))
}

/// The interval of a factor.
fn factor_interval(ends: Option<[f64; 2]>, figures: Figures) -> String {
    ends.map_or(UNKNOWN.to_owned(), |ends| {
        figures.interval(ends, |factor| figures.number(factor, 3))
    })
}

fn sentences(bias: &MachineBias, figures: Figures) -> Vec<String> {
    let words = figures.words;
    let why = words.carried("machine-why", &bias.why, &bias.why_values);
    let mut said = vec![match bias.treatments.is_empty() {
        true => say!(words, "machines-held", why = why),
        false => say!(words, "machines-held-alike", why = why),
    }];
    for group in &bias.groups {
        said.push(say!(
            words,
            "machines-group",
            machines = group.machines.join(", "),
            stretches = figures.counted("count-stretches", group.stretches),
            pairs = figures.counted("count-pass-pairs", group.pass_pairs),
            p = figures.p_value(group.p_value)
        ));
    }
    said
}

fn beside(bias: &MachineBias, figures: Figures) -> Table {
    let words = figures.words;
    let rows = bias.machines.iter().map(|machine| {
        vec![
            machine.machine.clone(),
            grain(machine.logged_kg, figures),
            factor(machine.neighbour_factor, figures),
            factor_interval(machine.interval_95, figures),
            figures.count(machine.stretches),
            factor(Some(machine.factor), figures),
        ]
    });
    Table::new(
        say!(words, "machines-table-beside"),
        vec![
            words_under(say!(words, "machines-column-machine")),
            figures_under(say!(
                words,
                "machines-column-logged",
                unit = grain_unit(figures)
            )),
            figures_under(say!(words, "machines-column-neighbour-factor")),
            figures_under(say!(words, "column-interval")),
            figures_under(say!(words, "machines-column-stretches")),
            figures_under(say!(words, "machines-column-factor-used")),
        ],
        rows.collect(),
    )
}

fn shares(bias: &MachineBias, figures: Figures) -> Table {
    let words = figures.words;
    let machines = bias.machines.iter();
    let names = machines.map(|machine| figures_under(machine.machine.clone()));
    let rows = bias.treatments.iter().map(|of| {
        std::iter::once(of.treatment.clone())
            .chain(of.shares.iter().map(|&share| figures.percent(share)))
            .collect::<Vec<String>>()
    });
    Table::new(
        say!(words, "machines-table-shares"),
        std::iter::once(words_under(say!(words, "machines-column-treatment")))
            .chain(names)
            .collect(),
        rows.collect(),
    )
}

fn said_of_tickets(tickets: &TicketCalibration, figures: Figures) -> String {
    let words = figures.words;
    let used = tickets.loads.iter().filter(|load| load.used).count();
    let mut said = vec![say!(
        words,
        "machines-tickets",
        used = figures.count(used),
        tickets = figures.counted("count-tickets", tickets.loads.len())
    )];
    if tickets.unweighed_kg > 0.0 {
        said.push(say!(
            words,
            "machines-unweighed",
            grain = grain(tickets.unweighed_kg, figures),
            unit = grain_unit(figures)
        ));
    }
    said.join(" ")
}

fn ticket_machines(tickets: &TicketCalibration, figures: Figures) -> Table {
    let words = figures.words;
    let rows = tickets.machines.iter().map(|machine| {
        let from = match machine.from.as_str() {
            "tickets" => say!(words, "machines-from-tickets"),
            "neighbouring_swaths" => say!(words, "machines-from-neighbours"),
            _ => say!(words, "machines-from-log"),
        };
        vec![
            machine.machine.clone(),
            factor(Some(machine.factor), figures),
            factor_interval(machine.interval_95, figures),
            figures.count(machine.loads),
            from,
        ]
    });
    Table::new(
        say!(words, "machines-table-tickets"),
        vec![
            words_under(say!(words, "machines-column-machine")),
            figures_under(say!(words, "machines-column-factor")),
            figures_under(say!(words, "column-interval")),
            figures_under(say!(words, "machines-column-loads")),
            words_under(say!(words, "machines-column-from")),
        ],
        rows.collect(),
    )
}

fn loads(tickets: &TicketCalibration, figures: Figures) -> Table {
    let (words, unit) = (figures.words, grain_unit(figures));
    let rows = tickets.loads.iter().map(|load| {
        let weighed = load.weighed_kg;
        vec![
            match load.load.as_str() {
                "" => say!(words, "machines-load-row", row = load.row.to_string()),
                name => name.to_owned(),
            },
            weighed.map_or(UNKNOWN.to_owned(), |kg| grain(kg, figures)),
            grain(load.logged_kg, figures),
            factor(load.factor, figures),
            load.residual.map_or(UNKNOWN.to_owned(), |residual| {
                figures.percentage(100.0 * residual, 1)
            }),
            match load.used {
                true => say!(words, "machines-load-used"),
                false => {
                    let why = words.carried("ticket-left", &load.why, &load.why_values);
                    say!(words, "machines-load-left", why = why)
                }
            },
        ]
    });
    Table::new(
        say!(words, "machines-table-loads"),
        vec![
            words_under(say!(words, "machines-column-load")),
            figures_under(say!(words, "machines-column-weighed", unit = unit)),
            figures_under(say!(words, "machines-column-logged", unit = unit)),
            figures_under(say!(words, "machines-column-factor")),
            figures_under(say!(words, "machines-column-residual")),
            words_under(say!(words, "machines-column-used")),
        ],
        rows.collect(),
    )
}
