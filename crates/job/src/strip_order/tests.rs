//! One order in all blocks is found, and nothing else is.

use super::*;
use checkstrip_model::{Strip, StripSet};
use checkstrip_spatial::local_plane::LocalPlane;
use geo::{Coord, LineString, MultiPolygon, Polygon};

const PAIR: &[&str] = &["check", "rolled"];

/// Strips of the given treatments, block after block, 20 m wide and 400 m long, side by side to the
/// east (or each north of the one before), with the warning about them.
fn warned(blocks: &[&[&str]], end_to_end: bool) -> Option<String> {
    let plane = LocalPlane::around(-93.4, 42.03).unwrap();
    let mut strips = Vec::new();
    for (block, treatments) in blocks.iter().enumerate() {
        for treatment in *treatments {
            let at = strips.len() as f64;
            let [west, south] = if end_to_end {
                [0.0, at * 410.0]
            } else {
                [at * 20.0, 0.0]
            };
            let mut ring = [
                [0.0, 0.0],
                [20.0, 0.0],
                [20.0, 400.0],
                [0.0, 400.0],
                [0.0, 0.0],
            ]
            .map(|[x, y]: [f64; 2]| [x + west, y + south]);
            plane.points_to_lon_lat(&mut ring).unwrap();
            let ring: LineString<f64> = ring.iter().map(|&[x, y]| Coord { x, y }).collect();
            strips.push(Strip {
                strip_id: (strips.len() + 1).to_string(),
                treatment: (*treatment).to_owned(),
                block: Some((block + 1).to_string()),
                ground: MultiPolygon::new(vec![Polygon::new(ring, vec![])]),
                row: 0,
            });
        }
    }
    let block_of: Vec<Option<String>> = strips.iter().map(|strip| strip.block.clone()).collect();
    let set = StripSet {
        strips,
        ..StripSet::default()
    };
    let field = StripField::new(&set, &plane, 0.0).unwrap();
    one_order(&field, &block_of).map(|warning| {
        assert_eq!(warning.code, "one_order");
        warning.message
    })
}

#[test]
fn checks_on_one_side_are_found() {
    let message = warned(&[PAIR; 6], false).unwrap();
    assert!(message.contains("All 6 blocks"), "{message}");
    assert!(
        message.contains("from west to east: check, rolled."),
        "{message}"
    );
    // Five blocks repeat the first: 2⁵.
    assert!(message.contains("one field in 32 comes"), "{message}");
}

#[test]
fn three_treatments_end_to_end_are_found() {
    let message = warned(&[["check", "a", "b"].as_slice(); 4], true).unwrap();
    assert!(
        message.contains("from south to north: check, a, b."),
        "{message}"
    );
    assert!(message.contains("one field in 216 comes"), "{message}");
}

#[test]
fn orders_that_differ_are_not() {
    let there = PAIR;
    let back: &[&str] = &["rolled", "check"];
    assert_eq!(warned(&[there, there, back], false), None);
    assert_eq!(warned(&[there], false), None);
    // A block that lacks a treatment has another order; one treatment alone has none.
    assert_eq!(warned(&[there, &["check"]], false), None);
    assert_eq!(warned(&[&["check"], &["check"]], false), None);
}

/// Two strips of one treatment in a block change places without a difference: 3 orders, not 6.
#[test]
fn strips_of_one_treatment_are_alike() {
    let message = warned(&[["check", "a", "check"].as_slice(); 3], false).unwrap();
    assert!(message.contains("one field in 9 comes"), "{message}");
}
