//! How long each step of the main job takes on an invented field of about 100,000 records.

use checkstrip_cleaning::{BesideTheRecords, CleaningOutcome, Recipe, clean};
use checkstrip_formats::{ReadOptions, StripOptions, read_log, write_cleaned_csv};
use checkstrip_formats::{write_cleaned_geojson, write_cleaned_parquet};
use checkstrip_invented::{FieldPlan, Harvest, InventedField};
use checkstrip_job::{
    BesideTheLog, LanguageSetup, LogSetup, StripSetup, TrialSetup, ZoneSetup, clean_field,
    compare_cleaned,
};
use checkstrip_model::Crop;
use checkstrip_spatial::overlay::overlay;
use checkstrip_spatial::strip_ground::StripField;
use checkstrip_spatial::strip_sums::strip_sums;
use checkstrip_trial::PayoffSetup;
use std::path::{Path, PathBuf};

fn main() {
    divan::main();
}

fn harvest() -> Harvest {
    let plan = FieldPlan {
        passes: 150,
        pass_length_m: 1_300.0,
        ..FieldPlan::default()
    };
    InventedField::new(plan)
        .expect("the plan of this benchmark fits")
        .harvest()
}

fn soybean() -> Crop {
    Crop::known("soybean").expect("soybean is a known crop")
}

fn cleaned(harvest: &Harvest) -> CleaningOutcome {
    clean(
        harvest.log.clone(),
        &soybean(),
        None,
        &Recipe::default(),
        BesideTheRecords::default(),
    )
    .expect("an invented log is clean")
}

/// The log as a file, written once.
fn log_file(folder: &Path) -> PathBuf {
    let path = folder.join("log.csv");
    write_cleaned_csv(&path, &cleaned(&harvest()).log).expect("the folder can be written");
    path
}

#[divan::bench(sample_count = 5)]
fn read_delimited(bencher: divan::Bencher) {
    let folder = tempfile::tempdir().expect("a folder for the benchmark");
    let path = log_file(folder.path());
    bencher.bench(|| read_log(std::slice::from_ref(&path), &ReadOptions::default()));
}

#[divan::bench(sample_count = 5)]
fn clean_log(bencher: divan::Bencher) {
    let harvest = harvest();
    bencher
        .with_inputs(|| harvest.log.clone())
        .bench_values(|log| {
            clean(
                log,
                &soybean(),
                None,
                &Recipe::default(),
                BesideTheRecords::default(),
            )
        });
}

#[divan::bench(sample_count = 5)]
fn overlay_and_sum(bencher: divan::Bencher) {
    let harvest = harvest();
    let outcome = cleaned(&harvest);
    let field = StripField::new(&harvest.strips, &outcome.plane, 1.5).expect("strips project");
    bencher.bench(|| strip_sums(&outcome.log, &field, &overlay(&outcome.log, &field)));
}

/// The trial of the invented farm on this field.
fn trial() -> TrialSetup {
    TrialSetup {
        trial_file: String::new(),
        name: "invented".to_owned(),
        log: LogSetup::new(Vec::new(), Some(soybean())),
        strips: StripSetup {
            file: "invented.geojson".into(),
            options: StripOptions::default(),
            check: Some("check".to_owned()),
            inset_m: 1.524,
        },
        money: Some(PayoffSetup {
            price_per_bu: 10.4,
            ..PayoffSetup::default()
        }),
        stand: None,
        zones: Some(ZoneSetup::Elevation { classes: 3 }),
        language: LanguageSetup::default(),
    }
}

/// What a change of the strips costs once the log is cleaned.
#[divan::bench(sample_count = 20)]
fn compare_on_a_cleaned_log(bencher: divan::Bencher) {
    let (harvest, setup) = (harvest(), trial());
    let cleaned =
        clean_field(harvest.log, &setup.log, None, None).expect("an invented log is clean");
    let set = &harvest.strips;
    let beside = BesideTheLog::default();
    bencher
        .bench(|| compare_cleaned(&cleaned, set, &beside, &setup, &|_| {}).expect("it compares"));
}

#[divan::bench(sample_count = 5)]
fn write_geojson(bencher: divan::Bencher) {
    let folder = tempfile::tempdir().expect("a folder for the benchmark");
    let outcome = cleaned(&harvest());
    let path = folder.path().join("cleaned.geojson");
    bencher.bench(|| write_cleaned_geojson(&path, &outcome.log));
}

#[divan::bench(sample_count = 5)]
fn write_parquet(bencher: divan::Bencher) {
    let folder = tempfile::tempdir().expect("a folder for the benchmark");
    let outcome = cleaned(&harvest());
    let path = folder.path().join("cleaned.parquet");
    bencher.bench(|| write_cleaned_parquet(&path, &outcome.log));
}
