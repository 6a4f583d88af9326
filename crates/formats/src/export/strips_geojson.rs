//! Strips as GeoJSON (RFC 7946), with the attributes that [`crate::read_strips`] looks for.

use std::path::Path;

use checkstrip_model::Strip;
use geo::{LineString, MultiPolygon, Polygon};
use serde_json::{Value, json};

use super::write_atomically;
use crate::FormatError;

/// Writes `strips` as GeoJSON: `treatment`, `block` and `strip_id`, ground in WGS 84 with nine
/// decimals of a degree, about 0.1 mm.
///
/// # Errors
/// When the file cannot be written.
pub fn write_strips_geojson(path: &Path, strips: &[Strip]) -> Result<(), FormatError> {
    let features: Vec<Value> = strips
        .iter()
        .map(|strip| {
            json!({
                "type": "Feature",
                "properties": {
                    "strip_id": strip.strip_id,
                    "treatment": strip.treatment,
                    "block": strip.block,
                },
                "geometry": geometry(&strip.ground),
            })
        })
        .collect();
    write_atomically(path, |writer| {
        writer.write_all(b"{\"type\":\"FeatureCollection\",\"features\":[\n")?;
        for (place, feature) in features.iter().enumerate() {
            if place > 0 {
                writer.write_all(b",\n")?;
            }
            serde_json::to_writer(&mut *writer, feature)?;
        }
        writer.write_all(b"\n]}\n")
    })
}

fn geometry(ground: &MultiPolygon<f64>) -> Value {
    match &ground.0[..] {
        [one] => json!({ "type": "Polygon", "coordinates": rings(one) }),
        several => {
            let polygons: Vec<Value> = several.iter().map(rings).collect();
            json!({ "type": "MultiPolygon", "coordinates": polygons })
        }
    }
}

fn rings(polygon: &Polygon<f64>) -> Value {
    let rounded = |degrees: f64| (degrees * 1e9).round() / 1e9;
    let ring = |ring: &LineString<f64>| -> Vec<[f64; 2]> {
        ring.coords()
            .map(|c| [rounded(c.x), rounded(c.y)])
            .collect()
    };
    let rings = std::iter::once(polygon.exterior()).chain(polygon.interiors());
    json!(rings.map(ring).collect::<Vec<_>>())
}
