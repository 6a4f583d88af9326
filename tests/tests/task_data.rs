//! ISO 11783-10 task data: an invented harvest written as task data gives the answer of the same harvest as
//! text, an outside reader finds in the files what was put in, and a plan's task serves as strips, boundary and
//! first line.

use checkstrip_acceptance::{Folder, SmallFarm, Table, oracle, python, write_task_data_log};
use checkstrip_formats::{ReadOptions, StripOptions, read_boundary, read_log, read_strips};
use checkstrip_invented::{FaultCounts, FieldPlan};
use checkstrip_model::Column;
use geo::{Area as _, BoundingRect as _, MultiPolygon};
use serde_json::Value;

/// A field whose log has no fault: a log without a reading keeps the last one in task data, and is empty in text.
fn farm() -> SmallFarm {
    let mut farm = SmallFarm::planned(FieldPlan {
        faults: FaultCounts::NONE,
        ..SmallFarm::plan()
    });
    // What a time log does not carry.
    for column in ["distance_m", "interval_s", "heading_deg", "pass_id", "load"] {
        if farm.log.headers.iter().any(|header| header == column) {
            farm.log.drop_column(column);
        }
    }
    farm.write();
    farm
}

/// The results of the same trial with its harvest as task data.
fn as_task_data(farm: &SmallFarm, behind_m: f64) -> Value {
    write_task_data_log(&farm.folder, &farm.harvest.log, behind_m);
    with_log(farm, "TASKDATA", "from_task")
}

/// The results, in the folder `out`, of the same trial with its harvest in the file `log`.
fn with_log(farm: &SmallFarm, log: &str, out: &str) -> Value {
    let trial = farm.folder.text("trial.toml").replace("log.csv", log);
    farm.folder.put("task.toml", trial);
    let line = ["compare", "task.toml", "--out", out, "--export", "csv"];
    let _ = farm.folder.run(line).ended(0);
    farm.folder.json(&format!("{out}/results.json"))
}

fn number(value: &Value, pointer: &str) -> f64 {
    let found = value.pointer(pointer).and_then(Value::as_f64);
    found.unwrap_or_else(|| panic!("no number at {pointer}"))
}

/// The answers of two results, within what whole numbers of the log can do.
#[track_caller]
fn same_answer(text: &Value, task: &Value, within_kg_ha: f64) {
    assert_eq!(text["input"]["records"], task["input"]["records"]);
    let kept = |results: &Value| number(results, "/cleaning/kept");
    assert!(
        (kept(text) - kept(task)).abs() <= 0.003 * kept(text),
        "{} {}",
        kept(text),
        kept(task)
    );
    let comparisons = text["comparisons"].as_array().map_or(0, Vec::len);
    assert!(comparisons > 0);
    for at in 0..comparisons {
        let place = format!("/comparisons/{at}");
        for figure in ["advantage_kg_ha", "std_error_kg_ha"] {
            let pointer = format!("{place}/{figure}");
            let (one, other) = (number(text, &pointer), number(task, &pointer));
            assert!(
                (one - other).abs() < within_kg_ha,
                "{pointer}: {one} against {other}"
            );
        }
    }
}

#[test]
fn a_harvest_as_task_data_gives_the_answer_of_its_text() {
    let farm = farm();
    let text = farm.results();
    // Positions are whole 1e-7 degrees: 5 mm at most.
    same_answer(&text, &as_task_data(&farm, 0.0), 3.0);
}

#[test]
fn a_receiver_behind_the_header_is_moved_to_it() {
    let farm = farm();
    let text = farm.results();
    let task = as_task_data(&farm, 5.0);
    same_answer(&text, &task, 8.0);
    // Positions of records that count, against those of the text: half a metre where the machine turns.
    let line = ["clean", "log.csv", "--out", "cleaned", "--export", "csv"];
    let _ = farm.folder.run(line).ended(0);
    let [text, task] = ["cleaned", "from_task"]
        .map(|folder| Table::parse(&farm.folder.text(&format!("{folder}/cleaned.csv")), ','));
    let [lon, lat] = ["lon", "lat"].map(|axis| (text.numbers(axis), task.numbers(axis)));
    let east_m = 111_320.0 * lat.0[0].to_radians().cos();
    let apart = |record: usize| {
        let east = (lon.0[record] - lon.1[record]) * east_m;
        east.hypot((lat.0[record] - lat.1[record]) * 111_320.0)
    };
    let status = text.texts("status");
    let kept = (0..status.len()).filter(|&record| status[record] == "kept");
    let apart: Vec<f64> = kept.map(apart).collect();
    let near = apart.iter().filter(|metres| **metres < 0.5).count();
    assert!(
        near as f64 > 0.98 * apart.len() as f64,
        "{near} of {}",
        apart.len()
    );
    let inspected = farm.folder.run(["inspect", "TASKDATA"]).ended(0).stdout;
    assert!(
        inspected.contains("moved 5.00 m forwards to the cutting edge"),
        "{inspected}"
    );
    assert!(inspected.contains("Invented combine"), "{inspected}");
    for said in ["Soybean harvest", "Invented field", "Soybean"] {
        assert!(inspected.contains(said), "{inspected}");
    }
}

#[test]
fn an_outside_reader_finds_the_log() {
    let Some(python) = python() else { return };
    let farm = farm();
    write_task_data_log(&farm.folder, &farm.harvest.log, 0.0);
    let found = oracle(&python, "task_data.py", [farm.folder.join("TASKDATA")]);
    assert_eq!(found["fields"][0][0], "Invented field");
    assert_eq!(found["tasks"][0], "Soybean harvest");
    assert_eq!(found["devices"][0], "Invented combine");
    assert_eq!(found["log"]["length"], true);
    let log = &farm.harvest.log;
    assert_eq!(number(&found, "/log/records"), log.len() as f64);
    let sum = |column: Column| log.numbers(column).unwrap().iter().sum::<f64>();
    for (key, column, step) in [
        ("north", Column::Lat, 1e-7),
        ("east", Column::Lon, 1e-7),
        ("up", Column::Elevation, 1e-3),
    ] {
        let difference = number(&found, &format!("/log/{key}")) - sum(column);
        assert!(
            difference.abs() <= 0.5 * step * log.len() as f64,
            "{key}: {difference}"
        );
    }
    let flow = log.numbers(Column::MassFlow).unwrap().last().unwrap();
    assert!((number(&found, "/log/last/0") / 1e6 - flow).abs() < 1e-6);
}

#[test]
fn a_log_written_as_task_data_gives_the_answer_of_its_text() {
    let farm = farm();
    let text = farm.results();
    for set in ["TASKDATA", "harvest.zip"] {
        let said = farm.folder.run(["convert", "log.csv", set]).ended(0).stdout;
        assert!(said.contains("ISO 11783-10 task data"), "{said}");
        let task = with_log(&farm, set, "from_task");
        same_answer(&text, &task, 3.0);
        // And out of it again, everything that it holds.
        let back = format!("{set}.csv");
        let _ = farm.folder.run(["convert", set, &back]).ended(0);
        same_answer(&task, &with_log(&farm, &back, "back"), 1e-6);
    }
    let Some(python) = python() else { return };
    let found = oracle(&python, "task_data.py", [farm.folder.join("TASKDATA")]);
    assert_eq!(found["tasks"][0], "log");
    assert_eq!(found["log"]["length"], true);
    let log = &farm.harvest.log;
    assert_eq!(number(&found, "/log/records"), log.len() as f64);
    for (key, column, step) in [("north", Column::Lat, 1e-7), ("east", Column::Lon, 1e-7)] {
        let sum: f64 = log.numbers(column).unwrap().iter().sum();
        let difference = number(&found, &format!("/log/{key}")) - sum;
        assert!(
            difference.abs() <= 0.5 * step * log.len() as f64,
            "{key}: {difference}"
        );
    }
    assert_eq!(found["log"]["entries"][0], "0057");
    let flow = log.numbers(Column::MassFlow).unwrap().last().unwrap();
    assert!((number(&found, "/log/last/0") / 1e6 - flow).abs() < 1e-4);
}

#[test]
fn an_outside_reader_and_ours_find_the_plan() {
    let farm = farm();
    farm.folder.put(
        "field.geojson",
        r#"{"type": "Feature", "properties": {}, "geometry": {"type": "Polygon", "coordinates":
        [[[-93.0, 43.0], [-92.99, 43.0], [-92.99, 43.005], [-93.0, 43.005], [-93.0, 43.0]]]}}"#,
    );
    let line = "plan --boundary field.geojson --treatments check,rolled --implement-width 30ft --header-width 30ft --blocks 3 --out plan";
    let _ = farm.folder.run(line.split(' ')).ended(0);
    // The plan's task is boundary and first line of another plan.
    let again = "plan --boundary plan/TASKDATA.XML --first-line plan/TASKDATA.XML:GPN1 --treatments check,rolled \
                 --implement-width 30ft --header-width 30ft --blocks 3 --out again";
    let _ = farm.folder.run(again.split_whitespace()).ended(0);
    let Some(python) = python() else { return };
    let found = oracle(&python, "task_data.py", [farm.folder.join("plan")]);
    let area = number(&found, "/fields/0/1");
    assert!((area - 0.01 * 0.005).abs() < 1e-9, "{area}");
    assert_eq!(found["zones"].as_array().unwrap().len(), 6);
    assert!(!found["lines"].as_array().unwrap().is_empty());
}

#[test]
fn what_an_outside_writer_wrote_is_read() {
    let Some(python) = python() else { return };
    let folder = Folder::new();
    let truth = oracle(&python, "task_data_written.py", [folder.path()]);
    for version in ["v3.zip", "v4.zip"] {
        let path = folder.join(version);
        let boundary = read_boundary(&path).expect("a boundary").ground;
        let area = number(&truth, "/field");
        assert!((boundary.unsigned_area() - area).abs() < 1e-12, "{version}");
        assert_eq!(boundary.0[0].interiors().len(), 1);
        let strips = read_strips(&path, &StripOptions::default())
            .expect("strips")
            .strips;
        let treatments: Vec<&str> = strips
            .iter()
            .map(|strip| strip.treatment.as_str())
            .collect();
        assert_eq!(treatments, ["140 kg/ha", "80000 /ha"], "{version}");
        for (at, strip) in strips.iter().enumerate() {
            let area = number(&truth, &format!("/zones/{at}"));
            assert!(
                (strip.ground.unsigned_area() - area).abs() < 1e-12,
                "{version} {at}"
            );
        }
    }
    // Cells of a grid, cell by cell joined by shapely: type 1 in version 3, type 2 in version 4.
    for set in ["grid_v3.zip", "grid_v4.zip"] {
        let strips = read_strips(&folder.join(set), &StripOptions::default())
            .expect("strips")
            .strips;
        for (rate, expected) in truth["grid"].as_object().expect("rates") {
            let ground: MultiPolygon<f64> = strips
                .iter()
                .filter(|strip| strip.treatment == *rate)
                .flat_map(|strip| strip.ground.clone())
                .collect();
            let area = number(expected, "/0");
            assert!(
                (ground.unsigned_area() - area).abs() < 1e-12,
                "{set} {rate}"
            );
            let bounds = ground.bounding_rect().expect("ground");
            let west_south = [
                bounds.min().x,
                bounds.min().y,
                bounds.max().x,
                bounds.max().y,
            ];
            for (at, found) in west_south.into_iter().enumerate() {
                assert!((found - number(expected, &format!("/1/{at}"))).abs() < 1e-9);
            }
        }
        assert_eq!(strips.len(), 11, "{set}");
    }
    // Records in the document itself.
    let log = read_log(&[folder.join("times.zip")], &ReadOptions::default()).expect("a log");
    let records = truth["records"].as_array().expect("records");
    assert_eq!(log.len(), records.len());
    for (at, record) in records.iter().enumerate() {
        let value = |column: Column| log.numbers(column).unwrap()[at];
        assert_eq!(value(Column::Lat), number(record, "/0"));
        assert_eq!(value(Column::Lon), number(record, "/1"));
        assert_eq!(value(Column::MassFlow) * 1e6, number(record, "/2"));
    }
}
