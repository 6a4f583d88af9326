//! Plants counted after emergence, joined to the strips of an invented field and compared.

use checkstrip_acceptance::{SmallFarm, oracle, python, warning};
use geo::Centroid;
use serde_json::{Value, json};
use std::fmt::Write;

/// An invented field of five blocks.
fn farm() -> SmallFarm {
    SmallFarm::planned(checkstrip_invented::FieldPlan {
        blocks: 5,
        passes: 42,
        ..SmallFarm::plan()
    })
}

/// Plants in 17 ft 5 in of row at 30 in: thousands an acre (17.42 ft × 2.5 ft = 43.55 ft², a thousandth of an acre).
const LENGTH_FT: f64 = 17.42;

/// Counts along the middle of every strip, rolled strips with ten fewer plants on the thousandth of an acre.
fn plants(strip: usize, at: usize, is_rolled: bool) -> u32 {
    let jitter = [3, 0, -4, 1][at] + [2, -1, 0, 1, -3, 2, 4, -2, 0, 1][strip % 10];
    (132 + jitter - if is_rolled { 10 } else { 0 }) as u32
}

/// The counts as a file: `extra` rows behind those of the strips.
fn counts(farm: &SmallFarm, extra: &str) -> String {
    let mut text = String::from("lon,lat,plants,row length (ft),row spacing (in)\n");
    for (place, strip) in farm.harvest.strips.strips.iter().enumerate() {
        let middle = strip.ground.centroid().expect("a strip has a middle");
        let ring = strip.ground.0[0].exterior();
        let corners: Vec<_> = ring.coords().take(4).collect();
        // From the middle towards the short side.
        let ends: Vec<[f64; 2]> = (0..4)
            .map(|a| {
                [0, 1].map(|axis| {
                    let of = |c: &geo::Coord| if axis == 0 { c.x } else { c.y };
                    (of(corners[a]) + of(corners[(a + 1) % 4])) / 2.0
                        - if axis == 0 { middle.x() } else { middle.y() }
                })
            })
            .collect();
        let way = if ends[0][0].hypot(ends[0][1]) > ends[1][0].hypot(ends[1][1]) {
            ends[0]
        } else {
            ends[1]
        };
        for at in 0..4 {
            let share = (at as f64 - 1.5) / 2.5;
            let (lon, lat) = (middle.x() + share * way[0], middle.y() + share * way[1]);
            let plants = plants(place, at, strip.treatment == "rolled");
            writeln!(text, "{lon:.9},{lat:.9},{plants},{LENGTH_FT},30").expect("a text");
        }
    }
    text + extra
}

const ORDER: [&str; 12] = [
    "compare",
    "--harvest",
    "log.csv",
    "--strips",
    "strips.geojson",
    "--check",
    "check",
    "--crop",
    "soybean",
    "--stand",
    "stand.csv",
    "--out",
];

fn results(farm: &SmallFarm, more: &[&str]) -> Value {
    let order = ORDER.iter().chain(&["out"]).chain(more).copied();
    let _ = farm.folder.run(order).ended(0);
    farm.folder.json("out/results.json")
}

#[track_caller]
fn near(found: &Value, expected: f64, within: f64) {
    let found = found.as_f64().expect("a number");
    assert!(
        (found - expected).abs() <= within,
        "{found}, expected {expected} ± {within}"
    );
}

/// Handbooks of university extension services give 17 ft 5 in of row at 30 in, 13 ft 1 in at 40 in, 34 ft 10 in at 15 in,
/// 23 ft 9 in at 22 in and 26 ft 2 in at 20 in as a thousandth of an acre, such as Purdue University Extension,
/// *Corn & Soybean Field Guide*, and Iowa State University Extension, *Corn Field Guide* (both from memory). 28 plants
/// there are 28,000 an acre.
#[test]
fn a_thousandth_of_an_acre() {
    let farm = SmallFarm::new();
    for (length, spacing) in [
        ("17 ft 5 in", "30 in"),
        ("13 ft 1 in", "40 in"),
        ("34 ft 10 in", "15 in"),
        ("23 ft 9 in", "22 in"),
        ("26 ft 2 in", "20 in"),
    ] {
        farm.folder.put("stand.csv", "strip_id,count\n1,28\n2,30\n");
        let found = results(&farm, &["--row-length", length, "--row-spacing", spacing]);
        let strips = &found["stand"]["strips"];
        near(&strips[0]["plants_ac"], 28_000.0, 60.0);
        near(&strips[1]["plants_ac"], 30_000.0, 60.0);
        // Plants an acre over plants a hectare is hectares an acre.
        let ratio =
            strips[0]["plants_ac"].as_f64().unwrap() / strips[0]["plants_ha"].as_f64().unwrap();
        assert!((ratio - 0.404_685_642_24).abs() < 1e-9);
    }
}

#[test]
fn strips_are_compared_by_their_stand() {
    let farm = farm();
    let first = farm.harvest.strips.strips[0]
        .ground
        .centroid()
        .expect("a middle");
    // Two in no strip, one without a number.
    let extra = format!(
        "-40.5,43,140,{LENGTH_FT},30\n-41,43,140,{LENGTH_FT},30\n{:.9},{:.9},,{LENGTH_FT},30\n",
        first.x(),
        first.y()
    );
    farm.folder.put("stand.csv", counts(&farm, &extra));
    let found = results(&farm, &["--inset", "5 ft"]);
    let stand = &found["stand"];
    assert_eq!((&stand["counts"], &stand["used"]), (&json!(43), &json!(40)));
    let left_out = stand["left_out"].as_array().expect("a list");
    let why: Vec<(&Value, &Value)> = left_out
        .iter()
        .map(|count| (&count["row"], &count["why"]))
        .collect();
    assert_eq!(
        why,
        [
            (&json!(42), &json!("outside")),
            (&json!(43), &json!("outside")),
            (&json!(44), &json!("no_count"))
        ]
    );
    let said = warning(&found, "stand_counts_left_out");
    assert!(
        said.contains("2 in no strip, 1 without a number of plants"),
        "{said}"
    );
    for strip in stand["strips"].as_array().expect("strips") {
        assert_eq!(strip["counts"], 4);
    }
    // The ten plants that were planted, less what the jitter of the strips makes of it.
    let first = &stand["comparisons"][0];
    assert_eq!(
        (&first["method"], &first["blocks"]),
        (&json!("paired_strips"), &json!(5))
    );
    let ten = 10.0 / (LENGTH_FT * 0.3048 * 0.762) * 1e4;
    near(&first["difference_plants_ha"], -ten, 0.35 * ten);
    if let Some(python) = python() {
        let paths = ["stand.csv", "strips.geojson"].map(|name| farm.folder.join(name));
        let [counts, strips] = paths.each_ref().map(|path| path.as_os_str());
        let outside = oracle(
            &python,
            "stand_counts.py",
            [counts, strips, "1.524".as_ref(), "check".as_ref()],
        );
        for strip in stand["strips"].as_array().expect("strips") {
            let theirs = &outside["strips"][strip["strip_id"].as_str().expect("a name")];
            assert_eq!(strip["counts"], theirs["counts"]);
            near(
                &strip["plants_ha"],
                theirs["plants_ha"].as_f64().expect("a stand"),
                1e-3,
            );
        }
        let number = |key: &str| outside[key].as_f64().expect("a number");
        near(&first["difference_plants_ha"], number("difference"), 1e-3);
        near(&first["p_value"], number("p_value"), 1e-9);
        for end in 0..2 {
            near(
                &first["interval_95_plants_ha"][end],
                outside["interval"][end].as_f64().expect("an end"),
                1e-2,
            );
        }
        let permuted = &stand["comparisons"][1];
        assert_eq!(permuted["method"], "permutation");
        near(&permuted["p_value"], number("p_value_permutation"), 1e-9);
    }
    // The table and the page have it as well.
    let table = farm.folder.text("out/strips.csv");
    assert!(
        table
            .lines()
            .next()
            .expect("a header")
            .ends_with(",counts,plants_ha,plants_ac,sd_plants_ha,emergence_pct")
    );
    let page = farm.folder.text("out/report.html");
    assert!(
        page.contains("<h2 id=\"stand\">Stand</h2>")
            && page.contains("fewer than the check strips beside them"),
        "no stand"
    );
}

/// Without counts nothing of them is anywhere.
#[test]
fn results_without_counts_are_as_they_were() {
    let farm = SmallFarm::new();
    let found = farm.results();
    assert!(found.get("stand").is_none());
    assert!(
        farm.folder
            .text("out/strips.csv")
            .lines()
            .next()
            .expect("a header")
            .ends_with(",mixed_fraction")
    );
    assert!(!farm.folder.text("out/report.html").contains("id=\"stand\""));
}

/// Swapping check and treatment flips the sign and nothing else.
#[test]
fn swapping_the_check_flips_the_sign() {
    let farm = farm();
    farm.folder.put("stand.csv", counts(&farm, ""));
    let there = results(&farm, &[]);
    let order: Vec<&str> = ORDER
        .iter()
        .map(|word| if *word == "check" { "rolled" } else { *word })
        .collect();
    let _ = farm.folder.run(order.into_iter().chain(["back"])).ended(0);
    let back = farm.folder.json("back/results.json");
    let of = |found: &Value, key: &str| {
        found["stand"]["comparisons"][0][key]
            .as_f64()
            .expect("a number")
    };
    assert!((of(&there, "difference_plants_ha") + of(&back, "difference_plants_ha")).abs() < 1e-6);
    assert!((of(&there, "p_value") - of(&back, "p_value")).abs() < 1e-12);
}

/// Counts near a strip's edge, and several rows at once, and stands counted some other way; emergence where the file
/// says what was sown.
#[test]
fn counts_of_every_kind_in_a_trial_file() {
    let farm = SmallFarm::new();
    let strip = &farm.harvest.strips.strips[0];
    let edge = strip.ground.0[0].exterior().0[0];
    let middle = strip.ground.centroid().expect("a middle");
    // A hand's breadth inside the corner.
    let near_edge = [0, 1].map(|axis| {
        let (from, to) = if axis == 0 {
            (edge.x, middle.x())
        } else {
            (edge.y, middle.y())
        };
        from + (to - from) * 0.001
    });
    farm.folder.put(
        "counts/a.csv",
        format!(
            "strip,lon,lat,plants,rows counted,length m,plants/ac,target population (seeds/ac)\n\
             1,,,60,2,2,,140000\n1,,,,,,120000,140000\n,{:.9},{:.9},30,1,2,,\n9,,,30,1,2,,\n2,,,31,,2,,\n,,,31,,2,,\n2,,,31,,0,,\n",
            near_edge[0], near_edge[1]
        ),
    );
    let trial = format!(
        "{}\ninset = \"5 ft\"\n[stand]\ncounts = \"counts/*.csv\"\nrow_spacing = \"20 in\"\n[stand.columns]\nrow_length = {{ column = \"length m\", unit = \"m\" }}\n",
        farm.folder
            .text("trial.toml")
            .split("[payoff]")
            .next()
            .expect("a beginning")
            .trim_end()
    );
    farm.folder.put("trial.toml", trial);
    let found = farm.results();
    let stand = &found["stand"];
    let first = &stand["strips"][0];
    let of_rows = 60.0 / (2.0 * 2.0 * 0.508) * 1e4;
    let of_acres = 120_000.0 / 0.404_685_642_24;
    assert_eq!(first["counts"], 2);
    near(&first["plants_ha"], (of_rows + of_acres) / 2.0, 1e-3);
    let sown = 140_000.0 / 0.404_685_642_24;
    near(
        &first["emergence_pct"],
        100.0 * (of_rows + of_acres) / 2.0 / sown,
        1e-6,
    );
    near(
        &stand["strips"][1]["plants_ha"],
        31.0 / (2.0 * 0.508) * 1e4,
        1e-3,
    );
    assert!(stand["strips"][1]["emergence_pct"].is_null());
    let left_out = stand["left_out"].as_array().expect("a list");
    let why: Vec<&str> = left_out
        .iter()
        .map(|count| count["why"].as_str().expect("why"))
        .collect();
    assert_eq!(why, ["edge", "unknown_strip", "no_place", "no_row"]);
    assert!(warning(&found, "strip_not_counted").contains("3"));
}

/// Several treatments: blocks and treatments in one fit, and p values that allow for all of them.
#[test]
fn several_treatments_are_compared_at_once() {
    let mut farm = farm();
    // The treatment of each block's rolled strip is parted in two by naming every second check a third treatment.
    let checks: Vec<usize> = (0..farm.harvest.strips.strips.len()).collect();
    for (at, place) in checks.into_iter().enumerate() {
        let block = (at / 3 + 1).to_string();
        farm.set_strip(place, "treatment", ["check", "rolled", "twice"][at % 3]);
        farm.set_strip(place, "block", block);
    }
    farm.write();
    farm.folder.put("stand.csv", counts(&farm, ""));
    let found = results(&farm, &[]);
    let comparisons = found["stand"]["comparisons"].as_array().expect("a list");
    let methods: Vec<&str> = comparisons
        .iter()
        .map(|c| c["method"].as_str().expect("a method"))
        .collect();
    assert_eq!(methods[..2], ["randomized_blocks", "paired_strips"]);
    assert!(comparisons[0]["p_value_family"].is_number());
    assert!(found["stand"]["overall_test"]["p_value_f"].is_number());
}

#[test]
fn counts_that_cannot_be_used_are_refused() {
    let farm = SmallFarm::new();
    let refusal = |name: &str, text: &str, more: &[&str]| {
        farm.folder.put(name, text);
        let order = ORDER.map(|word| if word == "stand.csv" { name } else { word });
        let run = farm
            .folder
            .run(order.iter().chain(&["out"]).chain(more).copied());
        farm.refusal(run)
    };
    insta::assert_snapshot!(
        [
            refusal("bare.csv", "lon,lat,plants\n-40,43,28\n", &[]),
            refusal(
                "spacing.csv",
                "strip,plants,row length (ft)\n1,28,17.4\n",
                &[]
            ),
            refusal(
                "no_unit.csv",
                "strip,plants,row length\n1,28,17.4\n",
                &["--row-spacing", "30 in"]
            ),
            refusal("nothing.csv", "lon,lat,elevation\n-40,43,300\n", &[]),
            refusal(
                "no_place.csv",
                "plants,row length (ft)\n28,17.4\n",
                &["--row-spacing", "30 in"]
            ),
            refusal("far.csv", "lon,lat,stand (plants/ac)\n-93,42,28000\n", &[]),
        ]
        .join("\n")
    );
}
