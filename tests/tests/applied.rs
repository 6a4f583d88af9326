//! What was done held against what was asked: invented logs with stretches at a wrong rate, of a wrong product, missed
//! and driven where nothing was planned.

use checkstrip_acceptance::{Folder, SmallFarm, oracle, python, warning};
use serde_json::{Value, json};
use std::fmt::Write;

/// Metres of a degree of latitude and of longitude at 43 N, near enough to lay out a test field.
const NORTH_M: f64 = 111_109.0;
const EAST_M: f64 = 81_542.0;
/// Sixteen rows, 30 in apart.
const ROW_M: f64 = 0.762;
const WIDTH_M: f64 = 16.0 * ROW_M;
const ASKED: f64 = 32_000.0;

fn lon_lat(east: f64, north: f64) -> [f64; 2] {
    [-40.0 + east / EAST_M, 43.0 + north / NORTH_M]
}

/// Noise that is the same in every run, -1 to 1.
fn noise(seed: u32) -> f64 {
    let mixed = seed.wrapping_mul(2_654_435_761) ^ 0x9e37_79b9;
    f64::from((mixed ^ (mixed >> 15)).wrapping_mul(2_246_822_519) >> 8) / f64::from(1 << 23) - 1.0
}

/// Six passes of 300 m up and down, early and late in turn. Planted in it: on pass 2 the early hybrid from 100 to 200 m;
/// on pass 3 a quarter less from 40 to 100 m; on pass 4 a quarter more on four rows from 150 to 250 m. `wobble`: noise of
/// rates, as a share, and of places, m.
fn planter(wobble: [f64; 2]) -> String {
    let mut log = String::from(
        "timestamp_s,lon,lat,pass_id,row,population (seeds/ac),target population (seeds/ac),variety\n",
    );
    let (mut time, mut seed) = (0, 0);
    for pass in 1..=6u32 {
        for step in 0..=150 {
            let along = if pass % 2 == 1 { step } else { 150 - step };
            let north = f64::from(along) * 2.0;
            time += if step == 0 { 60 } else { 1 };
            seed += 1;
            let east = (f64::from(pass) - 0.5) * WIDTH_M + wobble[1] * noise(seed);
            let [lon, lat] = lon_lat(east, north);
            // A record tells of the way to it: the ends of a stretch depend on which way it was driven.
            let is_in = |from: f64, to: f64| match pass % 2 {
                1 => north > from && north <= to,
                _ => north >= from && north < to,
            };
            for row in 1..=16u32 {
                let mut variety = if pass % 2 == 1 { "early" } else { "late" };
                let mut rate = ASKED;
                match pass {
                    2 if is_in(100.0, 200.0) => variety = "early",
                    3 if is_in(40.0, 100.0) => rate *= 0.75,
                    4 if row <= 4 && is_in(150.0, 250.0) => rate *= 1.25,
                    _ => {}
                }
                rate *= 1.0 + wobble[0] * noise(1_000_000 + seed * 16 + row);
                writeln!(
                    log,
                    "{time},{lon:.9},{lat:.9},{pass},{row},{rate:.0},{ASKED},{variety}"
                )
                .expect("a text");
            }
        }
    }
    log
}

fn polygon(properties: Value, [west, east]: [f64; 2], [south, north]: [f64; 2]) -> Value {
    let corners = [
        [west, south],
        [east, south],
        [east, north],
        [west, north],
        [west, south],
    ];
    let ring = corners.map(|[east, north]| lon_lat(east, north));
    json!({ "type": "Feature", "properties": properties,
            "geometry": { "type": "Polygon", "coordinates": [ring] } })
}

fn features(features: Vec<Value>) -> String {
    json!({ "type": "FeatureCollection", "features": features }).to_string()
}

/// One strip a pass, as planned.
fn plan() -> String {
    let strips = (0..6).map(|pass| {
        let treatment = if pass % 2 == 0 { "early" } else { "late" };
        let properties = json!({ "treatment": treatment, "strip_id": format!("S{}", pass + 1),
                                 "block": format!("{}", pass / 2 + 1), "rate (seeds/ac)": ASKED });
        let west = f64::from(pass) * WIDTH_M;
        polygon(properties, [west, west + WIDTH_M], [0.0, 300.0])
    });
    features(strips.collect())
}

/// The area of a class, m².
fn m2(asked: &Value, class: &str) -> f64 {
    let area = &asked[class];
    let (ha, ac) = (
        area["ha"].as_f64().expect("ha"),
        area["ac"].as_f64().expect("ac"),
    );
    assert!(
        (ac * 0.404_685_642_24 - ha).abs() < 1e-9,
        "{class}: {ha} ha, {ac} ac"
    );
    ha * 1e4
}

const CLASSES: [&str; 7] = [
    "as_asked",
    "less",
    "more",
    "other_product",
    "not_worked",
    "not_planned",
    "not_logged",
];

fn of_treatment<'a>(found: &'a Value, treatment: &str) -> &'a Value {
    let mut asked = found["asked"].as_array().expect("a list").iter();
    asked
        .find(|asked| asked["treatment"] == treatment)
        .unwrap_or_else(|| panic!("{treatment}"))
}

#[track_caller]
fn near(found: f64, expected: f64, within: f64) {
    assert!(
        (found - expected).abs() <= within,
        "{found}, expected {expected} ± {within}"
    );
}

fn run(folder: &Folder, order: &[&str]) -> Value {
    folder
        .run(order.iter().chain(&["--json", "--out", "out"]))
        .ended(0)
        .json()
}

#[test]
fn wrong_rates_and_wrong_products_are_found() {
    let folder = Folder::new();
    folder.put("plan.geojson", plan());
    let order = [
        "applied",
        "planter.csv",
        "--row-spacing",
        "30 in",
        "--plan",
        "plan.geojson",
    ];
    for wobble in [[0.0, 0.0], [0.06, 0.1]] {
        folder.put("planter.csv", planter(wobble));
        let found = run(&folder, &order);
        let (early, late) = (of_treatment(&found, "early"), of_treatment(&found, "late"));
        // What was planted; a noisy receiver moves edges by a tenth of a metre.
        let within = if wobble == [0.0, 0.0] { 8.0 } else { 40.0 };
        near(m2(early, "less"), 60.0 * WIDTH_M, within);
        near(m2(late, "other_product"), 100.0 * WIDTH_M, within);
        near(m2(late, "more"), 100.0 * 4.0 * ROW_M, within);
        for asked in [early, late, &found["total"]] {
            let sum: f64 = CLASSES.iter().map(|class| m2(asked, class)).sum();
            near(sum + m2(asked, "noise"), m2(asked, "planned"), 1e-3);
        }
        near(m2(&found["total"], "planned"), 6.0 * WIDTH_M * 300.0, 25.0);
        assert!(
            m2(&found["total"], "noise") < 0.02 * 6.0 * WIDTH_M * 300.0,
            "{found}"
        );
        if wobble == [0.0, 0.0]
            && let Some(python) = python()
        {
            let paths = ["planter.csv", "plan.geojson"].map(|name| folder.join(name));
            let [log, plan] = paths.each_ref().map(|path| path.as_os_str());
            let arguments = [log, plan, "0.762".as_ref(), "0.1".as_ref()];
            let outside = oracle(&python, "applied_against_plan.py", arguments);
            for (name, asked) in [("early", early), ("late", late)] {
                for class in ["as_asked", "less", "more", "other_product", "not_worked"] {
                    let theirs = outside[name][class].as_f64().expect("an area");
                    near(m2(asked, class), theirs, 0.002 * m2(asked, "planned"));
                }
                let theirs = outside[name]["mean_rate"].as_f64().expect("a rate");
                near(
                    asked["mean_rate"].as_f64().expect("a rate"),
                    theirs,
                    0.001 * theirs,
                );
            }
        }
        // The strips keep their names and blocks, less what was not as asked.
        let strips = folder.json("out/strips.geojson");
        let strips = strips["features"].as_array().expect("strips");
        assert_eq!(strips.len(), 6);
        let share = |id: &str| {
            let mut strips = found["strips"].as_array().expect("strips").iter();
            let strip = strips
                .find(|strip| strip["strip_id"] == id)
                .expect("a strip");
            strip["share"].as_f64().expect("a share")
        };
        near(share("S1"), 1.0, 0.02);
        near(share("S2"), 2.0 / 3.0, 0.02);
        // Forty metres before the stretch are too little for a strip.
        near(share("S3"), 2.0 / 3.0, 0.02);
        near(share("S4"), 1.0 - 1.0 / 12.0, 0.02);
        let second = strips
            .iter()
            .find(|s| s["properties"]["strip_id"] == "S2")
            .expect("a strip");
        assert_eq!(second["properties"]["block"], "1");
        assert_eq!(second["geometry"]["type"], "MultiPolygon");
    }
    // The wider the tolerance, the more is as asked.
    let found = run(&folder, &[&order[..], &["--tolerance", "30 %"]].concat());
    assert_eq!(m2(of_treatment(&found, "early"), "less"), 0.0);
    assert_eq!(found["settings"]["tolerance"], 0.3);
}

/// The areas file says, piece by piece, what the table adds up.
#[test]
fn areas_carry_what_was_planned_and_done() {
    let folder = Folder::new();
    folder.put("plan.geojson", plan());
    folder.put("planter.csv", planter([0.0, 0.0]));
    let order = [
        "applied",
        "planter.csv",
        "--row-spacing",
        "30 in",
        "--plan",
        "plan.geojson",
    ];
    let found = run(&folder, &order);
    let areas = folder.json("out/areas.geojson");
    let areas = areas["features"].as_array().expect("areas");
    assert_eq!(found["pieces"], areas.len());
    let of_class = |class: &str| -> Vec<&Value> {
        let of_class = areas.iter().map(|area| &area["properties"]);
        of_class
            .filter(|properties| properties["class"] == class)
            .collect()
    };
    let [other] = of_class("other_product")[..] else {
        panic!("{areas:#?}");
    };
    assert_eq!(
        (&other["planned"], &other["applied"]),
        (&json!("late"), &json!("early"))
    );
    let [less] = of_class("less")[..] else {
        panic!("{areas:#?}");
    };
    near(less["rate_share"].as_f64().expect("a share"), 0.75, 0.01);
    assert_eq!(less["rate_unit"], "seeds/ha");
    for class in CLASSES {
        let sum: f64 = of_class(class)
            .iter()
            .map(|p| p["area_ha"].as_f64().expect("ha"))
            .sum();
        near(sum * 1e4, m2(&found["total"], class), 1e-2);
    }
    // Other programs read the Shapefile: so does this one.
    let order = ["convert", "out/areas.shp", "again.geojson"];
    let _ = folder.run(order).ended(0);
    let again = folder.json("again.geojson");
    assert_eq!(
        again["features"].as_array().map(Vec::len),
        Some(areas.len())
    );
    assert!(
        again["features"][0]["properties"]["rate_asked"]
            .as_f64()
            .expect("a rate")
            > 79_000.0
    );
    let files = folder.files_in("out");
    for name in [
        "applied.json",
        "applied.png",
        "strips.geojson",
        "strips.shp",
    ] {
        assert!(files.iter().any(|file| file == name), "{files:?}");
    }
}

/// A sprayer that logs what it was asked: one stretch with too much, one with nothing, and a last pass half over ground
/// that had been sprayed, its rate shut off there.
fn sprayer() -> String {
    let mut log = String::from(
        "timestamp_s,lon,lat,width_m,implement down,applied volume (L/ha),target volume (L/ha)\n",
    );
    let mut time = 0;
    for (pass, east) in [12.0, 36.0, 60.0].into_iter().enumerate() {
        for step in 0..=200 {
            time += if step == 0 { 60 } else { 1 };
            let north = f64::from(step) * 2.0;
            let rate = match pass {
                0 if north > 100.0 && north <= 150.0 => 180.0,
                1 if north > 200.0 && north <= 240.0 => 0.0,
                _ => 140.0 + 2.0 * noise(time),
            };
            let [lon, lat] = lon_lat(east, north);
            writeln!(log, "{time},{lon:.9},{lat:.9},24,1,{rate:.2},140").expect("a text");
        }
    }
    // Over the first pass again, shut off.
    for step in 0..=200 {
        time += if step == 0 { 60 } else { 1 };
        let [lon, lat] = lon_lat(12.0, f64::from(step) * 2.0);
        writeln!(log, "{time},{lon:.9},{lat:.9},24,1,0,140").expect("a text");
    }
    log
}

#[test]
fn a_log_that_says_what_it_was_asked_needs_no_plan() {
    let folder = Folder::new();
    folder.put("sprayer.csv", sprayer());
    let found = run(&folder, &["applied", "sprayer.csv"]);
    assert_eq!(found["plan"]["from"], "log");
    assert_eq!(found["rate_unit"], "L/ha");
    let asked = &found["asked"][0];
    assert_eq!(
        (asked["treatment"].as_str(), &asked["rate"]),
        (Some("140 L/ha"), &json!(140.0))
    );
    near(m2(asked, "more"), 50.0 * 24.0, 30.0);
    near(m2(asked, "not_worked"), 40.0 * 24.0, 30.0);
    near(m2(asked, "as_asked"), (3.0 * 400.0 - 90.0) * 24.0, 60.0);
    near(m2(asked, "planned"), 3.0 * 400.0 * 24.0, 60.0);
    near(
        asked["mean_rate"].as_f64().expect("a rate"),
        (140.0 * 1110.0 + 180.0 * 50.0) / 1160.0,
        0.6,
    );
    // The strips are numbered across the passes.
    let ids: Vec<&Value> = found["strips"]
        .as_array()
        .expect("strips")
        .iter()
        .map(|s| &s["strip_id"])
        .collect();
    assert_eq!(ids, ["1"]);
}

#[test]
fn end_rows_count_but_make_no_strip() {
    let folder = Folder::new();
    let mut log = sprayer();
    let mut time = 100_000;
    for step in 0..=30 {
        time += 1;
        let [lon, lat] = lon_lat(f64::from(step) * 2.4, 388.0);
        writeln!(log, "{time},{lon:.9},{lat:.9},24,1,140,140").expect("a text");
    }
    folder.put("sprayer.csv", log);
    let strips_m2 = |found: &Value| -> f64 {
        let strips = found["strips"].as_array().expect("strips").iter();
        strips.map(|strip| m2(strip, "achieved")).sum()
    };
    let found = run(&folder, &["applied", "sprayer.csv"]);
    near(m2(&found, "end_rows"), 72.0 * 24.0, 20.0);
    let kept = run(&folder, &["applied", "sprayer.csv", "--keep-end-rows"]);
    near(strips_m2(&kept) - strips_m2(&found), 72.0 * 24.0, 40.0);
    assert_eq!(
        m2(&kept["total"], "as_asked"),
        m2(&found["total"], "as_asked")
    );
}

/// Rates in a prescription's own attribute, and in the names of treatments, in farm units.
#[test]
fn prescriptions_are_read_by_attribute_and_by_name() {
    let folder = Folder::new();
    let mut log = String::from("timestamp_s,lon,lat,width_m,applied mass (lb/ac)\n");
    let mut time = 0;
    for step in 0..=200 {
        time += 1;
        let north = f64::from(step) * 2.0;
        let rate = if north <= 200.0 { 100.0 } else { 140.0 };
        let [lon, lat] = lon_lat(10.0, north);
        writeln!(log, "{time},{lon:.9},{lat:.9},20,{rate}").expect("a text");
    }
    folder.put("spreader.csv", log);
    let zone = |attributes: Value, ends: [f64; 2]| polygon(attributes, [0.0, 20.0], ends);
    // 100, 150 and 0 lb/ac, a hundred metres farther than the machine drove.
    let by_number = features(vec![
        zone(json!({"dose": 100}), [0.0, 200.0]),
        zone(json!({"dose": 150}), [200.0, 300.0]),
        zone(json!({"dose": 0}), [300.0, 350.0]),
        zone(json!({"dose": 150}), [350.0, 500.0]),
    ]);
    let by_name = by_number
        .replace("\"dose\":100", "\"treatment\":\"100 lb/ac\"")
        .replace("\"dose\":150", "\"treatment\":\"150 lb/ac\"")
        .replace("\"dose\":0", "\"treatment\":\"0\"");
    folder.put("number.geojson", by_number);
    folder.put("name.geojson", by_name);
    let by_number = [
        "applied",
        "spreader.csv",
        "--plan",
        "number.geojson",
        "--rate-column",
        "dose:lb/ac",
    ];
    let by_name = ["applied", "spreader.csv", "--plan", "name.geojson"];
    for order in [&by_number[..], &by_name[..]] {
        let found = run(&folder, order);
        let asked = found["asked"].as_array().expect("a list");
        assert_eq!(asked.len(), 3);
        near(m2(&asked[0], "as_asked"), 200.0 * 20.0, 25.0);
        // 140 is within a tenth of 150.
        near(m2(&asked[1], "as_asked"), 150.0 * 20.0, 25.0);
        near(m2(&asked[1], "not_worked"), 100.0 * 20.0, 25.0);
        assert_eq!(asked[2]["nothing"], true);
        near(m2(&asked[2], "not_planned"), 50.0 * 20.0, 25.0);
        let tight = run(&folder, &[order, &["--tolerance", "5"]].concat());
        near(m2(&tight["asked"][1], "less"), 150.0 * 20.0, 25.0);
    }
}

/// A roller held against the strips of the trial: it left one strip out and drove over a check. What it achieved is
/// compared with the harvest.
#[test]
fn achieved_strips_are_compared() {
    let farm = SmallFarm::new();
    let strips = &farm.harvest.strips.strips;
    let first_rolled = strips
        .iter()
        .position(|s| s.treatment == "rolled")
        .expect("rolled");
    let last_check = strips
        .iter()
        .rposition(|s| s.treatment == "check")
        .expect("check");
    let log = farm.roller_log_over(|at, strip| {
        (strip.treatment == "rolled" && at != first_rolled) || at == last_check
    });
    farm.folder.put("roller.csv", log);
    let found = run(
        &farm.folder,
        &["applied", "roller.csv", "--plan", "strips.geojson"],
    );
    let (rolled, check) = (
        of_treatment(&found, "rolled"),
        of_treatment(&found, "check"),
    );
    assert_eq!(
        (&rolled["nothing"], &check["nothing"]),
        (&json!(false), &json!(true))
    );
    near(
        m2(rolled, "not_worked") / m2(rolled, "planned"),
        1.0 / 3.0,
        0.01,
    );
    near(
        m2(check, "not_planned") / m2(check, "planned"),
        1.0 / 3.0,
        0.01,
    );
    near(
        m2(check, "as_asked") / m2(check, "planned"),
        2.0 / 3.0,
        0.01,
    );
    let lost = warning(&found, "plan_not_achieved");
    for strip in [&strips[first_rolled], &strips[last_check]] {
        assert!(lost.contains(&strip.strip_id), "{lost}");
    }
    let order = "compare --harvest log.csv --strips out/strips.geojson --check check --crop soybean --out compared";
    let _ = farm.folder.run(order.split(' ')).ended(0);
    let compared = farm.folder.json("compared/results.json");
    assert_eq!(compared["strips"].as_array().map(Vec::len), Some(4));
    assert!(compared["comparisons"][0]["advantage_kg_ha"].is_number());
}

#[test]
fn what_cannot_be_held_against_a_plan_is_refused() {
    let farm = SmallFarm::new();
    farm.folder.put("planter.csv", planter([0.0, 0.0]));
    farm.folder.put("plan.geojson", plan());
    farm.folder.put("sprayer.csv", sprayer());
    let bare = sprayer().replace(",target volume (L/ha)", ",other");
    farm.folder.put("bare.csv", bare);
    let zone = |attributes: Value, east: f64| {
        features(vec![polygon(attributes, [east, east + 72.0], [0.0, 300.0])])
    };
    farm.folder.put(
        "elsewhere.geojson",
        zone(json!({"treatment": "early"}), 9_000.0),
    );
    farm.folder
        .put("hybrid.geojson", zone(json!({"treatment": "middle"}), 0.0));
    farm.folder
        .put("number.geojson", zone(json!({"treatment": "32000"}), 0.0));
    farm.folder
        .put("mass.geojson", zone(json!({"rate (lb/ac)": 100}), 0.0));
    let refusal = |line: &str| {
        let run = farm
            .folder
            .run(line.split(' ').chain(["--out", "out"]))
            .ended(1);
        assert_eq!(farm.folder.files_in("out"), [""; 0], "{line}");
        farm.folder.redacted(&run.stderr)
    };
    insta::assert_snapshot!(
        [
            "applied log.csv",
            "applied bare.csv",
            "applied planter.csv --plan plan.geojson",
            "applied planter.csv --row-spacing 0.762m --plan elsewhere.geojson",
            "applied planter.csv --row-spacing 0.762m --plan hybrid.geojson",
            "applied planter.csv --row-spacing 0.762m --plan number.geojson",
            "applied planter.csv --row-spacing 0.762m --plan mass.geojson",
            "applied planter.csv --row-spacing 0.762m --plan plan.geojson --product middle=early",
            "applied sprayer.csv --plan strips.geojson --treatment-column what",
        ]
        .map(refusal)
        .join("\n")
    );
    // What the log calls it can be said.
    let order = [
        "applied",
        "planter.csv",
        "--row-spacing",
        "0.762m",
        "--plan",
        "hybrid.geojson",
    ];
    let found = run(
        &farm.folder,
        &[&order[..], &["--product", "middle=EARLY"]].concat(),
    );
    assert_eq!(found["asked"][0]["product"], "early");
}
