//! Strips that nobody draws: a planter's and a roller's own logs, outlined and compared.

use checkstrip_acceptance::{EAST_M, Folder, NORTH_M, SmallFarm, oracle, python};
use serde_json::Value;
use std::fmt::Write;

/// An invented planter of 16 rows, 0.762 m apart, with one hybrid in its left half and another in its right, six passes
/// up and down; `ends` passes across at the north end.
fn split_planter(ends: u32) -> String {
    const WIDTH_M: f64 = 16.0 * 0.762;
    let mut log = String::from("timestamp_s,lon,lat,pass_id,row,population (seeds/ac),variety\n");
    let mut time = 0;
    let mut record = |pass: u32, step: u32, east: f64, north: f64| {
        // A minute from pass to pass.
        time += if step == 0 { 60 } else { 1 };
        for row in 1..=16 {
            let variety = if row <= 8 { "early" } else { "late" };
            let (lon, lat) = (-40.0 + east / EAST_M, 43.0 + north / NORTH_M);
            writeln!(log, "{time},{lon:.9},{lat:.9},{pass},{row},32000,{variety}").expect("a text");
        }
    };
    for pass in 0..6 {
        for step in 0..=150 {
            let along = if pass % 2 == 0 { step } else { 150 - step };
            record(
                pass,
                step,
                f64::from(pass) * WIDTH_M,
                f64::from(along) * 2.0,
            );
        }
    }
    for end in 0..ends {
        for step in 0..=30 {
            record(
                10 + end,
                step,
                f64::from(step) * 2.0,
                300.0 - WIDTH_M * (f64::from(end) + 0.5),
            );
        }
    }
    log
}

fn treatments(found: &Value) -> Vec<(String, f64)> {
    let strips = found["strips"].as_array().expect("strips").iter();
    strips
        .map(|strip| {
            let name = strip["treatment"].as_str().expect("a name").to_owned();
            (name, strip["area_ha"].as_f64().expect("an area") * 1e4)
        })
        .collect()
}

#[test]
fn a_split_planter_leaves_a_strip_trial() {
    let folder = Folder::new();
    folder.put("planter.csv", split_planter(0));
    let outline = |more: &[&str]| {
        let order = [
            "outline",
            "planter.csv",
            "--row-spacing",
            "0.762 m",
            "--out",
        ];
        let order = order.into_iter().chain(["strips.geojson", "--json"]);
        folder
            .run(order.chain(more.iter().copied()))
            .ended(0)
            .json()
    };
    let found = outline(&[]);
    // Halves of neighbouring passes lie together, since the planter turns: from the west 8 rows, 16 five times, 8.
    let strips = treatments(&found);
    let names: Vec<&str> = strips.iter().map(|strip| strip.0.as_str()).collect();
    assert_eq!(
        names,
        ["early", "late", "early", "late", "early", "late", "early"]
    );
    for (at, (_, area)) in strips.iter().enumerate() {
        let rows = if at == 0 || at == 6 { 8.0 } else { 16.0 };
        let expected = rows * 0.762 * 300.0;
        assert!(
            (area / expected - 1.0).abs() < 0.005,
            "{at}: {area}, {expected}"
        );
    }
    if let Some(python) = python() {
        let outside = oracle(
            &python,
            "worked_ground.py",
            [folder.join("planter.csv").as_os_str(), "0.762".as_ref()],
        );
        for product in ["early", "late"] {
            let ours: f64 = strips.iter().filter(|s| s.0 == product).map(|s| s.1).sum();
            let theirs = outside[product].as_f64().expect("an area");
            assert!(
                (ours / theirs - 1.0).abs() < 0.002,
                "{product}: {ours}, {theirs}"
            );
        }
    }
    // A refuge is no part of the trial.
    let found = outline(&["--leave-out", "Late"]);
    assert!(treatments(&found).iter().all(|strip| strip.0 == "early"));
    assert_eq!(found["warnings"][0]["code"], "one_treatment");
}

#[test]
fn end_rows_are_cut_off() {
    let folder = Folder::new();
    folder.put("planter.csv", split_planter(2));
    let order = "outline planter.csv --out strips.geojson --json --row-spacing";
    let run = |more: &[&str]| {
        let order = order
            .split(' ')
            .chain(["30 in"])
            .chain(more.iter().copied());
        treatments(&folder.run(order).ended(0).json())
    };
    let strips = run(&[]);
    let ground: f64 = strips.iter().map(|strip| strip.1).sum();
    // 60 m of the 73 m across are end rows for 24.4 m of the 300 m.
    let whole = 6.0 * 16.0 * 0.762 * 300.0;
    let ends = 60.0 * 2.0 * 16.0 * 0.762;
    assert!(
        (ground - (whole - ends)).abs() < 0.01 * whole,
        "{ground}, {}",
        whole - ends
    );
    assert!(
        run(&["--keep-end-rows"])
            .iter()
            .map(|strip| strip.1)
            .sum::<f64>()
            > ground + 0.5 * ends
    );
}

/// A roller that logged its way over the rolled strips of the small farm, and nothing else: the check strips are what it
/// left, and the comparison is the one of the drawn strips.
#[test]
fn what_a_roller_left_out_is_the_check() {
    let farm = SmallFarm::new();
    let drawn = farm.results();
    farm.folder.put("roller.csv", farm.roller_log());
    let order = "outline roller.csv --treatment rolled --boundary strips.geojson --out outlined.geojson --json";
    let found = farm.folder.run(order.split(' ')).ended(0).json();
    let strips = treatments(&found);
    let rolled = strips.iter().filter(|strip| strip.0 == "rolled").count();
    assert_eq!((strips.len(), rolled), (5, 3), "{strips:?}");
    let order = "compare --harvest log.csv --strips outlined.geojson --check check --crop soybean --out outlined";
    let _ = farm.folder.run(order.split(' ')).ended(0);
    let outlined = farm.folder.json("outlined/results.json");
    let advantage = |results: &Value| {
        let first = &results["comparisons"][0];
        (
            first["advantage_kg_ha"].as_f64().expect("a gain"),
            first["std_error_kg_ha"].as_f64().expect("its error"),
        )
    };
    let (drawn, outlined) = (advantage(&drawn), advantage(&outlined));
    assert!(
        (drawn.0 - outlined.0).abs() < drawn.1,
        "{drawn:?} drawn, {outlined:?} outlined"
    );
}

#[test]
fn what_cannot_be_outlined_is_refused() {
    let farm = SmallFarm::new();
    farm.folder.put("planter.csv", split_planter(0));
    farm.folder.put(
        "no_product.csv",
        "lon,lat,skips %\n-40,43,1\n-40,43.001,2\n",
    );
    let refusal = |line: &str| {
        let run = farm.folder.run(line.split(' ')).ended(1);
        assert_eq!(farm.folder.files_in("out.geojson"), [""; 0], "{line}");
        farm.folder.redacted(&run.stderr)
    };
    insta::assert_snapshot!(
        [
            "outline log.csv --out out.geojson",
            "outline planter.csv --out out.geojson",
            "outline planter.csv --by rate --row-spacing 0.762m --out out.geojson",
            "outline planter.csv --row-spacing 0.762m --out out.kml",
            "outline no_product.csv --width 9m --out out.geojson",
        ]
        .map(refusal)
        .join("\n")
    );
}
