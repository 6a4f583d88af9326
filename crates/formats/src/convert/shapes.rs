//! The geometries of a batch as they are written: in the reference system of the target, rings closed and
//! running the way they should; and which of them meet a box.

use std::borrow::Cow;

use checkstrip_model::Problem;
use checkstrip_spatial::crs::{CrsError, ToWgs84};
use geo::{Contains, Coord, Intersects, LineString, Polygon, Rect};

use crate::feature::{Rings, orient};
use crate::feature_table::FeatureTable;

/// The geometries of all records of a batch; `NaN` and no polygon stand for none.
pub(super) enum Shapes<'a> {
    Nothing,
    Points(Cow<'a, [[f64; 2]]>),
    Polygons(Vec<Vec<Rings>>),
}

impl<'a> Shapes<'a> {
    /// Those of `table`, converted by `way` to nine decimals of a degree where there is one.
    ///
    /// # Errors
    /// When a corner lies outside the reference system.
    pub(super) fn new(
        file: &str,
        table: &'a FeatureTable,
        way: Option<&ToWgs84>,
    ) -> Result<Shapes<'a>, Problem> {
        let mut shapes = if !table.polygons.is_empty() {
            let mut polygons = vec![Vec::new(); table.records()];
            for (record, drawn) in &table.polygons {
                polygons[*record].clone_from(drawn);
                polygons[*record].iter_mut().for_each(orient);
            }
            Shapes::Polygons(polygons)
        } else if table.points > 0 {
            Shapes::Points(Cow::Borrowed(&table.table.points))
        } else {
            Shapes::Nothing
        };
        if let Some(way) = way {
            shapes.convert(file, table, way)?;
        }
        Ok(shapes)
    }

    fn convert(&mut self, file: &str, table: &FeatureTable, way: &ToWgs84) -> Result<(), Problem> {
        /// About 0.1 mm.
        const DECIMALS: f64 = 1e9;
        let refuse = |error: CrsError| Problem::new(file, error.to_string());
        let round = |value: &mut f64| *value = (*value * DECIMALS).round() / DECIMALS;
        match self {
            Shapes::Nothing => {}
            Shapes::Points(points) => {
                way.convert(points.to_mut()).map_err(refuse)?;
                points.to_mut().iter_mut().flatten().for_each(round);
            }
            Shapes::Polygons(polygons) => {
                let corners = |all: &[Vec<Rings>]| -> Vec<[f64; 2]> {
                    all.iter().flatten().flatten().flatten().copied().collect()
                };
                let mut converted = corners(polygons);
                way.convert(&mut converted).map_err(refuse)?;
                let back = polygons.iter_mut().flatten().flatten().flatten();
                back.zip(converted).for_each(|(corner, new)| *corner = new);
                let is_lost =
                    |drawn: &Vec<Rings>| drawn.iter().flatten().flatten().any(|c| c[0].is_nan());
                if let Some(record) = polygons.iter().position(is_lost) {
                    return Err(Problem::new(
                        file,
                        "a corner lies outside the file's reference system",
                    )
                    .at_row(table.table.rows[record])
                    .hint("check that the file names the reference system it was drawn in"));
                }
                polygons.iter_mut().flatten().for_each(orient);
                let corners = polygons.iter_mut().flatten().flatten().flatten();
                corners.flatten().for_each(round);
            }
        }
        Ok(())
    }

    /// The records that meet `bbox`, west, south, east, north in the shapes' coordinates. The edge belongs
    /// to the box.
    pub(super) fn meeting(&self, [west, south, east, north]: [f64; 4]) -> Vec<usize> {
        let is_inside = |[x, y]: [f64; 2]| west <= x && x <= east && south <= y && y <= north;
        match self {
            Shapes::Nothing => Vec::new(),
            Shapes::Points(points) => {
                let inside = points
                    .iter()
                    .enumerate()
                    .filter(|(_, point)| is_inside(**point));
                inside.map(|(record, _)| record).collect()
            }
            Shapes::Polygons(polygons) => {
                let bbox = Rect::new(Coord { x: west, y: south }, Coord { x: east, y: north });
                let meets = |rings: &Rings| {
                    let line = |ring: &Vec<[f64; 2]>| -> LineString {
                        ring.iter().map(|&[x, y]| Coord { x, y }).collect()
                    };
                    let mut lines = rings.iter().map(line);
                    let Some(outer) = lines.next() else {
                        return false;
                    };
                    let polygon = Polygon::new(outer, lines.collect());
                    rings.iter().flatten().any(|corner| is_inside(*corner))
                        || polygon.intersects(&bbox)
                        || polygon.contains(&bbox)
                };
                let meeting = polygons.iter().enumerate();
                meeting
                    .filter(|(_, drawn)| drawn.iter().any(meets))
                    .map(|(record, _)| record)
                    .collect()
            }
        }
    }
}
