//! Strips as a Shapefile (*ESRI Shapefile Technical Description*, 1998), with the attributes that
//! [`crate::read_strips`] looks for.

use std::io::{self, Cursor};
use std::path::Path;

use checkstrip_model::Strip;
use geo::LineString;
use shapefile::dbase::{FieldName, FieldValue, Record, TableWriterBuilder};
use shapefile::{Point, Polygon, PolygonRing, ShapeWriter};

use super::write_bytes_atomically;
use crate::FormatError;

/// WGS 84 longitude and latitude, as `.prj` files name it.
pub(crate) const WGS_84: &str = "GEOGCS[\"GCS_WGS_1984\",DATUM[\"D_WGS_1984\",SPHEROID[\"WGS_1984\",6378137.0,\
                      298.257223563]],PRIMEM[\"Greenwich\",0.0],UNIT[\"Degree\",0.0174532925199433]]";
/// Longest text of an attribute table, bytes.
const LONGEST: usize = 254;

/// Writes `strips` as the Shapefile `path` (`.shp`) with its `.shx`, `.dbf`, `.prj` and `.cpg`
/// (UTF-8) beside it. The `.shp` comes last: where it is, the rest is complete.
///
/// # Errors
/// When a file cannot be written.
pub fn write_strips_shapefile(path: &Path, strips: &[Strip]) -> Result<(), FormatError> {
    let failed = |error: io::Error| FormatError::writing(path, error);
    let (shp, shx) = shapes(strips).map_err(failed)?;
    let dbf = attributes(strips).map_err(failed)?;
    write_bundle(path, &shp, &shx, &dbf, WGS_84)
}

/// Shapes, their index and the attribute table of a Shapefile without a strip.
pub(crate) fn empty_strips_shapefile() -> io::Result<(Vec<u8>, Vec<u8>, Vec<u8>)> {
    let (shp, shx) = shapes(&[])?;
    Ok((shp, shx, attributes(&[])?))
}

/// Writes the files of a Shapefile; the `.shp` comes last: where it is, the rest is complete.
pub(super) fn write_bundle(
    path: &Path,
    shp: &[u8],
    shx: &[u8],
    dbf: &[u8],
    prj: &str,
) -> Result<(), FormatError> {
    for (extension, bytes) in [
        ("shx", shx),
        ("dbf", dbf),
        ("prj", prj.as_bytes()),
        ("cpg", b"UTF-8"),
        ("shp", shp),
    ] {
        write_bytes_atomically(&path.with_extension(extension), bytes)?;
    }
    Ok(())
}

/// The shapes and their index.
fn shapes(strips: &[Strip]) -> io::Result<(Vec<u8>, Vec<u8>)> {
    let points = |ring: &LineString<f64>| ring.coords().map(|c| Point::new(c.x, c.y)).collect();
    let polygons = strips.iter().map(|strip| {
        let rings = strip.ground.iter().flat_map(|polygon| {
            let holes = polygon.interiors().iter();
            std::iter::once(PolygonRing::Outer(points(polygon.exterior())))
                .chain(holes.map(|hole| PolygonRing::Inner(points(hole))))
        });
        Polygon::with_rings(rings.collect())
    });
    let (mut shp, mut shx) = (Cursor::new(Vec::new()), Cursor::new(Vec::new()));
    let mut writer = ShapeWriter::with_shx(&mut shp, &mut shx);
    for polygon in polygons {
        writer.write_shape(&polygon).map_err(io::Error::other)?;
    }
    writer.finalize().map_err(io::Error::other)?;
    drop(writer);
    Ok((shp.into_inner(), shx.into_inner()))
}

fn attributes(strips: &[Strip]) -> io::Result<Vec<u8>> {
    let text = |strip: &Strip, column: &str| -> String {
        let value = match column {
            "strip_id" => strip.strip_id.clone(),
            "treatment" => strip.treatment.clone(),
            _ => strip.block.clone().unwrap_or_default(),
        };
        cut(value).0
    };
    const COLUMNS: [&str; 3] = ["strip_id", "treatment", "block"];
    let mut table = TableWriterBuilder::new();
    for column in COLUMNS {
        let longest = strips.iter().map(|strip| text(strip, column).len()).max();
        let name = FieldName::try_from(column).map_err(io::Error::other)?;
        table = table.add_character_field(name, longest.unwrap_or(1).max(1) as u8);
    }
    let mut dbf = Cursor::new(Vec::new());
    let mut writer = table.build_with_dest(&mut dbf);
    for strip in strips {
        let mut record = Record::default();
        for column in COLUMNS {
            let value = FieldValue::Character(Some(text(strip, column)));
            record.insert(column.to_owned(), value);
        }
        writer.write_record(&record).map_err(io::Error::other)?;
    }
    writer.finalize().map_err(io::Error::other)?;
    drop(writer);
    Ok(dbf.into_inner())
}

/// As much of a text as an attribute table holds, and whether some of it is cut off.
pub(super) fn cut(mut text: String) -> (String, bool) {
    let mut end = text.len().min(LONGEST);
    while !text.is_char_boundary(end) {
        end -= 1;
    }
    let is_cut = end < text.len();
    text.truncate(end);
    (text, is_cut)
}
