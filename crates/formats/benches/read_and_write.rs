//! Reading a log of 100,000 records and 13 columns, and writing it cleaned; and reading a million records of
//! task data. The logs are made up; the
//! files lie in the system's folder for temporary files.

#![allow(missing_docs)]

use std::fmt::Write as _;
use std::path::PathBuf;
use std::sync::LazyLock;

use checkstrip_formats::{
    FormatError, ReadOptions, read_log, read_log_in_pieces, write_cleaned_csv,
    write_cleaned_geojson, write_cleaned_parquet,
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

/// 1,000,000 records of a time log with flow, moisture, speed, width and state, each of which brings two values.
static TASK_DATA: LazyLock<PathBuf> = LazyLock::new(|| {
    let folder = FOLDER.path().join("TASKDATA");
    std::fs::create_dir(&folder).expect("the folder takes folders");
    let put = |name: &str, content: &[u8]| {
        std::fs::write(folder.join(name), content).expect("the folder takes files");
    };
    put(
        "TASKDATA.XML",
        br#"<ISO11783_TaskData VersionMajor="4"><TSK A="TSK1" G="4"><TLG A="TLG00001" C="1"/></TSK></ISO11783_TaskData>"#,
    );
    put(
        "TLG00001.XML",
        br#"<TIM A="" D="4"><PTN A="" B="" C="" D=""/><DLV A="0057" B="" C="DET1"/><DLV A="0063" B="" C="DET1"/>
        <DLV A="018D" B="" C="DET1"/><DLV A="0043" B="" C="DET1"/><DLV A="008D" B="" C="DET1"/></TIM>"#,
    );
    let mut bytes = Vec::new();
    for record in 0..TASK_RECORDS as i32 {
        bytes.extend((record as u32 % 86_400_000).to_le_bytes());
        bytes.extend(17_080_u16.to_le_bytes());
        for number in [432_000_000 + record, -931_000_000 + record % 1_000, 300_000] {
            bytes.extend(number.to_le_bytes());
        }
        bytes.extend([4, 2]);
        for (at, value) in [
            (0, 5_000_000 + record % 1_000),
            (1 + record % 4, 1 + record % 2),
        ] {
            bytes.push(at as u8);
            bytes.extend(value.to_le_bytes());
        }
    }
    put("TLG00001.BIN", &bytes);
    folder
});

const TASK_RECORDS: usize = 1_000_000;

#[divan::bench]
fn read_task_data(bencher: divan::Bencher) {
    let paths = [TASK_DATA.clone()];
    bencher
        .counter(divan::counter::ItemsCount::new(TASK_RECORDS))
        .bench(|| read_log(&paths, &ReadOptions::default()));
}

#[divan::bench]
fn read_csv(bencher: divan::Bencher) {
    let paths = [CSV.clone()];
    bencher.bench(|| read_log(&paths, &ReadOptions::default()));
}

/// Beside `read_csv`: the same records handed over in pieces.
#[divan::bench]
fn read_csv_in_pieces(bencher: divan::Bencher) {
    let paths = [CSV.clone()];
    bencher.bench(|| {
        read_log_in_pieces(&paths, &ReadOptions::default(), |piece| {
            divan::black_box(piece);
            Ok::<(), FormatError>(())
        })
    });
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
