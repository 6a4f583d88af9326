//! Corners of reading strips.

use super::*;
use geo::Area;
use geo::CoordsIter;
use std::path::PathBuf;

fn fixture(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../../fixtures/reading")
        .join(name)
}

fn read(text: &str) -> Result<StripSet, String> {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("strips.geojson");
    std::fs::write(&path, text).unwrap();
    read_strips(&path, &StripOptions::default()).map_err(|error| error.to_string())
}

fn feature(properties: &str, ring: &str) -> String {
    format!(
        r#"{{"type":"Feature","properties":{properties},"geometry":{{"type":"Polygon","coordinates":[[{ring}]]}}}}"#
    )
}

fn collection(features: &[String]) -> String {
    format!(
        r#"{{"type":"FeatureCollection","features":[{}]}}"#,
        features.join(",")
    )
}

const RING: &str = "[-93.1,43.2],[-93.0999,43.2],[-93.0999,43.201],[-93.1,43.201],[-93.1,43.2]";

#[test]
fn a_reference_system_in_the_file_is_honoured() {
    let degrees = read_strips(&fixture("strips.geojson"), &StripOptions::default()).unwrap();
    let metres = read_strips(&fixture("strips_utm.geojson"), &StripOptions::default()).unwrap();
    assert_eq!((degrees.crs.as_str(), degrees.strips.len()), ("WGS 84", 4));
    assert!(metres.crs.contains("26915"), "{}", metres.crs);
    for (a, b) in degrees.strips.iter().zip(&metres.strips) {
        assert_eq!(
            (&a.strip_id, &a.treatment, &a.block),
            (&b.strip_id, &b.treatment, &b.block)
        );
        for (a, b) in a.ground.coords_iter().zip(b.ground.coords_iter()) {
            assert!(
                (a.x - b.x).abs() < 1e-8 && (a.y - b.y).abs() < 1e-8,
                "{a:?} is not {b:?}"
            );
        }
    }
    assert_eq!(degrees.strips[2].block.as_deref(), Some("2"));
}

#[test]
fn names_and_numbers_of_strips() {
    let text = collection(&[
        feature(
            r#"{"Treatment":"rolled","STRIP_ID":7.0,"block":null}"#,
            RING,
        ),
        feature(r#"{"Treatment":"check","STRIP_ID":7}"#, RING),
        feature(r#"{"Treatment":1}"#, RING),
    ]);
    let strips = read(&text).unwrap();
    let ids: Vec<&str> = strips
        .strips
        .iter()
        .map(|strip| strip.strip_id.as_str())
        .collect();
    assert_eq!(ids, ["7", "7-2", "3"]);
    assert_eq!(strips.strips[2].treatment, "1");
    assert_eq!(strips.strips[0].block, None);
    assert_eq!(strips.problems[0].row, Some(2));
}

#[test]
fn a_missing_treatment_names_the_option() {
    let error = read(&feature(r#"{"what":"rolled","year":2024}"#, RING)).unwrap_err();
    assert!(error.contains("\"what\", \"year\""), "{error}");
    assert!(error.contains("--treatment-column"), "{error}");
    let empty = read(&collection(&[
        feature(r#"{"treatment":"a"}"#, RING),
        feature(r#"{"treatment":" "}"#, RING),
    ]));
    assert!(
        empty
            .unwrap_err()
            .contains("row 2, column \"treatment\": the strip has no treatment")
    );
}

#[test]
fn grounds_that_are_none_are_refused_with_their_number() {
    let with = |ring: &str| {
        let good = feature(r#"{"treatment":"a"}"#, RING);
        read(&collection(&[good, feature(r#"{"treatment":"a"}"#, ring)])).unwrap_err()
    };
    for (ring, expected) in [
        (
            "[0,0],[1,1],[1,0],[0,1.5],[0,0]",
            "crosses or touches itself",
        ),
        ("[0,0],[1,1],[0,0]", "at least 3 distinct corners"),
        ("[0,0],[1,1],[2,2],[0,0]", "encloses no ground"),
        ("[0],[1,1],[2,2]", "fewer than two numbers"),
        (
            "[491000,4783000],[491012,4783000],[491012,4783400]",
            "metres of a map projection",
        ),
        (
            "[43.2,-93.1],[43.2,-93.0],[43.3,-93.0]",
            "swap the two numbers",
        ),
    ] {
        let error = with(ring);
        assert!(error.contains(expected), "{ring}: {error}");
        assert!(error.contains("row 2"), "{error}");
    }
}

#[test]
fn open_rings_holes_and_several_parts() {
    let text = r#"{"type":"Feature","properties":{"treatment":"a"},"geometry":{"type":"MultiPolygon",
        "coordinates":[[[[0,0],[0.1,0],[0.1,0.1],[0,0.1]],[[0.02,0.02],[0.04,0.02],[0.04,0.04],[0.02,0.04]]],
        [[[1,1],[1.1,1],[1.1,1.1],[1,1.1],[1,1]]]]}}"#;
    let strips = read(text).unwrap();
    assert!((strips.strips[0].ground.unsigned_area() - (0.01 - 0.0004 + 0.01)).abs() < 1e-12);
}

#[test]
fn other_content_is_refused() {
    assert!(
        read("{\"type\":\"Feature\"")
            .unwrap_err()
            .contains("ends too early")
    );
    assert!(
        read("{\"type\":\"Point\",\"coordinates\":[1,2]}")
            .unwrap_err()
            .contains("bare geometry")
    );
    assert!(
        read("{\"type\":\"FeatureCollection\",\"features\":[]}")
            .unwrap_err()
            .contains("no strip")
    );
    let point =
        r#"{"type":"Feature","properties":{},"geometry":{"type":"Point","coordinates":[1,2]}}"#;
    assert!(read(point).unwrap_err().contains("found Point"));
    let csv = read_strips(&fixture("comma.csv"), &StripOptions::default()).unwrap_err();
    assert!(
        csv.to_string()
            .contains("expected polygons, found delimited text")
    );
    let unknown = r#"{"type":"FeatureCollection","crs":{"type":"name","properties":{"name":"EPSG:1"}},"features":["#;
    let text = format!("{unknown}{}]}}", feature(r#"{"treatment":"a"}"#, RING));
    assert!(read(&text).unwrap_err().contains("is not known"));
}
