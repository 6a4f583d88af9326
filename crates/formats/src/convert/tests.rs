//! Files taken from format to format and back, by us and by others, whole and damaged.

use std::path::{Path, PathBuf};
use std::process::Command;

use proptest::prelude::*;
use rusqlite::Connection;

use super::*;
use crate::export::feature_source::{
    ColumnKind, Drawn, FeatureBatch, FeatureSource, Value, WrittenColumn,
};
use crate::{ReadOptions, StripOptions, read_log, read_strips};
use checkstrip_model::Column;

/// A log of an invented field: a column of every kind, readings that are missing, a record without a
/// place, columns that mean nothing to checkstrip.
const LOG: &str = "\
lon,lat,mass_flow_kg_s,moisture_pct,pass_id,code,variety,note,big
-93.1,43.2,20.5,13.1,1,007,P1,\"a \"\"b\"\", c\",9007199254740993
-93.1001,43.2001,21.25,,1,008,Ähre,,2
,,22,13.4,2,009,P1,x,3
";

/// All of `input`.
fn whole(input: &Path, output: &Path) -> Result<Conversion, FormatError> {
    convert(input, output, &ConvertOptions::default())
}

const TABLES: [&str; 7] = [
    "geojson", "ndjson", "geojsons", "gpkg", "parquet", "fgb", "shp",
];

fn write(dir: &Path, name: &str, content: &str) -> PathBuf {
    let path = dir.join(name);
    std::fs::write(&path, content).unwrap();
    path
}

fn strips_utm() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../fixtures/reading/strips_utm.geojson")
}

#[test]
fn a_log_comes_back_as_it_was_from_every_format() {
    let dir = tempfile::tempdir().unwrap();
    let log = write(dir.path(), "log.csv", LOG);
    for extension in TABLES {
        let there = dir.path().join(format!("log.{extension}"));
        let done = whole(&log, &there).unwrap();
        assert_eq!((done.features, done.geometry), (3, "points"));
        let back = dir.path().join(format!("back_{extension}.csv"));
        whole(&there, &back).unwrap();
        let text = std::fs::read_to_string(&back).unwrap();
        // An attribute table takes names of ten bytes: the flow keeps its unit.
        let expected = match extension {
            "shp" => LOG
                .replace("mass_flow_kg_s", "flow_kg_s")
                .replace("moisture_pct", "moisture_p"),
            _ => LOG.to_owned(),
        };
        assert_eq!(text, expected, "{extension}");
        // And it is understood where it stands.
        let read = read_log(&[there], &ReadOptions::default()).unwrap();
        let flow = read.numbers(Column::MassFlow).unwrap();
        assert_eq!(flow, [20.5, 21.25, 22.0], "{extension}");
        assert!(read.numbers(Column::Lon).unwrap()[2].is_nan());
        assert!(read.numbers(Column::Moisture).unwrap()[1].is_nan());
    }
}

#[test]
fn strips_keep_their_reference_system_where_the_format_can() {
    let dir = tempfile::tempdir().unwrap();
    let options = StripOptions::default();
    let expected = read_strips(&strips_utm(), &options).unwrap();
    for extension in TABLES {
        let there = dir.path().join(format!("strips.{extension}"));
        let done = whole(&strips_utm(), &there).unwrap();
        let keeps = matches!(extension, "gpkg" | "parquet" | "fgb" | "shp");
        assert_eq!(done.crs != "WGS 84", keeps, "{extension}: {}", done.crs);
        assert_eq!(done.changes.is_empty(), keeps, "{:?}", done.changes);
        let read = read_strips(&there, &options).unwrap();
        assert_eq!(read.strips.len(), expected.strips.len());
        for (found, wanted) in read.strips.iter().zip(&expected.strips) {
            assert_eq!(
                (&found.strip_id, &found.treatment, &found.block),
                (&wanted.strip_id, &wanted.treatment, &wanted.block),
                "{extension}"
            );
            // Rings may run the other way; nine decimals of a degree are 0.1 mm.
            let corners = |strip: &checkstrip_model::Strip| {
                let mut corners: Vec<[i64; 2]> = strip.ground.0[0]
                    .exterior()
                    .coords()
                    .map(|c| [(c.x * 1e8).round() as i64, (c.y * 1e8).round() as i64])
                    .collect();
                corners.sort_unstable();
                corners
            };
            assert_eq!(corners(found), corners(wanted), "{extension}");
        }
    }
}

/// Corners inside corners, several parts, and rings that run the wrong way and are not closed.
#[test]
fn holes_and_parts_come_through() {
    let text = r#"{"type":"FeatureCollection","features":[
        {"type":"Feature","properties":{"treatment":"a"},"geometry":{"type":"MultiPolygon","coordinates":[
            [[[0,0],[0,9],[9,9],[9,0]],[[1,1],[2,1],[2,2],[1,2],[1,1]]],[[[20,0],[29,0],[29,9],[20,0]]]]}},
        {"type":"Feature","properties":{"treatment":"b"},"geometry":{"type":"Polygon","coordinates":
            [[[40,0],[49,0],[49,9],[40,0]]]}}]}"#;
    let dir = tempfile::tempdir().unwrap();
    let from = write(dir.path(), "a.geojson", text);
    for extension in TABLES {
        let there = dir.path().join(format!("b.{extension}"));
        whole(&from, &there).unwrap();
        let back = dir.path().join(format!("c_{extension}.geojson"));
        whole(&there, &back).unwrap();
        let json: serde_json::Value =
            serde_json::from_slice(&std::fs::read(&back).unwrap()).unwrap();
        let first = &json["features"][0]["geometry"]["coordinates"];
        let corners = |ring: &serde_json::Value| ring.as_array().unwrap().len();
        let shape: Vec<Vec<usize>> = first
            .as_array()
            .unwrap()
            .iter()
            .map(|part| part.as_array().unwrap().iter().map(corners).collect())
            .collect();
        assert_eq!(shape, [vec![5, 5], vec![4]], "{extension}");
        // RFC 7946, section 3.1.6: the outer ring runs counterclockwise, a hole clockwise.
        let area = |ring: &serde_json::Value| -> f64 {
            let at = |i: usize, axis: usize| ring[i][axis].as_f64().unwrap();
            (0..corners(ring) - 1)
                .map(|i| at(i, 0) * at(i + 1, 1) - at(i + 1, 0) * at(i, 1))
                .sum()
        };
        assert!(
            area(&first[0][0]) > 0.0 && area(&first[0][1]) < 0.0,
            "{extension}"
        );
        let strips = read_strips(&there, &StripOptions::default()).unwrap();
        assert_eq!(strips.strips[0].ground.0.len(), 2, "{extension}");
    }
}

#[test]
fn what_a_format_cannot_hold_is_said_or_refused() {
    let dir = tempfile::tempdir().unwrap();
    let long = "x".repeat(300);
    let text = format!("lon,lat,a long name,A LONG NAME,note\n-93,43,1,2,{long}\n");
    let log = write(dir.path(), "log.csv", &text);
    let done = whole(&log, &dir.path().join("a.shp")).unwrap();
    assert_eq!(done.columns, ["a long nam", "A LONG N_2", "note"]);
    let said = done.changes.join("\n");
    assert!(
        said.contains("254 bytes") && said.contains("\"A LONG N_2\""),
        "{said}"
    );
    let done = whole(&log, &dir.path().join("a.gpkg")).unwrap();
    assert_eq!(done.columns[1], "A LONG NAME_2");

    for (from, to, says) in [
        (strips_utm(), "a.csv", "CSV holds no polygons"),
        (log.clone(), "a.xlsx", "which format"),
        (log.clone(), "log.csv", "the file that is read"),
        (
            write(dir.path(), "b.csv", "a,b\n1,2\n"),
            "b.shp",
            "no record has one",
        ),
        (
            write(dir.path(), "c.csv", "lon,lat\n500000,4700000\n"),
            "c.fgb",
            "degrees",
        ),
    ] {
        let error = whole(&from, &dir.path().join(to)).unwrap_err().to_string();
        assert!(error.contains(says) && error.contains("hint:"), "{error}");
    }
    // A table without places is a table in Parquet.
    let plain = dir.path().join("b.parquet");
    assert_eq!(
        whole(&dir.path().join("b.csv"), &plain).unwrap().geometry,
        "none"
    );
    let back = dir.path().join("b2.csv");
    whole(&plain, &back).unwrap();
    assert_eq!(std::fs::read_to_string(back).unwrap(), "a,b\n1,2\n");
    // Nothing is left of what failed.
    assert!(!dir.path().join("c.fgb").exists() && !dir.path().join("b.shp").exists());
}

#[test]
fn nothing_but_the_target_is_left_in_the_folder() {
    let dir = tempfile::tempdir().unwrap();
    let log = write(dir.path(), "log.csv", LOG);
    whole(&log, &dir.path().join("a.gpkg")).unwrap();
    read_log(&[dir.path().join("a.gpkg")], &ReadOptions::default()).unwrap();
    assert_eq!(std::fs::read_dir(dir.path()).unwrap().count(), 2);
}

/// The program `name` with `arguments`, its output; `None`, said aloud, when it is not installed.
fn outside(name: &str, arguments: &[&str]) -> Option<String> {
    let Ok(output) = Command::new(name).args(arguments).output() else {
        eprintln!("SKIPPED: {name} is not installed (Debian: apt-get install gdal-bin)");
        return None;
    };
    assert!(
        output.status.success(),
        "{name} {arguments:?}: {}",
        String::from_utf8_lossy(&output.stderr)
    );
    Some(String::from_utf8_lossy(&output.stdout).into_owned())
}

/// GDAL (gdal-bin, `ogr2ogr` to GeoJSON on standard output) reads every format that we write, except
/// GeoParquet, which Debian's build lacks.
#[test]
fn gdal_reads_what_is_written() {
    let dir = tempfile::tempdir().unwrap();
    let log = write(dir.path(), "log.csv", LOG);
    for extension in ["geojson", "ndjson", "geojsons", "gpkg", "fgb", "shp"] {
        for (from, count) in [(&log, 3), (&strips_utm(), 4)] {
            let there = dir.path().join(format!("{count}.{extension}"));
            let written = whole(from, &there).unwrap();
            let arguments = [
                "-f",
                "GeoJSON",
                "/vsistdout/",
                there.to_str().unwrap(),
                "-t_srs",
                "EPSG:4326",
                "-lco",
                "COORDINATE_PRECISION=10",
            ];
            let Some(text) = outside("ogr2ogr", &arguments) else {
                return;
            };
            let json: serde_json::Value = serde_json::from_str(&text).unwrap();
            let features = json["features"].as_array().unwrap();
            assert_eq!(features.len(), written.features, "{extension}");
            if count == 3 {
                let flow = match extension {
                    "shp" => "flow_kg_s",
                    _ => "mass_flow_kg_s",
                };
                assert_eq!(features[1]["properties"][flow], 21.25, "{extension}");
                assert_eq!(features[1]["properties"]["variety"], "Ähre", "{extension}");
                assert_eq!(features[0]["properties"]["code"], "007", "{extension}");
                assert!(features[1]["properties"]["moisture_pct"].is_null());
                assert_eq!(
                    features[0]["geometry"]["coordinates"][0], -93.1,
                    "{extension}"
                );
                continue;
            }
            // GDAL's own way from UTM to degrees agrees with ours.
            let strips = read_strips(&there, &StripOptions::default()).unwrap();
            let corner = &features[0]["geometry"]["coordinates"][0][0];
            let theirs = [corner[0].as_f64().unwrap(), corner[1].as_f64().unwrap()];
            let is_near = strips.strips[0].ground.0[0]
                .exterior()
                .coords()
                .any(|c| (c.x - theirs[0]).abs() < 1e-8 && (c.y - theirs[1]).abs() < 1e-8);
            assert!(is_near, "{extension}: {theirs:?}");
        }
    }
}

/// What GDAL writes is read: every format from the same strips in UTM and the same log.
#[test]
fn what_gdal_writes_is_read() {
    let dir = tempfile::tempdir().unwrap();
    let log = write(dir.path(), "log.csv", LOG);
    let points = dir.path().join("points.geojson");
    whole(&log, &points).unwrap();
    let expected = read_strips(&strips_utm(), &StripOptions::default()).unwrap();
    for (format, name, option) in [
        ("GPKG", "a.gpkg", "SPATIAL_INDEX=YES"),
        ("FlatGeobuf", "a.fgb", "SPATIAL_INDEX=YES"),
        ("FlatGeobuf", "b.fgb", "SPATIAL_INDEX=NO"),
        ("GeoJSONSeq", "a.geojsons", "RS=YES"),
        ("GeoJSONSeq", "a.ndjson", "RS=NO"),
        ("ESRI Shapefile", "a.shp", "ENCODING=UTF-8"),
    ] {
        for (from, prefix) in [(&strips_utm(), "strips"), (&points, "points")] {
            let there = dir.path().join(format!("{prefix}_{name}"));
            let arguments = [
                "-f",
                format,
                there.to_str().unwrap(),
                from.to_str().unwrap(),
                "-lco",
                option,
            ];
            if outside("ogr2ogr", &arguments).is_none() {
                return;
            }
            if prefix == "strips" {
                let read = read_strips(&there, &StripOptions::default()).unwrap();
                let mut found: Vec<&str> = read.strips.iter().map(|s| &*s.treatment).collect();
                let mut wanted: Vec<&str> = expected.strips.iter().map(|s| &*s.treatment).collect();
                // An index puts features into its own order.
                found.sort_unstable();
                wanted.sort_unstable();
                assert_eq!(found, wanted, "{name}");
                let near = |corner: geo::Coord| {
                    let same = expected
                        .strips
                        .iter()
                        .flat_map(|s| s.ground.0[0].exterior().coords());
                    same.into_iter()
                        .any(|c| (c.x - corner.x).abs() < 1e-6 && (c.y - corner.y).abs() < 1e-6)
                };
                assert!(near(read.strips[0].ground.0[0].exterior().0[0]), "{name}");
            } else {
                let options = ReadOptions {
                    columns: [(
                        Column::MassFlow,
                        checkstrip_model::ColumnSource {
                            column: if format == "ESRI Shapefile" {
                                "mass_flow_"
                            } else {
                                "mass_flow_kg_s"
                            }
                            .to_owned(),
                            unit: Some("kg/s".to_owned()),
                        },
                    )]
                    .into(),
                    ..ReadOptions::default()
                };
                let read = read_log(&[there], &options).unwrap();
                let mut flow = read.numbers(Column::MassFlow).unwrap().to_vec();
                flow.sort_by(f64::total_cmp);
                // GDAL leaves features without a place out of FlatGeobuf.
                let records = if format == "FlatGeobuf" { 2 } else { 3 };
                assert_eq!(flow, [20.5, 21.25, 22.0][..records], "{name}");
            }
        }
    }
}

/// geopandas writes GeoParquet (well-known binary and native points, with and without boxes, in UTM and
/// WGS 84) that is read, and reads what is written.
#[test]
fn geopandas_and_we_read_each_other() {
    let script = r#"
import sys, json, geopandas as gp, pandas as pd
d = sys.argv[1]
strips = gp.read_file(sys.argv[2])
strips.to_parquet(f"{d}/wkb.parquet", write_covering_bbox=True)
strips.to_parquet(f"{d}/plain.parquet", compression=None)
log = gp.GeoDataFrame(
    {"mass_flow_kg_s": [20.5, None, 22.0], "variety": ["P1", None, "x"], "n": [1, 2, 3],
     "time": pd.to_datetime(["2024-10-05T14:03:00Z", "2024-10-05T14:03:01.5Z", "2024-10-05T14:03:02Z"], format="ISO8601"),
     "day": [pd.Timestamp("2024-10-05").date()] * 3, "up": [True, False, True]},
    geometry=gp.points_from_xy([-93.1, -93.2, -93.3], [43.1, 43.2, 43.3]), crs="EPSG:4326")
log.to_parquet(f"{d}/native.parquet", geometry_encoding="geoarrow")
log.to_crs(26915).to_parquet(f"{d}/utm.parquet", row_group_size=2)
pd.DataFrame({"lon": [-93.1], "lat": [43.1], "mass_flow_kg_s": [5.0]}).to_parquet(f"{d}/no_geo.parquet")
ours = gp.read_parquet(f"{d}/ours.parquet")
assert ours.crs.to_epsg() == strips.crs.to_epsg(), ours.crs
assert list(ours["treatment"]) == list(strips["treatment"])
assert ours.geometry.geom_equals(strips.geometry).all()
assert ours.geometry.is_valid.all()
"#;
    let interpreter = std::env::var("CHECKSTRIP_PYTHON").unwrap_or_else(|_| "python3".to_owned());
    let has_modules = Command::new(&interpreter)
        .args(["-c", "import pyarrow.parquet, geopandas"])
        .output()
        .is_ok_and(|output| output.status.success());
    if !has_modules {
        eprintln!("SKIPPED: {interpreter} with pyarrow and geopandas is not installed");
        return;
    }
    let dir = tempfile::tempdir().unwrap();
    whole(&strips_utm(), &dir.path().join("ours.parquet")).unwrap();
    let (folder, strips) = (dir.path().to_str().unwrap(), strips_utm());
    outside(
        &interpreter,
        &["-c", script, folder, strips.to_str().unwrap()],
    );

    let expected = read_strips(&strips_utm(), &StripOptions::default()).unwrap();
    for name in ["wkb.parquet", "plain.parquet"] {
        let read = read_strips(&dir.path().join(name), &StripOptions::default()).unwrap();
        for (found, wanted) in read.strips.iter().zip(&expected.strips) {
            assert_eq!(
                (&found.treatment, &found.ground),
                (&wanted.treatment, &wanted.ground)
            );
        }
        assert!(read.problems.is_empty(), "{:?}", read.problems);
    }
    for name in ["native.parquet", "utm.parquet"] {
        let read = read_log(&[dir.path().join(name)], &ReadOptions::default()).unwrap();
        let lon = read.numbers(Column::Lon).unwrap();
        assert!((lon[2] + 93.3).abs() < 1e-9, "{name}: {lon:?}");
        assert!(read.numbers(Column::MassFlow).unwrap()[1].is_nan());
        // 2024-10-05T14:03:00Z, after `date -u -d … +%s`.
        let time = read.numbers(Column::Timestamp).unwrap();
        assert_eq!(
            time,
            [1_728_136_980.0, 1_728_136_981.5, 1_728_136_982.0],
            "{name}"
        );
        let csv = dir.path().join("back.csv");
        whole(&dir.path().join(name), &csv).unwrap();
        let text = std::fs::read_to_string(csv).unwrap();
        let second = text.lines().nth(2).unwrap();
        assert!(
            second.ends_with(",,,2,2024-10-05T14:03:01.5Z,2024-10-05,false"),
            "{text}"
        );
    }
    let plain = read_log(
        &[dir.path().join("no_geo.parquet")],
        &ReadOptions::default(),
    )
    .unwrap();
    assert_eq!(plain.numbers(Column::Lon), Some(&[-93.1][..]));
}

/// The small files of every format, of points and of polygons.
fn small_files() -> Vec<(&'static str, Vec<u8>)> {
    let dir = tempfile::tempdir().unwrap();
    let log = write(dir.path(), "log.csv", LOG);
    let mut files = Vec::new();
    for extension in ["gpkg", "parquet", "fgb", "ndjson", "geojsons"] {
        for from in [&log, &strips_utm()] {
            let there = dir.path().join(format!("a.{extension}"));
            whole(from, &there).unwrap();
            files.push((extension, std::fs::read(&there).unwrap()));
        }
    }
    files
}

/// Whatever is done with a file, it is used or refused.
fn use_or_refuse(path: &Path) {
    let _ = read_log(&[path.to_owned()], &ReadOptions::default());
    let _ = read_strips(path, &StripOptions::default());
    let _ = whole(path, &path.with_extension("back.fgb"));
}

#[test]
fn a_file_that_breaks_off_anywhere_is_used_or_refused() {
    let dir = tempfile::tempdir().unwrap();
    for (extension, bytes) in small_files() {
        let path = dir.path().join(format!("cut.{extension}"));
        for part in 0..40 {
            std::fs::write(&path, &bytes[..bytes.len() * part / 40]).unwrap();
            use_or_refuse(&path);
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn a_damaged_file_is_used_or_refused(
        which in 0_usize..10,
        changes in proptest::collection::vec((0.0_f64..1.0, any::<u8>()), 1..12),
        // Lengths stand in four bytes: the largest and others.
        length in proptest::option::of((0.0_f64..1.0, prop_oneof![Just(u32::MAX), Just(i32::MAX as u32), any::<u32>()])),
    ) {
        thread_local! {
            static FILES: Vec<(&'static str, Vec<u8>)> = small_files();
        }
        let (extension, mut bytes) = FILES.with(|files| files[which].clone());
        let place = |at: f64, length: usize| (at * length as f64) as usize;
        for (at, byte) in changes {
            let at = place(at, bytes.len());
            bytes[at] = byte;
        }
        if let Some((at, value)) = length {
            let at = place(at, bytes.len() - 4);
            bytes[at..at + 4].copy_from_slice(&value.to_le_bytes());
        }
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join(format!("damaged.{extension}"));
        std::fs::write(&path, &bytes).unwrap();
        use_or_refuse(&path);
    }
}

/// A GeoPackage with what `sql` adds to a log's.
fn altered(dir: &Path, sql: &str) -> PathBuf {
    let log = write(dir, "log.csv", LOG);
    let path = dir.join("field.gpkg");
    whole(&log, &path).unwrap();
    Connection::open(&path).unwrap().execute_batch(sql).unwrap();
    path
}

#[test]
fn the_layer_of_a_geopackage_is_found_or_asked_for() {
    const SECOND: &str = "CREATE TABLE \"other\" AS SELECT * FROM field;
        INSERT INTO gpkg_contents (table_name, data_type, identifier, srs_id)
            VALUES ('other', 'features', 'other', 4326);
        INSERT INTO gpkg_geometry_columns VALUES ('other', 'geom', 'POINT', 4326, 0, 0);
        DELETE FROM other WHERE mass_flow_kg_s < 22;
        UPDATE other SET geom = (SELECT geom FROM field LIMIT 1);";
    let dir = tempfile::tempdir().unwrap();
    let path = altered(dir.path(), SECOND);
    let options = ReadOptions::default();
    let error = read_log(std::slice::from_ref(&path), &options)
        .unwrap_err()
        .to_string();
    assert!(
        error.contains("found 2: \"field\" (point), \"other\" (point)"),
        "{error}"
    );
    assert!(error.contains("field.gpkg:field"), "{error}");
    let named = |layer: &str| PathBuf::from(format!("{}:{layer}", path.display()));
    let read = read_log(&[named("OTHER")], &options).unwrap();
    assert_eq!(read.numbers(Column::MassFlow), Some(&[22.0][..]));
    assert!(crate::expand_globs(&[named("other").display().to_string()], Path::new("")).is_ok());
    let error = read_log(&[named("third")], &options)
        .unwrap_err()
        .to_string();
    assert!(error.contains("expected a layer \"third\""), "{error}");
    let error = read_strips(&path, &StripOptions::default())
        .unwrap_err()
        .to_string();
    assert!(error.contains("expected a layer of polygons"), "{error}");
}

#[test]
fn what_a_geopackage_would_compute_is_not_read() {
    let dir = tempfile::tempdir().unwrap();
    // A view that never ends, in place of the layer.
    let path = altered(
        dir.path(),
        "ALTER TABLE field RENAME TO hidden; CREATE VIEW field AS WITH RECURSIVE n(i) AS
            (SELECT 1 UNION ALL SELECT i + 1 FROM n) SELECT i AS fid, geom, i AS mass_flow_kg_s
            FROM n, hidden;",
    );
    let error = read_log(&[path], &ReadOptions::default())
        .unwrap_err()
        .to_string();
    assert!(error.contains("is a view"), "{error}");
    // A column that makes a megabyte of every record.
    let path = altered(
        dir.path(),
        "ALTER TABLE field ADD COLUMN bulk TEXT AS (printf('%.*c', 1000000, 'x'));",
    );
    let done = whole(&path, &dir.path().join("a.csv")).unwrap();
    assert!(!done.columns.contains(&"bulk".to_owned()));
    // A database that is no GeoPackage.
    let path = dir.path().join("plain.gpkg");
    Connection::open(&path)
        .unwrap()
        .execute_batch("CREATE TABLE a (b)")
        .unwrap();
    let error = read_log(&[path], &ReadOptions::default())
        .unwrap_err()
        .to_string();
    assert!(error.contains("another SQLite database"), "{error}");
}

#[test]
fn an_open_geopackage_is_read_only_when_all_of_it_is_there() {
    let dir = tempfile::tempdir().unwrap();
    let path = altered(dir.path(), "");
    let other = Connection::open(&path).unwrap();
    other
        .execute_batch("PRAGMA journal_mode = WAL; PRAGMA wal_autocheckpoint = 0; UPDATE field SET code = 'x';")
        .unwrap();
    let error = read_log(std::slice::from_ref(&path), &ReadOptions::default())
        .unwrap_err()
        .to_string();
    assert!(error.contains("close the program"), "{error}");
    drop(other);
    assert_eq!(read_log(&[path], &ReadOptions::default()).unwrap().len(), 3);
}

#[test]
fn a_layer_without_a_reference_system_is_taken_for_degrees_or_refused() {
    let dir = tempfile::tempdir().unwrap();
    let path = altered(dir.path(), "UPDATE gpkg_geometry_columns SET srs_id = 0;");
    let read = read_log(&[path], &ReadOptions::default()).unwrap();
    let said = read.problems[0].to_string();
    assert!(said.contains("taken for WGS 84"), "{said}");
    let strips = dir.path().join("strips.gpkg");
    whole(&strips_utm(), &strips).unwrap();
    let database = Connection::open(&strips).unwrap();
    database
        .execute_batch("UPDATE gpkg_geometry_columns SET srs_id = -1;")
        .unwrap();
    drop(database);
    let error = read_strips(&strips, &StripOptions::default())
        .unwrap_err()
        .to_string();
    assert!(error.contains("not in degrees"), "{error}");
}

/// A dictionary that repeats one long text, and counts that no file of this size holds.
#[test]
fn parquet_that_is_made_to_fill_the_memory_is_refused() {
    let dir = tempfile::tempdir().unwrap();
    let text = "x".repeat(900_000);
    let feature = format!(
        r#"{{"type":"Feature","properties":{{"note":"{text}"}},"geometry":{{"type":"Point","coordinates":[-93.1,43.2]}}}}"#
    );
    // A document is one batch, and a batch one row group with one dictionary.
    let log = format!(
        r#"{{"type":"FeatureCollection","features":[{}]}}"#,
        vec![feature; 40].join(",")
    );
    let csv = write(dir.path(), "log.geojson", &log);
    let parquet = dir.path().join("log.parquet");
    whole(&csv, &parquet).unwrap();
    assert!(std::fs::metadata(&parquet).unwrap().len() < 1 << 20);
    let error = whole(&parquet, &dir.path().join("b.csv"))
        .unwrap_err()
        .to_string();
    assert!(
        error.contains("unpack to more than any log holds"),
        "{error}"
    );
}

/// Features of an invented field in a grid, points or squares, as GeoJSON.
fn grid(dir: &Path, name: &str, as_squares: bool) -> PathBuf {
    let mut features = Vec::new();
    for at in 0..400 {
        let (x, y) = (
            -93.0 + f64::from(at % 20) * 0.01,
            43.0 + f64::from(at / 20) * 0.01,
        );
        let geometry = match as_squares {
            false => format!(r#"{{"type":"Point","coordinates":[{x},{y}]}}"#),
            true => {
                let (e, n) = (x + 0.004, y + 0.004);
                format!(
                    r#"{{"type":"Polygon","coordinates":[[[{x},{y}],[{e},{y}],[{e},{n}],[{x},{n}],[{x},{y}]]]}}"#
                )
            }
        };
        features.push(format!(
            r#"{{"type":"Feature","properties":{{"n":{at},"treatment":"t{at}","flow_kg_s":{at}.5}},"geometry":{geometry}}}"#
        ));
    }
    let text = format!(
        r#"{{"type":"FeatureCollection","features":[{}]}}"#,
        features.join(",")
    );
    write(dir, name, &text)
}

/// The numbers of the features in the GeoJSON file `path`, in order.
fn numbers(path: &Path) -> Vec<i64> {
    let json: serde_json::Value = serde_json::from_slice(&std::fs::read(path).unwrap()).unwrap();
    let features = json["features"].as_array().unwrap().iter();
    let mut numbers: Vec<i64> = features
        .map(|feature| feature["properties"]["n"].as_i64().unwrap())
        .collect();
    numbers.sort_unstable();
    numbers
}

/// The same features meet a box in every format: as we write them, and with the indexes that GDAL writes
/// (R-tree in GeoPackage, packed tree in FlatGeobuf). What meets the box is worked out from the grid.
#[test]
fn a_box_gives_the_same_from_every_format_with_an_index_or_without() {
    let dir = tempfile::tempdir().unwrap();
    let path = |name: &str| dir.path().join(name);
    // Between the lines of the grid; squares reach 0.004 degrees further than their corner.
    let bbox = [-92.953, 43.047, -92.897, 43.083];
    let options = ConvertOptions {
        bbox: Some(bbox),
        columns: Some(vec!["N".to_owned()]),
    };
    for as_squares in [false, true] {
        let from = grid(dir.path(), "grid.geojson", as_squares);
        let reach = if as_squares { 0.004 } else { 0.0 };
        let expected: Vec<i64> = (0..400)
            .filter(|at| {
                let (x, y) = (
                    -93.0 + (at % 20) as f64 * 0.01,
                    43.0 + (at / 20) as f64 * 0.01,
                );
                x + reach >= bbox[0] && x <= bbox[2] && y + reach >= bbox[1] && y <= bbox[3]
            })
            .collect();
        assert!(expected.len() > 15);
        let mut files = vec![from.clone()];
        for extension in TABLES {
            files.push(path(&format!("own_{as_squares}.{extension}")));
            whole(&from, &files[files.len() - 1]).unwrap();
        }
        // In metres: the box is met all the same.
        for (format, name, option) in [
            ("GPKG", "gdal.gpkg", ["-lco", "SPATIAL_INDEX=YES"]),
            ("FlatGeobuf", "gdal.fgb", ["-lco", "SPATIAL_INDEX=YES"]),
            ("GPKG", "utm.gpkg", ["-t_srs", "EPSG:26915"]),
            ("FlatGeobuf", "utm.fgb", ["-t_srs", "EPSG:26915"]),
        ] {
            let there = path(&format!("{as_squares}_{name}"));
            let [key, value] = option;
            let (to, source) = (there.to_str().unwrap(), from.to_str().unwrap());
            if outside("ogr2ogr", &["-f", format, to, source, key, value]).is_some() {
                files.push(there);
            }
        }
        for file in files {
            let there = path("selected.geojson");
            let done = convert(&file, &there, &options).unwrap();
            assert_eq!(numbers(&there), expected, "{}", file.display());
            assert_eq!(
                (done.features, done.left_out, done.columns),
                (expected.len(), 400 - expected.len(), vec!["n".to_owned()]),
                "{}",
                file.display()
            );
        }
    }
    let error = |options: ConvertOptions| {
        let from = grid(dir.path(), "grid.geojson", false);
        convert(&from, &path("none.gpkg"), &options)
            .unwrap_err()
            .to_string()
    };
    let far = ConvertOptions {
        bbox: Some([0.0, 0.0, 1.0, 1.0]),
        columns: None,
    };
    assert!(error(far).contains("no feature meets the box"));
    let absent = ConvertOptions {
        bbox: None,
        columns: Some(vec!["variety".to_owned()]),
    };
    assert!(error(absent).contains("the columns are \"n\", \"treatment\", \"flow_kg_s\""));
    assert!(!path("none.gpkg").exists());
}

/// An index spares reading: damage elsewhere in the file does not touch what it finds.
#[test]
fn only_what_an_index_finds_is_read() {
    let dir = tempfile::tempdir().unwrap();
    let from = grid(dir.path(), "grid.geojson", false);
    let there = dir.path().join("a.fgb");
    let arguments = [
        "-f",
        "FlatGeobuf",
        there.to_str().unwrap(),
        from.to_str().unwrap(),
    ];
    if outside("ogr2ogr", &arguments).is_none() {
        return;
    }
    let back = dir.path().join("back.geojson");
    whole(&there, &back).unwrap();
    let json: serde_json::Value = serde_json::from_slice(&std::fs::read(&back).unwrap()).unwrap();
    let first = &json["features"][0]["geometry"]["coordinates"];
    let [x, y] = [0, 1].map(|axis| first[axis].as_f64().unwrap());
    let mut bytes = std::fs::read(&there).unwrap();
    // The last feature.
    let end = bytes.len();
    bytes[end - 80..].fill(0xff);
    std::fs::write(&there, bytes).unwrap();
    assert!(!whole(&there, &back).unwrap().problems.is_empty());
    let options = ConvertOptions {
        bbox: Some([x - 0.001, y - 0.001, x + 0.001, y + 0.001]),
        columns: None,
    };
    let done = convert(&there, &back, &options).unwrap();
    assert_eq!(
        (done.features, done.left_out, done.problems),
        (1, 399, Vec::new())
    );
}

/// Packing, pages of version 2, native polygons and boxes as pyarrow and geopandas write them.
#[test]
fn geoparquet_is_read_however_it_is_packed_and_encoded() {
    let script = r#"
import sys, geopandas as gp
from shapely import MultiPolygon, Polygon
from shapely.affinity import translate
d = sys.argv[1]
frame = gp.read_file(sys.argv[2])
names = []
for packing in ["none", "snappy", "gzip", "brotli", "lz4", "zstd"]:
    for version in ["1.0", "2.0"]:
        name = f"{packing}_{version[0]}.parquet"
        frame.to_parquet(f"{d}/{name}", compression=None if packing == "none" else packing,
                         data_page_version=version)
        names.append(name)
frame.to_parquet(f"{d}/native.parquet", geometry_encoding="geoarrow")
frame.to_parquet(f"{d}/native_box.parquet", geometry_encoding="geoarrow", write_covering_bbox=True,
                 compression="zstd", row_group_size=20)
frame.to_parquet(f"{d}/box.parquet", write_covering_bbox=True, row_group_size=20)
several = frame.copy()
several.geometry = [MultiPolygon([g, translate(g, 0, 1)]) for g in frame.geometry]
several.to_parquet(f"{d}/several.parquet", geometry_encoding="geoarrow")
holed = frame.iloc[:3].copy()
hole = lambda g: Polygon(g.exterior, [g.buffer(-0.001, join_style="mitre").exterior])
holed.geometry = [hole(holed.geometry.iloc[0]), None, hole(holed.geometry.iloc[2])]
holed.to_parquet(f"{d}/holed.parquet", geometry_encoding="geoarrow")
names += ["native.parquet", "native_box.parquet", "box.parquet"]
print(" ".join(names))
from shapely.geometry import box
met = frame[frame.intersects(box(-92.953, 43.047, -92.897, 43.083))]
print(" ".join(str(n) for n in sorted(met["n"])))
"#;
    let interpreter = std::env::var("CHECKSTRIP_PYTHON").unwrap_or_else(|_| "python3".to_owned());
    let dir = tempfile::tempdir().unwrap();
    let from = grid(dir.path(), "grid.geojson", true);
    let modules = Command::new(&interpreter)
        .args(["-c", "import pyarrow, geopandas"])
        .output();
    if !modules.is_ok_and(|output| output.status.success()) {
        eprintln!("SKIPPED: {interpreter} with pyarrow and geopandas is not installed");
        return;
    }
    let folder = dir.path().to_str().unwrap();
    let Some(said) = outside(
        &interpreter,
        &["-c", script, folder, from.to_str().unwrap()],
    ) else {
        return;
    };
    let mut lines = said.lines();
    let names: Vec<&str> = lines.next().unwrap().split(' ').collect();
    let met: Vec<i64> = lines
        .next()
        .unwrap()
        .split(' ')
        .map(|n| n.parse().unwrap())
        .collect();
    let expected = read_strips(&from, &StripOptions::default()).unwrap();
    let options = ConvertOptions {
        bbox: Some([-92.953, 43.047, -92.897, 43.083]),
        columns: None,
    };
    for name in names {
        let there = dir.path().join(name);
        let strips = read_strips(&there, &StripOptions::default()).unwrap();
        assert_eq!(strips.strips.len(), expected.strips.len(), "{name}");
        // GDAL and the JSON reader may differ in the last bit of a decimal fraction.
        for (found, wanted) in strips.strips.iter().zip(&expected.strips) {
            assert_eq!(found.treatment, wanted.treatment, "{name}");
            let corners = |strip: &checkstrip_model::Strip| -> Vec<geo::Coord> {
                strip.ground.0[0].exterior().coords().copied().collect()
            };
            let (found, wanted) = (corners(found), corners(wanted));
            assert_eq!(found.len(), wanted.len(), "{name}");
            for (a, b) in found.iter().zip(&wanted) {
                assert!(
                    (a.x - b.x).abs() < 1e-12 && (a.y - b.y).abs() < 1e-12,
                    "{name}"
                );
            }
        }
        let back = dir.path().join("selected.geojson");
        let done = convert(&there, &back, &options).unwrap();
        assert_eq!(numbers(&back), met, "{name}");
        assert_eq!(done.left_out, 400 - met.len(), "{name}");
    }
    let several = dir.path().join("several.parquet");
    let strips = read_strips(&several, &StripOptions::default()).unwrap();
    assert!(strips.strips.iter().all(|strip| strip.ground.0.len() == 2));
    let back = dir.path().join("holed.geojson");
    whole(&dir.path().join("holed.parquet"), &back).unwrap();
    let json: serde_json::Value = serde_json::from_slice(&std::fs::read(&back).unwrap()).unwrap();
    let rings = |at: usize| {
        let geometry = &json["features"][at]["geometry"];
        geometry["coordinates"].as_array().map_or(0, Vec::len)
    };
    assert_eq!([rings(0), rings(1), rings(2)], [2, 0, 2]);
}

/// More than one block of text and one batch of every format: nothing is lost or doubled where they meet,
/// whatever the encoding and the line ends.
#[test]
fn long_files_come_through_whole() {
    let dir = tempfile::tempdir().unwrap();
    let mut text = String::from("lon,lat,n,note\n");
    let records = 250_000;
    for at in 0..records {
        // Quoted cells with line ends and delimiters, and characters of two bytes at changing places.
        let note = match at % 7 {
            0 => "\"a, b\nÄhre\"".to_owned(),
            1 => String::new(),
            _ => format!("ö{}", "x".repeat(at % 97)),
        };
        text.push_str(&format!("-93.{:06},43.2,{at},{note}\n", at));
    }
    assert!(text.len() > 9 << 20, "{}", text.len());
    let utf_16: Vec<u8> = [0xff, 0xfe]
        .into_iter()
        .chain(text.encode_utf16().flat_map(u16::to_le_bytes))
        .collect();
    let latin: Vec<u8> = text.chars().map(|letter| letter as u32 as u8).collect();
    let mut packer = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::fast());
    std::io::Write::write_all(&mut packer, text.as_bytes()).unwrap();
    let packed = packer.finish().unwrap();
    let mut expected: Option<String> = None;
    for (name, bytes) in [
        ("a.csv", text.as_bytes()),
        ("utf_16.csv", &utf_16),
        ("latin.csv", &latin),
        ("a.csv.gz", &packed),
    ] {
        let from = dir.path().join(name);
        std::fs::write(&from, bytes).unwrap();
        let there = dir.path().join("there.csv");
        let done = whole(&from, &there).unwrap();
        assert_eq!(
            (done.features, done.problems),
            (records, Vec::new()),
            "{name}"
        );
        let found = std::fs::read_to_string(&there).unwrap();
        match &expected {
            None => {
                for at in [0, 70_001, records - 1] {
                    assert!(found.contains(&format!(",43.2,{at},")), "{at}");
                }
                assert_eq!(found.matches("Ähre").count(), records.div_ceil(7));
                expected = Some(found);
            }
            Some(expected) => assert!(*expected == found, "{name}"),
        }
    }
    for extension in ["gpkg", "parquet", "fgb", "ndjson", "geojsons"] {
        let (there, back) = (
            dir.path().join(format!("a.{extension}")),
            dir.path().join("back.csv"),
        );
        whole(&dir.path().join("a.csv"), &there).unwrap();
        assert_eq!(
            whole(&there, &back).unwrap().features,
            records,
            "{extension}"
        );
        let found = std::fs::read_to_string(&back).unwrap();
        assert!(expected.as_ref() == Some(&found), "{extension}");
    }
}

/// Every length of a small file of every reader: used or refused, and soon.
#[test]
fn a_small_file_that_breaks_off_is_used_or_refused_at_every_length() {
    let dir = tempfile::tempdir().unwrap();
    let log = write(dir.path(), "log.csv", LOG);
    let began = std::time::Instant::now();
    for extension in [
        "csv", "geojson", "ndjson", "geojsons", "parquet", "fgb", "gpkg", "shp",
    ] {
        let whole_file = dir.path().join(format!("a.{extension}"));
        whole(&log, &whole_file).unwrap();
        let bytes = std::fs::read(&whole_file).unwrap();
        // The pages of a database are long and mostly empty.
        let step = if extension == "gpkg" { 251 } else { 1 };
        for length in (0..bytes.len()).step_by(step) {
            let cut = dir.path().join(format!("cut.{extension}"));
            std::fs::write(&cut, &bytes[..length]).unwrap();
            let _ = read_log(std::slice::from_ref(&cut), &ReadOptions::default());
            let _ = whole(&cut, &dir.path().join("back.csv"));
        }
    }
    assert!(began.elapsed().as_secs() < 120, "{:?}", began.elapsed());
}

/// Line ends of all kinds in one file, bytes that are no UTF-8, and a mark in the middle.
#[test]
fn odd_text_is_read_the_same_by_both_ways() {
    let dir = tempfile::tempdir().unwrap();
    let text =
        b"lon,lat,flow_kg_s,note\r\n-93.1,43.2,5,a\n\r\n-93.2,43.2,6,b\r\n-93.3,43.2,7,h\xf6he\n";
    let path = dir.path().join("odd.csv");
    std::fs::write(&path, text).unwrap();
    let log = read_log(std::slice::from_ref(&path), &ReadOptions::default()).unwrap();
    assert_eq!(log.numbers(Column::MassFlow), Some(&[5.0, 6.0, 7.0][..]));
    assert_eq!(log.row, [2, 4, 5]);
    let back = dir.path().join("back.csv");
    whole(&path, &back).unwrap();
    let expected = "lon,lat,flow_kg_s,note\n-93.1,43.2,5,a\n-93.2,43.2,6,b\n-93.3,43.2,7,höhe\n";
    assert_eq!(std::fs::read_to_string(&back).unwrap(), expected);
    // Carriage returns alone.
    let text: Vec<u8> = expected.replace('\n', "\r").into_bytes();
    std::fs::write(&path, text).unwrap();
    whole(&path, &back).unwrap();
    assert_eq!(std::fs::read_to_string(&back).unwrap(), expected);
}

/// A layout of very many columns and no record.
struct ManyColumns(Outline);

impl FeatureSource for ManyColumns {
    fn outline(&self) -> &Outline {
        &self.0
    }

    fn each_batch(
        &self,
        write: &mut dyn FnMut(&dyn FeatureBatch) -> std::io::Result<()>,
    ) -> std::io::Result<()> {
        write(self)
    }
}

impl FeatureBatch for ManyColumns {
    fn records(&self) -> usize {
        1
    }

    fn value(&self, column: usize, _: usize) -> Value<'_> {
        Value::Whole(column as i64)
    }

    fn drawn(&self, _: usize) -> Drawn<'_> {
        Drawn::Point([-93.1, 43.2])
    }
}

#[test]
fn very_many_columns_are_refused_or_cut_off_soon() {
    let dir = tempfile::tempdir().unwrap();
    let began = std::time::Instant::now();
    for delimiter in [',', ';', '\t', ' '] {
        let line = |cell: &str| vec![cell; 1_000_000].join(&delimiter.to_string());
        let mut text = line("column");
        for _ in 0..4 {
            text.push('\n');
            text.push_str(&line("1,5").replace(',', if delimiter == ',' { "." } else { "," }));
        }
        let path = write(dir.path(), "wide.csv", &text);
        for error in [
            read_log(std::slice::from_ref(&path), &ReadOptions::default()).map(|_| ()),
            whole(&path, &dir.path().join("wide.parquet")).map(|_| ()),
        ] {
            let error = error.unwrap_err().to_string();
            assert!(error.contains("found one of 1000000"), "{error}");
        }
    }
    let columns = (0..60_000).map(|at| WrittenColumn {
        name: format!("column_{at}"),
        kind: ColumnKind::Whole,
    });
    let source = ManyColumns(Outline {
        columns: columns.collect(),
        records: 1,
        holds: Holds::Points,
        single_parts: false,
        several_parts: false,
        extent: Some([-93.1, 43.2, -93.1, 43.2]),
        crs: None,
    });
    let (parquet, fgb) = (dir.path().join("wide.parquet"), dir.path().join("wide.fgb"));
    write_parquet(&parquet, &source).unwrap();
    write_flatgeobuf(&fgb, "wide", &source).unwrap();
    for path in [parquet, fgb] {
        let error = read_log(std::slice::from_ref(&path), &ReadOptions::default());
        assert!(error.unwrap_err().to_string().contains("hint:"));
        let done = whole(&path, &dir.path().join("narrow.csv")).unwrap();
        assert_eq!(done.columns.len(), MOST_ATTRIBUTES);
        assert!(
            done.changes[0].contains("at most 1000"),
            "{:?}",
            done.changes
        );
    }
    assert!(began.elapsed().as_secs() < 60, "{:?}", began.elapsed());
}
/// A log of two machines: readings that are missing at the start and later, one beyond what the format holds, records
/// without a place and without a time, columns that task data has no entry for.
const FULL: &str = "\
timestamp_s,lon,lat,mass_flow_kg_s,moisture_pct,width_m,header_down,elevation_m,heading_deg,machine,variety
1791295200,-93.1,43.2,,13.25,9.1440001,1,300.5,90,north,P1
1791295201.5,-93.1001,43.2001,20.5,,9.144,0,300.25,90,north,P1
1791295202,-93.10020000001,43.2002,21,13.5,9.144,1,,90,south,P2
1791295203,,,3000,13.5,9.144,1,300,90,north,P2
,-93.1004,43.2004,22,13.5,9.144,1,300,90,north,P2
";

#[test]
fn a_log_as_task_data_says_what_it_lost() {
    let dir = tempfile::tempdir().unwrap();
    let log = write(dir.path(), "full.csv", FULL);
    let set = dir.path().join("TASKDATA");
    let done = whole(&log, &set).unwrap();
    assert_eq!(
        (done.features, done.geometry, done.crs.as_str()),
        (4, "points", "WGS 84")
    );
    assert_eq!(
        done.columns,
        [
            "Mass Per Time Yield (DDI 87) mg/s",
            "Crop Moisture (DDI 99) ppm",
            "Actual Working Width (DDI 67) mm",
            "Actual Work State (DDI 141)",
        ]
    );
    assert_eq!(
        done.changes,
        [
            "records: 1 without a time from 1980 to 2159 are left out",
            "records: in 2 time logs, one for each machine",
            "records: 1 without a position are at 0 N 0 E without a fix",
            "column mass_flow: 1 readings are beyond what task data holds, and left out",
            "column moisture: 1 records without a reading keep the one before",
            "column heading: has no entry in task data, left out",
            "column \"variety\": not recognised, left out",
        ]
    );
    let read = read_log(&[set], &ReadOptions::default()).unwrap();
    let numbers = |column| read.numbers(column).unwrap().to_vec();
    assert_eq!(read.len(), 4);
    let machine = read.labels(Column::Machine).unwrap();
    assert_eq!((machine.name(0), machine.name(3)), ("north", "south"));
    let flow = numbers(Column::MassFlow);
    assert!(flow[0].is_nan());
    assert_eq!(flow[1..], [20.5, 20.5, 21.0]);
    assert_eq!(numbers(Column::Moisture), [13.25, 13.25, 13.5, 13.5]);
    assert_eq!(numbers(Column::Width), [9.144; 4]);
    assert_eq!(numbers(Column::HeaderDown), [1.0, 0.0, 1.0, 1.0]);
    assert_eq!(
        numbers(Column::Timestamp)[..2],
        [1_791_295_200.0, 1_791_295_201.5]
    );
    let (lon, height) = (numbers(Column::Lon), numbers(Column::Elevation));
    assert_eq!((lon[0], lon[3]), (-93.1, -93.1002));
    assert!(lon[2].is_nan() && height[3].is_nan());
    assert_eq!(height[..3], [300.5, 300.25, 300.0]);
    // Nothing is taken for wrong but the record without a place.
    let is_of_place = |problem: &Problem| problem.message.contains("position");
    assert!(read.problems.iter().all(is_of_place), "{:?}", read.problems);
}

#[test]
fn rounding_is_said() {
    let dir = tempfile::tempdir().unwrap();
    let text = "timestamp_s,lon,lat,yield_kg_ha,speed_m_s,elevation_m\n\
                1791295200.0004,-93.10000001,43.2,3500.001,2.0005,300.0001\n";
    let done = whole(&write(dir.path(), "a.csv", text), &dir.path().join("a.zip")).unwrap();
    assert_eq!(
        done.changes,
        [
            "times: rounded to milliseconds",
            "positions: rounded to 0.0000001 degrees, 6 mm at most northwards",
            "heights: rounded to millimetres",
            "column yield: rounded to whole mg/m²",
            "column speed: rounded to whole mm/s",
        ]
    );
    // The same log gives the same bytes.
    whole(&dir.path().join("a.csv"), &dir.path().join("b.zip")).unwrap();
    let bytes = |name: &str| std::fs::read(dir.path().join(name)).unwrap();
    assert_eq!(bytes("a.zip"), bytes("b.zip"));
}

#[test]
fn logs_that_task_data_cannot_hold_are_refused() {
    let dir = tempfile::tempdir().unwrap();
    let refused = |text: &str, to: &str, words: &str| {
        let log = write(dir.path(), "a.csv", text);
        let error = whole(&log, &dir.path().join(to)).unwrap_err().to_string();
        assert!(error.contains(words), "{error}");
        assert!(!dir.path().join(to).exists());
    };
    let timeless = "lon,lat,mass_flow_kg_s\n-93.1,43.2,20\n";
    refused(timeless, "TASKDATA", "the log has none");
    let early = "timestamp_s,lon,lat,mass_flow_kg_s\n12,-93.1,43.2,20\n";
    refused(early, "a.zip", "no record has a time from 1980 to 2159");
    let late = "timestamp_s,lon,lat,mass_flow_kg_s\n9999999999,-93.1,43.2,20\n";
    refused(late, "a.zip", "no record has a time");
    let mut many = "timestamp_s,lon,lat,mass_flow_kg_s,machine\n".to_owned();
    for at in 0..100 {
        many.push_str(&format!("1791295200,-93.1,43.2,20,m{at}\n"));
    }
    refused(&many, "TASKDATA", "at most 99 machines, found 100");
    let error = whole(&strips_utm(), &dir.path().join("TASKDATA")).unwrap_err();
    assert!(error.to_string().contains("expected points"), "{error}");
    // What is there is left alone.
    let log = write(dir.path(), "full.csv", FULL);
    let folder = dir.path().join("TASKDATA");
    std::fs::create_dir(&folder).unwrap();
    std::fs::write(folder.join("mine.txt"), "mine").unwrap();
    let error = whole(&log, &folder).unwrap_err().to_string();
    assert!(error.contains("is there already"), "{error}");
    assert_eq!(std::fs::read_dir(&folder).unwrap().count(), 1);
    let zip = dir.path().join("set.zip");
    whole(&log, &zip).unwrap();
    let named = std::path::PathBuf::from(format!("{}:full", zip.display()));
    let error = whole(&named, &zip).unwrap_err().to_string();
    assert!(error.contains("is the file that is read"), "{error}");
}

/// A set with a log that carries no grain, of two device elements, one of a maker's own; a zone and a boundary.
fn sprayed(dir: &Path) -> PathBuf {
    let set = dir.join("TASKDATA");
    std::fs::create_dir(&set).unwrap();
    let ring = r#"<LSG A="1"><PNT A="2" C="43" D="-93"/><PNT A="2" C="43" D="-92.9"/><PNT A="2" C="43.1" D="-92.9"/></LSG>"#;
    let main = format!(
        r#"<ISO11783_TaskData VersionMajor="4" VersionMinor="0">
        <DVC A="DVC1" B="Invented sprayer"><DET A="DET1" B="1" C="1" E="0" F="0"/><DET A="DET2" B="2" C="4" E="1" F="1"/>
            <DET A="DET3" B="3" C="4" E="2" F="1"/><DPD A="9" B="E001" C="1" D="1" E="Boom pressure" F="8"/>
            <DVP A="8" B="10" C="0.5" D="1" E="kPa"/></DVC>
        <PFD A="PFD1" C="North" D="1"><PLN A="1">{ring}</PLN></PFD>
        <TSK A="TSK1" B="Spray" E="PFD1" G="4"><TIM A="2026-06-01T10:00:00" D="4"><DLV A="0074" B="5000" C="DET1"/></TIM>
            <TZN A="1"><PLN A="2">{ring}</PLN><PDV A="0001" B="2000000"/></TZN><TLG A="TLG00001" C="1"/></TSK>
        </ISO11783_TaskData>"#
    );
    std::fs::write(set.join("TASKDATA.XML"), main).unwrap();
    let header = r#"<TIM A="" D="4"><PTN A="" B="" D=""/><DLV A="0002" B="" C="DET2"/><DLV A="0002" B="" C="DET3"/>
        <DLV A="E001" B="" C="DET1"/></TIM>"#;
    std::fs::write(set.join("TLG00001.XML"), header).unwrap();
    let mut binary = Vec::new();
    for (at, values) in [&[(0, 2_000_000), (2, 30)][..], &[(1, 1_999_999)]]
        .into_iter()
        .enumerate()
    {
        binary.extend((36_000_000 + 1_000 * at as u32).to_le_bytes());
        binary.extend(16_953_u16.to_le_bytes());
        binary.extend((430_000_000 + at as i32).to_le_bytes());
        binary.extend((-930_000_000_i32).to_le_bytes());
        binary.extend([4, values.len() as u8]);
        for (place, value) in values {
            binary.push(*place);
            binary.extend(i32::to_le_bytes(*value));
        }
    }
    std::fs::write(set.join("TLG00001.BIN"), binary).unwrap();
    set
}

#[test]
fn task_data_is_converted_with_every_quantity() {
    let dir = tempfile::tempdir().unwrap();
    let set = sprayed(dir.path());
    let out = dir.path().join("spray.csv");
    let done = whole(&set, &out).unwrap();
    assert_eq!(
        std::fs::read_to_string(&out).unwrap(),
        "lon,lat,timestamp_s,applied_volume_l_ha,\
         Actual Volume Per Area Application Rate (DDI 2) of DET2 [mm³/m²],\
         Actual Volume Per Area Application Rate (DDI 2) of DET3 [mm³/m²],Boom pressure (DDI 57345) [kPa],\
         position_status,task,machine\n\
         -93,43,1780308000,200,20000,,20,4,Spray (North),Invented sprayer\n\
         -93,43.0000001,1780308001,199.99995,20000,19999.99,20,4,Spray (North),Invented sprayer\n"
    );
    assert_eq!(
        done.changes,
        [
            "totals of task Spray (North) are of no record and left out: Total Area (DDI 116) 5000 m²"
        ]
    );
    let part = |part: &str| PathBuf::from(format!("{}:{part}", set.display()));
    let zones = whole(&part("zones"), &dir.path().join("zones.geojson")).unwrap();
    assert_eq!((zones.features, zones.geometry), (1, "polygons"));
    let text = std::fs::read_to_string(dir.path().join("zones.geojson")).unwrap();
    assert!(text.contains(r#""treatment":"200 l/ha""#), "{text}");
    let boundary = whole(&part("boundary"), &dir.path().join("field.gpkg")).unwrap();
    assert_eq!((boundary.features, boundary.columns.len()), (1, 0));
    let chosen = whole(&part("North:logs"), &dir.path().join("logs.gpkg")).unwrap();
    assert_eq!(chosen.features, 2);
    let nowhere = whole(&part("South:logs"), &dir.path().join("none.gpkg")).unwrap_err();
    assert!(
        nowhere.to_string().contains("no task and no field"),
        "{nowhere}"
    );
}
