//! A file's features as they are written: every column of one kind, every ring closed and running the
//! way it should.

use checkstrip_model::Problem;
use checkstrip_spatial::crs::ToWgs84;

use super::names;
use crate::cell::Cell;
use crate::export::feature_source::{
    ColumnKind, Drawn, FeatureSource, Holds, Value, WrittenColumn,
};
use crate::export::written_crs::WrittenCrs;
use crate::feature::Rings;
use crate::feature_table::FeatureTable;
use crate::raw_table::MOST_ATTRIBUTES;

/// The features of one file.
pub(super) struct Converted {
    columns: Vec<WrittenColumn>,
    /// For each column, the value of every record.
    cells: Vec<Vec<Cell>>,
    shapes: Shapes,
    /// What the file says of its reference system; `None` for WGS 84.
    definition: Option<String>,
    crs: Option<WrittenCrs>,
    records: usize,
    pub(super) problems: Vec<Problem>,
}

/// The geometries of all records; `NaN` and no polygon stand for none.
enum Shapes {
    Nothing,
    Points(Vec<[f64; 2]>),
    Polygons(Vec<Vec<Rings>>),
}

impl Converted {
    /// The features of `file`.
    ///
    /// # Errors
    /// When there are none, they are neither points nor polygons or both, or their reference system is
    /// not known.
    pub(super) fn new(
        file: &str,
        read: FeatureTable,
        changes: &mut Vec<String>,
    ) -> Result<Converted, Problem> {
        let records = read.records();
        if records == 0 {
            return Err(Problem::new(file, "no record or feature in it")
                .hint("export it again, or leave it out"));
        }
        let refuse = |record: usize, found: &str| {
            Problem::new(file, format!("expected {found}"))
                .at_row(read.table.rows[record])
                .hint("put points and polygons into files of their own, and leave out lines")
        };
        if let Some((record, kind)) = read.others.first() {
            return Err(refuse(
                *record,
                &format!("points or polygons, found {kind}"),
            ));
        }
        if let (Some((record, _)), 1..) = (read.polygons.first(), read.points) {
            return Err(refuse(
                *record,
                "points like those before or after, found a polygon",
            ));
        }
        let crs = match &read.table.crs {
            None => None,
            Some(definition) => {
                let unknown = |error: checkstrip_spatial::crs::CrsError| {
                    Problem::new(file, error.to_string())
                };
                match ToWgs84::new(definition).map_err(unknown)?.is_identity() {
                    true => None,
                    false => Some(WrittenCrs::new(definition).map_err(unknown)?),
                }
            }
        };
        if read.table.headers.len() == MOST_ATTRIBUTES {
            changes.push(format!(
                "columns: at most {MOST_ATTRIBUTES} attributes are read, further ones are left out"
            ));
        }
        let mut table = read.table;
        let (mut columns, mut cells) = (Vec::new(), Vec::new());
        for (name, sparse) in table.headers.drain(..).zip(table.columns.drain(..)) {
            let mut dense = vec![Cell::Empty; records];
            for (record, cell) in sparse {
                dense[record] = cell;
            }
            let kind = settle(&mut dense);
            columns.push(WrittenColumn { name, kind });
            cells.push(dense);
        }
        let shapes = if !read.polygons.is_empty() {
            let mut polygons = vec![Vec::new(); records];
            for (record, mut drawn) in read.polygons {
                drawn.iter_mut().for_each(orient);
                polygons[record] = drawn;
            }
            Shapes::Polygons(polygons)
        } else if read.points > 0 {
            Shapes::Points(table.points)
        } else {
            Shapes::Nothing
        };
        Ok(Converted {
            columns,
            cells,
            shapes,
            definition: table.crs.filter(|_| crs.is_some()),
            crs,
            records,
            problems: table.problems.finish(file),
        })
    }

    /// What the file says of its reference system, where it is not WGS 84.
    pub(super) fn definition(&self) -> Option<&str> {
        self.definition.as_deref()
    }

    /// Converts all coordinates.
    ///
    /// # Errors
    /// When a corner lies outside the reference system.
    pub(super) fn convert_to_wgs84(&mut self, file: &str, way: &ToWgs84) -> Result<(), Problem> {
        /// About 0.1 mm.
        const DECIMALS: f64 = 1e9;
        let refuse =
            |error: checkstrip_spatial::crs::CrsError| Problem::new(file, error.to_string());
        match &mut self.shapes {
            Shapes::Nothing => {}
            Shapes::Points(points) => way.convert(points).map_err(refuse)?,
            Shapes::Polygons(polygons) => {
                let corners = |polygons: &mut Vec<Vec<Rings>>| -> Vec<[f64; 2]> {
                    polygons
                        .iter()
                        .flatten()
                        .flatten()
                        .flatten()
                        .copied()
                        .collect()
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
                    .at_row(record as u32 + 1)
                    .hint("check that the file names the reference system it was drawn in"));
                }
                polygons.iter_mut().flatten().for_each(orient);
            }
        }
        let round = |value: &mut f64| *value = (*value * DECIMALS).round() / DECIMALS;
        match &mut self.shapes {
            Shapes::Nothing => {}
            Shapes::Points(points) => points.iter_mut().flatten().for_each(round),
            Shapes::Polygons(all) => {
                let corners = all.iter_mut().flatten().flatten().flatten();
                corners.flatten().for_each(round);
            }
        }
        (self.crs, self.definition) = (None, None);
        Ok(())
    }

    /// The first record without a geometry.
    pub(super) fn undrawn(&self) -> Option<usize> {
        (0..self.records).find(|&record| self.drawn(record) == Drawn::Nothing)
    }

    /// Names of at most ten bytes, as attribute tables of Shapefiles take them.
    pub(super) fn shorten_names(&mut self, changes: &mut Vec<String>) {
        self.rename(names::short, changes);
    }

    /// Names that differ in more than upper and lower case.
    pub(super) fn part_names(&mut self, changes: &mut Vec<String>) {
        self.rename(names::parted, changes);
    }

    fn rename(&mut self, way: fn(&[&str]) -> Vec<String>, changes: &mut Vec<String>) {
        let old: Vec<&str> = self.columns.iter().map(|c| c.name.as_str()).collect();
        let new = way(&old);
        for (column, new) in self.columns.iter_mut().zip(new) {
            if column.name != new {
                changes.push(format!("column {:?}: called {new:?}", column.name));
                column.name = new;
            }
        }
    }

    /// Takes out the attributes `lon` and `lat`, or renames them where they are not the points: a text
    /// file has the points under these names.
    pub(super) fn drop_positions(&mut self, changes: &mut Vec<String>) {
        /// Twice the eighth decimal, to which exports round.
        const SAME: f64 = 2e-8;
        let Shapes::Points(points) = &self.shapes else {
            return;
        };
        for (axis, name) in ["lon", "lat"].into_iter().enumerate() {
            let is_called = |column: &WrittenColumn| column.name.eq_ignore_ascii_case(name);
            let Some(at) = self.columns.iter().position(is_called) else {
                continue;
            };
            let is_same = self.cells[at]
                .iter()
                .zip(points)
                .all(|(cell, point)| match cell {
                    Cell::Number(value) => (value - point[axis]).abs() <= SAME,
                    Cell::Whole(value) => (*value as f64 - point[axis]).abs() <= SAME,
                    Cell::Empty => point[axis].is_nan(),
                    _ => false,
                });
            if is_same {
                self.columns.remove(at);
                self.cells.remove(at);
            } else {
                let new = format!("{}_attribute", self.columns[at].name);
                changes.push(format!(
                    "column {:?}: called {new:?}, since the points stand under this name",
                    self.columns[at].name
                ));
                self.columns[at].name = new;
            }
        }
    }
}

/// Makes a column of one kind, and says which.
fn settle(cells: &mut [Cell]) -> ColumnKind {
    let (mut truths, mut wholes, mut numbers, mut texts) = (0, 0, 0, 0);
    for cell in cells.iter_mut() {
        match cell {
            Cell::Empty => {}
            Cell::Truth(_) => truths += 1,
            Cell::Whole(_) => wholes += 1,
            // What is no number is no reading.
            Cell::Number(value) if !value.is_finite() => *cell = Cell::Empty,
            Cell::Number(_) => numbers += 1,
            Cell::Text(_) => texts += 1,
        }
    }
    match (truths, wholes, numbers, texts) {
        (0, 0, 0, _) => ColumnKind::Text,
        (_, 0, 0, 0) => ColumnKind::Truth,
        (0, _, 0, 0) => ColumnKind::Whole,
        (0, _, _, 0) => {
            for cell in cells {
                if let Cell::Whole(value) = cell {
                    *cell = Cell::Number(*value as f64);
                }
            }
            ColumnKind::Number
        }
        _ => {
            for cell in cells {
                let text = cell.as_text().map(|text| Cell::text(&text));
                *cell = text.unwrap_or(Cell::Empty);
            }
            ColumnKind::Text
        }
    }
}

/// Closes the rings of a polygon; the outer one runs counterclockwise, holes clockwise (RFC 7946,
/// section 3.1.6).
fn orient(rings: &mut Rings) {
    for (at, ring) in rings.iter_mut().enumerate() {
        if ring.first() != ring.last() {
            ring.extend(ring.first().copied());
        }
        let twice_area: f64 = ring
            .windows(2)
            .map(|side| {
                let [[x0, y0], [x1, y1]] = [side[0], side[1]];
                let [from_x, from_y] = ring[0];
                (x0 - from_x) * (y1 - from_y) - (x1 - from_x) * (y0 - from_y)
            })
            .sum();
        if (twice_area < 0.0) == (at == 0) && twice_area != 0.0 {
            ring.reverse();
        }
    }
}

impl FeatureSource for Converted {
    fn columns(&self) -> &[WrittenColumn] {
        &self.columns
    }

    fn records(&self) -> usize {
        self.records
    }

    fn value(&self, column: usize, record: usize) -> Value<'_> {
        match &self.cells[column][record] {
            Cell::Empty => Value::Nothing,
            Cell::Truth(value) => Value::Truth(*value),
            Cell::Whole(value) => Value::Whole(*value),
            Cell::Number(value) => Value::Number(*value),
            Cell::Text(text) => Value::Text(text),
        }
    }

    fn drawn(&self, record: usize) -> Drawn<'_> {
        match &self.shapes {
            Shapes::Points(points) => match points[record] {
                [x, y] if x.is_finite() && y.is_finite() => Drawn::Point([x, y]),
                _ => Drawn::Nothing,
            },
            Shapes::Polygons(polygons) if !polygons[record].is_empty() => {
                Drawn::Polygons(&polygons[record])
            }
            Shapes::Polygons(_) | Shapes::Nothing => Drawn::Nothing,
        }
    }

    fn holds(&self) -> Holds {
        match self.shapes {
            Shapes::Nothing => Holds::Nothing,
            Shapes::Points(_) => Holds::Points,
            Shapes::Polygons(_) => Holds::Polygons,
        }
    }

    fn crs(&self) -> Option<&WrittenCrs> {
        self.crs.as_ref()
    }
}
