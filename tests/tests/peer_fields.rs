//! Fields of an outside generator, whose truth is known record by record, and the script that an
//! analyst would write with general-purpose libraries: the delay that was planted is found, single
//! records are nearer the truth than the script's, planted faults are dropped and little else, and an
//! effect that is added shows up by the reported share.

use checkstrip_acceptance::{Folder, Table, oracle, peer, peer_baseline, peer_field};
use serde_json::Value;
use std::collections::HashSet;
use std::path::PathBuf;
use std::sync::OnceLock;

/// A generated field after a comparison.
struct Field {
    folder: Folder,
    python: PathBuf,
    results: Value,
    cleaned: Table,
}

/// Makes a field and compares on it; `None`, said aloud, without generator or Python.
fn compared(options: &str) -> Option<Field> {
    let options: Vec<&str> = options.split(' ').collect();
    let (folder, python) = peer_field(&options)?;
    let line = "compare --harvest log.csv --strips strips.geojson --crop soybean --out out";
    let _ = folder
        .run(line.split(' ').chain(["--export", "csv"]))
        .ended(0);
    Some(Field {
        results: folder.json("out/results.json"),
        cleaned: Table::parse(&folder.text("out/cleaned.csv"), ','),
        folder,
        python,
    })
}

/// The fields that several tests look at: three of 10,000 records and one of 100,000.
fn fields() -> Option<&'static [Field]> {
    static FIELDS: OnceLock<Option<Vec<Field>>> = OnceLock::new();
    // Each test that is skipped says so itself.
    peer()?;
    let plans = [
        "--points 10000 --seed 1",
        "--points 10000 --seed 2",
        "--points 10000 --seed 3",
        "--points 100000 --seed 4",
    ];
    let fields = FIELDS.get_or_init(|| plans.iter().map(|plan| compared(plan)).collect());
    fields.as_deref()
}

fn number(results: &Value, pointer: &str) -> f64 {
    let found = results.pointer(pointer).and_then(Value::as_f64);
    found.unwrap_or_else(|| panic!("{pointer} is no number"))
}

/// The estimate within 1.5 s of `expected`, and its interval with it or near it.
#[track_caller]
fn delay_is(results: &Value, expected: f64) {
    let delay = number(results, "/cleaning/grain_delay_s");
    assert!(
        (delay - expected).abs() <= 1.5,
        "{delay} s against {expected} s"
    );
    assert_eq!(results["cleaning"]["grain_delay_source"], "estimated");
    let low = number(results, "/cleaning/grain_delay_low_s");
    let high = number(results, "/cleaning/grain_delay_high_s");
    assert!(low <= delay && delay <= high, "{low} {delay} {high}");
    assert!(
        low - 1.5 <= expected && expected <= high + 1.5,
        "{low} to {high}"
    );
    assert!(high - low <= 6.0, "{low} to {high} says nothing");
}

/// 12 s of transport and 2 s of smear: the best single shift is about 13 s (found by trying shifts
/// with the outside script).
#[test]
fn the_usual_grain_delay_is_found() {
    for field in fields().unwrap_or_default() {
        delay_is(&field.results, 13.0);
    }
}

#[track_caller]
fn planted_delay(seconds: f64) {
    let plan = format!("--points 10000 --seed 5 --delay-s {seconds}");
    if let Some(field) = compared(&plan) {
        delay_is(&field.results, seconds + 1.0);
    }
}

#[test]
fn a_grain_delay_of_5_s_is_found() {
    planted_delay(5.0);
}

#[test]
fn a_grain_delay_of_8_s_is_found() {
    planted_delay(8.0);
}

#[test]
fn a_grain_delay_of_18_s_is_found() {
    planted_delay(18.0);
}

#[test]
fn a_log_without_any_delay_is_left_alone() {
    if let Some(field) = compared("--points 10000 --seed 6 --delay-s 0 --smear-s 0") {
        let delay = number(&field.results, "/cleaning/grain_delay_s");
        assert!(delay.abs() <= 0.5, "{delay}");
    }
}

#[test]
fn a_log_with_nothing_but_smear_has_about_its_delay() {
    if let Some(field) = compared("--points 10000 --seed 6 --delay-s 0") {
        let delay = number(&field.results, "/cleaning/grain_delay_s");
        assert!((delay - 1.0).abs() <= 1.5, "{delay}");
    }
}

/// Against the outside script at the delay that suits it best.
#[test]
fn single_records_are_no_further_from_the_truth_than_the_scripts() {
    for field in fields().unwrap_or_default() {
        let folder = &field.folder;
        peer_baseline(folder, &field.python, &["--delay-s", "13", "--no-map"]);
        let paths = [
            "out/cleaned.csv",
            "truth_points.parquet",
            "baseline/clean.parquet",
        ];
        let paths = paths.map(|path| folder.join(path));
        let error = oracle(&field.python, "per_record_error.py", paths);
        assert_eq!(error["records"], error["truth"]);
        let (own, script) = (
            number(&error, "/rmse_kg_ha"),
            number(&error, "/baseline_rmse_kg_ha"),
        );
        assert!(own <= script, "{error}");
        // Not by keeping the easy ones only.
        let (kept, theirs) = (number(&error, "/kept"), number(&error, "/baseline_kept"));
        assert!(kept >= 0.97 * theirs, "{error}");
    }
}

#[test]
fn the_log_is_never_shortened_or_reordered() {
    for field in fields().unwrap_or_default() {
        let log = Table::parse(&field.folder.text("log.csv"), ',');
        let cleaned = &field.cleaned;
        assert_eq!(log.rows.len(), cleaned.rows.len());
        assert_eq!(log.numbers("timestamp_s"), cleaned.numbers("timestamp_s"));
        let numbered: Vec<f64> = (1..=log.rows.len()).map(|n| n as f64).collect();
        assert_eq!(cleaned.numbers("record"), numbered);
        let removed = field.results["cleaning"]["removed"]
            .as_object()
            .expect("reasons");
        let removed: u64 = removed.values().filter_map(Value::as_u64).sum();
        let kept = field.results["cleaning"]["kept"].as_u64().expect("a count");
        assert_eq!(kept + removed, log.rows.len() as u64);
    }
}

fn injected(field: &Field) -> Vec<(String, Vec<usize>)> {
    let truth = field.folder.json("truth.json");
    let kinds = truth["injected_rows"].as_object().expect("kinds");
    kinds
        .iter()
        .map(|(kind, rows)| {
            let rows = rows.as_array().expect("rows").iter();
            (
                kind.clone(),
                rows.map(|row| row.as_u64().expect("a row") as usize)
                    .collect(),
            )
        })
        .collect()
}

#[test]
fn planted_faults_are_dropped() {
    let Some(fields) = fields() else { return };
    let (mut planted, mut missed) = (0, Vec::new());
    for field in fields {
        let status = field.cleaned.texts("status");
        for (kind, rows) in injected(field) {
            planted += rows.len();
            missed.extend(
                rows.iter()
                    .filter(|&&row| status[row] == "kept")
                    .map(|_| kind.clone()),
            );
        }
    }
    assert!(planted > 200, "{planted}");
    assert!(
        missed.len() as f64 <= 0.05 * planted as f64,
        "{} of {planted}: {missed:?}",
        missed.len()
    );
}

#[test]
fn good_records_are_kept() {
    for field in fields().unwrap_or_default() {
        let bad: HashSet<usize> = injected(field)
            .into_iter()
            .flat_map(|(_, rows)| rows)
            .collect();
        let down = field.cleaned.numbers("header_down");
        let status = field.cleaned.texts("status");
        let good: Vec<&str> = (0..status.len())
            .filter(|row| down[*row] == 1.0 && !bad.contains(row))
            .map(|row| status[row])
            .filter(|status| !["pass_start", "pass_end"].contains(status))
            .collect();
        let dropped = good.iter().filter(|status| **status != "kept").count();
        assert!(
            dropped as f64 <= 0.05 * good.len() as f64,
            "{dropped} of {}",
            good.len()
        );
    }
}

/// The same field with and without an effect: what the comparison gains is the effect times the
/// share of the contrast that the strips carry. The soil's luck is the same in both and drops out.
#[test]
fn an_added_effect_shows_by_the_reported_dilution() {
    let plan = |effect: u32| format!("--points 10000 --seed 7 --effect-kg-ha {effect}");
    let (Some(without), Some(with)) = (compared(&plan(0)), compared(&plan(400))) else {
        return;
    };
    let rows = with.results["comparisons"].as_array().expect("rows");
    let at = |results: &Value, method: &str, key: &str| {
        let rows = results["comparisons"].as_array().expect("rows");
        let row = rows
            .iter()
            .find(|row| row["method"] == method)
            .expect("the method");
        row[key].as_f64().expect("a number")
    };
    let mut seen = 0;
    for method in rows.iter().filter_map(|row| row["method"].as_str()) {
        // The permutation test has no estimate of its own; the plain strip means carry the dilution.
        if method != "paired_strips" && method != "randomized_blocks" {
            continue;
        }
        let gain = at(&with.results, method, "advantage_kg_ha")
            - at(&without.results, method, "advantage_kg_ha");
        let dilution = at(&with.results, method, "dilution");
        assert!(
            (gain / 400.0 - dilution).abs() <= 0.03,
            "{method}: {gain} kg/ha, {dilution}"
        );
        assert!((0.6..0.95).contains(&dilution), "{dilution}");
        seen += 1;
    }
    assert!(seen > 0);
}
