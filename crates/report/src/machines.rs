//! The section on several machines and scale tickets: how the machines read beside each other, what loads weighed
//! against what the log holds. Absent for one machine without tickets.

use crate::figures::{Figures, UNKNOWN, count, counted, number, p_value, percent};
use crate::tables::Table;
use checkstrip_model::results::{MachineBias, Results, TicketCalibration};
use checkstrip_model::units::UnitSystem;
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
        section.sentences.extend(sentences(bias));
        section.tables.push(beside(bias, figures));
        if !bias.treatments.is_empty() {
            section.tables.push(shares(bias));
        }
    }
    if let Some(tickets) = tickets {
        section.sentences.push(said_of_tickets(tickets, figures));
        section.tables.push(ticket_machines(tickets));
        section.tables.push(loads(tickets, figures));
    }
    Some(section)
}

/// Grain in bushels or tonnes, without its unit.
fn grain(kg: f64, figures: Figures) -> String {
    match figures.units {
        UnitSystem::Farm => number(kg / figures.field.bushel_kg, 0),
        UnitSystem::Si => number(kg / 1000.0, 2),
    }
}

fn grain_unit(figures: Figures) -> &'static str {
    match figures.units {
        UnitSystem::Farm => "bu",
        UnitSystem::Si => "t",
    }
}

fn sentences(bias: &MachineBias) -> Vec<String> {
    let mut said = vec![format!(
        "Machines were held against each other where their swaths lie side by side{}: {}.",
        match bias.treatments.is_empty() {
            true => "",
            false => " and the same was done to the ground",
        },
        bias.why
    )];
    for group in &bias.groups {
        said.push(format!(
            "{}: {} of {}, p {}.",
            group.machines.join(", "),
            counted(group.stretches, "stretch", "stretches"),
            counted(group.pass_pairs, "pair of passes", "pairs of passes"),
            p_value(group.p_value)
        ));
    }
    said
}

fn beside(bias: &MachineBias, figures: Figures) -> Table {
    let factor = |value: Option<f64>| value.map_or(UNKNOWN.to_owned(), |v| number(v, 3));
    let rows = bias
        .machines
        .iter()
        .map(|machine| {
            let [low, high] = match machine.interval_95 {
                Some([low, high]) => [Some(low), Some(high)],
                None => [None, None],
            };
            vec![
                machine.machine.clone(),
                grain(machine.logged_kg, figures),
                factor(machine.neighbour_factor),
                format!("{} to {}", factor(low), factor(high)),
                count(machine.stretches),
                number(machine.factor, 3),
            ]
        })
        .collect();
    let logged = format!("#logged, {}", grain_unit(figures));
    Table::new(
        "Machines beside each other",
        &[
            "machine",
            &logged,
            "#factor by neighbouring swaths",
            "#95 % interval",
            "#stretches",
            "#factor used",
        ],
        rows,
    )
}

fn shares(bias: &MachineBias) -> Table {
    let names: Vec<String> = bias
        .machines
        .iter()
        .map(|machine| format!("#{}", machine.machine))
        .collect();
    let headings: Vec<&str> = std::iter::once("treatment")
        .chain(names.iter().map(String::as_str))
        .collect();
    let rows = bias
        .treatments
        .iter()
        .map(|of| {
            std::iter::once(of.treatment.clone())
                .chain(of.shares.iter().map(|&share| percent(share)))
                .collect()
        })
        .collect();
    Table::new(
        "Which machine cut how much of each treatment",
        &headings,
        rows,
    )
}

fn said_of_tickets(tickets: &TicketCalibration, figures: Figures) -> String {
    let used = tickets.loads.iter().filter(|load| load.used).count();
    let mut said = format!(
        "Scale tickets: {} of {} used; every weighed load was brought to its ticket.",
        count(used),
        counted(tickets.loads.len(), "ticket", "tickets")
    );
    if tickets.unweighed_kg > 0.0 {
        said.push_str(&format!(
            " {} {} of the log are in no weighed load and have their machine’s factor.",
            grain(tickets.unweighed_kg, figures),
            grain_unit(figures)
        ));
    }
    said
}

fn ticket_machines(tickets: &TicketCalibration) -> Table {
    let rows = tickets
        .machines
        .iter()
        .map(|machine| {
            let from = match machine.from.as_str() {
                "tickets" => "tickets",
                "neighbouring_swaths" => "neighbouring swaths",
                _ => "as logged",
            };
            vec![
                machine.machine.clone(),
                number(machine.factor, 3),
                machine
                    .interval_95
                    .map_or(UNKNOWN.to_owned(), |[low, high]| {
                        format!("{} to {}", number(low, 3), number(high, 3))
                    }),
                count(machine.loads),
                from.to_owned(),
            ]
        })
        .collect();
    Table::new(
        "Factors of the machines by scale tickets",
        &["machine", "#factor", "#95 % interval", "#loads", "from"],
        rows,
    )
}

fn loads(tickets: &TicketCalibration, figures: Figures) -> Table {
    let rows = tickets
        .loads
        .iter()
        .map(|load| {
            let kg = |kg: Option<f64>| kg.map_or(UNKNOWN.to_owned(), |kg| grain(kg, figures));
            vec![
                match load.load.as_str() {
                    "" => format!("row {}", load.row),
                    name => name.to_owned(),
                },
                kg(load.weighed_kg),
                kg(Some(load.logged_kg)),
                load.factor.map_or(UNKNOWN.to_owned(), |f| number(f, 3)),
                load.residual.map_or(UNKNOWN.to_owned(), |r| {
                    format!("{} %", number(100.0 * r, 1))
                }),
                match load.used {
                    true => "yes".to_owned(),
                    false => format!("no: {}", load.why),
                },
            ]
        })
        .collect();
    let unit = grain_unit(figures);
    Table::new(
        "Loads",
        &[
            "load",
            &format!("#weighed, {unit}"),
            &format!("#logged, {unit}"),
            "#factor",
            "#off its machines’ factors",
            "used",
        ],
        rows,
    )
}
