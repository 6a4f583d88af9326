//! `checkstrip planting` over an invented planter: the blocked cell that was planted is named with row,
//! cause and stretch, from a log of one record a row and from one with a column for each row alike; what
//! is written agrees with what is said; what cannot be judged is refused in words.

use checkstrip_acceptance::{Folder, Run, SmallFarm, Table, same_figures};
use checkstrip_invented::{PlanterFault, PlanterPlan, invented_planting};
use serde_json::Value;
use std::collections::BTreeMap;

/// The row whose disc has a blocked cell, and the passes on which it is blocked.
const BLOCKED: (usize, [usize; 2]) = (5, [3, 6]);

fn plan(faults: Vec<PlanterFault>) -> PlanterPlan {
    PlanterPlan {
        rows: 8,
        passes: 8,
        // Whole seconds, as they stand in the file.
        interval_s: 1.0,
        faults,
        ..PlanterPlan::default()
    }
}

fn blocked() -> PlanterPlan {
    plan(vec![PlanterFault::BlockedCell {
        row: BLOCKED.0,
        passes: BLOCKED.1,
        share: 0.9,
    }])
}

/// The log with a record for each row and moment, all rows of a moment at the planter's own place.
fn long(plan: &PlanterPlan) -> Table {
    let log = invented_planting(plan).expect("a plan that works");
    let mut table = Table::of_log(&log);
    for axis in ["lon", "lat"] {
        let places = table.numbers(axis);
        for (moment, of_rows) in places.chunks(plan.rows).enumerate() {
            let middle = of_rows.iter().sum::<f64>() / plan.rows as f64;
            for row in 0..plan.rows {
                table.set(moment * plan.rows + row, axis, &format!("{middle:.8}"));
            }
        }
    }
    table
}

/// The same log with a record for each moment and a column for each row.
fn wide(long: &Table, rows: usize) -> Table {
    let mut wide = Table::default();
    let moments = long.rows.len() / rows;
    wide.rows = vec![Vec::new(); moments];
    for header in long.headers.iter().filter(|header| *header != "row") {
        let of_each = OF_ROWS.iter().find(|(canonical, _)| canonical == header);
        let cells = long.texts(header);
        for row in 0..if of_each.is_some() { rows } else { 1 } {
            wide.headers.push(match of_each {
                Some((_, name)) => format!("Row {} {name}", row + 1),
                None => header.clone(),
            });
            for (moment, line) in wide.rows.iter_mut().enumerate() {
                line.push(cells[moment * rows + row].to_owned());
            }
        }
    }
    wide
}

/// What a monitor would head the columns of rows with.
const OF_ROWS: [(&str, &str); 9] = [
    ("seed_rate_seeds_ha", "Population (seeds/ha)"),
    ("singulation_pct", "Singulation (%)"),
    ("skips_pct", "Skips (%)"),
    ("multiples_pct", "Multiples (%)"),
    ("spacing_variation_pct", "Spacing CV (%)"),
    ("downforce_n", "Gauge wheel load (N)"),
    ("ground_contact_pct", "Ground contact (%)"),
    ("ride_quality_pct", "Ride (%)"),
    ("vacuum_pa", "Meter vacuum (Pa)"),
];

fn judged(table: &Table, options: &[&str]) -> (Folder, Run) {
    let folder = Folder::new();
    folder.put("planting.csv", table.csv());
    let line = ["planting", "planting.csv", "--out", "out"];
    let run = folder.run(line.iter().chain(options));
    (folder, run)
}

fn findings(results: &Value) -> &Value {
    &results["planters"][0]["findings"]
}

/// The planted row and cause, in its place among the rows and in its passes.
#[track_caller]
fn blocked_cell_is_named(results: &Value) {
    let findings = findings(results);
    let faults = findings["repeating_faults"].as_array().expect("faults");
    assert_eq!(faults.len(), 1, "{faults:?}");
    let fault = &faults[0];
    assert_eq!(fault["rows"], serde_json::json!([BLOCKED.0]));
    assert_eq!(fault["signal"], "skips");
    assert_eq!(fault["cause"]["kind"], "seed_disc");
    assert_eq!(fault["cause"]["cells"], 40);
    // 40 seeds at 79,000 seeds/ha in rows of 0.762 m: docs/planting.md, 2.
    let period = fault["period_m"].as_f64().expect("a period");
    let turn = 40.0 * 10_000.0 / (79_000.0 * 0.762);
    assert!(
        (period / turn - 1.0).abs() < 0.01,
        "{period} against {turn}"
    );
    let episode = &fault["episodes"][0];
    assert_eq!(episode["began"]["pass"], BLOCKED.1[0]);
    assert_eq!(episode["ended"]["pass"], BLOCKED.1[1]);
    assert_eq!(findings["trouble"][0]["row"], BLOCKED.0);
    let codes: Vec<&str> = findings["advice"]
        .as_array()
        .expect("advice")
        .iter()
        .filter_map(|advice| advice["code"].as_str())
        .collect();
    assert!(codes.contains(&"blocked_cell"), "{codes:?}");
}

#[test]
fn a_blocked_cell_is_named_from_both_layouts() {
    let long = long(&blocked());
    let options = [
        "--disc-cells",
        "40",
        "--name",
        "An invented field",
        "--json",
    ];
    let (_of_long, run) = judged(&long, &options);
    let from_long = run.ended(0).json();
    blocked_cell_is_named(&from_long);
    let (_of_wide, run) = judged(&wide(&long, 8), &options);
    let from_wide = run.ended(0).json();
    blocked_cell_is_named(&from_wide);
    assert_eq!(from_long["schema"], "checkstrip-planting/1");
    assert_eq!(from_long["field"]["name"], "An invented field");
    assert_eq!(findings(&from_long)["rows"], 8);
    same_figures("findings", findings(&from_long), findings(&from_wide));
}

#[test]
fn the_words_say_it() {
    let (folder, run) = judged(&long(&blocked()), &["--disc-cells", "40"]);
    let run = run.ended(0);
    insta::assert_snapshot!("words", folder.redacted(&run.stdout));
    let (_folder, run) = judged(&long(&plan(Vec::new())), &["--units", "si"]);
    insta::assert_snapshot!("words_of_a_healthy_planter", run.ended(0).stdout);
}

#[test]
fn tables_hold_what_the_results_hold() {
    let (folder, run) = judged(&long(&blocked()), &["--disc-cells", "40"]);
    let _ = run.ended(0);
    let results = folder.json("out/planting.json");
    let findings = findings(&results);
    let rows = Table::parse(&folder.text("out/rows.csv"), ',');
    let passes = Table::parse(&folder.text("out/passes.csv"), ',');
    assert_eq!((rows.rows.len(), passes.rows.len()), (8, 8 * 8));
    let trouble = findings["trouble"].as_array().expect("an order");
    for (line, of_row) in trouble.iter().enumerate() {
        let row = of_row["row"].as_u64().expect("a row") as usize;
        assert_eq!(rows.texts("place")[line], (line + 1).to_string());
        assert_eq!(rows.texts("row")[line], row.to_string());
        agrees(&rows, line, "trouble", &of_row["score"]);
        let figures = findings["row_figures"][row - 1]
            .as_object()
            .expect("figures");
        for (key, value) in figures {
            agrees(&rows, line, key, value);
        }
    }
    for (line, cells) in passes.rows.iter().enumerate() {
        let at = |header: &str| cells[passes.at(header)].parse::<usize>().expect("a count");
        let pass = &findings["passes"][at("pass") - 1];
        agrees(&passes, line, "pass_length_m", &pass["length_m"]);
        let figures = pass["rows"][at("row") - 1].as_object().expect("figures");
        for (key, value) in figures {
            agrees(&passes, line, key, value);
        }
    }
    let digest = results["input"]["files"][0]["sha256"].as_str();
    assert_eq!(digest.map(str::len), Some(64));
    assert_eq!(findings["settings"]["disc_cells"], 40);
}

#[track_caller]
fn agrees(table: &Table, line: usize, header: &str, value: &Value) {
    let cell = table.numbers(header)[line];
    match value.as_f64() {
        Some(value) => assert!(
            (cell - value).abs() < 0.01,
            "{header}: {cell} against {value}"
        ),
        None => assert!(cell.is_nan(), "{header}: {cell} against nothing"),
    }
}

#[test]
fn a_map_of_every_reading_and_none_of_an_earlier_run() {
    let mut table = long(&blocked());
    let folder = Folder::new();
    folder.put("planting.csv", table.csv());
    let line = ["planting", "planting.csv", "--out", "out", "--quiet"];
    let run = folder.run(line).ended(0);
    assert_eq!((run.stdout.as_str(), run.stderr.as_str()), ("", ""));
    let mut maps = [
        "downforce",
        "ground_contact",
        "multiples",
        "population",
        "ride",
        "singulation",
        "skips",
        "spacing_variation",
        "speed",
    ]
    .map(|key| format!("maps/{key}.png"))
    .to_vec();
    let tables = ["passes.csv", "planting.html", "planting.json", "rows.csv"];
    let with_tables = |maps: &[String]| {
        let mut files = maps.to_vec();
        files.extend(tables.map(str::to_owned));
        files
    };
    assert_eq!(folder.files_in("out"), with_tables(&maps));
    table.drop_column("downforce_n");
    folder.put("planting.csv", table.csv());
    folder.put("out/maps/soil.png", "not ours");
    let _ = folder.run(line).ended(0);
    maps.remove(0);
    maps.push("maps/soil.png".to_owned());
    maps.sort();
    assert_eq!(folder.files_in("out"), with_tables(&maps));
}

#[test]
fn the_report_is_one_file_that_answers_first() {
    let (folder, run) = judged(&long(&blocked()), &["--disc-cells", "40"]);
    let run = run.ended(0);
    let page = folder.text("out/planting.html");
    assert!(run.stdout.contains("Report: out/planting.html"));
    let at = |what: &str| page.find(what).unwrap_or_else(|| panic!("no {what:?}"));
    let answer = at("Row 5 of 8 needs a look: a fault repeats along it.");
    assert!(answer < at("Take the disc out") && at("Take the disc out") < at("Maps</h2>"));
    assert_eq!(page.matches("<img src=\"data:image/png;base64,").count(), 9);
    assert!(!page.contains("://"), "the page opens offline");
    assert!(page.contains("disc_cells") && page.contains("schema checkstrip-planting"));
}

#[test]
fn settings_come_from_a_file_and_options_go_before_it() {
    let table = long(&blocked());
    let folder = Folder::new();
    folder.put("planting.csv", table.csv());
    folder.put(
        "settings.toml",
        "disc_cells = 36\nhighest_downforce = \"300 lbf\"\n[row_limits]\nskips_points = 0.5\n\
         [[known_rhythms]]\nname = \"press wheel\"\nperiod = \"7.2 ft\"\n",
    );
    let line = "planting planting.csv --settings settings.toml --disc-cells 40 --out out --json";
    let results = folder.run(line.split(' ')).ended(0).json();
    let settings = &findings(&results)["settings"];
    assert_eq!(settings["disc_cells"], 40);
    assert_eq!(settings["row_limits"]["skips_points"], 0.5);
    assert_eq!(settings["row_limits"]["ride_points"], 4.0);
    let newtons = settings["highest_downforce_n"].as_f64().expect("a force");
    // NIST SP 811: a pound-force is 4.448222 N.
    assert!((newtons - 300.0 * 4.448_222).abs() < 1e-3, "{newtons}");
    let period = settings["known_rhythms"][0]["period_m"].as_f64();
    assert!((period.expect("a period") - 7.2 * 0.3048).abs() < 1e-9);
}

#[test]
fn settings_that_are_none_are_refused_with_file_and_row() {
    let folder = Folder::new();
    folder.put("planting.csv", long(&blocked()).csv());
    let refused = |text: &str| {
        folder.put("settings.toml", text);
        let line = "planting planting.csv --settings settings.toml --out out";
        folder.run(line.split(' ')).ended(1).stderr
    };
    let unknown = refused("disc_cells = 40\nlowest_downforce_lbf = 20\n");
    assert!(unknown.contains("settings.toml, row 2") && unknown.contains("docs/planting.md"));
    assert!(refused("lowest_downforce = \"20\"\n").contains("has no unit"));
    let nonsense = refused("window_m = 10\n");
    assert!(nonsense.contains("settings.toml") && nonsense.contains("the setting window is 10"));
    assert!(folder.files_in("out").is_empty());
}

/// Law: no setting without a row in the guide.
#[test]
fn the_guide_names_every_setting() {
    let guide = include_str!("../../docs/planting.md");
    let (_folder, run) = judged(
        &long(&blocked()),
        &["--json", "--disc-cells", "40", "--row-spacing", "30 in"],
    );
    let results = run.ended(0).json();
    let settings = findings(&results)["settings"]
        .as_object()
        .expect("settings");
    let limits = settings["row_limits"].as_object().expect("limits");
    for key in settings.keys().chain(limits.keys()) {
        assert!(
            guide.contains(&format!("`{key}`")),
            "docs/planting.md has no {key}"
        );
    }
}

#[test]
fn the_row_in_trouble_is_followed_from_pass_to_pass() {
    let (folder, run) = judged(&long(&blocked()), &["--disc-cells", "40", "--json"]);
    let results = run.ended(0).json();
    let courses = findings(&results)["courses"].as_array().expect("courses");
    assert_eq!(courses.len(), 1);
    let course = &courses[0];
    assert_eq!(
        (&course["row"], &course["measure"]),
        (&BLOCKED.0.into(), &"skips".into())
    );
    for pass in course["passes"].as_array().expect("passes") {
        let value = |key: &str| pass[key].as_f64().expect("a share");
        let at = value("pass") as usize;
        let blocked = (BLOCKED.1[0]..=BLOCKED.1[1]).contains(&at);
        // A cell of 40 that leaves nine seeds in ten out adds 0.9 / 40 of skips: 2.25 points.
        let more = value("value") - value("middle_row");
        assert_eq!(more > 1.0, blocked, "pass {at}: {more}");
    }
    let page = folder.text("out/planting.html");
    assert!(page.contains("Row 5: skips from pass to pass"));
}

#[test]
fn three_rows_are_told_and_not_compared() {
    let three = long(&PlanterPlan {
        rows: 3,
        ..plan(Vec::new())
    });
    let (folder, run) = judged(&three, &[]);
    let said = run.ended(0).stdout;
    assert!(
        said.contains("Rows were not compared: that takes at least four rows"),
        "{said}"
    );
    let rows = Table::parse(&folder.text("out/rows.csv"), ',');
    assert_eq!(rows.texts("row"), ["1", "2", "3"]);
    assert_eq!(rows.texts("place"), ["", "", ""]);
}

#[test]
fn two_planters_in_one_log_are_judged_apart() {
    let mut both = long(&blocked());
    both.headers.push("machine".to_owned());
    let mut other = long(&PlanterPlan {
        rows: 6,
        passes: 6,
        ..plan(Vec::new())
    });
    other.headers.push("machine".to_owned());
    for (table, name) in [(&mut both, "first"), (&mut other, "second")] {
        table
            .rows
            .iter_mut()
            .for_each(|row| row.push(name.to_owned()));
    }
    assert_eq!(both.headers, other.headers);
    both.rows.extend(other.rows);
    let (folder, run) = judged(&both, &["--disc-cells", "40", "--json"]);
    let results = run.ended(0).json();
    let planters = results["planters"].as_array().expect("planters");
    let of_each: BTreeMap<&str, u64> = planters
        .iter()
        .map(|planter| {
            let rows = planter["findings"]["rows"].as_u64();
            (
                planter["machine"].as_str().expect("a name"),
                rows.expect("rows"),
            )
        })
        .collect();
    assert_eq!(of_each, BTreeMap::from([("first", 8), ("second", 6)]));
    blocked_cell_is_named(&results);
    let second = &planters[1]["findings"];
    assert_eq!(second["repeating_faults"].as_array().map(Vec::len), Some(0));
    let files = folder.files_in("out/maps");
    assert!(
        files.contains(&"planter_2_skips.png".to_owned()),
        "{files:?}"
    );
}

/// Refused in words with exit status 1, nothing written.
#[track_caller]
fn refused(table: &Table) -> String {
    let (folder, run) = judged(table, &[]);
    let run = run.ended(1);
    assert_eq!(run.stdout, "");
    assert!(folder.files_in("out").is_empty());
    run.stderr
}

#[test]
fn what_cannot_be_judged_is_refused_in_words() {
    let harvest = refused(&SmallFarm::new().log);
    assert!(harvest.contains("planting.csv"), "{harvest}");
    assert!(harvest.contains("a harvest log"), "{harvest}");

    let mut no_rows = long(&plan(Vec::new()));
    no_rows.drop_column("row");
    let said = refused(&no_rows);
    assert!(
        said.contains("planting.csv: the log has no column of row numbers"),
        "{said}"
    );
    assert!(said.contains("hint: "), "{said}");

    let mut no_readings = long(&plan(Vec::new()));
    let readings = [
        "seed_rate_seeds_ha",
        "target_seed_rate_seeds_ha",
        "singulation_pct",
        "skips_pct",
        "multiples_pct",
        "spacing_variation_pct",
        "downforce_n",
        "ground_contact_pct",
        "ride_quality_pct",
        "vacuum_pa",
    ];
    for header in readings {
        no_readings.fill(header, "");
    }
    let said = refused(&no_readings);
    assert!(
        said.contains("planting.csv: no row has a reading"),
        "{said}"
    );

    let mut lifted = long(&plan(Vec::new()));
    lifted.fill("header_down", "0");
    let said = refused(&lifted);
    assert!(said.contains("no pass is left to judge"), "{said}");
}

#[test]
fn options_that_make_no_sense_are_wrong_command_lines() {
    let table = Table::default();
    for (option, value, expected) in [
        ("--disc-cells", "0", "0 is not in 1..=1000"),
        ("--row-spacing", "0 in", "expected more than 0"),
        ("--row-spacing", "30", "has no unit"),
        (
            "--turns",
            "press wheel",
            "expected a name and the ground covered in one turn",
        ),
        (
            "--turns",
            "=7 ft",
            "expected a name and the ground covered in one turn",
        ),
        ("--turns", "press wheel=-7 ft", "is negative"),
    ] {
        let (_folder, run) = judged(&table, &[option, value]);
        let said = run.ended(2).stderr;
        assert!(said.contains(option) && said.contains(expected), "{said}");
    }
}

/// A wheel that is named with its way is found as that wheel.
#[test]
fn what_turns_on_the_planter_can_be_named() {
    let table = long(&plan(vec![PlanterFault::WheelRhythm {
        row: 2,
        period_m: 9.1,
    }]));
    let options = [
        "--disc-cells",
        "40",
        "--turns",
        "press wheel=9.1 m",
        "--json",
    ];
    let (_folder, run) = judged(&table, &options);
    let results = run.ended(0).json();
    let fault = &findings(&results)["repeating_faults"][0];
    assert_eq!(fault["rows"], serde_json::json!([2]));
    assert_eq!(fault["cause"]["kind"], "known");
    assert_eq!(fault["cause"]["name"], "press wheel");
}
