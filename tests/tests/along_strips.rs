//! The advantage along the strips, from an invented harvest to results, map and report.

use checkstrip_acceptance::{SmallFarm, Table, same_figures};
use checkstrip_invented::{FieldPlan, InventedField, Treatment};
use serde_json::Value;

/// Seven blocks of strips 480 m long, with gains of the treatments in kg/ha.
fn plan(gains: &[f64]) -> FieldPlan {
    let mut treatments = vec![Treatment::new("check", 0.0)];
    for (place, gain) in gains.iter().enumerate() {
        treatments.push(Treatment::new(["rolled", "rolled twice"][place], *gain));
    }
    FieldPlan {
        passes: 14 * treatments.len() + 6,
        pass_length_m: 480.0,
        blocks: 7,
        treatments,
        ..FieldPlan::default()
    }
}

/// Two harvests of one field, with and without a gain, are the same but for the grain: the southern half
/// of the log is taken from the one, the northern half from the other.
fn gain_in_the_south(kg_ha: f64) -> SmallFarm {
    let mut farm = SmallFarm::planned(plan(&[kg_ha]));
    let without = InventedField::new(plan(&[0.0]))
        .expect("a plan that works")
        .harvest();
    let without = Table::of_log(&without.log);
    let (lat, flow) = (farm.log.at("lat"), farm.log.at("mass_flow_kg_s"));
    let lats: Vec<f64> = farm.log.numbers("lat");
    let known = || lats.iter().copied().filter(|lat| lat.is_finite());
    let ends = (known().fold(90.0, f64::min), known().fold(-90.0, f64::max));
    let middle = (ends.0 + ends.1) / 2.0;
    assert_eq!(farm.log.rows.len(), without.rows.len());
    for (row, other) in farm.log.rows.iter_mut().zip(&without.rows) {
        assert_eq!(row[lat], other[lat]);
        if row[lat].parse::<f64>().is_ok_and(|lat| lat > middle) {
            row[flow].clone_from(&other[flow]);
        }
    }
    farm.write();
    farm
}

fn of_treatment(results: &Value) -> &Value {
    &results["along_strips"]["treatments"][0]
}

#[test]
fn a_gain_on_half_the_length_is_found_there() {
    let farm = gain_in_the_south(900.0);
    let results = farm.results();
    let along = &results["along_strips"];
    assert_eq!(
        (&along["from_end"], &along["window_m"]),
        (&"south".into(), &60.0.into())
    );
    let rolled = of_treatment(&results);
    assert!(
        rolled["change"]["p_value"].as_f64().expect("p") <= 0.05,
        "{rolled:#}"
    );
    assert!(rolled["anywhere"]["p_value"].as_f64().expect("p") <= 0.05);
    let stretches = rolled["stretches"].as_array().expect("stretches");
    assert!(!stretches.is_empty());
    for stretch in stretches {
        assert_eq!(stretch["side"], "gain");
        assert!(stretch["from_m"].as_f64().expect("m") < 240.0, "{stretch}");
    }
    // Away from the middle and the ends, each half is what was planted, give or take its ground.
    let windows = rolled["windows"].as_array().expect("windows");
    let mean = |low: f64, high: f64| {
        let inside = windows.iter().filter(|w| {
            w["from_m"].as_f64().expect("m") >= low && w["to_m"].as_f64().expect("m") <= high
        });
        let values: Vec<f64> = inside
            .map(|w| w["advantage_kg_ha"].as_f64().expect("kg"))
            .collect();
        values.iter().sum::<f64>() / values.len() as f64
    };
    let (south, north) = (mean(20.0, 210.0), mean(270.0, 460.0));
    assert!(
        (south - 900.0).abs() < 250.0 && north.abs() < 250.0,
        "{south} {north}"
    );

    let page = farm.folder.text("out/report.html");
    assert!(page.contains("The advantage changes along the strips by more than luck"));
    assert!(page.contains("id=\"map-advantage_along\""));
}

/// The rings of all strips drawn the other way round, and every strip moved to another place in the file.
#[test]
fn the_way_strips_are_drawn_does_not_matter() {
    let mut farm = SmallFarm::new();
    let there = farm.results();
    let features = farm.strips["features"].as_array_mut().expect("features");
    features.reverse();
    for feature in features {
        let parts = feature["geometry"]["coordinates"]
            .as_array_mut()
            .expect("parts");
        for ring in parts
            .iter_mut()
            .flat_map(|part| part.as_array_mut().expect("rings"))
        {
            ring.as_array_mut().expect("corners").reverse();
        }
    }
    farm.write();
    let back = farm.results();
    let windows = |results: &Value| {
        let mut along = of_treatment(results).clone();
        for window in along["windows"].as_array_mut().expect("windows") {
            let blocks = window["block_differences"].as_array_mut().expect("blocks");
            blocks.sort_by_key(|block| block["block"].to_string());
        }
        along
    };
    same_figures("along_strips", &windows(&there), &windows(&back));
}

#[test]
fn several_treatments_have_a_map_each_and_old_maps_are_taken_away() {
    let mut farm = SmallFarm::planned(plan(&[60.0, 90.0]));
    let results = farm.results();
    assert_eq!(
        results["along_strips"]["treatments"]
            .as_array()
            .map(Vec::len),
        Some(2)
    );
    let maps = |farm: &SmallFarm| -> Vec<String> {
        let files = farm.folder.files_in("out/maps");
        files
            .into_iter()
            .filter(|name| name.starts_with("advantage_along"))
            .collect()
    };
    assert_eq!(
        maps(&farm),
        ["advantage_along_1.png", "advantage_along_2.png"]
    );
    farm.folder.put("out/maps/advantage_along_of_mine.png", "");
    let features = farm.strips["features"].as_array_mut().expect("features");
    features.retain(|feature| feature["properties"]["treatment"] != "rolled twice");
    farm.write();
    let _ = farm.results();
    assert_eq!(
        maps(&farm),
        ["advantage_along.png", "advantage_along_of_mine.png"]
    );
}

/// Every corner of a strip through `change`, which is given the strip's place and its middle.
fn bend(farm: &mut SmallFarm, change: impl Fn(usize, [f64; 2], [f64; 2]) -> [f64; 2]) {
    let features = farm.strips["features"].as_array_mut().expect("features");
    for (place, feature) in features.iter_mut().enumerate() {
        let ring = &mut feature["geometry"]["coordinates"][0][0];
        let corners: Vec<[f64; 2]> = serde_json::from_value(ring.clone()).expect("corners");
        let open = &corners[1..];
        let middle =
            [0, 1].map(|axis| open.iter().map(|c| c[axis]).sum::<f64>() / open.len() as f64);
        let bent: Vec<[f64; 2]> = corners.iter().map(|&c| change(place, c, middle)).collect();
        *ring = serde_json::to_value(bent).expect("json");
    }
    farm.write();
}

/// Strips 60 m long are too short for windows, and the report says why there are none.
#[test]
fn short_strips_have_no_windows() {
    let mut farm = SmallFarm::new();
    bend(&mut farm, |_, c, middle| {
        [c[0], middle[1] + (c[1] - middle[1]) * 60.0 / 260.0]
    });
    let results = farm.results();
    let along = &results["along_strips"];
    assert!(
        along["why_none"]
            .as_str()
            .expect("why")
            .contains("too short"),
        "{along}"
    );
    assert!(
        farm.folder
            .text("out/report.html")
            .contains("too short to be looked at in parts")
    );
    assert_eq!(along["treatments"].as_array().map(Vec::len), Some(0));
    assert!(
        !farm
            .folder
            .files_in("out/maps")
            .contains(&"advantage_along.png".to_owned())
    );
}

/// Strips of a few records, strips that cross, and treated strips that begin where the check's end.
#[test]
fn odd_strips_are_survived() {
    let mut farm = SmallFarm::new();
    bend(&mut farm, |_, c, middle| {
        [c[0], middle[1] + (c[1] - middle[1]) * 0.012]
    });
    assert!(farm.results()["along_strips"]["why_none"].is_string());

    let mut farm = SmallFarm::new();
    // Every other strip turned by a quarter; a degree of longitude is about 0.74 of one of latitude.
    bend(&mut farm, |place, c, middle| match place % 2 {
        0 => c,
        _ => [
            middle[0] + (c[1] - middle[1]) / 0.74,
            middle[1] + (c[0] - middle[0]) * 0.74,
        ],
    });
    let run = farm.compare();
    assert!(run.stderr.find("panicked").is_none(), "{}", run.stderr);
    if farm
        .folder
        .files_in("out")
        .contains(&"results.json".to_owned())
    {
        let along = &farm.folder.json("out/results.json")["along_strips"];
        assert!(
            along["strips_left_out"].as_u64().expect("strips") >= 3,
            "{along}"
        );
    }

    let mut farm = SmallFarm::new();
    let treated: Vec<bool> = farm.strips["features"]
        .as_array()
        .expect("features")
        .iter()
        .map(|feature| feature["properties"]["treatment"] != "check")
        .collect();
    bend(&mut farm, |place, c, middle| {
        let half = if treated[place] { f64::max } else { f64::min };
        [c[0], half(c[1], middle[1])]
    });
    let along = farm.results()["along_strips"].clone();
    assert!(
        along["why_none"]
            .as_str()
            .expect("why")
            .contains("side by side"),
        "{along}"
    );
}

/// Strips bent to a quarter of a circle's arc, many corners each.
#[test]
fn curved_strips_are_survived() {
    let mut farm = SmallFarm::new();
    let features = farm.strips["features"].as_array_mut().expect("features");
    for feature in features {
        let ring = &mut feature["geometry"]["coordinates"][0][0];
        let corners: Vec<[f64; 2]> = serde_json::from_value(ring.clone()).expect("corners");
        let [south_west, south_east, north_east, north_west] = corners[..4] else {
            panic!("{corners:?}")
        };
        let side = |from: [f64; 2], to: [f64; 2]| {
            (0..=30).map(move |step| {
                let part = f64::from(step) / 30.0;
                let bow = 4e-4 * (part * std::f64::consts::PI).sin();
                [
                    from[0] + (to[0] - from[0]) * part + bow,
                    from[1] + (to[1] - from[1]) * part,
                ]
            })
        };
        let mut bent: Vec<[f64; 2]> = side(south_east, north_east)
            .chain(side(north_west, south_west))
            .collect();
        bent.push(bent[0]);
        *ring = serde_json::to_value(bent).expect("json");
    }
    farm.write();
    let results = farm.results();
    assert!(
        of_treatment(&results)["windows"]
            .as_array()
            .is_some_and(|w| !w.is_empty())
    );
}
