//! Whole runs over the formats: the answer does not depend on the format a log and its strips come in.

use checkstrip_acceptance::SmallFarm;
use serde_json::Value;

fn advantage(results: &Value) -> f64 {
    results["comparisons"][0]["advantage_kg_ha"]
        .as_f64()
        .expect("a number")
}

#[test]
fn the_answer_is_the_same_from_every_format() {
    let farm = SmallFarm::new();
    let compare = |log: &str, strips: &str, out: &str| {
        let line = format!(
            "compare --harvest {log} --strips {strips} --crop soybean --out {out} --export gpkg --quiet"
        );
        let _ = farm.folder.run(line.split(' ')).ended(0);
        farm.folder.json(&format!("{out}/results.json"))
    };
    let expected = compare("log.csv", "strips.geojson", "from_csv");
    for format in ["gpkg", "parquet", "fgb", "ndjson"] {
        let (log, strips) = (format!("log.{format}"), format!("strips.{format}"));
        for (from, to) in [("log.csv", &log), ("strips.geojson", &strips)] {
            let run = farm.folder.run(["convert", from, to]).ended(0);
            assert!(
                run.stdout.contains(&format!("wrote {to}")),
                "{}",
                run.stdout
            );
        }
        let found = compare(&log, &strips, &format!("from_{format}"));
        let difference = advantage(&found) - advantage(&expected);
        assert!(difference.abs() < 1e-6, "{format}: {difference} kg/ha");
        for key in ["kept", "removed"] {
            assert_eq!(
                found["cleaning"][key], expected["cleaning"][key],
                "{format}"
            );
        }
    }
    // The cleaned log is read back as one.
    let _ = farm
        .folder
        .run("map from_csv/cleaned.gpkg --out map.png".split(' '))
        .ended(0);
}

#[test]
fn a_box_and_columns_are_selected_and_counted() {
    let farm = SmallFarm::new();
    let all = farm
        .folder
        .run("convert log.csv all.ndjson --json".split(' '))
        .ended(0);
    let all: Value = serde_json::from_str(&all.stdout).expect("JSON");
    let text = farm.folder.text("all.ndjson");
    // A box around the western half of the log.
    let lon = |line: &str| {
        let feature: Value = serde_json::from_str(line).expect("JSON");
        feature["geometry"]["coordinates"][0].as_f64()
    };
    let mut lons: Vec<f64> = text.lines().filter_map(lon).collect();
    lons.sort_by(f64::total_cmp);
    let middle = lons[lons.len() / 2];
    let expected = lons.iter().filter(|lon| **lon <= middle).count();
    for format in ["gpkg", "parquet", "fgb", "csv"] {
        let there = format!("half.{format}");
        let bbox = format!("--bbox=-180,-90,{middle},90");
        let arguments = [
            "convert",
            "all.ndjson",
            &there,
            &bbox,
            "--columns",
            "moisture_pct",
            "--json",
        ];
        let run = farm.folder.run(arguments).ended(0);
        let done: Value = serde_json::from_str(&run.stdout).expect("JSON");
        assert_eq!(done["features"], expected, "{format}");
        let total = all["features"].as_u64().expect("a count") as usize;
        assert_eq!(done["left_out"], total - expected, "{format}");
        assert_eq!(
            done["columns"],
            serde_json::json!(["moisture_pct"]),
            "{format}"
        );
    }
    for (line, says) in [
        (
            "convert log.csv a.gpkg --bbox 1,2,3",
            "expected west,south,east,north",
        ),
        (
            "convert log.csv a.gpkg --bbox 3,2,1,4",
            "found west 3 and east 1",
        ),
        ("convert log.csv a.gpkg --bbox 3,2,400,4", "outside degrees"),
    ] {
        let run = farm.folder.run(line.split(' ')).ended(2);
        assert!(run.stderr.contains(says), "{}", run.stderr);
    }
    let run = farm
        .folder
        .run("convert log.csv a.gpkg --columns rain".split(' '))
        .ended(1);
    assert!(
        run.stderr.contains("expected a column \"rain\""),
        "{}",
        run.stderr
    );
}

#[test]
fn a_conversion_that_cannot_be_leaves_nothing() {
    let farm = SmallFarm::new();
    for (line, says) in [
        ("convert strips.geojson strips.csv", "CSV holds no polygons"),
        ("convert log.csv log.xlsx", "does not say which format"),
        ("convert nowhere.csv a.gpkg", "cannot be read"),
        ("convert log.csv log.csv", "the file that is read"),
    ] {
        let before = farm.folder.files_in(".");
        let run = farm.folder.run(line.split(' ')).ended(1);
        assert!(run.stderr.contains(says), "{}", run.stderr);
        assert!(run.stderr.contains("hint:"), "{}", run.stderr);
        assert_eq!(farm.folder.files_in("."), before);
    }
    let _ = farm.folder.run(["convert", "log.csv"]).ended(2);
}
