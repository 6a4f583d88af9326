//! How often healthy invented planters are accused and planted faults found: calibrate [FIELDS] [INTERVAL_S].
//!
//! Plants FIELDS (default 100) healthy fields of 16 to 24 rows and FIELDS of each kind of fault, judges
//! them, and prints every false call, the share found, and the time taken.

#![allow(clippy::print_stdout, clippy::expect_used)]

use std::time::Instant;

use checkstrip_invented::{PlanterFault, PlanterPlan, invented_planting};
use checkstrip_planting::{
    AdviceCode, KnownRhythm, PlantingFindings, PlantingLog, PlantingRecords, PlantingSettings,
    analyse,
};

fn main() {
    let mut arguments = std::env::args().skip(1);
    let fields: u64 = arguments.next().and_then(|a| a.parse().ok()).unwrap_or(100);
    let interval_s: f64 = arguments.next().and_then(|a| a.parse().ok()).unwrap_or(0.2);
    let plan = |seed: u64, faults: Vec<PlanterFault>| PlanterPlan {
        seed,
        rows: 16 + (seed % 9) as usize,
        interval_s,
        // Every third field is planted at a rate that swings.
        rate_swing: if seed.is_multiple_of(3) { 0.15 } else { 0.0 },
        // Every fifth monitor averages its readings over a second.
        average_s: if seed.is_multiple_of(5) { 1.0 } else { 0.0 },
        faults,
        ..PlanterPlan::default()
    };
    let row = |seed: u64| 1 + (seed * 7 % 16) as usize;

    let started = Instant::now();
    let (mut false_fields, mut false_calls) = (0, 0);
    for seed in 0..fields {
        let calls = faults_called(&judge(&plan(10_000 + seed, vec![])));
        false_fields += u64::from(!calls.is_empty());
        false_calls += calls.len();
        if !calls.is_empty() {
            println!("healthy field {seed}: {calls:?}");
        }
    }
    println!("healthy: {false_calls} false calls in {false_fields} of {fields} fields");

    type Planted = (&'static str, fn(usize) -> PlanterFault, AdviceCode);
    let kinds: [Planted; 9] = [
        (
            "blocked cell",
            |row| PlanterFault::BlockedCell {
                row,
                passes: [1, 14],
                share: 0.9,
            },
            AdviceCode::BlockedCell,
        ),
        (
            "blocked cell, passes 6 to 9",
            |row| PlanterFault::BlockedCell {
                row,
                passes: [6, 9],
                share: 0.9,
            },
            AdviceCode::BlockedCell,
        ),
        (
            "half-blocked cell",
            |row| PlanterFault::BlockedCell {
                row,
                passes: [1, 14],
                share: 0.4,
            },
            AdviceCode::BlockedCell,
        ),
        (
            "doubling cell",
            |row| PlanterFault::DoublingCell {
                row,
                passes: [1, 14],
                share: 0.8,
            },
            AdviceCode::DoublingCell,
        ),
        (
            "worn row",
            |row| PlanterFault::WornRow { row },
            AdviceCode::WornMeter,
        ),
        (
            "bouncing row",
            |row| PlanterFault::BouncingRow { row },
            AdviceCode::BouncingRow,
        ),
        (
            "low vacuum",
            |_| PlanterFault::LowVacuum,
            AdviceCode::MoreVacuum,
        ),
        (
            "high vacuum",
            |_| PlanterFault::HighVacuum,
            AdviceCode::LessVacuum,
        ),
        (
            "wheel",
            |row| PlanterFault::WheelRhythm { row, period_m: 9.1 },
            AdviceCode::NamedRhythm,
        ),
    ];
    for (name, fault, code) in kinds {
        let (mut found, mut elsewhere, mut dated) = (0, 0, 0);
        for seed in 0..fields {
            let row = row(seed);
            let findings = judge(&plan(20_000 + seed, vec![fault(row)]));
            let calls = faults_called(&findings);
            let right = |call: &(AdviceCode, Vec<usize>)| {
                call.0 == code && (call.1.is_empty() || call.1 == [row])
            };
            if calls.iter().any(right) {
                found += 1;
            } else {
                println!("{name}, field {seed}, row {row}: {calls:?}");
            }
            if let (PlanterFault::BlockedCell { passes, .. }, [repeating]) =
                (fault(row), &findings.repeating_faults[..])
                && let [episode] = &repeating.episodes[..]
                && [episode.began.pass, episode.ended.pass] == passes
            {
                dated += 1;
            }
            elsewhere += calls.iter().filter(|call| !right(call)).count();
        }
        println!("{name}: found in {found} of {fields} fields, {elsewhere} other calls");
        if dated > 0 {
            println!("{name}: first and last pass right in {dated}");
        }
    }
    let mut found = 0;
    for seed in 0..fields {
        let fault = PlanterFault::ImplementRhythm { period_m: 3.7 };
        let calls = faults_called(&judge(&plan(30_000 + seed, vec![fault])));
        if calls.len() == 1 && calls[0].0 == AdviceCode::ImplementRhythm {
            found += 1;
        } else {
            println!("implement rhythm, field {seed}: {calls:?}");
        }
    }
    println!("implement rhythm: found, and nothing else, in {found} of {fields} fields");
    println!("{:.1} s", started.elapsed().as_secs_f64());
}

fn judge(plan: &PlanterPlan) -> PlantingFindings {
    let log = invented_planting(plan).expect("a plan that can be");
    let settings = PlantingSettings {
        disc_cells: Some(plan.cells),
        known_rhythms: vec![KnownRhythm {
            name: "drive wheel".to_owned(),
            period_m: 9.1,
        }],
        ..PlantingSettings::default()
    };
    PlantingRecords::of(&PlantingLog::of(&log, None))
        .and_then(|records| analyse(&records, &settings))
        .expect("a log that can be judged")
}

/// What was called a fault: all advice but that on speed, which is a relation.
fn faults_called(findings: &PlantingFindings) -> Vec<(AdviceCode, Vec<usize>)> {
    findings
        .advice
        .iter()
        .filter(|advice| advice.code != AdviceCode::SlowDown)
        .map(|advice| (advice.code, advice.rows.clone()))
        .collect()
}
