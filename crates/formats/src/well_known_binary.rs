//! Geometries as well-known binary (OGC 06-103r4, *Simple feature access*, part 1, section 8.2), which
//! GeoPackage and GeoParquet hold them in.

use geozero::error::Result as GeozeroResult;
use geozero::wkb::{Ewkb, Wkb};
use geozero::{GeomProcessor, GeozeroGeometry};

use crate::feature::Rings;
use crate::feature_table::Shape;

/// Codes of geometries, and their names.
const POINT: u32 = 1;
const POLYGON: u32 = 3;
const MULTI_POLYGON: u32 = 6;
const NAMES: [&str; 8] = [
    "Geometry",
    "Point",
    "LineString",
    "Polygon",
    "MultiPoint",
    "MultiLineString",
    "MultiPolygon",
    "GeometryCollection",
];

/// The flags by which the extended form says that there are heights, measures or a reference system.
const EXTENDED: u32 = 0xe000_0000;

/// The point in `binary`, when it is a little-endian one without height: nearly all that logs hold.
pub(crate) fn plain_point(binary: &[u8]) -> Option<Shape> {
    let axis = |at: usize| Some(f64::from_le_bytes(binary.get(at..at + 8)?.try_into().ok()?));
    if binary.len() != 21 || binary[..5] != [1, POINT as u8, 0, 0, 0] {
        return None;
    }
    let point = [axis(5)?, axis(13)?];
    Some(match point.iter().all(|value| value.is_nan()) {
        true => Shape::Nothing,
        false => Shape::Point(point),
    })
}

/// The shape in `binary`, heights and measures left out; `None` when it is not well-known binary.
///
/// Only points and polygons are decoded, so that nested collections cost nothing.
pub(crate) fn read(binary: &[u8]) -> Option<Shape> {
    let (&order, rest) = binary.split_first()?;
    let code: [u8; 4] = rest.get(..4)?.try_into().ok()?;
    let code = match order {
        0 => u32::from_be_bytes(code),
        1 => u32::from_le_bytes(code),
        _ => return None,
    };
    let is_extended = code & EXTENDED != 0;
    let kind = if is_extended {
        code & 0xff
    } else {
        code % 1000
    };
    if !matches!(kind, POINT | POLYGON | MULTI_POLYGON) {
        let name = NAMES.get(kind as usize).unwrap_or(&NAMES[0]);
        return Some(Shape::Other((*name).to_owned()));
    }
    let mut drawn = Drawn::default();
    let decoded = if is_extended {
        Ewkb(binary).process_geom(&mut drawn)
    } else {
        Wkb(binary).process_geom(&mut drawn)
    };
    decoded.ok()?;
    Some(match kind {
        POINT => drawn.point.map_or(Shape::Nothing, Shape::Point),
        _ if drawn.polygons.is_empty() => Shape::Nothing,
        _ => Shape::Polygons(drawn.polygons),
    })
}

/// What a geometry draws.
#[derive(Default)]
struct Drawn {
    point: Option<[f64; 2]>,
    polygons: Vec<Rings>,
}

impl GeomProcessor for Drawn {
    fn xy(&mut self, x: f64, y: f64, _: usize) -> GeozeroResult<()> {
        match self.polygons.last_mut().and_then(|rings| rings.last_mut()) {
            Some(ring) => ring.push([x, y]),
            None => self.point = Some([x, y]),
        }
        Ok(())
    }

    fn empty_point(&mut self, _: usize) -> GeozeroResult<()> {
        Ok(())
    }

    fn polygon_begin(&mut self, _: bool, _: usize, _: usize) -> GeozeroResult<()> {
        self.polygons.push(Vec::new());
        Ok(())
    }

    fn linestring_begin(&mut self, _: bool, _: usize, _: usize) -> GeozeroResult<()> {
        if let Some(polygon) = self.polygons.last_mut() {
            polygon.push(Vec::new());
        }
        Ok(())
    }
}

/// Appends a point.
pub(crate) fn push_point(out: &mut Vec<u8>, [x, y]: [f64; 2]) {
    push_header(out, POINT);
    out.extend_from_slice(&x.to_le_bytes());
    out.extend_from_slice(&y.to_le_bytes());
}

/// Appends one polygon, or several as one geometry.
pub(crate) fn push_polygons(out: &mut Vec<u8>, polygons: &[Rings]) {
    match polygons {
        [only] => push_polygon(out, only),
        several => push_multi_polygon(out, several),
    }
}

/// Appends polygons as one geometry, also a single one.
pub(crate) fn push_multi_polygon(out: &mut Vec<u8>, polygons: &[Rings]) {
    push_header(out, MULTI_POLYGON);
    push_count(out, polygons.len());
    polygons.iter().for_each(|rings| push_polygon(out, rings));
}

fn push_polygon(out: &mut Vec<u8>, rings: &Rings) {
    push_header(out, POLYGON);
    push_count(out, rings.len());
    for ring in rings {
        push_count(out, ring.len());
        for value in ring.iter().flatten() {
            out.extend_from_slice(&value.to_le_bytes());
        }
    }
}

/// Byte order 1 is little-endian.
fn push_header(out: &mut Vec<u8>, kind: u32) {
    out.push(1);
    out.extend_from_slice(&kind.to_le_bytes());
}

/// Counts are of things in memory, far fewer than the format's 2³².
fn push_count(out: &mut Vec<u8>, count: usize) {
    out.extend_from_slice(&(count as u32).to_le_bytes());
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn square(at: f64) -> Rings {
        let (low, high) = (at, at + 1.0);
        vec![vec![[low, low], [high, low], [high, high], [low, low]]]
    }

    #[test]
    fn what_is_written_is_read() {
        let mut point = Vec::new();
        push_point(&mut point, [-93.5, 42.25]);
        assert_eq!(read(&point), Some(Shape::Point([-93.5, 42.25])));
        for polygons in [vec![square(0.0)], vec![square(0.0), square(5.0)]] {
            let mut binary = Vec::new();
            push_polygons(&mut binary, &polygons);
            assert_eq!(read(&binary), Some(Shape::Polygons(polygons)));
        }
    }

    #[test]
    fn other_kinds_and_nested_collections_are_named_and_not_entered() {
        // A million collections, each inside the one before.
        let nested = [1, 7, 0, 0, 0, 1, 0, 0, 0].repeat(1_000_000);
        assert_eq!(
            read(&nested),
            Some(Shape::Other("GeometryCollection".into()))
        );
        assert_eq!(read(&[1, 3, 0, 0, 0, 255, 255, 255, 255]), None);
        assert_eq!(read(&[2, 1, 0, 0, 0]), None);
        assert_eq!(read(b""), None);
    }

    /// OGC 06-103r4, section 8.2.8: three-dimensional codes are 1000 higher; the extended form sets
    /// its highest bit.
    #[test]
    fn heights_are_left_out() {
        for code in [1001_u32, 0x8000_0001] {
            let mut binary = vec![0];
            binary.extend_from_slice(&code.to_be_bytes());
            for value in [-93.5_f64, 42.25, 300.0] {
                binary.extend_from_slice(&value.to_be_bytes());
            }
            assert_eq!(read(&binary), Some(Shape::Point([-93.5, 42.25])), "{code}");
        }
    }

    proptest! {
        #[test]
        fn any_bytes_are_read_or_refused(bytes: Vec<u8>, kind in 0_u8..20) {
            let mut binary = vec![1, kind, 0, 0, 0];
            binary.extend_from_slice(&bytes);
            let _ = read(&binary);
            let _ = read(&bytes);
        }
    }
}
