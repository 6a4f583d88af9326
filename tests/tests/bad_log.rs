//! Logs that are spoiled one way each: either nothing can be done, and the message says what is
//! wrong, where, and what to do; or the record concerned is set aside and the results name it.

use checkstrip_acceptance::{Run, SmallFarm, WGS_84, warning};
use serde_json::Value;
use std::sync::OnceLock;

/// The message for a log with this text.
#[track_caller]
fn refusal_of_text(text: impl AsRef<[u8]>) -> String {
    let farm = SmallFarm::new();
    farm.folder.put("log.csv", text);
    farm.refusal(farm.compare())
}

/// The message for a log spoiled by `spoil`.
#[track_caller]
fn refusal_of(spoil: impl FnOnce(&mut SmallFarm)) -> String {
    let mut farm = SmallFarm::new();
    spoil(&mut farm);
    farm.write();
    farm.refusal(farm.compare())
}

/// Statuses of the cleaned log, record by record.
fn statuses(farm: &SmallFarm) -> Vec<String> {
    let cleaned = farm.folder.json("out/cleaned.geojson");
    let features = cleaned["features"].as_array().expect("features");
    features
        .iter()
        .map(|f| {
            f["properties"]["status"]
                .as_str()
                .expect("a status")
                .to_owned()
        })
        .collect()
}

/// Every figure of strips and comparisons is a number, and near that of the unspoiled log: a strip
/// loses a few of some 300 records, and about half a percent of 3,700 kg/ha with them at most.
#[track_caller]
fn little_changed(results: &Value) {
    little_changed_by("", results);
}

/// The same, naming what was done to the log when it fails.
#[track_caller]
fn little_changed_by(what: &str, results: &Value) {
    static SOUND: OnceLock<Value> = OnceLock::new();
    let sound = SOUND.get_or_init(|| SmallFarm::new().results());
    let close = |a: &Value, b: &Value, within: f64| {
        let (a, b) = (a.as_f64().expect("a number"), b.as_f64().expect("a number"));
        assert!((a - b).abs() <= within, "{what}: {a} against {b}");
    };
    let strips = results["strips"].as_array().expect("strips");
    for (strip, before) in strips
        .iter()
        .zip(sound["strips"].as_array().expect("strips"))
    {
        close(&strip["yield_kg_ha"], &before["yield_kg_ha"], 20.0);
        close(&strip["moisture_pct"], &before["moisture_pct"], 0.05);
    }
    let (now, before) = (&results["comparisons"][0], &sound["comparisons"][0]);
    close(&now["advantage_kg_ha"], &before["advantage_kg_ha"], 15.0);
    close(&now["std_error_kg_ha"], &before["std_error_kg_ha"], 15.0);
    let delay = |results: &Value| results["cleaning"]["grain_delay_s"].clone();
    close(&delay(results), &delay(sound), 0.5);
}

/// Records in the middle of passes, far from each other, whose statuses are kept when nothing is
/// spoiled.
const SOUND_RECORDS: [usize; 4] = [1000, 1400, 2200, 2700];

#[test]
fn the_unspoiled_farm_is_compared_without_a_word() {
    let farm = SmallFarm::new();
    let run = farm.compare().ended(0);
    let results = farm.folder.json("out/results.json");
    assert_eq!(run.stderr, "");
    assert_eq!(results["warnings"], Value::Array(Vec::new()));
    let statuses = statuses(&farm);
    for record in SOUND_RECORDS {
        assert_eq!(statuses[record], "kept", "record {record}");
    }
}

#[test]
fn an_empty_file() {
    insta::assert_snapshot!(refusal_of_text(""));
}

#[test]
fn a_header_and_nothing_else() {
    insta::assert_snapshot!(refusal_of(|farm| farm.log.rows.clear()));
}

#[test]
fn a_file_of_zero_bytes() {
    insta::assert_snapshot!(refusal_of_text([0_u8; 4096]));
}

#[test]
fn words_instead_of_a_log() {
    insta::assert_snapshot!(refusal_of_text(
        "Dear neighbour,\nthe log is in the other mail.\n"
    ));
}

#[test]
fn no_longitude() {
    insta::assert_snapshot!(refusal_of(|farm| farm.log.drop_column("lon")));
}

#[test]
fn no_latitude() {
    insta::assert_snapshot!(refusal_of(|farm| farm.log.drop_column("lat")));
}

#[test]
fn positions_all_empty() {
    insta::assert_snapshot!(refusal_of(|farm| farm.log.fill("lat", "")));
}

#[test]
fn no_grain() {
    insta::assert_snapshot!(refusal_of(|farm| farm.log.drop_column("mass_flow_kg_s")));
}

#[test]
fn longitude_and_latitude_swapped() {
    // Swapped, the farm would lie at 40° S 43° E, which is a place too: only a longitude beyond 90
    // gives a swap away, so the farm is first moved to 93° W.
    insta::assert_snapshot!(refusal_of(|farm| {
        for row in 0..farm.log.rows.len() {
            let lon: f64 = farm.log.numbers("lon")[row];
            farm.log.set(row, "lon", &format!("{:.8}", lon - 53.0));
        }
        farm.log.rename("lon", "other");
        farm.log.rename("lat", "lon");
        farm.log.rename("other", "lat");
    }));
}

#[test]
fn longitude_and_latitude_swapped_into_another_place_on_earth() {
    insta::assert_snapshot!(refusal_of(|farm| {
        farm.log.rename("lon", "other");
        farm.log.rename("lat", "lon");
        farm.log.rename("other", "lat");
    }));
}

#[test]
fn a_unit_nobody_knows() {
    insta::assert_snapshot!(refusal_of(|farm| {
        farm.log
            .rename("mass_flow_kg_s", "mass_flow_stone_fortnight");
    }));
}

#[test]
fn a_flow_without_a_unit() {
    insta::assert_snapshot!(refusal_of(|farm| farm
        .log
        .rename("mass_flow_kg_s", "mass_flow")));
}

#[test]
fn two_columns_for_one_quantity() {
    insta::assert_snapshot!(refusal_of(|farm| {
        farm.log.rename("elevation_m", "moisture_fraction");
        farm.log.rename("moisture_pct", "grain_moisture_percent");
    }));
}

#[test]
fn every_width_zero() {
    insta::assert_snapshot!(refusal_of(|farm| farm.log.fill("width_m", "0")));
}

#[test]
fn no_width() {
    insta::assert_snapshot!(refusal_of(|farm| farm.log.drop_column("width_m")));
}

#[test]
fn every_width_zero_with_the_width_on_the_command_line() {
    let mut farm = SmallFarm::new();
    farm.log.fill("width_m", "0");
    farm.write();
    let line = "compare --harvest log.csv --strips strips.geojson --crop soybean --out out";
    let arguments = line.split(' ').chain(["--width", "30 ft"]);
    let _ = farm.folder.run(arguments).ended(0);
    little_changed(&farm.folder.json("out/results.json"));
}

#[test]
fn a_width_of_zero_feet_on_the_command_line() {
    let farm = SmallFarm::new();
    let line = "compare --harvest log.csv --strips strips.geojson --crop soybean --out out";
    let run = farm.folder.run(line.split(' ').chain(["--width", "0 ft"]));
    insta::assert_snapshot!(farm.refusal(run));
}

#[test]
fn one_missing_position_costs_one_record() {
    let mut farm = SmallFarm::new();
    farm.log.set(SOUND_RECORDS[0], "lon", "");
    farm.log.set(SOUND_RECORDS[1], "lat", "");
    farm.write();
    let results = farm.results();
    let statuses = statuses(&farm);
    assert_eq!(statuses[SOUND_RECORDS[0]], "position");
    assert_eq!(statuses[SOUND_RECORDS[1]], "position");
    insta::assert_snapshot!(farm.folder.redacted(&warning(&results, "unreadable_cells")));
    little_changed(&results);
}

#[test]
fn a_position_on_another_continent_costs_one_record() {
    let mut farm = SmallFarm::new();
    farm.log.set(SOUND_RECORDS[0], "lon", "12.0");
    farm.log.set(SOUND_RECORDS[1], "lat", "-91.5");
    farm.log.set(SOUND_RECORDS[2], "lat", "0");
    farm.write();
    let results = farm.results();
    for record in &SOUND_RECORDS[..3] {
        assert_eq!(statuses(&farm)[*record], "position", "record {record}");
    }
    little_changed(&results);
}

/// A cell that is no number, an infinite one both ways, and one too large for a double: none may
/// reach a figure, and each but the plain NaN (which means "no reading") is named with its place.
#[track_caller]
fn not_numbers(header: &str) {
    let mut farm = SmallFarm::new();
    for (record, cell) in SOUND_RECORDS
        .into_iter()
        .zip(["NaN", "inf", "-Infinity", "1e999"])
    {
        farm.log.set(record, header, cell);
    }
    farm.write();
    let results = farm.results();
    let message = warning(&results, "unreadable_cells");
    for record in &SOUND_RECORDS[1..] {
        // The header is row 1 and records count from 0 here.
        let place = format!("row {}, column {header:?}", record + 2);
        assert!(message.contains(&place), "{place} is not in: {message}");
    }
    assert_eq!(results["input"]["records"], farm.log.rows.len());
    little_changed(&results);
}

macro_rules! not_numbers {
    ($($test:ident: $header:literal,)*) => {
        $(
            #[test]
            fn $test() {
                not_numbers($header);
            }
        )*
    };
}

not_numbers! {
    nan_and_infinity_in_timestamp: "timestamp_s",
    nan_and_infinity_in_lon: "lon",
    nan_and_infinity_in_lat: "lat",
    nan_and_infinity_in_mass_flow: "mass_flow_kg_s",
    nan_and_infinity_in_moisture: "moisture_pct",
    nan_and_infinity_in_speed: "speed_m_s",
    nan_and_infinity_in_distance: "distance_m",
    nan_and_infinity_in_interval: "interval_s",
    nan_and_infinity_in_width: "width_m",
    nan_and_infinity_in_header_down: "header_down",
    nan_and_infinity_in_heading: "heading_deg",
    nan_and_infinity_in_elevation: "elevation_m",
}

/// Numbers that are finite and that no machine can mean, in four records far from each other.
#[track_caller]
fn absurd(header: &str) {
    for cell in ["-1", "0", "77", "1e-300", "1e300", "-1e300"] {
        let mut farm = SmallFarm::new();
        for record in SOUND_RECORDS {
            farm.log.set(record, header, cell);
        }
        farm.write();
        little_changed_by(&format!("{header} = {cell}"), &farm.results());
    }
}

macro_rules! absurd {
    ($($test:ident: $header:literal,)*) => {
        $(
            #[test]
            fn $test() {
                absurd($header);
            }
        )*
    };
}

absurd! {
    absurd_numbers_in_timestamp: "timestamp_s",
    absurd_numbers_in_lon: "lon",
    absurd_numbers_in_lat: "lat",
    absurd_numbers_in_mass_flow: "mass_flow_kg_s",
    absurd_numbers_in_moisture: "moisture_pct",
    absurd_numbers_in_speed: "speed_m_s",
    absurd_numbers_in_distance: "distance_m",
    absurd_numbers_in_interval: "interval_s",
    absurd_numbers_in_width: "width_m",
    absurd_numbers_in_header_down: "header_down",
    absurd_numbers_in_heading: "heading_deg",
    absurd_numbers_in_elevation: "elevation_m",
}

#[test]
fn a_row_broken_off_in_the_middle() {
    let farm = SmallFarm::new();
    let text = farm.log.csv();
    farm.folder.put("log.csv", &text[..text.len() - 40]);
    let results = farm.results();
    insta::assert_snapshot!(farm.folder.redacted(&warning(&results, "unreadable_cells")));
    assert_eq!(results["input"]["records"], farm.log.rows.len());
    little_changed(&results);
}

/// Compares a log given as Shapefile, after `spoil` had its bytes.
#[track_caller]
fn with_shapes(spoil: impl FnOnce(&mut Vec<u8>, &mut Vec<u8>)) -> (SmallFarm, Run) {
    let farm = SmallFarm::new();
    let mut shapes = farm.log_shapes();
    spoil(&mut shapes.shp, &mut shapes.dbf);
    shapes.put(&farm, "log", WGS_84);
    let line = "compare --harvest log.shp --strips strips.geojson --crop soybean --out out";
    let run = farm.folder.run(line.split(' '));
    (farm, run)
}

#[test]
fn a_whole_shapefile_gives_what_the_text_gives() {
    let (farm, run) = with_shapes(|_, _| ());
    let run = run.ended(0);
    assert_eq!(run.stderr, "");
    little_changed(&farm.folder.json("out/results.json"));
}

#[test]
fn a_shapefile_without_a_byte() {
    let (farm, run) = with_shapes(|shp, _| shp.clear());
    insta::assert_snapshot!(farm.refusal(run));
}

#[test]
fn a_shapefile_cut_off_in_its_header() {
    let (farm, run) = with_shapes(|shp, _| shp.truncate(57));
    insta::assert_snapshot!(farm.refusal(run));
}

#[test]
fn a_shapefile_cut_off_after_its_header() {
    let (farm, run) = with_shapes(|shp, _| shp.truncate(100));
    insta::assert_snapshot!(farm.refusal(run));
}

#[test]
fn a_shapefile_cut_off_in_its_last_record_loses_that_record() {
    let (farm, run) = with_shapes(|shp, _| shp.truncate(shp.len() - 5));
    let _ = run.ended(0);
    let results = farm.folder.json("out/results.json");
    assert_eq!(results["input"]["records"], farm.log.rows.len() - 1);
    insta::assert_snapshot!(farm.folder.redacted(&warning(&results, "unreadable_cells")));
    little_changed(&results);
}

#[test]
fn attributes_without_a_byte() {
    let (farm, run) = with_shapes(|_, dbf| dbf.clear());
    insta::assert_snapshot!(farm.refusal(run));
}

#[test]
fn attributes_cut_off_in_their_header() {
    let (farm, run) = with_shapes(|_, dbf| dbf.truncate(77));
    insta::assert_snapshot!(farm.refusal(run));
}

#[test]
fn attributes_cut_off_in_the_middle() {
    let (farm, run) = with_shapes(|_, dbf| dbf.truncate(dbf.len() / 2));
    let _ = run.ended(0);
    let results = farm.folder.json("out/results.json");
    assert_eq!(results["input"]["records"], farm.log.rows.len());
    insta::assert_snapshot!(farm.folder.redacted(&warning(&results, "unreadable_cells")));
}

#[test]
fn a_shapefile_cut_off_anywhere_never_panics() {
    let farm = SmallFarm::new();
    let shapes = farm.log_shapes();
    for share in 0..10 {
        for dbf_too in [false, true] {
            let (farm, run) = with_shapes(|shp, dbf| {
                shp.truncate(shapes.shp.len() * share / 10 + share);
                if dbf_too {
                    dbf.truncate(shapes.dbf.len() * share / 10 + share);
                }
            });
            assert!(!run.stderr.contains("panicked"), "{}", run.stderr);
            match run.status {
                Some(0) => assert!(!farm.folder.json("out/results.json").is_null()),
                status => {
                    assert_eq!(status, Some(1), "{}", run.stderr);
                    let _ = farm.refusal(run);
                }
            }
        }
    }
}
