//! Invented planters with faults in known rows: what is planted is found where it was planted, and healthy
//! planters are left alone. A bounded number of fields; `cargo run --release -p checkstrip-planting
//! --example calibrate_planting -- 100` runs a hundred of each.

use checkstrip_invented::{PlanterFault, PlanterPlan, invented_planting};
use checkstrip_planting::{
    AdviceCode, Axis, KnownRhythm, Measure, PlantingFindings, PlantingLog, PlantingRecords,
    PlantingSettings, Reading, RecordsBeingRead, RhythmCause, Scratch, Signal, TurnsWith, analyse,
    lomb_scargle,
};

fn settings() -> PlantingSettings {
    PlantingSettings {
        disc_cells: Some(40),
        known_rhythms: vec![KnownRhythm {
            name: "drive wheel".to_owned(),
            period_m: 9.1,
        }],
        ..PlantingSettings::default()
    }
}

fn judge_with(plan: &PlanterPlan, settings: &PlantingSettings) -> PlantingFindings {
    let log = invented_planting(plan).expect("a plan that can be");
    judge_log(&PlantingLog::of(&log, None), settings)
}

fn judge_log(log: &PlantingLog, settings: &PlantingSettings) -> PlantingFindings {
    let records = PlantingRecords::of(log).expect("a log with rows");
    analyse(&records, settings).expect("a log that can be judged")
}

fn judge(plan: &PlanterPlan) -> PlantingFindings {
    judge_with(plan, &settings())
}

fn called(findings: &PlantingFindings) -> Vec<(AdviceCode, Vec<usize>)> {
    findings
        .advice
        .iter()
        .filter(|advice| advice.code != AdviceCode::SlowDown)
        .map(|advice| (advice.code, advice.rows.clone()))
        .collect()
}

fn plan(seed: u64, faults: Vec<PlanterFault>) -> PlanterPlan {
    PlanterPlan {
        seed,
        rows: 16 + (seed % 9) as usize,
        faults,
        ..PlanterPlan::default()
    }
}

#[test]
fn healthy_planters_are_left_alone() {
    for seed in 0..8 {
        let findings = judge(&plan(500 + seed, vec![]));
        assert_eq!(called(&findings), [], "field {seed}");
    }
}

#[test]
fn planted_faults_are_found_in_their_rows_and_nothing_else() {
    type Planted = (fn(usize) -> PlanterFault, AdviceCode, bool);
    let kinds: [Planted; 6] = [
        (
            |row| PlanterFault::BlockedCell {
                row,
                passes: [1, 14],
                share: 0.9,
            },
            AdviceCode::BlockedCell,
            true,
        ),
        (
            |row| PlanterFault::DoublingCell {
                row,
                passes: [3, 9],
                share: 0.8,
            },
            AdviceCode::DoublingCell,
            true,
        ),
        (
            |row| PlanterFault::WornRow { row },
            AdviceCode::WornMeter,
            true,
        ),
        (
            |row| PlanterFault::BouncingRow { row },
            AdviceCode::BouncingRow,
            true,
        ),
        (|_| PlanterFault::LowVacuum, AdviceCode::MoreVacuum, false),
        (|_| PlanterFault::HighVacuum, AdviceCode::LessVacuum, false),
    ];
    for (fault, code, of_row) in kinds {
        for seed in 0..3 {
            let row = 2 + 5 * seed as usize;
            let findings = judge(&plan(600 + seed, vec![fault(row)]));
            let expected = if of_row { vec![row] } else { vec![] };
            assert_eq!(called(&findings), [(code, expected)], "field {seed}");
            assert!(findings.advice.iter().all(|a| !a.measured.is_empty()));
            // A worn meter costs skips and multiples, a blocked cell one seed a turn: either is the worst row.
            if of_row && code != AdviceCode::DoublingCell {
                assert_eq!(findings.trouble[0].row, row);
            }
        }
    }
}

#[test]
fn a_blocked_cell_is_named_by_its_disc_and_dated() {
    let fault = PlanterFault::BlockedCell {
        row: 9,
        passes: [6, 9],
        share: 0.9,
    };
    let findings = judge(&plan(7, vec![fault]));
    let [fault] = &findings.repeating_faults[..] else {
        panic!("{:?}", findings.repeating_faults);
    };
    assert_eq!((&fault.rows[..], fault.signal), (&[9][..], Signal::Skips));
    // 40 cells × 10,000 m² / (79,000 × 0.762 m).
    let circumference = 40.0 * 10_000.0 / (79_000.0 * 0.762);
    let off = (fault.period_m - circumference).abs();
    assert!(off < 3.0 * fault.period_std_error_m + 0.01, "{fault:?}");
    assert!((fault.period_seeds.unwrap() - 40.0).abs() < 0.3);
    assert_eq!(
        fault.cause,
        RhythmCause::SeedDisc {
            cells: 40,
            places: 1
        }
    );
    assert!(fault.false_alarm < 1e-6);
    let [episode] = &fault.episodes[..] else {
        panic!("{:?}", fault.episodes);
    };
    assert!(!episode.from_start && !episode.to_end);
    assert_eq!((episode.began.pass, episode.ended.pass), (6, 9));
    assert!(fault.level_with_pct > fault.level_without_pct.unwrap() + 1.5);
}

/// A log that holds singulation alone still tells the row and the cell.
#[test]
fn singulation_alone_is_enough() {
    let judge_singulation = |fault| {
        let log = invented_planting(&plan(17, vec![fault])).unwrap();
        let mut columns = PlantingLog::of(&log, None);
        columns.readings[Reading::Skips as usize] = None;
        columns.readings[Reading::Multiples as usize] = None;
        judge_log(&columns, &settings())
    };
    let worn = judge_singulation(PlanterFault::WornRow { row: 8 });
    assert_eq!(called(&worn), [(AdviceCode::RowSingulation, vec![8])]);
    let blocked = judge_singulation(PlanterFault::BlockedCell {
        row: 8,
        passes: [1, 14],
        share: 0.9,
    });
    assert_eq!(called(&blocked), [(AdviceCode::BlockedCell, vec![8])]);
    let fault = &blocked.repeating_faults[0];
    assert_eq!(fault.signal, Signal::SingulationLoss);
    assert!(fault.level_with_pct > 3.0 && fault.level_with_pct < 6.0);
}

/// Soybeans: 345,000 seeds/ha lie 3.8 cm apart, so that a disc of 80 cells turns in 3 m.
#[test]
fn a_soybean_disc_turns_in_three_metres() {
    let soybeans = PlanterPlan {
        cells: 80,
        seeds_per_ha: 345_000.0,
        ..plan(
            13,
            vec![PlanterFault::BlockedCell {
                row: 11,
                passes: [1, 14],
                share: 0.9,
            }],
        )
    };
    let settings = PlantingSettings {
        disc_cells: Some(80),
        ..PlantingSettings::default()
    };
    let findings = judge_with(&soybeans, &settings);
    assert_eq!(called(&findings), [(AdviceCode::BlockedCell, vec![11])]);
    let fault = &findings.repeating_faults[0];
    assert!((fault.period_m - 3.043).abs() < 0.01, "{fault:?}");
}

/// A cell turns with the seeds and a wheel with the ground; where the seed rate swings, either is told even
/// without knowing its cells or its wheel.
#[test]
fn a_swinging_seed_rate_tells_cells_from_wheels() {
    let swinging = |fault| PlanterPlan {
        rate_swing: 0.15,
        ..plan(21, vec![fault])
    };
    let unknown = PlantingSettings::default();
    let cell = judge_with(
        &swinging(PlanterFault::BlockedCell {
            row: 4,
            passes: [1, 14],
            share: 0.9,
        }),
        &unknown,
    );
    let [fault] = &cell.repeating_faults[..] else {
        panic!("{:?}", cell.repeating_faults);
    };
    assert_eq!(
        (fault.axis, fault.turns_with),
        (Axis::Seeds, TurnsWith::Metering)
    );
    let RhythmCause::Metering {
        seeds,
        common_cells,
    } = &fault.cause
    else {
        panic!("{:?}", fault.cause);
    };
    assert!((seeds - 40.0).abs() < 0.4, "{seeds}");
    assert!(common_cells.contains(&40));

    let wheel = judge_with(
        &swinging(PlanterFault::WheelRhythm {
            row: 4,
            period_m: 9.1,
        }),
        &unknown,
    );
    let [fault] = &wheel.repeating_faults[..] else {
        panic!("{:?}", wheel.repeating_faults);
    };
    assert_eq!(
        (fault.axis, fault.turns_with),
        (Axis::Distance, TurnsWith::Ground)
    );
    assert!((fault.period_m - 9.1).abs() < 0.05);
    assert!(matches!(fault.cause, RhythmCause::Unnamed { .. }));
}

#[test]
fn a_rhythm_of_all_rows_is_the_implements() {
    let findings = judge(&plan(
        31,
        vec![PlanterFault::ImplementRhythm { period_m: 3.7 }],
    ));
    let [fault] = &findings.repeating_faults[..] else {
        panic!("{:?}", findings.repeating_faults);
    };
    assert_eq!(fault.cause, RhythmCause::Implement);
    assert_eq!(fault.rows.len(), findings.rows);
    assert!((fault.period_m - 3.7).abs() < 0.02);
}

/// At one record a second a record is 2.4 m long and the disc's 6.6 m are still seen; at one in three
/// seconds they are not, and the search says from which period on it sees.
#[test]
fn coarse_logs_say_what_they_cannot_see() {
    let fault = PlanterFault::BlockedCell {
        row: 3,
        passes: [1, 14],
        share: 0.9,
    };
    let at = |interval_s| {
        judge(&PlanterPlan {
            interval_s,
            ..plan(41, vec![fault.clone()])
        })
    };
    let each_second = at(1.0);
    assert_eq!(called(&each_second), [(AdviceCode::BlockedCell, vec![3])]);
    let coarse = at(3.0);
    assert!(coarse.repeating_faults.is_empty());
    assert!(coarse.rhythm_search.unwrap().shortest_period_m > 10.0);
    // The row as such is still in most trouble.
    assert_eq!(coarse.trouble[0].row, 3);
}

/// Monitors that average their readings make noise that rises towards long periods: no rhythm.
#[test]
fn averaged_readings_are_no_rhythm_and_hide_none() {
    for seed in 0..4 {
        let averaged = |faults| PlanterPlan {
            average_s: 1.0,
            rate_swing: if seed % 2 == 0 { 0.0 } else { 0.15 },
            ..plan(800 + seed, faults)
        };
        assert_eq!(called(&judge(&averaged(vec![]))), [], "field {seed}");
        let fault = PlanterFault::BlockedCell {
            row: 7,
            passes: [3, 9],
            share: 0.9,
        };
        let found = called(&judge(&averaged(vec![fault])));
        assert_eq!(found, [(AdviceCode::BlockedCell, vec![7])], "field {seed}");
    }
}

/// The relation planted: 5 percentage points of spacing variation for each m/s.
#[test]
fn the_gain_from_slowing_down_is_that_planted() {
    let mut held = 0;
    for seed in 0..12 {
        let findings = judge(&PlanterPlan {
            speed_spread_m_s: 0.3,
            interval_s: 1.0,
            ..plan(700 + seed, vec![])
        });
        let effect = findings
            .speed
            .effects
            .iter()
            .find(|effect| effect.measure == Measure::SpacingVariation)
            .unwrap();
        let [low, high] = effect.interval_95_per_m_s;
        held += usize::from((low..=high).contains(&5.0));
        assert!((effect.slope_per_m_s - 5.0).abs() < 1.5, "{effect:?}");
    }
    // Ten or more of twelve happen with probability 0.98 when each interval holds with 0.95.
    assert!(held >= 10, "{held} of 12 intervals hold the slope");
    let even = judge(&PlanterPlan {
        speed_spread_m_s: 0.0,
        ..plan(720, vec![])
    });
    assert!(even.speed.effects.iter().all(|e| e.speed_spread_m_s > 0.09));
}

/// A number from 0 to 1 that follows from two others without any rhythm: splitmix64.
fn scattered(a: u32, b: u32) -> f64 {
    let mut z = (u64::from(a) << 32 | u64::from(b)).wrapping_mul(0x9e37_79b9_7f4a_7c15);
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
}

/// A log of single seeds: spacings give the indices, and skips at every fortieth seed are a blocked cell.
#[test]
fn single_seeds_are_judged_by_their_spacings() {
    let (mut row, mut time, mut spacing, mut way) = (vec![], vec![], vec![], vec![]);
    let (nominal, speed) = (0.166, 2.0);
    let mut seeds: Vec<(f64, f64, f64)> = Vec::new();
    let mut missed = [0; 4];
    for r in 1..=4u32 {
        let (mut at, mut last) = (0.01 * f64::from(r), 0.0);
        for seed in 0..4_000u32 {
            at += nominal;
            let (noise, chance) = (scattered(2 * seed, r) - 0.5, scattered(2 * seed + 1, r));
            let blocked = r == 2 && seed % 40 == 7;
            if blocked || chance < 0.008 {
                missed[r as usize - 1] += 1;
                continue;
            }
            let place = at + 0.1 * nominal * noise;
            seeds.push((place, f64::from(r), place - last));
            last = place;
        }
    }
    seeds.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut before = 0.0;
    for (place, r, gap) in seeds {
        row.push(r);
        time.push(place / speed);
        spacing.push(gap);
        way.push(place - before);
        before = place;
    }
    let mut log = PlantingLog {
        row: &row,
        time_s: &time,
        step_m: Some(&way),
        ..PlantingLog::default()
    };
    log.set(Reading::SeedSpacing, &spacing);
    let settings = PlantingSettings {
        row_spacing_m: Some(0.762),
        ..PlantingSettings::default()
    };
    let findings = judge_log(&log, &settings);
    assert!(findings.single_seeds);
    let of_row = |row: usize| findings.seed_indices[row - 1].unwrap();
    // Of 4,000 positions, which is how ISO counts; those after the last seed cannot be seen.
    for (row, missed) in (1..).zip(missed) {
        let share = 100.0 * f64::from(missed) / 4_000.0;
        assert!(
            (of_row(row).iso_misses_pct - share).abs() < 0.05,
            "{row} {share}"
        );
    }
    assert!((findings.row_figures[1].skips_pct.unwrap() - of_row(2).misses_pct).abs() < 0.01);
    let population = findings.row_figures[0].population_ha.unwrap();
    assert!((population / (10_000.0 * 0.99 / (nominal * 0.762)) - 1.0).abs() < 0.01);
    let [fault] = &findings.repeating_faults[..] else {
        panic!("{:?}", findings.repeating_faults);
    };
    assert_eq!(fault.rows, [2]);
    assert_eq!(findings.trouble[0].row, 2);
    assert!((fault.period_m - 40.0 * nominal).abs() < 0.03, "{fault:?}");
    assert!(
        (fault.period_seeds.unwrap() - 40.0).abs() < 1.0,
        "{fault:?}"
    );
}

/// Law: the findings do not depend on the number of threads.
#[test]
fn one_thread_finds_what_many_find() {
    let plan = plan(
        51,
        vec![PlanterFault::BlockedCell {
            row: 6,
            passes: [2, 5],
            share: 0.9,
        }],
    );
    let on = |threads| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads);
        let findings = pool.build().unwrap().install(|| judge(&plan));
        serde_json::to_string(&findings).unwrap()
    };
    assert_eq!(on(1), on(4));
}

/// Law: findings written as JSON read back the same, to the last digits that JSON's reader keeps.
#[test]
fn findings_go_to_json_and_back() {
    let fault = PlanterFault::BlockedCell {
        row: 5,
        passes: [1, 14],
        share: 0.9,
    };
    let findings = judge(&plan(61, vec![fault]));
    let text = serde_json::to_string(&findings).unwrap();
    let back: PlantingFindings = serde_json::from_str(&text).unwrap();
    assert_eq!(called(&back), called(&findings));
    assert_eq!(
        back.repeating_faults[0].cause,
        findings.repeating_faults[0].cause
    );
    assert_eq!(back.rhythm_search, findings.rhythm_search);
    assert_eq!(back.deviations.len(), findings.deviations.len());
}

/// The windows' search agrees with the periodogram of a row's whole pass.
#[test]
fn the_period_is_that_of_the_plain_periodogram() {
    let plan = plan(
        71,
        vec![PlanterFault::BlockedCell {
            row: 1,
            passes: [1, 14],
            share: 1.0,
        }],
    );
    let log = invented_planting(&plan).unwrap();
    let columns = PlantingLog::of(&log, None);
    let settings = settings();
    let records = PlantingRecords::of(&columns).unwrap();
    let passes = checkstrip_planting::passes(&records, &settings).unwrap();
    let pass = passes.pass(0).unwrap();
    let skips: Vec<f64> = pass
        .row(Reading::Skips, 0)
        .unwrap()
        .iter()
        .map(|&v| f64::from(v))
        .collect();
    let frequency: Vec<f64> = (0..2_000).map(|k| 0.1 + 0.0001 * f64::from(k)).collect();
    let power = lomb_scargle(&pass.distance_m, &skips, &frequency);
    let best = (0..power.len())
        .max_by(|&a, &b| power[a].total_cmp(&power[b]))
        .unwrap();
    let findings = analyse(&records, &settings).unwrap();
    let found = &findings.repeating_faults[0];
    assert!((found.period_m * frequency[best] - 1.0).abs() < 0.01);
}

/// Law: it does not matter in which pieces a log is read, nor in which order its pieces come.
#[test]
fn pieces_of_any_length_give_the_same_findings() {
    let plan = PlanterPlan {
        rows: 6,
        passes: 6,
        pass_length_m: 300.0,
        faults: vec![PlanterFault::BlockedCell {
            row: 2,
            passes: [1, 6],
            share: 0.9,
        }],
        ..PlanterPlan::default()
    };
    let log = invented_planting(&plan).unwrap();
    let columns = PlantingLog::of(&log, None);
    let whole = judge_log(&columns, &settings());
    assert_eq!(whole.repeating_faults.len(), 1);
    let all: Vec<u32> = (0..log.len() as u32).collect();
    let of_pieces = |length: usize, backwards: bool| {
        let mut pieces: Vec<&[u32]> = all.chunks(length).collect();
        if backwards {
            pieces.reverse();
        }
        let mut read = RecordsBeingRead::new(&Scratch::default());
        for piece in pieces {
            let piece = PlantingLog {
                records: Some(piece),
                ..columns.clone()
            };
            read.push(&piece, 0).unwrap();
        }
        analyse(&read.finish().unwrap(), &settings()).unwrap()
    };
    for length in [7, 1_000] {
        assert!(of_pieces(length, false) == whole, "pieces of {length}");
    }
    // Whole moments, the last first.
    assert!(of_pieces(6 * 500, true) == whole);
}
