//! Corners of reading Shapefiles.

use super::*;
use proptest::prelude::*;
use std::io::{Cursor, Write};

use ::shapefile::dbase::{FieldName, FieldValue, Record, TableWriterBuilder};
use ::shapefile::{Point, Polygon, PolygonRing, ShapeWriter};

fn name(text: &str) -> FieldName {
    FieldName::try_from(text).unwrap()
}

/// Two invented points.
fn points() -> Bundle {
    let mut shp = Cursor::new(Vec::new());
    let shapes = [Point::new(-93.1, 43.2), Point::new(-93.2, 43.3)];
    ShapeWriter::new(&mut shp).write_shapes(&shapes).unwrap();
    let mut dbf = Cursor::new(Vec::new());
    let mut writer = TableWriterBuilder::new()
        .add_numeric_field(name("flow_kg_s"), 12, 4)
        .add_character_field(name("machine"), 10)
        .build_with_dest(&mut dbf);
    for (flow, machine) in [(Some(5.25), "one"), (None, "two")] {
        let mut record = Record::default();
        record.insert("flow_kg_s".into(), FieldValue::Numeric(flow));
        record.insert(
            "machine".into(),
            FieldValue::Character(Some(machine.into())),
        );
        writer.write_record(&record).unwrap();
    }
    drop(writer);
    Bundle {
        shp: shp.into_inner(),
        dbf: Some(dbf.into_inner()),
        prj: None,
        encoding: None,
    }
}

/// One invented strip.
fn polygon() -> Bundle {
    let mut shp = Cursor::new(Vec::new());
    let corner = |x: f64, y: f64| Point::new(x, y);
    let ring = vec![
        corner(0.0, 0.0),
        corner(0.0, 1.0),
        corner(1.0, 1.0),
        corner(0.0, 0.0),
    ];
    let shape = Polygon::new(PolygonRing::Outer(ring));
    ShapeWriter::new(&mut shp).write_shapes(&[shape]).unwrap();
    let mut dbf = Cursor::new(Vec::new());
    let mut writer = TableWriterBuilder::new()
        .add_character_field(name("TREATMENT"), 10)
        .build_with_dest(&mut dbf);
    let mut record = Record::default();
    record.insert(
        "TREATMENT".into(),
        FieldValue::Character(Some("rolled".into())),
    );
    writer.write_record(&record).unwrap();
    drop(writer);
    Bundle {
        shp: shp.into_inner(),
        dbf: Some(dbf.into_inner()),
        prj: None,
        encoding: None,
    }
}

#[test]
fn points_and_their_attributes() {
    let table = read_points("a.shp", &points()).unwrap();
    assert_eq!(table.points, [[-93.1, 43.2], [-93.2, 43.3]]);
    assert_eq!(table.headers, ["flow_kg_s", "machine"]);
    let problems = table.problems.finish("a.shp");
    assert!(
        problems[0].message.contains("taken for WGS 84"),
        "{problems:?}"
    );
}

#[test]
fn a_polygon_is_no_log_and_points_are_no_strips() {
    let problem = read_points("a.shp", &polygon()).unwrap_err();
    assert!(problem.hint.contains("[strips]"), "{problem}");
    assert!(read_polygons("a.shp", &points()).is_err());
    let strips = read_polygons("a.shp", &polygon()).unwrap();
    assert_eq!(
        strips.features[0].attributes,
        [("TREATMENT".to_owned(), crate::cell::Cell::text("rolled"))]
    );
}

#[test]
fn metres_without_a_prj_are_refused() {
    let mut bundle = points();
    // The first point's easting stands behind the file header, the record header and the kind.
    bundle.shp[112..120].copy_from_slice(&491_000.0_f64.to_le_bytes());
    let problem = read_points("a.shp", &bundle).unwrap_err();
    assert!(problem.hint.contains("add the .prj"), "{problem}");
}

#[test]
fn a_cut_off_file_gives_the_records_before() {
    let mut bundle = points();
    bundle.shp.truncate(bundle.shp.len() - 5);
    let table = read_points("a.shp", &bundle).unwrap();
    assert_eq!(table.rows, [1]);
    let problems = table.problems.finish("a.shp");
    assert!(
        problems.iter().any(|p| p.message.contains("breaks off")),
        "{problems:?}"
    );
    bundle.dbf = None;
    assert!(
        read_points("a.shp", &bundle)
            .unwrap_err()
            .message
            .contains(".dbf")
    );
}

fn zipped(entries: &[(&str, &[u8])]) -> Vec<u8> {
    let mut archive = zip::ZipWriter::new(Cursor::new(Vec::new()));
    for (name, content) in entries {
        archive
            .start_file(*name, zip::write::SimpleFileOptions::default())
            .unwrap();
        archive.write_all(content).unwrap();
    }
    archive.finish().unwrap().into_inner()
}

#[test]
fn an_archive_holds_one_shapefile_and_stays_in_its_folder() {
    let Bundle { shp, dbf, .. } = points();
    let dbf = dbf.unwrap();
    let packed = zipped(&[
        ("in/A.SHP", &shp),
        ("in/a.dbf", &dbf),
        ("__MACOSX/in/A.SHP", b""),
    ]);
    let bundle = Bundle::in_zip("a.zip", &packed).unwrap();
    assert_eq!(read_points("a.zip", &bundle).unwrap().rows.len(), 2);
    let two = zipped(&[("a.shp", &shp), ("b.shp", &shp)]);
    assert!(
        Bundle::in_zip("a.zip", &two)
            .unwrap_err()
            .message
            .contains("found 2")
    );
    for outside in ["../a.shp", "/a.shp", "in/../../a.shp", "in\\..\\a.shp"] {
        let packed = zipped(&[(outside, &shp)]);
        let problem = Bundle::in_zip("a.zip", &packed).unwrap_err();
        assert!(
            problem.message.contains("points out of"),
            "{outside}: {problem}"
        );
    }
    let bomb = zipped(&[("a.shp", &vec![0; 64 << 20])]);
    assert!(
        Bundle::in_zip("a.zip", &bomb)
            .unwrap_err()
            .message
            .contains("unpack to more")
    );
    assert!(Bundle::in_zip("a.zip", &packed[..packed.len() / 2]).is_err());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(512))]

    #[test]
    fn damaged_files_are_read_or_refused(
        changes in proptest::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..6),
        shp_length: prop::sample::Index,
        is_polygon: bool,
    ) {
        let mut bundle = if is_polygon { polygon() } else { points() };
        for (at, byte) in &changes {
            let at_shp = at.index(bundle.shp.len());
            bundle.shp[at_shp] = *byte;
            if let Some(dbf) = &mut bundle.dbf {
                let at_dbf = at.index(dbf.len());
                dbf[at_dbf] = *byte;
            }
        }
        if changes.len() == 1 {
            let length = shp_length.index(bundle.shp.len()) + 1;
            bundle.shp.truncate(length);
        }
        let _ = read_points("a.shp", &bundle);
        if let Ok(read) = read_polygons("a.shp", &bundle) {
            for feature in &read.features {
                let _ = crate::ground::ground("a.shp", feature);
            }
        }
    }
}
