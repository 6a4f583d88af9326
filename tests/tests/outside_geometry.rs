//! Ground and grain recomputed outside, with pyproj, shapely and geopandas, from the cleaned export
//! and the strips file alone.

use checkstrip_acceptance::{Folder, oracle, peer_field, python, season};
use serde_json::Value;
use std::path::Path;

fn number(value: &Value, pointer: &str) -> f64 {
    let found = value.pointer(pointer).and_then(Value::as_f64);
    found.unwrap_or_else(|| panic!("{pointer} is no number in {value}"))
}

#[track_caller]
fn within(what: &str, found: f64, expected: f64, share: f64) {
    assert!(
        (found - expected).abs() <= share * expected,
        "{what}: {found} against {expected}"
    );
}

#[track_caller]
fn overlap_agrees(folder: &Folder, python: &Path) {
    let results = folder.json("out/results.json");
    let outside = oracle(python, "overlap.py", [folder.join("out/cleaned.csv")]);
    let footprints = number(&results, "/cleaning/footprint_area_ha") * 1e4;
    within(
        "footprints",
        footprints,
        number(&outside, "/footprints_m2"),
        1e-3,
    );
    let overlap = number(&results, "/cleaning/overlap_area_ha") * 1e4;
    within("overlap", overlap, number(&outside, "/overlap_m2"), 0.02);
}

#[test]
fn overlap_of_the_season_is_shapelys() {
    let Some(python) = python() else { return };
    let (folder, season) = season();
    let trial = season.trial.display().to_string();
    let line = ["compare", &trial, "--out", "out", "--export", "csv"];
    let _ = folder.run(line).ended(0);
    overlap_agrees(&folder, &python);
}

#[test]
fn overlap_of_a_field_of_the_outside_generator_is_shapelys() {
    let Some((folder, python)) = peer_field(&["--points", "10000", "--seed", "2"]) else {
        return;
    };
    let line = "compare --harvest log.csv --strips strips.geojson --crop soybean --out out";
    let _ = folder
        .run(line.split(' ').chain(["--export", "csv"]))
        .ended(0);
    overlap_agrees(&folder, &python);
}

#[track_caller]
fn sums_agree(inset: &str, inset_m: f64) {
    let Some(python) = python() else { return };
    let (folder, season) = season();
    let trial = folder.text("season/trial.toml");
    assert!(trial.contains("inset = \"5 ft\""));
    folder.put("season/trial.toml", trial.replace("5 ft", inset));
    let path = season.trial.display().to_string();
    let _ = folder
        .run(["compare", &path, "--out", "out", "--export", "csv"])
        .ended(0);
    let results = folder.json("out/results.json");
    let arguments = [
        folder.join("out/cleaned.csv").into_os_string(),
        season.strips.into_os_string(),
        inset_m.to_string().into(),
    ];
    let outside = oracle(&python, "strip_sums.py", arguments);
    let (strips, outside) = (results["strips"].as_array(), outside.as_array());
    let (strips, outside) = (strips.expect("strips"), outside.expect("strips"));
    assert_eq!(strips.len(), outside.len());
    assert!(!strips.is_empty());
    for (strip, outside) in strips.iter().zip(outside) {
        assert_eq!(strip["strip_id"], outside["strip_id"]);
        within(
            "area",
            number(strip, "/area_m2"),
            number(outside, "/area_m2"),
            1e-3,
        );
        within(
            "mass",
            number(strip, "/dry_mass_kg"),
            number(outside, "/dry_mass_kg"),
            1e-3,
        );
        let covered = number(outside, "/area_m2") / number(outside, "/inset_m2");
        within("covered", number(strip, "/covered_fraction"), covered, 1e-3);
    }
}

#[test]
fn strip_sums_of_the_season_are_shapelys() {
    sums_agree("5 ft", 5.0 * 0.3048);
}

#[test]
fn strip_sums_without_an_inset_are_shapelys() {
    sums_agree("0 ft", 0.0);
}

#[test]
fn strip_sums_with_a_wide_inset_are_shapelys() {
    sums_agree("6.5 m", 6.5);
}
