//! Law: what is found in a log that is read in pieces is what is found in the same log in memory as a whole, on
//! invented planters in every form a log comes in. The whole way is put together here.

use super::*;
use checkstrip_cleaning::plane_of;
use checkstrip_formats::{ConvertOptions, convert, read_log};
use checkstrip_invented::{PlanterFault, PlanterPlan, invented_planting};
use checkstrip_model::{Column, FieldLog};
use checkstrip_planting::{PlantingFindings, PlantingLog};
use std::path::Path;

/// Some nine megabytes of text in either form, so that it takes two pieces or more.
fn plan(rate_swing: f64) -> PlanterPlan {
    PlanterPlan {
        rows: 12,
        passes: 8,
        pass_length_m: 220.0,
        interval_s: 0.1,
        rate_swing,
        faults: vec![PlanterFault::BlockedCell {
            row: 5,
            passes: [3, 6],
            share: 0.9,
        }],
        ..PlanterPlan::default()
    }
}

/// Columns of a record that all rows share, and those of single rows with what a monitor would call them.
const OF_MOMENT: [Column; 7] = [
    Column::Timestamp,
    Column::Lon,
    Column::Lat,
    Column::Speed,
    Column::Heading,
    Column::Width,
    Column::HeaderDown,
];
const OF_ROWS: [(Column, &str); 10] = [
    (Column::TargetSeedRate, "Target rate (seeds/ha)"),
    (Column::SeedRate, "Population (seeds/ha)"),
    (Column::Singulation, "Singulation (%)"),
    (Column::Skips, "Skips (%)"),
    (Column::Multiples, "Multiples (%)"),
    (Column::SpacingVariation, "Spacing CV (%)"),
    (Column::Downforce, "Gauge wheel load (N)"),
    (Column::GroundContact, "Ground contact (%)"),
    (Column::RideQuality, "Ride (%)"),
    (Column::Vacuum, "Meter vacuum (Pa)"),
];

/// The lines of a log, the header first.
fn lines(log: &FieldLog, rows: usize, wide: bool) -> Vec<String> {
    let mut header: Vec<String> = OF_MOMENT.map(|c| c.canonical_name().to_owned()).into();
    header.push("pass_id".to_owned());
    if !wide {
        header.push("row".to_owned());
    }
    for (column, name) in OF_ROWS {
        match wide {
            true => header.extend((1..=rows).map(|row| format!("Row {row} {name}"))),
            false => header.push(column.canonical_name().to_owned()),
        }
    }
    let text = |column: Column, record: usize| {
        let value = log.numbers(column).unwrap()[record];
        format!("{value:.8}")
    };
    let mut lines = vec![header.join(",")];
    let each = if wide { rows } else { 1 };
    for first in (0..log.len()).step_by(each) {
        let mut cells: Vec<String> = OF_MOMENT.map(|column| text(column, first)).into();
        cells.push(log.labels(Column::PassId).unwrap().name(first).to_owned());
        if !wide {
            cells.push(format!("{}", first % rows + 1));
        }
        for (column, _) in OF_ROWS {
            cells.extend((first..first + each).map(|record| text(column, record)));
        }
        lines.push(cells.join(","));
    }
    lines
}

fn setup(files: &[PathBuf], out: &Path) -> PlantingSetup {
    PlantingSetup {
        files: files.to_vec(),
        columns: ColumnMap::new(),
        name: "An invented field".to_owned(),
        settings: PlantingSettings {
            disc_cells: Some(40),
            ..PlantingSettings::default()
        },
        put_aside_in: out.to_owned(),
    }
}

/// The findings of each planter of a log in memory as a whole, with its name.
fn of_whole(setup: &PlantingSetup) -> Vec<(String, PlantingFindings)> {
    let options = ReadOptions {
        operation: Some(Operation::Planting),
        ..ReadOptions::default()
    };
    let log = read_log(&setup.files, &options).unwrap();
    let plane = plane_of(&log).unwrap();
    let places = |column: Column| log.numbers(column).unwrap();
    let (east, north) = plane
        .to_plane(places(Column::Lon), places(Column::Lat))
        .unwrap();
    let machines = log.labels(Column::Machine);
    let names = machines.map_or(vec![String::new()], |labels| labels.names.clone());
    let mut found = Vec::new();
    for (at, name) in names.into_iter().enumerate() {
        let of_machine: Vec<u32> = (0..log.len() as u32)
            .filter(|&record| machines.is_none_or(|m| m.index[record as usize] == at as u32))
            .collect();
        let columns = PlantingLog {
            records: Some(&of_machine),
            ..PlantingLog::of(&log, Some([&east, &north]))
        };
        let records = PlantingRecords::of(&columns).unwrap();
        found.push((name, analyse(&records, &setup.settings).unwrap()));
    }
    found
}

#[track_caller]
fn assert_same_findings(files: &[PathBuf], dir: &Path) -> PlantingResults {
    let setup = setup(files, &dir.join("out"));
    let planted = planting(&setup, &|_| ()).unwrap();
    let whole = of_whole(&setup);
    assert_eq!(planted.results.planters.len(), whole.len());
    for (of_pieces, (name, of_whole)) in planted.results.planters.iter().zip(&whole) {
        assert_eq!(of_pieces.machine.as_deref().unwrap_or_default(), name);
        let json = |findings| serde_json::to_string_pretty(findings).unwrap();
        assert!(json(&of_pieces.findings) == json(of_whole), "{name}");
        let faults = &of_pieces.findings.repeating_faults;
        assert_eq!((faults.len(), &faults[0].rows[..]), (1, &[5][..]));
    }
    planted.results
}

fn write(dir: &Path, name: &str, lines: &[String]) -> PathBuf {
    let path = dir.join(name);
    std::fs::write(&path, lines.join("\n")).unwrap();
    path
}

#[test]
fn long_and_wide_text_and_geoparquet_in_pieces_are_the_whole() {
    for (wide, rate_swing) in [(false, 0.0), (true, 0.15)] {
        let dir = tempfile::tempdir().unwrap();
        let plan = plan(rate_swing);
        let log = invented_planting(&plan).unwrap();
        let lines = lines(&log, plan.rows, wide);
        let text = write(dir.path(), "planting.csv", &lines);
        assert!(std::fs::metadata(&text).unwrap().len() > 9 << 20);
        let of_text = assert_same_findings(std::slice::from_ref(&text), dir.path());
        assert_eq!(of_text.input.records, log.len());
        let parquet = dir.path().join("planting.parquet");
        convert(&text, &parquet, &ConvertOptions::default()).unwrap();
        let of_parquet = assert_same_findings(&[parquet], dir.path());
        assert_eq!(of_parquet.input.records, log.len());
        assert!(of_text.warnings.is_empty(), "{:?}", of_text.warnings);
    }
}

#[test]
fn several_files_one_cut_off_and_one_out_of_order_are_the_whole() {
    let dir = tempfile::tempdir().unwrap();
    let plan = plan(0.0);
    let log = invented_planting(&plan).unwrap();
    let lines = lines(&log, plan.rows, false);
    let with_header = |records: Vec<&String>| -> Vec<String> {
        std::iter::once(&lines[0]).chain(records).cloned().collect()
    };
    let third = lines.len() / 3;
    // The last file first, row after row; the middle one with a line that breaks off.
    let mut last: Vec<(usize, &String)> = lines[2 * third..].iter().enumerate().collect();
    last.sort_by_key(|(at, _)| (at + 2 * third - 1) % plan.rows);
    let last = write(
        dir.path(),
        "last.csv",
        &with_header(last.into_iter().map(|(_, line)| line).collect()),
    );
    let first = write(
        dir.path(),
        "first.csv",
        &with_header(lines[1..third].iter().collect()),
    );
    let mut broken = with_header(lines[third..2 * third].iter().collect());
    if let Some(line) = broken.last_mut() {
        line.truncate(line.len() / 2);
    }
    let middle = write(dir.path(), "middle.csv", &broken);
    let results = assert_same_findings(&[last, first, middle], dir.path());
    assert_eq!(results.input.files.len(), 3);
    assert_eq!(results.warnings.len(), 1, "{:?}", results.warnings);
    assert_eq!(results.warnings[0].code, "unreadable_cells");
}

#[test]
fn several_planters_line_by_line_in_one_file_are_the_whole() {
    let dir = tempfile::tempdir().unwrap();
    let plan = plan(0.0);
    let of_plan = |seed| {
        let log = invented_planting(&PlanterPlan {
            seed,
            ..plan.clone()
        });
        lines(&log.unwrap(), plan.rows, true)
    };
    let (red, blue) = (of_plan(1), of_plan(2));
    let mut both = vec![format!("{},machine", red[0])];
    for (red, blue) in red[1..].iter().zip(&blue[1..]) {
        both.push(format!("{red},red"));
        both.push(format!("{blue},blue"));
    }
    let file = write(dir.path(), "both.csv", &both);
    let results = assert_same_findings(&[file], dir.path());
    assert_eq!(results.planters.len(), 2);
    assert!(results.planters[0].findings != results.planters[1].findings);
}

/// Nothing is left where readings were put aside, in a folder above that of the results, which is not there yet.
#[test]
fn readings_are_put_aside_beside_the_results() {
    let dir = tempfile::tempdir().unwrap();
    let plan = PlanterPlan {
        rows: 24,
        passes: 4,
        pass_length_m: 800.0,
        interval_s: 0.1,
        ..PlanterPlan::default()
    };
    let log = invented_planting(&plan).unwrap();
    let file = write(dir.path(), "large.csv", &lines(&log, plan.rows, true));
    let planted = planting(&setup(&[file], &dir.path().join("not/yet")), &|_| ()).unwrap();
    assert_eq!(planted.results.planters[0].findings.records, log.len());
    let left: Vec<_> = std::fs::read_dir(dir.path()).unwrap().collect();
    assert_eq!(left.len(), 1, "{left:?}");
    assert_eq!(planted.records[0].len(), log.len());
}
