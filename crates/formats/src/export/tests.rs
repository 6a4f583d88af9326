//! What is written is what is read back, by us and by others.

use std::path::Path;
use std::process::Command;

use checkstrip_model::{CleanLog, Column, FieldLog, Labels, SourceFile, Status};
use proptest::prelude::*;

use super::*;
use crate::{ReadOptions, read_log};

/// A cleaned log of an invented field: `flow` and `lon` as given, the rest made up.
fn clean_log(lon: &[f64], flow: &[f64]) -> CleanLog {
    let records = lon.len();
    let mut log = FieldLog::with_records(records);
    log.files = vec![SourceFile {
        path: "invented.csv".into(),
        sha256: String::new(),
        records,
    }];
    log.set_numbers(Column::Lon, lon.to_vec());
    log.set_numbers(Column::Lat, vec![43.2; records]);
    log.set_numbers(Column::MassFlow, flow.to_vec());
    log.set_numbers(Column::HeaderDown, vec![1.0; records]);
    log.set_numbers(Column::Yield, vec![4000.0; records]);
    let mut machines = Labels::default();
    (0..records).for_each(|at| machines.push(["a, \"b\"", "nörth", ""][at % 3]));
    log.set_labels(Column::Machine, machines);
    let status = [Status::Kept, Status::HeaderUp, Status::LocalOutlier];
    CleanLog {
        log,
        pass: (0..records).map(|at| at as u32 % 7).collect(),
        status: (0..records).map(|at| status[at % 3]).collect(),
        footprint_m2: vec![20.0; records],
        overlap_m2: vec![1.5; records],
        wet_mass_kg: vec![8.25; records],
        raw_yield_kg_ha: vec![4100.5; records],
        yield_kg_ha: (0..records)
            .map(|at| if at == 1 { f64::NAN } else { 4200.25 })
            .collect(),
        ..CleanLog::default()
    }
}

fn assert_read_back(path: &Path, log: &CleanLog) {
    let back = read_log(&[path.to_owned()], &ReadOptions::default()).unwrap();
    assert_eq!(back.len(), log.len());
    assert_eq!(back.cleaned_status.as_ref(), Some(&log.status));
    assert_eq!(back.unrecognised, [] as [&str; 0]);
    for (column, half) in [(Column::Lon, 0.5e-8), (Column::MassFlow, 0.5e-4)] {
        let pairs = back
            .numbers(column)
            .unwrap()
            .iter()
            .zip(log.log.numbers(column).unwrap());
        for (found, written) in pairs {
            let is_same =
                found.is_nan() && written.is_nan() || (found - written).abs() <= half * 1.001;
            assert!(is_same, "{column:?}: {found} is not {written}");
        }
    }
    // The exported yield is the cleaned one.
    assert_eq!(back.numbers(Column::Yield).unwrap()[0], 4200.25);
    assert!(back.numbers(Column::Yield).unwrap()[1].is_nan());
    let machines = back.labels(Column::Machine).unwrap();
    let expected = log.log.labels(Column::Machine).unwrap();
    (0..log.len()).for_each(|at| assert_eq!(machines.name(at), expected.name(at)));
}

#[test]
fn every_record_is_written_in_order() {
    let dir = tempfile::tempdir().unwrap();
    let lon: Vec<f64> = (0..50_000).map(|at| -93.1 + f64::from(at) * 1e-6).collect();
    let log = clean_log(&lon, &lon.iter().map(|lon| lon + 100.0).collect::<Vec<_>>());
    for (name, write) in [
        ("a.csv", write_cleaned_csv as fn(&Path, &CleanLog) -> _),
        ("a.geojson", write_cleaned_geojson),
    ] {
        let path = dir.path().join(name);
        write(&path, &log).unwrap();
        assert_read_back(&path, &log);
    }
}

#[test]
fn records_without_a_position_or_a_reading_are_null() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("a.geojson");
    write_cleaned_geojson(&path, &clean_log(&[f64::NAN, -93.1], &[1.0, f64::NAN])).unwrap();
    let text = std::fs::read_to_string(&path).unwrap();
    let json: serde_json::Value = serde_json::from_str(&text).unwrap();
    let features = json["features"].as_array().unwrap();
    assert!(features[0]["geometry"].is_null());
    assert_eq!(
        features[1]["geometry"]["coordinates"],
        serde_json::json!([-93.1, 43.2])
    );
    assert!(features[1]["properties"]["mass_flow_kg_s"].is_null());
    assert_eq!(
        features[0]["properties"],
        serde_json::json!({
            "record": 1, "status": "kept", "pass": 0, "mass_flow_kg_s": 1, "header_down": 1,
            "machine": "a, \"b\"", "logged_yield_kg_ha": 4000, "yield_kg_ha": 4200.25,
            "raw_yield_kg_ha": 4100.5, "overlap_m2": 1.5, "area_m2": 18.5, "wet_mass_kg": 8.25
        })
    );
}

#[test]
fn an_empty_log_is_an_empty_file() {
    let dir = tempfile::tempdir().unwrap();
    let log = CleanLog::default();
    let path = dir.path().join("a.geojson");
    write_cleaned_geojson(&path, &log).unwrap();
    let json: serde_json::Value = serde_json::from_slice(&std::fs::read(&path).unwrap()).unwrap();
    assert_eq!(json["features"], serde_json::json!([]));
    write_cleaned_parquet(&dir.path().join("a.parquet"), &log).unwrap();
    write_cleaned_csv(&dir.path().join("a.csv"), &log).unwrap();
}

/// Reads the exports with pyarrow (Apache Arrow) and geopandas, which know nothing of us.
#[test]
fn others_read_the_exports() {
    let script = r#"
import sys, json
import pyarrow.parquet as pq, geopandas as gp
table = pq.read_table(sys.argv[1])
geo = json.loads(table.schema.metadata[b"geo"])
assert geo["version"] == "1.1.0" and geo["columns"]["geometry"]["encoding"] == "WKB"
frame, points = gp.read_parquet(sys.argv[1]), gp.read_file(sys.argv[2])
for f in (frame, points):
    assert len(f) == 1000 and list(f["record"]) == list(range(1, 1001))
    assert f.geometry.isna().sum() == 1 and f["yield_kg_ha"].isna().sum() == 1
    assert f["status"][1] == "header_up" and f["machine"][1] == "nörth" and f["machine"].isna()[2]
    assert f.crs.to_epsg() == 4326 or f.crs.to_authority() == ("OGC", "CRS84")
assert abs(frame.geometry.x[5] - points.geometry.x[5]) < 1e-8
assert frame["lon"][5] == frame.geometry.x[5]
long = pq.ParquetFile(sys.argv[3])
assert long.num_row_groups == 2
assert long.read(["record"])["record"].to_pylist() == list(range(1, 140_001))
"#;
    let interpreter = std::env::var("CHECKSTRIP_PYTHON").unwrap_or_else(|_| "python3".to_owned());
    let python = |arguments: &[&str]| Command::new(&interpreter).args(arguments).output();
    let modules = python(&["-c", "import pyarrow.parquet, geopandas"]);
    if !modules.is_ok_and(|output| output.status.success()) {
        eprintln!("SKIPPED: {interpreter} with pyarrow and geopandas is not installed");
        return;
    }
    let dir = tempfile::tempdir().unwrap();
    let mut lon: Vec<f64> = (0..1000).map(|at| -93.1 + f64::from(at) * 1e-5).collect();
    lon[7] = f64::NAN;
    let log = clean_log(&lon, &vec![5.0; 1000]);
    let (parquet, geojson) = (dir.path().join("a.parquet"), dir.path().join("a.geojson"));
    write_cleaned_parquet(&parquet, &log).unwrap();
    write_cleaned_geojson(&geojson, &log).unwrap();
    // More records than one row group takes.
    let long = dir.path().join("long.parquet");
    write_cleaned_parquet(&long, &clean_log(&[-93.1; 140_000], &[5.0; 140_000])).unwrap();
    let files = [parquet, geojson, long].map(|path| path.to_string_lossy().into_owned());
    let output = python(&["-c", script, &files[0], &files[1], &files[2]]).unwrap();
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn writing_then_reading_keeps_numbers_to_the_written_decimals(
        records in proptest::collection::vec((-180.0_f64..180.0, -1e6_f64..1e6), 2..60),
    ) {
        let dir = tempfile::tempdir().unwrap();
        let lon: Vec<f64> = records.iter().map(|record| record.0).collect();
        let flow: Vec<f64> = records.iter().map(|record| record.1).collect();
        let log = clean_log(&lon, &flow);
        let csv = dir.path().join("a.csv");
        write_cleaned_csv(&csv, &log).unwrap();
        assert_read_back(&csv, &log);
        let geojson = dir.path().join("a.geojson");
        write_cleaned_geojson(&geojson, &log).unwrap();
        assert_read_back(&geojson, &log);
    }
}
