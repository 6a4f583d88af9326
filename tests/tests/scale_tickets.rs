//! Scale tickets over invented logs: loads are parts of the log, and tickets what they truly weighed. Laws, a fit
//! held against numpy, tickets that are wrong, and logs whose loads are told by time.

use checkstrip_acceptance::{SmallFarm, Table, oracle, python, warning};
use checkstrip_cleaning::{BesideTheRecords, CleaningOutcome, Recipe, clean};
use checkstrip_invented::{Combine, FieldPlan, InventedField};
use checkstrip_model::results::TicketCalibration;
use checkstrip_model::{Column, Crop, FieldLog, Labels, ScaleTicket, ScaleTickets};
use serde_json::{Value, json};
use std::fmt::Write as _;

fn soybean() -> Crop {
    Crop::known("soybean").expect("soybean is known")
}

/// An invented log of two combines that read 5 % too much and 4 % too little, taking every second pass, with a
/// load column: a load ends every `records` records of the log, whoever fills it, and is named by number.
fn log(seed: u64, records: usize) -> FieldLog {
    let plan = FieldPlan {
        seed,
        passes: 14,
        pass_length_m: 200.0,
        blocks: 1,
        combines: vec![Combine::new("one", 1.05), Combine::new("two", 0.96)],
        ..FieldPlan::default()
    };
    let mut log = InventedField::new(plan)
        .expect("a plan that works")
        .harvest()
        .log;
    let mut loads = Labels::default();
    for record in 0..log.len() {
        loads.push(&(1 + record / records).to_string());
    }
    log.set_labels(Column::Load, loads);
    log
}

/// Wet grain that each load of each machine truly held, kg: the flow without its bias.
fn truth(log: &FieldLog) -> Vec<[f64; 2]> {
    let flow = log.numbers(Column::MassFlow).expect("flows");
    let (loads, machines) = (
        log.labels(Column::Load).expect("loads"),
        log.labels(Column::Machine).expect("machines"),
    );
    let reads = |machine: &str| if machine == "one" { 1.05 } else { 0.96 };
    let mut held = vec![[0.0; 2]; loads.names.len()];
    for record in 0..log.len() {
        let machine = machines.index[record] as usize;
        held[loads.index[record] as usize][machine] +=
            flow[record] / reads(&machines.names[machine]);
    }
    held
}

fn tickets(log: &FieldLog, skip: impl Fn(usize) -> bool, moisture: Option<f64>) -> ScaleTickets {
    let names = &log.labels(Column::Load).expect("loads").names;
    let held = truth(log);
    ScaleTickets {
        path: "tickets.csv".into(),
        tickets: (0..names.len())
            .filter(|&load| !skip(load))
            .map(|load| ScaleTicket {
                row: load as u32 + 2,
                load: Some(names[load].clone()),
                // The scale errs by up to half a percent.
                mass_kg: held[load].iter().sum::<f64>() * (1.0 + 0.005 * (load as f64).sin()),
                moisture_pct: moisture,
                ..ScaleTicket::default()
            })
            .collect(),
        ..ScaleTickets::default()
    }
}

fn cleaned(log: FieldLog, tickets: &ScaleTickets) -> CleaningOutcome {
    let beside = BesideTheRecords {
        tickets: Some(tickets),
        ground_class: None,
    };
    clean(log, &soybean(), None, &Recipe::default(), beside).expect("tickets that fit")
}

fn calibration(outcome: &CleaningOutcome) -> &TicketCalibration {
    outcome.scale_tickets.as_ref().expect("a calibration")
}

/// Grain of a load after the factors, kg: wet, or at market moisture.
fn grain_of(outcome: &CleaningOutcome, load: &str, at_market: bool) -> f64 {
    let log = &outcome.log.log;
    let (flow, moisture) = (
        log.numbers(Column::MassFlow).expect("flows"),
        log.numbers(Column::Moisture).expect("moistures"),
    );
    let loads = log.labels(Column::Load).expect("loads");
    let factor = outcome.flow_factor.as_ref().expect("factors");
    let crop = soybean();
    let believed =
        |at: usize| (crop.lowest_moisture_pct..=crop.highest_moisture_pct).contains(&moisture[at]);
    let of_load: Vec<usize> = (0..log.len())
        .filter(|&at| loads.name(at) == load && outcome.log.status[at].key() != "time")
        .collect();
    let (kg, times) = of_load
        .iter()
        .filter(|&&at| believed(at))
        .fold((0.0, 0.0), |(kg, times), &at| {
            (kg + flow[at], times + flow[at] * moisture[at])
        });
    of_load
        .iter()
        .map(|&at| {
            let moisture = if believed(at) {
                moisture[at]
            } else {
                times / kg
            };
            let wet = flow[at] * factor[at];
            if at_market {
                crop.at_market_moisture(wet, moisture)
            } else {
                wet
            }
        })
        .sum()
}

/// Law: every weighed load holds what its ticket says.
#[test]
fn weighed_loads_hold_what_their_tickets_say() {
    for (seed, moisture) in [(1, None), (2, Some(12.0)), (3, None)] {
        let log = log(seed, 300);
        let tickets = tickets(&log, |load| load % 4 == 3, moisture);
        let outcome = cleaned(log, &tickets);
        let found = calibration(&outcome);
        assert!(found.loads.iter().all(|load| load.used));
        assert!(!found.loads_without_ticket.is_empty());
        for ticket in &tickets.tickets {
            let weighed = match moisture {
                Some(moisture) => soybean().at_market_moisture(ticket.mass_kg, moisture),
                None => ticket.mass_kg,
            };
            let load = ticket.load.as_deref().expect("a load");
            let held = grain_of(&outcome, load, moisture.is_some());
            assert!(
                (held / weighed - 1.0).abs() < 1e-9,
                "load {load}: {held} of {weighed}"
            );
        }
    }
}

#[test]
fn machines_get_what_they_read_and_unweighed_loads_too() {
    let log = log(4, 250);
    let outcome = cleaned(
        log.clone(),
        &tickets(&log, |load| load == 3 || load == 4, None),
    );
    let found = calibration(&outcome);
    assert!(found.machines_told_apart);
    assert_eq!(found.loads_without_ticket, ["4", "5"]);
    for (machine, reads) in found.machines.iter().zip([1.05, 0.96]) {
        assert_eq!(machine.from, "tickets");
        assert!((machine.factor * reads - 1.0).abs() < 0.02, "{machine:?}");
        let [low, high] = machine.interval_95.expect("more loads than machines");
        assert!(low < machine.factor && machine.factor < high);
    }
    for load in &found.loads {
        assert!(load.residual.expect("used").abs() < 0.02, "{load:?}");
    }
    // The grain of a load without a ticket has its machines' factors, and nothing else.
    let factor = outcome.flow_factor.as_ref().expect("factors");
    for record in 0..log.len() {
        if log.labels(Column::Load).expect("loads").name(record) == "4" {
            let machine = outcome.machine[record] as usize;
            assert_eq!(factor[record], found.machines[machine].factor);
        }
    }
    assert!(
        outcome
            .warnings
            .iter()
            .any(|w| w.code == "loads_without_ticket")
    );
}

/// Law: calibrated twice is calibrated once.
#[test]
fn calibrated_twice_is_once() {
    let mut log = log(5, 250);
    let tickets = tickets(&log, |load| load == 2, None);
    let once = cleaned(log.clone(), &tickets);
    let factor = once.flow_factor.as_ref().expect("factors");
    let flow = log.numbers(Column::MassFlow).expect("flows");
    let put_right = flow.iter().zip(factor).map(|(flow, factor)| flow * factor);
    log.set_numbers(Column::MassFlow, put_right.collect());
    let twice = cleaned(log, &tickets);
    for machine in &calibration(&twice).machines {
        assert!((machine.factor - 1.0).abs() < 1e-9, "{machine:?}");
    }
    for factor in twice.flow_factor.iter().flatten() {
        assert!((factor - 1.0).abs() < 1e-9, "{factor}");
    }
}

#[test]
fn neighbouring_swaths_carry_the_level_to_a_machine_without_tickets() {
    // Tickets of machine one alone, for its part of each load.
    let log = log(6, 250);
    let held = truth(&log);
    let mut of_one = tickets(&log, |_| false, None);
    for (ticket, held) in of_one.tickets.iter_mut().zip(held) {
        ticket.machine = Some("ONE".into());
        ticket.mass_kg = held[0];
    }
    of_one.tickets.retain(|ticket| ticket.mass_kg > 0.0);
    let outcome = cleaned(log, &of_one);
    let found = calibration(&outcome);
    let from: Vec<&str> = found.machines.iter().map(|m| m.from.as_str()).collect();
    assert_eq!(from, ["tickets", "neighbouring_swaths"]);
    // Records without a usable time hold some grain of the truth and none of the load.
    let of_one = found.machines[0].factor * 1.05;
    assert!((of_one - 1.0).abs() < 0.005, "{of_one}");
    assert!(
        (found.machines[1].factor * 0.96 - 1.0).abs() < 0.03,
        "{:?}",
        found.machines
    );
    assert!(
        outcome
            .warnings
            .iter()
            .any(|w| w.code == "machine_without_tickets")
    );
}

/// The factors of loads that two machines filled, against `numpy.linalg.lstsq` with the same weights.
#[test]
fn factors_are_those_of_numpy() {
    let Some(python) = python() else { return };
    let log = log(8, 220);
    let outcome = cleaned(log.clone(), &tickets(&log, |_| false, None));
    let found = calibration(&outcome);
    // What each load holds by machine, added up here once more.
    let flow = log.numbers(Column::MassFlow).expect("flows");
    let loads = log.labels(Column::Load).expect("loads");
    let mut logged = vec![[0.0; 2]; loads.names.len()];
    for record in 0..log.len() {
        if outcome.log.status[record].key() != "time" {
            logged[loads.index[record] as usize][outcome.machine[record] as usize] += flow[record];
        }
    }
    let weighed: Vec<f64> = found
        .loads
        .iter()
        .map(|l| l.weighed_kg.expect("a mass"))
        .collect();
    let asked = json!({ "logged": logged, "weighed": weighed }).to_string();
    let theirs = oracle(&python, "scale_tickets.py", [asked]);
    for (machine, ours) in found.machines.iter().enumerate() {
        let number = |key: &str| theirs[key][machine].as_f64().expect("a number");
        assert!(
            (ours.factor / number("factors") - 1.0).abs() < 1e-9,
            "{theirs}"
        );
        let error = ours.std_error.expect("a standard error");
        assert!(
            (error / number("std_errors") - 1.0).abs() < 1e-6,
            "{theirs}"
        );
    }
}

/// The small farm with a load column, and tickets that weigh 3 % more than is logged.
fn farm() -> (SmallFarm, Vec<f64>) {
    let mut farm = SmallFarm::new();
    let flow = farm.log.numbers("mass_flow_kg_s");
    let mut logged = Vec::new();
    farm.log.headers.push("load".into());
    for (record, row) in farm.log.rows.iter_mut().enumerate() {
        let load = record / 1500;
        row.push(format!("L{}", load + 1));
        logged.resize(load + 1, 0.0);
        logged[load] += flow[record];
    }
    farm.write();
    (farm, logged)
}

fn ticket_table(logged: &[f64], factor: f64) -> String {
    let mut text = String::from("load,mass_kg\n");
    for (load, kg) in logged.iter().enumerate() {
        writeln!(text, "L{},{:.1}", load + 1, kg * factor).expect("a text");
    }
    text
}

/// Names `tickets.csv` in the trial file.
fn with_tickets(farm: &SmallFarm, tickets: &str) {
    let trial = farm.folder.text("trial.toml");
    let named = trial.replace(
        "logs = \"log.csv\"",
        "logs = \"log.csv\"\ntickets = \"tickets.csv\"",
    );
    farm.folder.put("trial.toml", named);
    farm.folder.put("tickets.csv", tickets);
}

#[test]
fn tickets_move_yields_and_stand_in_the_results() {
    let (farm, logged) = farm();
    let before = farm.results();
    with_tickets(&farm, &ticket_table(&logged, 1.03));
    let after = farm.results();
    let of = |results: &Value| {
        results["strips"][0]["yield_kg_ha"]
            .as_f64()
            .expect("a yield")
    };
    // Records without a usable time hold some grain of the tickets and none of the load.
    let ratio = of(&after) / of(&before);
    assert!((ratio - 1.03).abs() < 5e-3, "{ratio}");
    let found = &after["cleaning"]["scale_tickets"];
    assert_eq!(
        found["path"].as_str().map(|p| p.ends_with("tickets.csv")),
        Some(true)
    );
    assert_eq!(found["sha256"].as_str().map(str::len), Some(64));
    assert_eq!(found["found_by"], "load");
    assert!(after["cleaning"]["machine_bias"].is_null());
    assert_eq!(
        after["input"]["wet_mass_kg"],
        before["input"]["wet_mass_kg"]
    );
    assert!(
        farm.folder
            .text("out/report.html")
            .contains("Machines and loads")
    );
    // The command line gives the same.
    let folder = &farm.folder;
    let run = folder.run([
        "clean",
        "log.csv",
        "--crop",
        "soybean",
        "--tickets",
        "tickets.csv",
        "--out",
        "cleaned",
    ]);
    let _ = run.ended(0);
    let cleaned = folder.json("cleaned/cleaning.json");
    assert_eq!(
        cleaned["cleaning"]["scale_tickets"]["loads"],
        found["loads"]
    );
}

#[test]
fn loads_are_found_by_time_where_the_log_has_none() {
    let (farm, logged) = farm();
    let mut log: Table = farm.log.clone();
    let times = log.numbers("timestamp_s");
    log.drop_column("load");
    farm.folder.put("log.csv", log.csv());
    let mut text = String::from("start;end;mass_kg\n");
    for (load, kg) in logged.iter().enumerate() {
        let last = times.len().min((load + 1) * 1500) - 1;
        let start = times[load * 1500] - 0.5;
        writeln!(text, "{start};{};{:.1}", times[last], kg * 1.03).expect("a text");
    }
    with_tickets(&farm, &text);
    let found = farm.results()["cleaning"]["scale_tickets"].clone();
    assert_eq!(found["found_by"], "time");
    let loads = found["loads"].as_array().expect("loads");
    assert!(loads.iter().all(|load| load["used"] == true), "{loads:#?}");
    let factor = found["machines"][0]["factor"].as_f64().expect("a factor");
    assert!((factor - 1.03).abs() < 2e-3, "{factor}");
}

/// What is said of tickets that cannot be used.
#[track_caller]
fn refusal(tickets: &str) -> String {
    let (farm, _) = farm();
    with_tickets(&farm, tickets);
    farm.refusal(farm.compare())
}

#[test]
fn files_of_tickets_that_cannot_be_used() {
    insta::assert_snapshot!(refusal("load,grain\nL1,5\n"));
    insta::assert_snapshot!(refusal("load,mass\nL1,5\n"));
    insta::assert_snapshot!(refusal("truck,mass_kg\nred,5\n"));
    insta::assert_snapshot!(refusal("load,mass_kg\nL1,heavy\n"));
    insta::assert_snapshot!(refusal("load,mass_kg\n17,9000\n18,0\n"));
    insta::assert_snapshot!(refusal(""));
}

#[test]
fn a_log_without_loads_is_not_guessed_at() {
    let (farm, logged) = farm();
    let mut log = farm.log.clone();
    log.drop_column("load");
    farm.folder.put("log.csv", log.csv());
    with_tickets(&farm, &ticket_table(&logged, 1.0));
    insta::assert_snapshot!(farm.refusal(farm.compare()));
}

#[test]
fn single_wrong_tickets_are_told_and_left_out() {
    let (farm, logged) = farm();
    let [first, second, third] = [logged[0], logged[1], logged[2]].map(f64::round);
    let text = format!(
        "load,mass_kg\nL1,{first}\nl1 ,{first}\nL2,{second}\nL2,{}\nL3,{}\nL77,9000\nL4,\n",
        second + 90.0,
        3.0 * third
    );
    with_tickets(&farm, &text);
    let results = farm.results();
    let said = warning(&results, "tickets_not_used");
    insta::assert_snapshot!(farm.folder.redacted(&said));
}
