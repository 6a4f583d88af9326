//! The answer split by zone, over the real binary: zones drawn, by elevation and by past harvests; what
//! is refused; and a gain that was planted where the ground is high.

use checkstrip_acceptance::{SmallFarm, Table, fixture};
use checkstrip_invented::{FieldPlan, InventedField, Treatment};
use serde_json::{Value, json};

const TREATMENT: &str = "rolled";

fn write_trial(farm: &SmallFarm, zones: &str) {
    let trial = fixture("small-field/trial.toml");
    farm.folder
        .put("trial.toml", format!("{trial}\n[zones]\n{zones}\n"));
}

#[track_caller]
fn results(farm: &SmallFarm, zones: &str) -> Value {
    write_trial(farm, zones);
    farm.results()
}

/// The message of a trial with such zones, which leaves nothing behind.
#[track_caller]
fn refusal(farm: &SmallFarm, zones: &str) -> String {
    write_trial(farm, zones);
    farm.refusal(farm.compare())
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or(f64::NAN)
}

fn sum(values: &Value, key: &str) -> f64 {
    let values = values.as_array().expect("a list");
    values.iter().map(|value| number(&value[key])).sum()
}

/// Ground parted across the passes at `share` of the strips' width; the names of both parts.
fn halves(farm: &SmallFarm, share: f64, names: [&str; 2]) -> String {
    let mut low = [f64::INFINITY; 2];
    let mut high = [f64::NEG_INFINITY; 2];
    for strip in &farm.harvest.strips.strips {
        for corner in strip
            .ground
            .iter()
            .flat_map(|part| part.exterior().coords())
        {
            for (axis, value) in [corner.x, corner.y].into_iter().enumerate() {
                low[axis] = low[axis].min(value);
                high[axis] = high[axis].max(value);
            }
        }
    }
    let middle = low[1] + share * (high[1] - low[1]);
    let features = [
        (names[0], low[1] - 0.01, middle),
        (names[1], middle, high[1] + 0.01),
    ];
    let features = features.map(|(name, south, north)| {
        let ring = [
            [low[0] - 0.01, south],
            [high[0] + 0.01, south],
            [high[0] + 0.01, north],
            [low[0] - 0.01, north],
            [low[0] - 0.01, south],
        ];
        json!({
            "type": "Feature",
            "properties": { "soil": name, "area": 1 },
            "geometry": { "type": "Polygon", "coordinates": [ring] },
        })
    });
    json!({ "type": "FeatureCollection", "features": features }).to_string()
}

/// Law: what lies in the zones and in none is what lies on the strips.
#[test]
fn zones_add_up_to_the_strips() {
    let farm = SmallFarm::new();
    let whole = results(&farm, "by = \"elevation\"");
    let zones = &whole["zones"];
    assert_eq!(zones["zones"].as_array().expect("zones").len(), 3);
    let held = sum(&zones["zones"], "area_m2") + number(&zones["no_zone_area_m2"]);
    let strips = sum(&whole["strips"], "area_m2");
    assert!((held / strips - 1.0).abs() < 1e-9, "{held} of {strips}");
    // Classes of equal ground.
    for zone in zones["zones"].as_array().expect("zones") {
        assert!(
            (number(&zone["area_m2"]) / strips - 1.0 / 3.0).abs() < 0.01,
            "{zone}"
        );
    }
    assert!(farm.folder.join("out/maps/zones.png").is_file());
    let page = farm.folder.text("out/report.html");
    assert!(page.contains("Where it paid") && page.contains("map-zones"));
    // A run without zones takes the map away.
    farm.write();
    let without = farm.results();
    assert!(without.get("zones").is_none());
    assert!(!farm.folder.join("out/maps/zones.png").exists());
}

#[test]
fn drawn_zones_and_ground_in_none() {
    let farm = SmallFarm::new();
    farm.folder
        .put("soils.geojson", halves(&farm, 0.4, ["clay", "loam"]));
    let found = results(&farm, "file = \"soils.geojson\"\nname_column = \"SOIL\"");
    let zones = &found["zones"];
    assert_eq!(zones["polygons"]["name_column"], "soil");
    let share = number(&zones["zones"][0]["area_m2"]) / sum(&found["strips"], "area_m2");
    assert!((share - 0.4).abs() < 0.02, "{share}");
    let run = farm.folder.run([
        "compare",
        "--harvest",
        "log.csv",
        "--strips",
        "strips.geojson",
        "--crop",
        "soybean",
        "--zones",
        "soils.geojson",
        "--zone-column",
        "soil",
        "--out",
        "typed",
    ]);
    let _ = run.ended(0);
    let typed = farm.folder.json("typed/results.json");
    assert_eq!(typed["zones"]["zones"], zones["zones"]);

    // A third of the map is cut away.
    let mut soils: Value =
        serde_json::from_str(&halves(&farm, 0.7, ["clay", "loam"])).expect("JSON");
    let mut extra: Value =
        serde_json::from_str(&halves(&farm, 0.3, ["clay", "loam"])).expect("JSON");
    let south = extra["features"][0].take();
    let north = soils["features"][1].take();
    let soils = json!({ "type": "FeatureCollection", "features": [south, north] });
    farm.folder.put("soils.geojson", soils.to_string());
    let found = results(&farm, "file = \"soils.geojson\"\nname_column = \"soil\"");
    let outside = number(&found["zones"]["no_zone_area_m2"]) / sum(&found["strips"], "area_m2");
    // Pass ends are dropped, all of them in the zones that are left.
    assert!((0.4..0.45).contains(&outside), "{outside}");
    let warnings = found["warnings"].as_array().expect("warnings");
    assert!(
        warnings.iter().any(|w| w["code"] == "ground_in_no_zone"),
        "{warnings:#?}"
    );
}

#[test]
fn drawn_zones_that_cannot_be_used() {
    let farm = SmallFarm::new();
    let drawn = "file = \"soils.geojson\"\nname_column = \"soil\"";
    farm.folder
        .put("soils.geojson", halves(&farm, 0.5, ["loam", "loam"]));
    insta::assert_snapshot!("one_zone", refusal(&farm, drawn));
    farm.folder
        .put("soils.geojson", halves(&farm, 0.5, ["loam", ""]));
    insta::assert_snapshot!("no_name", refusal(&farm, drawn));
    insta::assert_snapshot!(
        "no_such_attribute",
        refusal(&farm, "file = \"soils.geojson\"")
    );
    let elsewhere = halves(&farm, 0.5, ["clay", "loam"])
        .replace("-40.", "-41.")
        .replace("-39.", "-41.");
    farm.folder.put("soils.geojson", elsewhere);
    insta::assert_snapshot!("elsewhere", refusal(&farm, drawn));
    insta::assert_snapshot!(
        "both",
        refusal(&farm, "file = \"soils.geojson\"\nby = \"elevation\"")
    );
    insta::assert_snapshot!("nobody_knows", refusal(&farm, "by = \"slope\""));
    insta::assert_snapshot!("no_logs", refusal(&farm, "by = \"yield_history\""));
    insta::assert_snapshot!(
        "one_class",
        refusal(&farm, "by = \"elevation\"\nclasses = 1")
    );
}

#[test]
fn elevation_that_is_not_there_or_level() {
    let mut farm = SmallFarm::new();
    farm.log.fill("elevation_m", "301.5");
    farm.write();
    insta::assert_snapshot!("level", refusal(&farm, "by = \"elevation\""));
    farm.log.drop_column("elevation_m");
    farm.write();
    insta::assert_snapshot!("no_elevation", refusal(&farm, "by = \"elevation\""));
}

/// The same ground a year before, nothing tried on it.
fn past_log(plan: FieldPlan, years: f64) -> Table {
    let plan = FieldPlan {
        treatments: vec![Treatment::new("check", 0.0), Treatment::new("rolled", 0.0)],
        ..plan
    };
    let harvest = InventedField::new(plan)
        .expect("a plan that works")
        .harvest();
    Table::of_log(&harvest.log).years_before(years)
}

/// Past yields find the ground that yields well: the check's own yields rise from zone to zone.
#[test]
fn past_harvests_find_good_ground() {
    let farm = SmallFarm::new();
    farm.folder
        .put("past/2025.csv", past_log(SmallFarm::plan(), 1.0).csv());
    farm.folder
        .put("past/2023.csv", past_log(SmallFarm::plan(), 3.0).csv());
    let logs = "by = \"yield_history\"\nlogs = [\"past/2025.csv\", \"past/2023*.csv\"]";
    let found = results(&farm, logs);
    let zones = &found["zones"];
    assert_eq!(zones["harvests"].as_array().expect("harvests").len(), 2);
    let yields: Vec<f64> = zones["treatments"][0]["zones"]
        .as_array()
        .expect("zones")
        .iter()
        .map(|zone| number(&zone["check_yield_kg_ha"]))
        .collect();
    // The ground varies by 11 % of 3,700 kg/ha, smoothed to something less.
    assert!(
        yields[1] - yields[0] > 100.0 && yields[2] - yields[1] > 100.0,
        "{yields:?}"
    );
    let ranges = zones["zones"].as_array().expect("zones").iter();
    for zone in ranges {
        let [low, high] = [0, 1].map(|end| number(&zone["relative_yield"][end]));
        assert!(low > 0.5 && low < high && high < 1.5, "{zone}");
    }
}

/// The trial's own harvest says nothing about where the ground yields well.
#[test]
fn the_harvest_itself_is_no_past_harvest() {
    let farm = SmallFarm::new();
    let own = |logs: &str| {
        refusal(
            &farm,
            &format!("by = \"yield_history\"\nlogs = [\"{logs}\"]"),
        )
    };
    insta::assert_snapshot!("own_path", own("*.csv"));
    farm.folder.put("copy/2024.csv", farm.log.csv());
    insta::assert_snapshot!("own_bytes", own("copy/*.csv"));
    farm.folder
        .put("copy/2024.csv", past_log(SmallFarm::plan(), 0.0).csv());
    insta::assert_snapshot!("own_time", own("copy/*.csv"));
}

/// Planted: nothing at the field's mean height and 40 kg/ha more for every metre above it. The test must
/// see that zones differ, and every zone's interval hold what was planted at its heights.
#[test]
fn a_gain_that_grows_with_the_height_is_found() {
    let mut rolled = Treatment::new(TREATMENT, 60.0);
    rolled.gain_per_m_kg_ha = 40.0;
    let farm = SmallFarm::planned(FieldPlan {
        passes: 45,
        pass_length_m: 500.0,
        blocks: 8,
        treatments: vec![Treatment::new("check", 0.0), rolled],
        ..FieldPlan::default()
    });
    let found = results(&farm, "by = \"elevation\"");
    let rolled = &found["zones"]["treatments"][0];
    assert!(
        number(&rolled["test"]["p_value"]) < 0.01,
        "{}",
        rolled["test"]
    );
    let gain: Vec<f64> = rolled["zones"]
        .as_array()
        .expect("zones")
        .iter()
        .map(|zone| number(&zone["advantage_kg_ha"]))
        .collect();
    assert!(gain[0] < gain[1] && gain[1] < gain[2], "{gain:?}");
    let grounds = found["zones"]["zones"].as_array().expect("zones");
    for (zone, ground) in rolled["zones"]
        .as_array()
        .expect("zones")
        .iter()
        .zip(grounds)
    {
        let planted = [0, 1].map(|end| 60.0 + 40.0 * (number(&ground["elevation_m"][end]) - 300.0));
        let interval = [0, 1].map(|end| number(&zone["interval_95_kg_ha"][end]));
        assert!(
            interval[0] < planted[1] && planted[0] < interval[1],
            "planted {planted:?}, found {interval:?}"
        );
    }
    // The same field without the growth: zones are not told apart.
    let level = SmallFarm::planned(FieldPlan {
        passes: 45,
        pass_length_m: 500.0,
        blocks: 8,
        treatments: vec![
            Treatment::new("check", 0.0),
            Treatment::new(TREATMENT, 60.0),
        ],
        ..FieldPlan::default()
    });
    let found = results(&level, "by = \"elevation\"");
    let p = number(&found["zones"]["treatments"][0]["test"]["p_value"]);
    assert!(p > 0.05, "{p}");
}
