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
