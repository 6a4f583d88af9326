//! Reading a log of 100,000 records and 13 columns, and writing it cleaned. The log is made up; the
//! files lie in the system's folder for temporary files.

#![allow(missing_docs)]

use std::fmt::Write as _;
use std::path::PathBuf;
use std::sync::LazyLock;

use checkstrip_formats::{
    ReadOptions, read_log, write_cleaned_csv, write_cleaned_geojson, write_cleaned_parquet,
};
use checkstrip_model::{CleanLog, Column, Status};

const RECORDS: usize = 100_000;

static FOLDER: LazyLock<tempfile::TempDir> =
    LazyLock::new(|| tempfile::tempdir().expect("a folder for temporary files"));

static CSV: LazyLock<PathBuf> = LazyLock::new(|| {
    let mut text = String::from(
        "timestamp_s,lon,lat,mass_flow_kg_s,moisture_pct,speed_m_s,distance_m,interval_s,width_m,\
         header_down,heading_deg,pass_id,elevation_m\n",
    );
    for record in 0..RECORDS {
        let at = record as f64;
        let wave = (at * 0.37).sin();
        let _ = writeln!(
            text,
            "{:.3},{:.9},{:.9},{:.6},{:.3},{:.5},{:.6},1.0,9.144,{},{:.4},{},{:.4}",
            1_759_759_200.0 + at,
            -93.1 + at * 1e-6,
            43.2 + wave * 1e-4,
            5.0 + wave,
            13.0 + wave,
            2.0 + wave * 0.1,
            2.0 + wave * 0.1,
            record % 2,
            180.0 + wave,
            record / 500,
            300.0 + wave,
        );
    }
    let path = FOLDER.path().join("invented.csv");
    std::fs::write(&path, text).expect("the folder takes files");
    path
});

static CLEANED: LazyLock<CleanLog> = LazyLock::new(|| {
    let log =
        read_log(std::slice::from_ref(&CSV), &ReadOptions::default()).expect("the log is good");
    let flow = log.numbers(Column::MassFlow).unwrap_or_default().to_vec();
    CleanLog {
        pass: (0..RECORDS).map(|record| record as u32 / 500 + 1).collect(),
        status: vec![Status::Kept; RECORDS],
        footprint_m2: flow.clone(),
        overlap_m2: flow.iter().map(|flow| flow * 0.1).collect(),
        wet_mass_kg: flow.clone(),
        raw_yield_kg_ha: flow.iter().map(|flow| flow * 900.0).collect(),
        yield_kg_ha: flow.iter().map(|flow| flow * 950.0).collect(),
        log,
        ..CleanLog::default()
    }
});

static GEOJSON: LazyLock<PathBuf> = LazyLock::new(|| {
    let path = FOLDER.path().join("read.geojson");
    write_cleaned_geojson(&path, &CLEANED).expect("the folder takes files");
    path
});

#[divan::bench]
fn read_csv(bencher: divan::Bencher) {
    let paths = [CSV.clone()];
    bencher.bench(|| read_log(&paths, &ReadOptions::default()));
}

#[divan::bench]
fn read_geojson(bencher: divan::Bencher) {
    let paths = [GEOJSON.clone()];
    bencher.bench(|| read_log(&paths, &ReadOptions::default()));
}

#[divan::bench]
fn write_csv(bencher: divan::Bencher) {
    let (log, path) = (&*CLEANED, FOLDER.path().join("a.csv"));
    bencher.bench(|| write_cleaned_csv(&path, log));
}

#[divan::bench]
fn write_geojson(bencher: divan::Bencher) {
    let (log, path) = (&*CLEANED, FOLDER.path().join("a.geojson"));
    bencher.bench(|| write_cleaned_geojson(&path, log));
}

#[divan::bench]
fn write_parquet(bencher: divan::Bencher) {
    let (log, path) = (&*CLEANED, FOLDER.path().join("a.parquet"));
    bencher.bench(|| write_cleaned_parquet(&path, log));
}

fn main() {
    divan::main();
    // Statics are not dropped: the folder is removed by hand.
    let _ = std::fs::remove_dir_all(FOLDER.path());
}
