//! A plan from boundary to files and back, on an invented field.

use super::*;
use checkstrip_formats::{StripOptions, read_strips};
use checkstrip_model::units::UnitSystem;
use geo::{Area, Contains};
use std::path::Path;

/// An invented field of about 800 m by 500 m, in the file `field.geojson` of `dir`.
fn boundary(dir: &Path) -> PathBuf {
    let path = dir.join("field.geojson");
    let text = r#"{"type": "FeatureCollection", "features": [{"type": "Feature", "properties": {},
        "geometry": {"type": "Polygon", "coordinates": [[[-93.4, 42.03], [-93.394, 42.03],
        [-93.393, 42.037], [-93.4, 42.037], [-93.4, 42.03]]]}}]}"#;
    std::fs::write(&path, text).unwrap();
    path
}

fn setup(boundary: PathBuf) -> PlanSetup {
    PlanSetup {
        name: "Invented \"north\" eighty".into(),
        boundary: Some(boundary),
        log: None,
        crop: Crop::known("soybean").unwrap(),
        direction: DirectionSetup::FromNorth(0.0),
        implement_width_m: 12.192,
        header_width_m: 9.144,
        strip_passes: None,
        treatments: vec!["rolled".into(), "check".into()],
        check: None,
        blocks: 6,
        headland_m: 18.0,
        offset_m: None,
        seed: 7,
        sd: None,
        gain: Some(YieldAmount::Percent(10.0)),
        expected_yield_kg_ha: None,
        price_per_bu: None,
        cost_per_ac: None,
    }
}

fn planned(setup: &PlanSetup) -> Result<Planned, String> {
    plan(setup, &|_| {}).map_err(|error| error.to_string())
}

#[test]
fn what_is_written_is_read_back_as_strips() {
    let dir = tempfile::tempdir().unwrap();
    let planned = planned(&setup(boundary(dir.path()))).unwrap();
    let out = dir.path().join("out");
    let written = write_plan(&planned, &out, UnitSystem::Farm).unwrap();
    assert!(written.iter().all(|path| path.exists()));
    for file in ["strips.geojson", "strips.shp"] {
        let read = read_strips(&out.join(file), &StripOptions::default()).unwrap();
        assert!(read.problems.is_empty(), "{:?}", read.problems);
        assert_eq!(read.strips.len(), planned.strips.len());
        for (found, laid) in read.strips.iter().zip(&planned.strips) {
            assert_eq!(found.treatment, laid.treatment);
            assert_eq!(
                (&found.strip_id, &found.block),
                (&laid.strip_id, &laid.block)
            );
            let apart = found.ground.unsigned_area() / laid.ground.unsigned_area() - 1.0;
            assert!(apart.abs() < 1e-4, "{apart}");
        }
    }
    let field = read_boundary(&boundary(dir.path())).unwrap().ground;
    assert!(
        planned
            .strips
            .iter()
            .all(|strip| field.contains(&strip.ground))
    );
    let json: serde_json::Value =
        serde_json::from_slice(&std::fs::read(out.join("plan.json")).unwrap()).unwrap();
    assert_eq!(json["schema"], "checkstrip-plan/1");
    assert_eq!(json["strips"].as_array().unwrap().len(), 12);
    assert_eq!(json["power"]["sd"]["pct"], 5.0);
    // The stub is a trial file once logs are there.
    std::fs::create_dir(out.join("harvest")).unwrap();
    std::fs::write(out.join("harvest/log.csv"), "lon,lat\n").unwrap();
    let trial = crate::read_trial_file(&out.join("trial.toml")).unwrap();
    assert_eq!(trial.name, "Invented \"north\" eighty");
    assert_eq!(trial.strips.check.as_deref(), Some("check"));
}

#[test]
fn one_seed_is_one_plan() {
    let dir = tempfile::tempdir().unwrap();
    let mut setup = setup(boundary(dir.path()));
    let orders = |setup: &PlanSetup| planned(setup).unwrap().plan.randomisation.orders;
    assert_eq!(orders(&setup), orders(&setup));
    let first = orders(&setup);
    setup.seed = 8;
    assert_ne!(orders(&setup), first);
}

#[test]
fn bushels_against_percent_need_a_yield() {
    let dir = tempfile::tempdir().unwrap();
    let mut setup = setup(boundary(dir.path()));
    setup.gain = Some(YieldAmount::KgHa(67.0));
    let error = planned(&setup).unwrap_err();
    assert!(error.contains("--expected-yield"), "{error}");
    setup.expected_yield_kg_ha = Some(3_700.0);
    let power = planned(&setup).unwrap().plan.power;
    // 5 % of 3,700 is 185; 2.0288 of it is the smallest gain of six pairs.
    assert!((power.smallest_gain.kg_ha.unwrap() - 185.0 * 2.02876).abs() < 0.01);
    assert!(power.wanted.unwrap().blocks_needed.unwrap() > 100);
}

/// That the variation is the planted one is held in `tests/tests/planning.rs`.
#[test]
fn a_log_alone_gives_outline_direction_and_variation() {
    let dir = tempfile::tempdir().unwrap();
    let season = checkstrip_invented::write_season(dir.path()).unwrap();
    let trial = crate::read_trial_file(&season.trial).unwrap();
    let mut setup = setup(dir.path().join("none"));
    setup.boundary = None;
    setup.log = Some(trial.log);
    setup.direction = DirectionSetup::Found;
    let plan = planned(&setup).unwrap().plan;
    assert_eq!(plan.ground.direction_from, "passes_of_log");
    let measured = plan.power.measured.unwrap();
    assert_eq!(plan.power.sd_source, "measured");
    assert!(
        measured.draws > 150 && measured.dilution > 0.7,
        "{measured:?}"
    );
    assert!(measured.low_sd_kg_ha <= measured.sd_kg_ha, "{measured:?}");
    assert!(
        (500.0..9_000.0).contains(&measured.mean_kg_ha),
        "{measured:?}"
    );
    let codes: Vec<&str> = plan.warnings.iter().map(|w| w.code.as_str()).collect();
    assert!(
        codes.contains(&"outline_of_log") && !codes.contains(&"sd_assumed"),
        "{codes:?}"
    );
}

#[test]
fn mistakes_say_what_to_do() {
    let dir = tempfile::tempdir().unwrap();
    let good = setup(boundary(dir.path()));
    let said = |change: &dyn Fn(&mut PlanSetup)| {
        let mut setup = good.clone();
        change(&mut setup);
        planned(&setup).unwrap_err()
    };
    assert!(said(&|s| s.boundary = None).contains("--boundary"));
    assert!(said(&|s| s.treatments[1] = "none".into()).contains("--check"));
    assert!(said(&|s| s.check = Some("nothing".into())).contains("not among"));
    assert!(said(&|s| s.blocks = 130).contains("254"));
    assert!(said(&|s| s.headland_m = 400.0).contains("headland"));
    assert!(said(&|s| s.header_width_m = 0.0).contains("header width"));
    assert!(said(&|s| s.strip_passes = Some(50)).contains("not one block"));
    assert!(said(&|s| s.price_per_bu = Some(-1.0)).contains("price"));
    assert!(said(&|s| s.treatments[0] = String::new()).contains("no name"));
    let line = DirectionSetup::FirstLine(dir.path().join("no.geojson"));
    assert!(said(&|s| s.direction = line.clone()).contains("no.geojson"));
}
