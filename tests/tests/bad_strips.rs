//! Strips that are spoiled one way each: refused with the feature and what to do, or compared with a
//! warning that names the strip.

use checkstrip_acceptance::{Run, SmallFarm, UTM_15_NORTH, WGS_84, same_figures, warning};
use serde_json::{Value, json};

/// The same where PROJ, the library, prints a line of its own before the message.
#[track_caller]
fn refusal_after_proj(farm: &SmallFarm, mut run: Run) -> String {
    let at = run.stderr.find("error: ").expect("a message");
    assert!(run.stderr[..at].lines().count() <= 1, "{}", run.stderr);
    run.stderr.replace_range(..at, "");
    farm.refusal(run)
}

/// The message for strips spoiled by `spoil`.
#[track_caller]
fn refusal_of(spoil: impl FnOnce(&mut SmallFarm)) -> String {
    let mut farm = SmallFarm::new();
    spoil(&mut farm);
    farm.write();
    farm.refusal(farm.compare())
}

/// Results for strips spoiled by `spoil`.
#[track_caller]
fn results_of(spoil: impl FnOnce(&mut SmallFarm)) -> Value {
    let mut farm = SmallFarm::new();
    spoil(&mut farm);
    farm.write();
    farm.results()
}

/// Every corner of every strip through `change`.
fn move_corners(strips: &mut Value, change: impl Fn(f64, f64) -> [f64; 2]) {
    for feature in strips["features"].as_array_mut().expect("features") {
        for part in feature["geometry"]["coordinates"]
            .as_array_mut()
            .expect("parts")
        {
            for ring in part.as_array_mut().expect("rings") {
                for corner in ring.as_array_mut().expect("corners") {
                    let at = |axis: usize| corner[axis].as_f64().expect("a number");
                    *corner = json!(change(at(0), at(1)));
                }
            }
        }
    }
}

/// The first ring of a strip.
fn ring(strips: &mut Value, strip: usize) -> &mut Vec<Value> {
    strips["features"][strip]["geometry"]["coordinates"][0][0]
        .as_array_mut()
        .expect("a ring")
}

#[test]
fn an_empty_file() {
    let farm = SmallFarm::new();
    farm.folder.put("strips.geojson", "");
    insta::assert_snapshot!(farm.refusal(farm.compare()));
}

#[test]
fn no_such_file() {
    let farm = SmallFarm::new();
    std::fs::remove_file(farm.folder.join("strips.geojson")).expect("removed");
    insta::assert_snapshot!(farm.refusal(farm.compare()));
}

#[test]
fn geojson_that_breaks_off() {
    let farm = SmallFarm::new();
    let text = farm.strips.to_string();
    farm.folder.put("strips.geojson", &text[..text.len() / 2]);
    insta::assert_snapshot!(farm.refusal(farm.compare()));
}

#[test]
fn a_collection_without_a_strip() {
    insta::assert_snapshot!(refusal_of(|farm| farm.strips["features"] = json!([])));
}

#[test]
fn points_instead_of_polygons() {
    insta::assert_snapshot!(refusal_of(|farm| {
        farm.strips["features"][1]["geometry"] =
            json!({ "type": "Point", "coordinates": [-40.0, 43.0] });
    }));
}

#[test]
fn no_treatment() {
    insta::assert_snapshot!(refusal_of(|farm| {
        for strip in 0..6 {
            farm.strips["features"][strip]["properties"] = json!({ "what": "rolled" });
        }
    }));
}

#[test]
fn one_strip_without_a_treatment() {
    insta::assert_snapshot!(refusal_of(|farm| farm.set_strip(
        3,
        "treatment",
        Value::Null
    )));
}

#[test]
fn one_treatment_only() {
    insta::assert_snapshot!(refusal_of(|farm| {
        for strip in 0..6 {
            farm.set_strip(strip, "treatment", "check");
        }
    }));
}

#[test]
fn metres_in_geojson_that_names_no_reference_system() {
    // The corners as they would stand in a zone of the UTM grid.
    insta::assert_snapshot!(refusal_of(|farm| {
        move_corners(&mut farm.strips, |lon, lat| {
            [
                500_000.0 + (lon + 40.0) * 81_000.0,
                4_760_000.0 + (lat - 43.0) * 111_000.0,
            ]
        });
    }));
}

#[test]
fn strips_on_another_farm() {
    insta::assert_snapshot!(refusal_of(|farm| {
        move_corners(&mut farm.strips, |lon, lat| [lon + 0.05, lat]);
    }));
}

#[test]
fn strips_on_the_other_side_of_the_earth() {
    insta::assert_snapshot!(refusal_of(|farm| {
        move_corners(&mut farm.strips, |lon, lat| [lon + 180.0, -lat]);
    }));
}

#[test]
fn a_reference_system_nobody_knows() {
    let mut farm = SmallFarm::new();
    farm.strips["crs"] = json!({ "type": "name", "properties": { "name": "EPSG:999999" } });
    farm.write();
    insta::assert_snapshot!(refusal_after_proj(&farm, farm.compare()));
}

/// The farm with its strips as Shapefile, after `spoil` had the bytes.
#[track_caller]
fn with_shapes(prj: &str, spoil: impl FnOnce(&mut Vec<u8>, &mut Vec<u8>)) -> (SmallFarm, Run) {
    let farm = SmallFarm::new();
    let mut shapes = farm.strip_shapes();
    spoil(&mut shapes.shp, &mut shapes.dbf);
    shapes.put(&farm, "strips", prj);
    let line = "compare --harvest log.csv --strips strips.shp --crop soybean --out out";
    let run = farm.folder.run(line.split(' '));
    (farm, run)
}

#[test]
fn a_whole_shapefile_gives_what_geojson_gives() {
    let (farm, run) = with_shapes(WGS_84, |_, _| ());
    let run = run.ended(0);
    assert_eq!(run.stderr, "");
    let found = farm.folder.json("out/results.json");
    let geojson = farm.results();
    same_figures("strips", &found["strips"], &geojson["strips"]);
    same_figures(
        "comparisons",
        &found["comparisons"],
        &geojson["comparisons"],
    );
}

#[test]
fn a_prj_of_another_zone() {
    // Degrees read as metres of zone 15: a place near the equator.
    let (farm, run) = with_shapes(UTM_15_NORTH, |_, _| ());
    insta::assert_snapshot!(farm.refusal(run));
}

#[test]
fn a_prj_that_is_broken_text() {
    let (farm, run) = with_shapes("PROJCS[\"half a zone\",GEOGCS[", |_, _| ());
    insta::assert_snapshot!(refusal_after_proj(&farm, run));
}

#[test]
fn shapes_without_a_byte() {
    let (farm, run) = with_shapes(WGS_84, |shp, _| shp.clear());
    insta::assert_snapshot!(farm.refusal(run));
}

#[test]
fn shapes_cut_off_in_their_header() {
    let (farm, run) = with_shapes(WGS_84, |shp, _| shp.truncate(99));
    insta::assert_snapshot!(farm.refusal(run));
}

#[test]
fn attributes_cut_off_in_their_header() {
    let (farm, run) = with_shapes(WGS_84, |_, dbf| dbf.truncate(40));
    insta::assert_snapshot!(farm.refusal(run));
}

#[test]
fn attributes_cut_off_after_their_header() {
    let (farm, run) = with_shapes(WGS_84, |_, dbf| dbf.truncate(32 + 3 * 32 + 1));
    insta::assert_snapshot!(farm.refusal(run));
}

/// Whatever is left of it: a message, or a comparison that says which strips are missing.
#[test]
fn a_shapefile_cut_off_anywhere_never_panics_and_never_loses_a_strip_in_silence() {
    let whole = SmallFarm::new().strip_shapes();
    for cut in (0..whole.shp.len()).step_by(37) {
        let (farm, run) = with_shapes(WGS_84, |shp, _| shp.truncate(cut));
        said_or_refused(&farm, run, &format!(".shp of {cut} bytes"));
    }
    for cut in (0..whole.dbf.len()).step_by(11) {
        let (farm, run) = with_shapes(WGS_84, |_, dbf| dbf.truncate(cut));
        said_or_refused(&farm, run, &format!(".dbf of {cut} bytes"));
    }
}

#[track_caller]
fn said_or_refused(farm: &SmallFarm, run: Run, what: &str) {
    assert!(!run.stderr.contains("panicked"), "{what}: {}", run.stderr);
    if run.status == Some(0) {
        let results = farm.folder.json("out/results.json");
        let strips = results["strips"].as_array().expect("strips").len();
        if strips < 6 {
            assert!(!warning(&results, "strips_file").is_empty(), "{what}");
        }
    } else {
        let _ = farm.refusal(run);
    }
}

#[test]
fn an_outline_that_crosses_itself() {
    insta::assert_snapshot!(refusal_of(|farm| {
        let ring = ring(&mut farm.strips, 2);
        ring.swap(1, 2);
    }));
}

#[test]
fn an_outline_without_ground() {
    insta::assert_snapshot!(refusal_of(|farm| {
        let ring = ring(&mut farm.strips, 2);
        let first = ring[0].clone();
        ring[2] = first.clone();
        ring[3] = first;
    }));
}

#[test]
fn strips_that_claim_the_same_ground() {
    let before = SmallFarm::new().results();
    let results = results_of(|farm| {
        // The second strip reaches halfway into the first, whose neighbour it is.
        let middle: Vec<f64> = {
            let ring = ring(&mut farm.strips, 0);
            (0..2)
                .map(|axis| {
                    ring[..4]
                        .iter()
                        .map(|c| c[axis].as_f64().expect("a number"))
                        .sum::<f64>()
                        / 4.0
                })
                .collect()
        };
        let ring = ring(&mut farm.strips, 1);
        let east = |corner: &Value| corner[0].as_f64().expect("a number");
        let far: f64 = ring[..4].iter().map(east).fold(f64::NEG_INFINITY, f64::max);
        let near: f64 = ring[..4].iter().map(east).fold(f64::INFINITY, f64::min);
        let by = (far + near) / 2.0 - middle[0];
        for corner in ring.iter_mut() {
            if (east(corner) - near).abs() < (east(corner) - far).abs() {
                corner[0] = json!(east(corner) - 0.5 * by);
            }
        }
    });
    insta::assert_snapshot!(warning(&results, "strips_overlap"));
    let area = |results: &Value, strip: usize| {
        results["strips"][strip]["area_m2"]
            .as_f64()
            .expect("a number")
    };
    // Ground that both claim counts for neither.
    assert!(area(&results, 0) < 0.9 * area(&before, 0));
}

#[test]
fn a_strip_no_pass_touches() {
    let results = results_of(|farm| {
        let ring = ring(&mut farm.strips, 4);
        for corner in ring.iter_mut() {
            corner[1] = json!(corner[1].as_f64().expect("a number") + 0.02);
        }
    });
    insta::assert_snapshot!(warning(&results, "strip_not_harvested"));
    let strip = &results["strips"][4];
    assert_eq!(strip["records"], 0);
    assert_eq!(strip["yield_kg_ha"], Value::Null);
    assert_eq!(results["comparisons"][0]["blocks"], 2);
}

#[test]
fn an_inset_that_leaves_nothing() {
    let farm = SmallFarm::new();
    let line = "compare --harvest log.csv --strips strips.geojson --crop soybean --out out";
    let run = farm.folder.run(line.split(' ').chain(["--inset", "40 ft"]));
    let _ = run.ended(0);
    let results = farm.folder.json("out/results.json");
    insta::assert_snapshot!(warning(&results, "inset_leaves_nothing"));
    assert_eq!(results["comparisons"], json!([]));
}

#[test]
fn the_same_name_twice() {
    let results = results_of(|farm| farm.set_strip(1, "strip_id", "1"));
    insta::assert_snapshot!(warning(&results, "strips_file"));
    let names: Vec<&str> = results["strips"]
        .as_array()
        .expect("strips")
        .iter()
        .map(|strip| strip["strip_id"].as_str().expect("a name"))
        .collect();
    let mut distinct = names.clone();
    distinct.sort_unstable();
    distinct.dedup();
    assert_eq!(distinct.len(), names.len(), "{names:?}");
}

#[test]
fn no_blocks() {
    let before = SmallFarm::new().results();
    let results = results_of(|farm| {
        for strip in 0..6 {
            farm.set_strip(strip, "block", Value::Null);
        }
    });
    insta::assert_snapshot!(warning(&results, "blocks_from_adjacency"));
    assert_eq!(results["strip_source"]["blocks_from"], "adjacency");
    // Blocks lie side by side here, so that nearness finds those of the file.
    assert_eq!(
        results["comparisons"][0]["advantage_kg_ha"],
        before["comparisons"][0]["advantage_kg_ha"]
    );
}

#[test]
fn nobody_says_which_treatment_is_the_check() {
    let mut farm = SmallFarm::new();
    for strip in 0..6 {
        let name = farm.strips["features"][strip]["properties"]["treatment"].clone();
        let name = if name == "check" { "plain" } else { "rolled" };
        farm.set_strip(strip, "treatment", name);
    }
    farm.write();
    let line = "compare --harvest log.csv --strips strips.geojson --crop soybean --out out";
    let _ = farm.folder.run(line.split(' ')).ended(0);
    let results = farm.folder.json("out/results.json");
    insta::assert_snapshot!(warning(&results, "no_check"));
    assert_eq!(results["comparisons"], json!([]));
    assert_eq!(results["strips"].as_array().expect("strips").len(), 6);
}
