//! Which files enter, and what is refused; every field is invented.

use super::*;
use checkstrip_model::units::UnitSystem;
use serde_json::{Value, json};
use std::path::Path;

/// Kilograms a bushel of soybeans weighs.
const BUSHEL_KG: f64 = 27.2155422;

/// An invented field's results with one comparison.
fn field(name: &str, treatment: &str, advantage: f64, std_error: Option<f64>) -> Value {
    let interval = [-2.57, 2.57].map(|t| std_error.map(|s| advantage + t * s));
    json!({
        "schema": "checkstrip-results/1",
        "tool": {"name": "checkstrip", "version": "0.0.0"},
        "field": {
            "name": name, "crop": "soybean", "market_moisture_pct": 13.0, "bushel_kg": BUSHEL_KG
        },
        "comparisons": [
            {
                "treatment": treatment, "check": "check", "method": "paired_strips",
                "blocks": if std_error.is_some() { 6 } else { 1 },
                "advantage_kg_ha": advantage, "std_error_kg_ha": std_error, "df": 5.0,
                "interval_95_kg_ha": interval,
                "dilution": 1.0
            },
            // Never the headline.
            {
                "treatment": treatment, "check": "check", "method": "permutation", "blocks": 6,
                "advantage_kg_ha": -9999.0, "std_error_kg_ha": 1.0, "df": 5.0, "dilution": 1.0
            }
        ],
        "payoff": [{"treatment": treatment, "break_even_bu_ac": 0.4}]
    })
}

/// Writes each field into a folder of its own.
fn season(fields: &[Value]) -> tempfile::TempDir {
    let dir = tempfile::tempdir().unwrap();
    for (place, field) in fields.iter().enumerate() {
        let folder = dir.path().join(format!("field-{place}")).join("results");
        std::fs::create_dir_all(&folder).unwrap();
        std::fs::write(folder.join("results.json"), field.to_string()).unwrap();
    }
    dir
}

fn setup(dir: &Path) -> PoolSetup {
    PoolSetup {
        results: vec![dir.join("*/results").display().to_string()],
        ..PoolSetup::default()
    }
}

fn pooled(fields: &[Value]) -> Pooled {
    let dir = season(fields);
    pool_results(&setup(dir.path())).unwrap()
}

fn refused(fields: &[Value], change: impl FnOnce(&mut PoolSetup)) -> String {
    let dir = season(fields);
    let mut setup = setup(dir.path());
    change(&mut setup);
    let place = dir.path().display().to_string();
    let error = pool_results(&setup).unwrap_err().to_string();
    error.replace(&place, "[season]")
}

fn codes(pooled: &Pooled) -> Vec<&str> {
    pooled.warnings.iter().map(|w| w.code.as_str()).collect()
}

fn three() -> [Value; 3] {
    [
        field("North", "rolled", 60.0, Some(30.0)),
        field("South", "Rolled ", 20.0, Some(25.0)),
        field("West", "ROLLED", 95.0, Some(40.0)),
    ]
}

#[test]
fn the_headline_of_each_field_is_pooled_whatever_the_case_of_its_name() {
    let pooled = pooled(&three());
    let [treatment] = &pooled.treatments[..] else {
        panic!("one treatment")
    };
    assert_eq!(
        (treatment.treatment.as_str(), treatment.fields),
        ("rolled", 3)
    );
    assert_eq!(treatment.checks, ["check"]);
    assert!(treatment.advantage_kg_ha > 20.0 && treatment.advantage_kg_ha < 95.0);
    let bushels = treatment.advantage_kg_ha * 0.404_685_642_24 / BUSHEL_KG;
    assert!((treatment.advantage_bu_ac - bushels).abs() < 1e-12);
    let weights: f64 = treatment.entries.iter().map(|e| e.weight_pct).sum();
    assert!((weights - 100.0).abs() < 1e-9);
    assert_eq!(treatment.payoff.as_ref().unwrap().fields, 3);
    assert_eq!(pooled.inputs.len(), 3);
    assert!(pooled.inputs.iter().all(|input| input.sha256.len() == 64));
    assert!(codes(&pooled).is_empty(), "{:?}", pooled.warnings);
}

#[test]
fn files_and_folders_and_their_order_give_the_same_answer() {
    let dir = season(&three());
    let by_pattern = pool_results(&setup(dir.path())).unwrap();
    let place = |name: &str| dir.path().join(name).display().to_string();
    let one_by_one = pool_results(&PoolSetup {
        results: vec![
            place("field-2/results/results.json"),
            place("field-1/results"),
            place("field-0/results"),
            place("field-1/results/results.json"),
        ],
        ..PoolSetup::default()
    })
    .unwrap();
    assert_eq!(by_pattern.treatments, one_by_one.treatments);
}

#[test]
fn a_field_of_one_block_is_left_out_with_its_reason() {
    let mut fields = three().to_vec();
    fields.push(field("East", "rolled", 150.0, None));
    let with = pooled(&fields);
    let without = pooled(&three());
    let (with, without) = (&with.treatments[0], &without.treatments[0]);
    assert_eq!(with.advantage_kg_ha, without.advantage_kg_ha);
    assert_eq!(with.left_out.len(), 1);
    let left_out = &with.left_out[0];
    assert_eq!(
        (left_out.field.as_str(), left_out.weight_pct),
        ("East", 0.0)
    );
    let reason = left_out.left_out.as_ref().unwrap();
    assert_eq!(reason.code, "no_standard_error");
    assert!(reason.reason.starts_with("one block only"));
}

#[test]
fn no_standard_error_anywhere_is_refused() {
    let fields = [
        field("North", "rolled", 60.0, None),
        field("South", "rolled", 20.0, None),
    ];
    insta::assert_snapshot!(refused(&fields, |_| {}));
}

#[test]
fn one_field_is_refused() {
    insta::assert_snapshot!(refused(&three()[..1], |_| {}));
}

#[test]
fn several_crops_are_refused_until_one_is_named() {
    let mut fields = three().to_vec();
    fields[1]["field"]["crop"] = json!("corn");
    insta::assert_snapshot!("crops_mixed", refused(&fields, |_| {}));
    insta::assert_snapshot!(
        "crop_unknown",
        refused(&fields, |setup| setup.crop = Some("oats".into()))
    );
    let dir = season(&fields);
    let pooled = pool_results(&PoolSetup {
        crop: Some("Soybeans".into()),
        ..setup(dir.path())
    })
    .unwrap();
    assert_eq!(pooled.treatments[0].fields, 2);
    assert_eq!(
        pooled.inputs[1].left_out.as_ref().unwrap().code,
        "other_crop"
    );
    assert!(codes(&pooled).contains(&"other_crop"));
}

#[test]
fn a_treatment_nobody_has_is_refused() {
    insta::assert_snapshot!(refused(&three(), |setup| {
        setup.treatments = vec!["harrowed".into()];
    }));
}

#[test]
fn other_files_are_refused() {
    let mut pooled = three().to_vec();
    pooled[1] = json!({"schema": "checkstrip-pooled/1"});
    insta::assert_snapshot!("another_schema", refused(&pooled, |_| {}));
    let mut no_bushel = three().to_vec();
    no_bushel[1]["field"]["bushel_kg"] = json!(0.0);
    insta::assert_snapshot!("no_bushel", refused(&no_bushel, |_| {}));
    let dir = season(&three());
    std::fs::write(dir.path().join("notes.txt"), "not JSON").unwrap();
    for (name, results) in [
        ("no_json", "notes.txt"),
        ("folder_without", "field-0"),
        ("nothing_found", "*/harvest"),
    ] {
        let setup = PoolSetup {
            results: vec![dir.path().join(results).display().to_string()],
            ..PoolSetup::default()
        };
        let error = pool_results(&setup).unwrap_err().to_string();
        let place = dir.path().display().to_string();
        insta::assert_snapshot!(name, error.replace(&place, "[season]"));
    }
}

#[test]
fn the_same_trial_counts_once() {
    let mut fields = three().to_vec();
    fields.push(fields[0].clone());
    let pooled = pooled(&fields);
    assert_eq!(pooled.treatments[0].fields, 3);
    assert_eq!(
        pooled.inputs[3].left_out.as_ref().unwrap().code,
        "same_trial"
    );

    let mut again = three().to_vec();
    for field in &mut again[..2] {
        field["input"] = json!({"files": [{"sha256": "aa"}, {"sha256": "bb"}]});
        field["strip_source"] = json!({"sha256": "cc"});
    }
    let pooled = self::pooled(&again);
    assert_eq!(pooled.treatments[0].fields, 2);
    again[1]["strip_source"] = json!({"sha256": "dd"});
    let pooled = self::pooled(&again);
    assert_eq!(pooled.treatments[0].fields, 3);
    assert!(codes(&pooled).contains(&"same_log"));
}

#[test]
fn another_market_moisture_is_restated() {
    let mut fields = three().to_vec();
    fields[1]["field"]["market_moisture_pct"] = json!(10.0);
    let pooled = pooled(&fields);
    assert_eq!(pooled.crop.market_moisture_pct, 13.0);
    // By hand: 20 kg/ha at 10 % hold 18 of dry matter, at 13 % that is 18 ÷ 0.87.
    let entry = &pooled.treatments[0].entries[1];
    assert!((entry.advantage_kg_ha.unwrap() - 18.0 / 0.87).abs() < 1e-9);
    assert!((entry.std_error_kg_ha.unwrap() - 25.0 * 0.9 / 0.87).abs() < 1e-9);
    assert!(codes(&pooled).contains(&"moistures_differ"));
}

#[test]
fn what_a_reader_should_know_is_warned_of() {
    let mut fields = three().to_vec();
    fields[0]["comparisons"][0]["check"] = json!("untreated");
    fields[0]["comparisons"][0]["df"] = json!(2.0);
    fields[1]["comparisons"][0]["dilution"] = json!(0.7);
    fields[1]["comparisons"][0]["method"] = json!("randomized_blocks");
    fields[2]["payoff"][0]["break_even_bu_ac"] = json!(0.9);
    let pooled = pooled(&fields);
    assert_eq!(
        codes(&pooled),
        [
            "few_degrees_of_freedom",
            "checks_differ",
            "methods_differ",
            "straddling_headers",
            "break_evens_differ"
        ]
    );
    assert_eq!(pooled.treatments[0].payoff, None);
}

#[test]
fn an_answer_that_hangs_on_one_field_says_so() {
    let pooled = pooled(&[
        field("North", "rolled", 60.0, Some(10.0)),
        field("South", "rolled", 58.0, Some(60.0)),
        field("West", "rolled", 62.0, Some(60.0)),
    ]);
    let warning = pooled
        .warnings
        .iter()
        .find(|w| w.code == "rests_on_one_field");
    assert!(warning.unwrap().message.contains("North"));
}

#[test]
fn a_treatment_in_one_field_is_named_and_the_other_pooled() {
    let mut fields = three().to_vec();
    fields[2]["comparisons"][0]["treatment"] = json!("strip-till");
    fields[2]["comparisons"][1]["treatment"] = json!("strip-till");
    let pooled = pooled(&fields);
    assert_eq!(pooled.treatments.len(), 1);
    assert_eq!(pooled.not_pooled[0].treatment, "strip-till");
    assert_eq!(codes(&pooled), ["two_fields", "not_pooled"]);
}

#[test]
fn fields_of_one_name_are_told_apart_by_their_folders() {
    let dir = tempfile::tempdir().unwrap();
    for (year, advantage) in [("2023", 60.0), ("2024", 20.0)] {
        let folder = dir.path().join(year).join("home/results");
        std::fs::create_dir_all(&folder).unwrap();
        let field = field("Home", "rolled", advantage, Some(30.0));
        std::fs::write(folder.join("results.json"), field.to_string()).unwrap();
    }
    let pooled = pool_results(&PoolSetup {
        results: vec![dir.path().join("*/home/results").display().to_string()],
        ..PoolSetup::default()
    })
    .unwrap();
    let names: Vec<&str> = pooled.inputs.iter().map(|i| i.field.as_str()).collect();
    assert_eq!(names, ["Home (2023)", "Home (2024)"]);
}

#[test]
fn everything_is_written() {
    let mut fields = three().to_vec();
    fields.push(field("East, the \"far\" one", "rolled", 150.0, None));
    let pooled = pooled(&fields);
    let dir = tempfile::tempdir().unwrap();
    let out = dir.path().join("new/pooled");
    let written = write_pooled(&pooled, &out, UnitSystem::Farm.into()).unwrap();
    let names: Vec<String> = written
        .iter()
        .map(|path| path.file_name().unwrap().to_string_lossy().into_owned())
        .collect();
    assert_eq!(
        names,
        [
            "report.html",
            "report.pdf",
            "pooled.json",
            "pooled.csv",
            "forest.png"
        ]
    );
    assert_eq!(std::fs::read_dir(&out).unwrap().count(), 5);
    let json: Value =
        serde_json::from_slice(&std::fs::read(out.join("pooled.json")).unwrap()).unwrap();
    assert_eq!(json["schema"], "checkstrip-pooled/1");
    assert_eq!(json["treatments"][0]["fields"], 3);
    let table = std::fs::read_to_string(out.join("pooled.csv")).unwrap();
    let columns = table.lines().next().unwrap().split(',').count();
    assert_eq!((table.lines().count(), columns), (7, 21));
    assert!(table.contains("rolled,left_out,\"East, the \"\"far\"\" one\",check"));
    for line in table.lines().filter(|line| !line.contains('"')) {
        assert_eq!(line.split(',').count(), columns, "{line}");
    }
}
