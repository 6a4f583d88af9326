//! Corners of editing strips in their file, and the law that what is put together in memory is what is
//! read from disk afterwards.

use super::*;
use crate::{read_strips, write_strips_shapefile};
use checkstrip_model::Strip;
use geo::{Translate, polygon};
use rusqlite::Connection;

const NOW: &str = "2026-11-05T07:08:09.500Z";

fn options() -> StripOptions {
    StripOptions::default()
}

/// A strip of the file as it is.
fn same(strip: &Strip) -> EditedStrip {
    EditedStrip {
        of: Some(strip.row),
        strip_id: strip.strip_id.clone(),
        treatment: strip.treatment.clone(),
        block: strip.block.clone(),
        ground: strip.ground.clone(),
    }
}

fn all(file: &StripFile) -> Vec<EditedStrip> {
    file.set().strips.iter().map(same).collect()
}

/// A strip of the invented field, some 12 m wide.
fn drawn(east: f64) -> MultiPolygon<f64> {
    let at = |x: f64, y: f64| (-93.1 + (east + x) * 1.2e-5, 43.2 + y * 9e-6);
    let corners = [at(0.0, 0.0), at(12.0, 0.0), at(12.0, 400.3), at(0.0, 400.3)];
    MultiPolygon::new(vec![geo::Polygon::new(
        corners.iter().copied().collect(),
        vec![],
    )])
}

fn edited(of: Option<u32>, strip_id: &str, treatment: &str, east: f64) -> EditedStrip {
    EditedStrip {
        of,
        strip_id: strip_id.to_owned(),
        treatment: treatment.to_owned(),
        block: Some("1".to_owned()),
        ground: drawn(east),
    }
}

/// Renamed, moved, taken out, copied and new strips; then: what is in memory is what is read from disk.
fn edit_and_read_back(path: &Path) -> StripFile {
    let file = StripFile::open(path, &options()).unwrap();
    let mut strips = all(&file);
    strips[0].treatment = "rolled twice".to_owned();
    strips[1].ground = strips[1].ground.translate(1e-6, 3e-7);
    strips.remove(2);
    strips.push(edited(Some(strips[0].of.unwrap()), "copy", "tilled", 40.0));
    strips.push(edited(None, "new", "tilled", 60.0));
    let changed = file.with(&strips, NOW).unwrap();
    let kept = changed.save("20261105T070809Z").unwrap().unwrap();
    assert!(kept.to_string_lossy().contains(".before-20261105T070809Z."));
    let before = read_strips(&kept, &options()).unwrap();
    assert_eq!(before.strips, file.set().strips);

    let on_disk = StripFile::open(path, &options()).unwrap();
    assert_eq!(on_disk.revision(), changed.revision());
    let (read, wanted) = (read_strips(path, &options()).unwrap(), changed.set());
    assert_eq!(read.strips, wanted.strips);
    assert_eq!((&read.sha256, &read.crs), (&wanted.sha256, &wanted.crs));
    assert_eq!(read.problems, wanted.problems);

    let ids: Vec<&str> = read.strips.iter().map(|s| s.strip_id.as_str()).collect();
    assert_eq!(ids[ids.len() - 2..], ["copy", "new"]);
    assert_eq!(read.strips[0].treatment, "rolled twice");
    // To the last digit.
    assert_eq!(read.strips[0].ground, file.set().strips[0].ground);
    assert_ne!(read.strips[1].ground, file.set().strips[1].ground);
    on_disk
}

const GEOJSON: &str = r#"{"type": "FeatureCollection", "name": "field 7", "owner": {"since": 1998},
 "bbox": [-94, 43, -93, 44], "features": [
 {"type": "Feature", "id": 11, "bbox": [0, 0, 1, 1], "properties": {"Treatment": "rolled", "block": "1",
  "strip_id": 1, "seed lot": "A-3", "depth": 1.50, "tags": ["wet", 2]}, "geometry": {"type": "Polygon",
  "coordinates": [[[-93.1, 43.2, 301.5], [-93.09985, 43.2, 301.5], [-93.09985, 43.2036, 302.0], [-93.1, 43.2036, 302.0], [-93.1, 43.2, 301.5]]]}},
 {"type": "Feature", "id": 12, "properties": {"Treatment": "check", "block": "1", "strip_id": 2, "seed lot": null},
  "geometry": {"type": "Polygon", "coordinates": [[[-93.0998, 43.2], [-93.0996123456789012, 43.2], [-93.0996, 43.2036], [-93.0998, 43.2036], [-93.0998, 43.2]]]}},
 {"type": "Feature", "id": 13, "properties": {"Treatment": "check", "block": "2", "strip_id": 3},
  "geometry": {"type": "Polygon", "coordinates": [[[-93.0995, 43.2], [-93.0993, 43.2], [-93.0993, 43.2036], [-93.0995, 43.2036], [-93.0995, 43.2]]]}}
]}"#;

fn value(path: &Path) -> serde_json::Value {
    serde_json::from_slice(&std::fs::read(path).unwrap()).unwrap()
}

#[test]
fn geojson_keeps_all_that_it_holds() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("strips.geojson");
    std::fs::write(&path, GEOJSON).unwrap();
    let before = value(&path);
    edit_and_read_back(&path);
    let after = value(&path);
    assert_eq!(after["owner"], before["owner"]);
    assert!(after.get("bbox").is_none());
    let (old, new) = (&before["features"], &after["features"]);
    // Heights of an outline that nobody moved, values of any kind, the feature's number.
    assert_eq!(new[0]["geometry"], old[0]["geometry"]);
    assert_eq!(new[0]["id"], 11);
    for name in ["seed lot", "depth", "tags", "block", "strip_id"] {
        assert_eq!(
            new[0]["properties"][name], old[0]["properties"][name],
            "{name}"
        );
    }
    assert_eq!(new[0]["properties"]["Treatment"], "rolled twice");
    assert_eq!(new[1]["properties"], old[1]["properties"]);
    assert_eq!(new[2]["properties"]["seed lot"], "A-3");
    assert_eq!(new[2]["properties"]["strip_id"], "copy");
    assert!(new[2].get("id").is_none());
    assert_eq!(new[3]["properties"].as_object().unwrap().len(), 3);
    assert_eq!(new.as_array().unwrap().len(), 4);
}

#[test]
fn nothing_changed_is_the_same_file() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("strips.geojson");
    std::fs::write(&path, GEOJSON).unwrap();
    let file = StripFile::open(&path, &options()).unwrap();
    let again = file.with(&all(&file), NOW).unwrap();
    assert_eq!(again.revision(), file.revision());
    again.save("x").unwrap();
    assert_eq!(std::fs::read_to_string(&path).unwrap(), GEOJSON);
}

#[test]
fn metres_of_a_projection_stay_metres() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("strips.geojson");
    let fixture =
        Path::new(env!("CARGO_MANIFEST_DIR")).join("../../fixtures/reading/strips_utm.geojson");
    std::fs::copy(fixture, &path).unwrap();
    let before = value(&path);
    let file = edit_and_read_back(&path);
    let after = value(&path);
    assert_eq!(after["crs"], before["crs"]);
    assert_eq!(
        after["features"][0]["geometry"],
        before["features"][0]["geometry"]
    );
    // The new strip lies where it was drawn, to the micrometre.
    let new = &file.set().strips[file.set().strips.len() - 1];
    for (found, wanted) in new.ground.coords_iter().zip(drawn(60.0).coords_iter()) {
        assert!((found.x - wanted.x).abs() < 1e-11 && (found.y - wanted.y).abs() < 1e-11);
    }
    let east = after["features"][3]["geometry"]["coordinates"][0][0][0]
        .as_f64()
        .unwrap();
    assert!(east > 100_000.0, "{east}");
}

/// A Shapefile of three strips in UTM, with a number, a date and a truth beside what strips need, and an
/// index that will be wrong.
fn shapefile(dir: &Path) -> PathBuf {
    use ::shapefile::dbase::{Date, FieldName, FieldValue, Record, TableWriterBuilder};
    let path = dir.join("Strips.shp");
    let strips: Vec<Strip> = (0..3)
        .map(|at| Strip {
            strip_id: (at + 1).to_string(),
            treatment: ["rolled", "check", "check"][at].to_owned(),
            block: Some("1".to_owned()),
            ground: drawn(20.0 * at as f64),
            row: at as u32 + 1,
        })
        .collect();
    write_strips_shapefile(&path, &strips).unwrap();
    let name = |name: &str| FieldName::try_from(name).unwrap();
    let mut dbf = std::io::Cursor::new(Vec::new());
    let mut writer = TableWriterBuilder::new()
        .add_numeric_field(name("depth"), 8, 3)
        .add_character_field(name("TREATMENT"), 6)
        .add_date_field(name("sown"))
        .add_logical_field(name("wet"))
        .add_numeric_field(name("block"), 2, 0)
        .build_with_dest(&mut dbf);
    for strip in &strips {
        let mut record = Record::default();
        record.insert("depth".to_owned(), FieldValue::Numeric(Some(1.125)));
        let treatment = FieldValue::Character(Some(strip.treatment.clone()));
        record.insert("TREATMENT".to_owned(), treatment);
        record.insert(
            "sown".to_owned(),
            FieldValue::Date(Some(Date::new(3, 5, 2026).unwrap())),
        );
        record.insert("wet".to_owned(), FieldValue::Logical(Some(true)));
        record.insert("block".to_owned(), FieldValue::Numeric(Some(1.0)));
        writer.write_record(&record).unwrap();
    }
    drop(writer);
    std::fs::write(path.with_extension("dbf"), dbf.into_inner()).unwrap();
    std::fs::write(path.with_extension("qix"), b"index").unwrap();
    path
}

#[test]
fn a_shapefile_keeps_its_attributes() {
    let dir = tempfile::tempdir().unwrap();
    let path = shapefile(dir.path());
    edit_and_read_back(&path);
    assert!(!path.with_extension("qix").exists());
    assert!(
        dir.path()
            .join("Strips.before-20261105T070809Z.qix")
            .exists()
    );
    let read = ::shapefile::read(&path).unwrap();
    assert_eq!(read.len(), 4);
    let text = |record: &::shapefile::dbase::Record, name: &str| format!("{:?}", record.get(name));
    for (_, record) in &read[..3] {
        assert!(text(record, "depth").contains("1.125"), "{record:?}");
        assert!(text(record, "sown").contains("2026"), "{record:?}");
        assert!(text(record, "wet").contains("true"), "{record:?}");
    }
    assert!(text(&read[0].1, "TREATMENT").contains("rolled twice"));
    assert!(text(&read[2].1, "strip_id").contains("copy"));
    assert!(
        text(&read[3].1, "depth").contains("None"),
        "{:?}",
        read[3].1
    );
}

#[test]
fn a_field_of_numbers_takes_a_name() {
    let dir = tempfile::tempdir().unwrap();
    let path = shapefile(dir.path());
    let file = StripFile::open(&path, &options()).unwrap();
    let mut strips = all(&file);
    strips[1].block = Some("north".to_owned());
    strips[2].block = None;
    file.with(&strips, NOW).unwrap().save("x").unwrap();
    let blocks: Vec<Option<String>> = read_strips(&path, &options())
        .unwrap()
        .strips
        .into_iter()
        .map(|strip| strip.block)
        .collect();
    assert_eq!(blocks, [Some("1".into()), Some("north".into()), None]);
    strips[0].treatment = "x".repeat(300);
    let error = file.with(&strips, NOW).unwrap_err().to_string();
    assert!(error.contains("254"), "{error}");
}

/// A GeoPackage with a spatial index kept by triggers, as map programs write them (OGC 12-128r19, annex
/// F.3, shortened), and a second layer.
fn geopackage(dir: &Path) -> PathBuf {
    let path = dir.join("field.gpkg");
    let made = StripFile::open(&path, &options()).unwrap();
    let strips = ["rolled", "check", "check"];
    let strips = strips
        .iter()
        .enumerate()
        .map(|(at, treatment)| edited(None, &(at + 1).to_string(), treatment, 20.0 * at as f64));
    made.with(&strips.collect::<Vec<_>>(), NOW)
        .unwrap()
        .save("x")
        .unwrap();
    let database = Connection::open(&path).unwrap();
    database
        .execute_batch(
            "ALTER TABLE field ADD COLUMN depth REAL;
             ALTER TABLE field ADD COLUMN photo BLOB;
             UPDATE field SET depth = 1.125, photo = x'00FF';
             CREATE TABLE notes (id INTEGER PRIMARY KEY, text TEXT);
             INSERT INTO notes VALUES (1, 'stay');
             CREATE VIRTUAL TABLE rtree_field_geom USING rtree(id, minx, maxx, miny, maxy);
             CREATE TABLE gpkg_extensions (table_name TEXT, column_name TEXT, extension_name TEXT,
               definition TEXT, scope TEXT);
             INSERT INTO gpkg_extensions VALUES ('field', 'geom', 'gpkg_rtree_index', '', 'write-only');
             INSERT INTO rtree_field_geom SELECT fid, -94, -93, 43, 44 FROM field;
             CREATE TRIGGER rtree_insert AFTER INSERT ON field
               WHEN (new.geom NOT NULL AND NOT ST_IsEmpty(NEW.geom)) BEGIN
               INSERT OR REPLACE INTO rtree_field_geom VALUES (NEW.fid, ST_MinX(NEW.geom),
                 ST_MaxX(NEW.geom), ST_MinY(NEW.geom), ST_MaxY(NEW.geom)); END;
             CREATE TRIGGER rtree_update AFTER UPDATE OF geom ON field
               WHEN (NEW.geom NOTNULL AND NOT ST_IsEmpty(NEW.geom)) BEGIN
               INSERT OR REPLACE INTO rtree_field_geom VALUES (NEW.fid, ST_MinX(NEW.geom),
                 ST_MaxX(NEW.geom), ST_MinY(NEW.geom), ST_MaxY(NEW.geom)); END;
             CREATE TRIGGER rtree_delete AFTER DELETE ON field WHEN old.geom NOT NULL BEGIN
               DELETE FROM rtree_field_geom WHERE id = OLD.fid; END;",
        )
        .unwrap();
    drop(database);
    path
}

#[test]
fn a_geopackage_keeps_its_attributes_layers_and_index() {
    let dir = tempfile::tempdir().unwrap();
    let path = geopackage(dir.path());
    edit_and_read_back(&path);
    let database = Connection::open(&path).unwrap();
    let one = |query: &str| -> String { database.query_row(query, [], |row| row.get(0)).unwrap() };
    assert_eq!(one("SELECT text FROM notes"), "stay");
    assert_eq!(
        one("SELECT group_concat(coalesce(depth, '-')) FROM field"),
        "1.125,1.125,1.125,-"
    );
    assert_eq!(
        one("SELECT hex(photo) FROM field WHERE strip_id = 'copy'"),
        "00FF"
    );
    assert_eq!(one("SELECT last_change FROM gpkg_contents"), NOW);
    assert_eq!(
        one("SELECT group_concat(id) FROM (SELECT id FROM rtree_field_geom ORDER BY id)"),
        one("SELECT group_concat(fid) FROM (SELECT fid FROM field ORDER BY fid)"),
    );
    assert_eq!(one("PRAGMA integrity_check"), "ok");
    let east = "SELECT printf('%.4f', maxx) FROM rtree_field_geom ORDER BY id DESC LIMIT 1";
    assert_eq!(one(east), "-93.0991");
    let max_x = "SELECT printf('%.4f', max_x) FROM gpkg_contents";
    assert_eq!(one(max_x), "-93.0991");
}

#[test]
fn files_that_are_not_there_yet_are_made() {
    for name in ["new.geojson", "new.shp", "new.gpkg"] {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join(name);
        let file = StripFile::open(&path, &options()).unwrap();
        assert_eq!((file.revision(), file.set().strips.len()), ("", 0));
        let first = edited(None, "1", "rolled", 0.0);
        let second = EditedStrip {
            block: None,
            ..edited(None, "2", "check", 20.0)
        };
        let changed = file.with(&[first, second], NOW).unwrap();
        assert_eq!(changed.save("x").unwrap(), None);
        let read = read_strips(&path, &options()).unwrap();
        assert_eq!(read.strips, changed.set().strips, "{name}");
        assert_eq!(read.strips.len(), 2);
        assert_eq!(read.strips[1].block, None);
        // And emptied again.
        let file = StripFile::open(&path, &options()).unwrap();
        file.with(&[], NOW).unwrap().save("y").unwrap();
        assert_eq!(
            StripFile::open(&path, &options())
                .unwrap()
                .set()
                .strips
                .len(),
            0
        );
    }
    let error = StripFile::open(Path::new("new.kml"), &options()).unwrap_err();
    assert!(error.to_string().contains("GeoPackage"), "{error}");
}

#[test]
fn names_and_outlines_that_cannot_be() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("strips.geojson");
    std::fs::write(&path, GEOJSON).unwrap();
    let file = StripFile::open(&path, &options()).unwrap();
    let error = |change: &dyn Fn(&mut Vec<EditedStrip>)| {
        let mut strips = all(&file);
        change(&mut strips);
        file.with(&strips, NOW).unwrap_err().to_string()
    };
    assert!(error(&|s| s[0].strip_id = "2".into()).contains("two strips are called \"2\""));
    assert!(error(&|s| s[0].treatment = " ".into()).contains("no treatment"));
    let bow = polygon![(x: -93.1, y: 43.2), (x: -93.09, y: 43.21), (x: -93.09, y: 43.2), (x: -93.1, y: 43.21)];
    assert!(error(&|s| s[0].ground = bow.clone().into()).contains("crosses"));
    assert_eq!(std::fs::read_to_string(&path).unwrap(), GEOJSON);
}
