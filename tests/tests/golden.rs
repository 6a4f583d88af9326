//! A whole comparison on committed files, pinned: what a person reads, the strip table and the rounded
//! figures. A change of any of them is either meant, and then shown in the snapshot, or a mistake.

use checkstrip_acceptance::{Folder, SmallFarm, Table, fixture};
use checkstrip_invented::FieldPlan;
use serde_json::{Value, json};

/// The plan of `fixtures/small-field`.
fn plan() -> FieldPlan {
    FieldPlan {
        seed: 7,
        passes: 12,
        pass_length_m: 160.0,
        blocks: 2,
        strip_offset_m: 1.5,
        ..FieldPlan::default()
    }
}

/// The fixture in a folder of its own.
fn small_field() -> Folder {
    let folder = Folder::new();
    for file in ["log.csv", "strips.geojson", "trial.toml"] {
        folder.put(file, fixture(&format!("small-field/{file}")));
    }
    folder
}

/// The fixture is invented, and by this plan: nobody's log, and no hand has touched it.
/// `CHECKSTRIP_WRITE_FIXTURES=1` writes it anew.
#[test]
fn the_fixture_is_what_its_plan_gives() {
    let farm = SmallFarm::planned(plan());
    if std::env::var_os("CHECKSTRIP_WRITE_FIXTURES").is_some() {
        for file in ["log.csv", "strips.geojson", "trial.toml"] {
            checkstrip_acceptance::write_fixture(
                &format!("small-field/{file}"),
                &farm.folder.text(file),
            );
        }
    }
    let log = Table::parse(&fixture("small-field/log.csv"), ',');
    assert_eq!(log.headers, farm.log.headers);
    assert_eq!(log.rows.len(), farm.log.rows.len());
    for header in log.headers.iter().filter(|h| h.as_str() != "machine") {
        let pairs = log
            .numbers(header)
            .into_iter()
            .zip(farm.log.numbers(header));
        for (row, (a, b)) in pairs.enumerate() {
            // Sines and logarithms may differ in their last digit from one system to another.
            assert!(
                (a - b).abs() <= 2e-4,
                "{header}, record {row}: {a} against {b}"
            );
        }
    }
    let strips: Value = serde_json::from_str(&fixture("small-field/strips.geojson")).expect("JSON");
    checkstrip_acceptance::same_figures("strips", &strips, &farm.strips);
}

#[test]
fn what_a_person_reads() {
    let folder = small_field();
    let run = folder
        .run(["compare", "trial.toml", "--out", "out"])
        .ended(0);
    insta::assert_snapshot!(format!("{}\n{}", run.stdout, run.stderr));
}

#[test]
fn the_strip_table() {
    let folder = small_field();
    let _ = folder
        .run(["compare", "trial.toml", "--out", "out", "--quiet"])
        .ended(0);
    insta::assert_snapshot!(folder.text("out/strips.csv"));
}

/// Figures to four digits, so that the last ones may differ from one system to another.
fn rounded(value: &Value) -> Value {
    match value {
        Value::Number(number) if number.is_f64() => {
            let text = format!("{:.3e}", number.as_f64().expect("a number"));
            json!(text.parse::<f64>().expect("a number"))
        }
        Value::Array(values) => values.iter().map(rounded).collect(),
        Value::Object(map) => map
            .iter()
            .map(|(key, value)| (key.clone(), rounded(value)))
            .collect(),
        other => other.clone(),
    }
}

/// What was read, what cleaning did, what lies on the strips and how their pairs compare.
#[test]
fn the_figures() {
    let folder = small_field();
    let _ = folder
        .run(["compare", "trial.toml", "--out", "out", "--quiet"])
        .ended(0);
    let results = rounded(&folder.json("out/results.json"));
    let paired = results["comparisons"]
        .as_array()
        .expect("comparisons")
        .iter();
    let paired: Vec<&Value> = paired
        .filter(|row| row["method"] == "paired_strips")
        .collect();
    let pinned = json!({
        "field": results["field"],
        "input": results["input"],
        "cleaning": results["cleaning"],
        "strip_source": results["strip_source"],
        "strips": results["strips"],
        "paired_strips": paired,
    });
    insta::assert_snapshot!(serde_json::to_string_pretty(&pinned).expect("JSON"));
}
