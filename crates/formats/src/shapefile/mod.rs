//! Shapefiles (ESRI, 1998, *ESRI Shapefile Technical Description*): points with attributes as a log,
//! polygons with attributes as strips.

mod attributes;
mod bundle;
mod edited_table;
mod shapes;

pub(crate) use attributes::AttributeTable;
pub(crate) use bundle::Bundle;
pub(crate) use edited_table::EditedTable;
pub(crate) use shapes::read as read_shapes;

use checkstrip_model::Problem;
use shapefile::Shape;

use crate::cell::Cell;
use crate::feature::{Feature, FeatureFile};
use crate::ground::nest;
use crate::raw_table::RawTable;
use crate::unnamed_crs::take_for_wgs84;

/// The points of a Shapefile.
///
/// # Errors
/// When it holds no points, or cannot be read at all.
pub(crate) fn read_points(file: &str, bundle: &Bundle) -> Result<RawTable, Problem> {
    let (shapes, cut_off) = shapes::read(file, &bundle.shp)?;
    let attributes = attributes(file, bundle)?;
    let mut table = RawTable::with_short_names();
    if let Some(problem) = cut_off {
        table.problems.push(|| problem);
    }
    if let Some(problem) = compare_lengths(file, shapes.len(), &attributes) {
        table.problems.push(|| problem);
    }
    let places: Vec<Option<usize>> = attributes
        .names
        .iter()
        .enumerate()
        .map(|(at, name)| table.place(name, at))
        .collect();
    for (at, shape) in shapes.iter().enumerate() {
        let point = match shape {
            Shape::Point(point) => [point.x, point.y],
            Shape::PointM(point) => [point.x, point.y],
            Shape::PointZ(point) => [point.x, point.y],
            Shape::NullShape => [f64::NAN; 2],
            other => {
                let message = format!("expected points, found {}", other.shapetype());
                return Err(Problem::new(file, message)
                    .at_row(at as u32 + 1)
                    .hint("a log is made of points; polygons belong into [strips]"));
            }
        };
        let record = table.rows.len();
        table.rows.push(at as u32 + 1);
        table.points.push(point);
        for (field, place) in places.iter().enumerate() {
            if let Some(place) = place {
                table.set(*place, record, attributes.cell(at, field));
            }
        }
    }
    let (crs, note) = reference_system(file, bundle, table.points.iter().copied())?;
    if let Some(note) = note {
        table.problems.push(|| note);
    }
    table.crs = crs;
    Ok(table)
}

/// The polygons of a Shapefile.
///
/// # Errors
/// When it holds no polygons, or cannot be read at all.
pub(crate) fn read_polygons(file: &str, bundle: &Bundle) -> Result<FeatureFile, Problem> {
    let (shapes, cut_off) = shapes::read(file, &bundle.shp)?;
    let attributes = attributes(file, bundle)?;
    let mut read = FeatureFile {
        short_names: true,
        ..FeatureFile::default()
    };
    read.problems.extend(cut_off);
    read.problems
        .extend(compare_lengths(file, shapes.len(), &attributes));
    read.attribute_names.clone_from(&attributes.names);
    for (at, shape) in shapes.iter().enumerate() {
        let row = at as u32 + 1;
        let rings: Vec<Vec<[f64; 2]>> = match shape {
            Shape::Polygon(polygon) => {
                let ring = |ring: &shapefile::PolygonRing<shapefile::Point>| {
                    ring.points().iter().map(|p| [p.x, p.y]).collect()
                };
                polygon.rings().iter().map(ring).collect()
            }
            Shape::PolygonM(polygon) => {
                let ring = |ring: &shapefile::PolygonRing<shapefile::PointM>| {
                    ring.points().iter().map(|p| [p.x, p.y]).collect()
                };
                polygon.rings().iter().map(ring).collect()
            }
            Shape::PolygonZ(polygon) => {
                let ring = |ring: &shapefile::PolygonRing<shapefile::PointZ>| {
                    ring.points().iter().map(|p| [p.x, p.y]).collect()
                };
                polygon.rings().iter().map(ring).collect()
            }
            other => {
                let message = format!("expected polygons, found {}", other.shapetype());
                return Err(Problem::new(file, message)
                    .at_row(row)
                    .hint("draw the strip as an area, or take the feature out of the file"));
            }
        };
        let values = (0..attributes.names.len()).filter_map(|field| {
            let value = attributes.cell(at, field);
            (value != Cell::Empty).then(|| (attributes.names[field].clone(), value))
        });
        let attributes = values.collect();
        read.features.push(Feature {
            row,
            polygons: nest(rings),
            attributes,
        });
    }
    let corners = |feature: &Feature| {
        feature
            .polygons
            .iter()
            .flatten()
            .flatten()
            .copied()
            .collect()
    };
    let corners: Vec<Vec<[f64; 2]>> = read.features.iter().map(corners).collect();
    let (crs, note) = reference_system(file, bundle, corners.iter().flatten().copied())?;
    read.crs = crs;
    read.problems.extend(note);
    Ok(read)
}

fn attributes(file: &str, bundle: &Bundle) -> Result<AttributeTable, Problem> {
    match &bundle.dbf {
        Some(dbf) => AttributeTable::read(file, dbf, bundle.encoding.as_deref()),
        None => Err(Problem::new(
            file,
            "expected an attribute table (.dbf), found none beside it",
        )
        .hint("copy all files of the Shapefile together: .shp, .dbf, .shx and .prj")),
    }
}

/// A Shapefile has as many attribute records as shapes.
fn compare_lengths(file: &str, shapes: usize, table: &AttributeTable) -> Option<Problem> {
    let records = table.records;
    (shapes != records).then(|| {
        let message = format!("{shapes} shapes, but {records} records in the attribute table");
        Problem::new(file, message)
            .hint("one of .shp and .dbf was cut off or is from another export: copy both again")
    })
}

/// The reference system of a Shapefile, and a note where it had to be guessed.
fn reference_system(
    file: &str,
    bundle: &Bundle,
    points: impl Iterator<Item = [f64; 2]>,
) -> Result<(Option<String>, Option<Problem>), Problem> {
    if let Some(prj) = &bundle.prj {
        return Ok((Some(prj.clone()), None));
    }
    let note = take_for_wgs84(
        file,
        "no .prj beside it",
        "add the .prj to the Shapefile",
        points,
    )?;
    Ok((None, Some(note)))
}

#[cfg(test)]
mod tests;
