//! What all features of a file have in common, learnt by reading it once: columns and their kinds, which
//! geometries, their extent and reference system, and what is wrong with single records.

use std::collections::HashMap;

use checkstrip_model::Problem;
use checkstrip_spatial::crs::{CrsError, ToWgs84};

use super::converted::Selection;
use super::shapes::Shapes;
use crate::FormatError;
use crate::cell::Cell;
use crate::export::feature_source::{ColumnKind, Holds, Outline, WrittenColumn, widen};
use crate::export::written_crs::WrittenCrs;
use crate::feature_stream::{FeatureStream, Wish};
use crate::feature_table::FeatureTable;
use crate::problem_list::ProblemList;
use crate::raw_table::MOST_ATTRIBUTES;

/// What a file holds.
#[derive(Default)]
pub(super) struct Survey {
    names: Vec<String>,
    places: HashMap<String, usize>,
    kinds: Vec<Kinds>,
    /// Records that are wanted.
    pub(super) records: usize,
    /// Records that were read.
    pub(super) read: usize,
    points: usize,
    first_polygon: Option<u32>,
    first_other: Option<(u32, String)>,
    /// The row of the first record that is wanted and has no geometry.
    pub(super) first_undrawn: Option<u32>,
    single_parts: bool,
    several_parts: bool,
    extent: Option<[f64; 4]>,
    /// Of the attributes `lon` and `lat`, whether one is other than the point.
    is_other: [bool; 2],
    /// What the file says of its reference system, where it is not WGS 84.
    pub(super) definition: Option<String>,
    crs: Option<WrittenCrs>,
    problems: ProblemList,
    /// How coordinates are converted.
    pub(super) way: Option<ToWgs84>,
    pub(super) selection: Option<Selection>,
    is_begun: bool,
}

/// What kinds of values a column has.
#[derive(Debug, Clone, Copy, Default)]
struct Kinds {
    truths: bool,
    wholes: bool,
    numbers: bool,
    texts: bool,
}

impl Kinds {
    fn add(&mut self, cell: &Cell) {
        match cell {
            Cell::Empty => {}
            Cell::Truth(_) => self.truths = true,
            Cell::Whole(_) => self.wholes = true,
            Cell::Number(value) => self.numbers |= value.is_finite(),
            Cell::Text(_) => self.texts = true,
        }
    }

    fn of_all(self) -> ColumnKind {
        match (self.truths, self.wholes, self.numbers, self.texts) {
            (true, false, false, false) => ColumnKind::Truth,
            (false, true, false, false) => ColumnKind::Whole,
            (false, _, true, false) => ColumnKind::Number,
            _ => ColumnKind::Text,
        }
    }
}

impl Survey {
    /// Reads all of `stream`, the features of `file`, for a target that holds any reference system or only
    /// WGS 84.
    ///
    /// # Errors
    /// When it cannot be read, its features are neither points nor polygons or both, or there are none.
    pub(super) fn new(
        file: &str,
        stream: &dyn FeatureStream,
        wish: &Wish,
        holds_crs: bool,
    ) -> Result<Survey, FormatError> {
        let mut survey = Survey::default();
        stream.read(&mut |table| {
            if !std::mem::replace(&mut survey.is_begun, true) {
                survey.begin(file, table, wish, holds_crs)?;
            }
            survey.add(file, table, wish)
        })?;
        survey.check(file, wish)?;
        Ok(survey)
    }

    /// Learns from the first batch what reference system the file is in.
    fn begin(
        &mut self,
        file: &str,
        table: &FeatureTable,
        wish: &Wish,
        holds_crs: bool,
    ) -> Result<(), Problem> {
        let unknown = |error: CrsError| Problem::new(file, error.to_string());
        let mut way = None;
        if let Some(definition) = &table.table.crs {
            let to_degrees = ToWgs84::new(definition).map_err(unknown)?;
            if !to_degrees.is_identity() {
                self.definition = Some(definition.clone());
                way = Some(to_degrees);
                if holds_crs {
                    self.crs = Some(WrittenCrs::new(definition).map_err(unknown)?);
                } else {
                    self.way.clone_from(&way);
                }
            }
        }
        self.selection = wish.bbox.map(|bbox| Selection { bbox, way });
        Ok(())
    }

    fn add(&mut self, file: &str, table: &FeatureTable, wish: &Wish) -> Result<(), FormatError> {
        let raw = &table.table;
        self.problems.append(raw.problems.clone(), 0);
        let row = |record: &usize| raw.rows[*record];
        if self.first_other.is_none() {
            let first = table.others.first();
            self.first_other = first.map(|(record, kind)| (row(record), kind.clone()));
        }
        if self.first_polygon.is_none() {
            self.first_polygon = table.polygons.first().map(|(record, _)| row(record));
        }
        self.points += table.points;

        let mut is_wanted = vec![self.selection.is_none(); table.records()];
        if let Some(selection) = &self.selection {
            for record in selection.records(file, table)? {
                is_wanted[record] = true;
            }
        }
        self.read += table.records();
        self.records += is_wanted.iter().filter(|wanted| **wanted).count();
        let shapes = Shapes::new(file, table, self.way.as_ref())?;
        for (record, _) in is_wanted.iter().enumerate().filter(|(_, wanted)| **wanted) {
            let is_drawn = match &shapes {
                Shapes::Nothing => false,
                Shapes::Points(points) => {
                    let is_drawn = points[record].iter().all(|axis| axis.is_finite());
                    if is_drawn {
                        widen(&mut self.extent, points[record]);
                    }
                    is_drawn
                }
                Shapes::Polygons(polygons) => {
                    let drawn = &polygons[record];
                    let corners = drawn.iter().flatten().flatten();
                    corners.for_each(|corner| widen(&mut self.extent, *corner));
                    self.single_parts |= drawn.len() == 1;
                    self.several_parts |= drawn.len() > 1;
                    !drawn.is_empty()
                }
            };
            if !is_drawn {
                self.first_undrawn.get_or_insert(raw.rows[record]);
            }
        }
        for (name, cells) in raw.headers.iter().zip(&raw.columns) {
            let place = match self.places.get(name) {
                Some(place) => *place,
                None if self.names.len() >= MOST_ATTRIBUTES.max(raw.headers.len()) => continue,
                None => {
                    self.names.push(name.clone());
                    self.kinds.push(Kinds::default());
                    self.places.insert(name.clone(), self.names.len() - 1);
                    self.names.len() - 1
                }
            };
            if !wish.needs(name) {
                continue;
            }
            let kinds = &mut self.kinds[place];
            let wanted = cells.iter().filter(|(record, _)| is_wanted[*record]);
            wanted.for_each(|(_, cell)| kinds.add(cell));
            if let Shapes::Points(points) = &shapes {
                for (axis, axis_name) in ["lon", "lat"].into_iter().enumerate() {
                    if name.eq_ignore_ascii_case(axis_name) {
                        self.is_other[axis] |= !is_same(cells, points, axis, &is_wanted);
                    }
                }
            }
        }
        Ok(())
    }

    fn check(&self, file: &str, wish: &Wish) -> Result<(), Problem> {
        let refuse = |row: u32, found: &str| {
            Problem::new(file, format!("expected {found}"))
                .at_row(row)
                .hint("put points and polygons into files of their own, and leave out lines")
        };
        if let Some((row, kind)) = &self.first_other {
            return Err(refuse(*row, &format!("points or polygons, found {kind}")));
        }
        if let (Some(row), 1..) = (self.first_polygon, self.points) {
            return Err(refuse(
                row,
                "points like those before or after, found a polygon",
            ));
        }
        if self.records == 0 && wish.bbox.is_some() && self.is_begun {
            return Err(Problem::new(file, "no feature meets the box").hint(
                "give the box as west,south,east,north in degrees, such as -93.2,42.9,-93.0,43.1",
            ));
        }
        if self.records == 0 {
            return Err(Problem::new(file, "no record or feature in it")
                .hint("export it again, or leave it out"));
        }
        let is_position = |name: &str| {
            self.points > 0
                && ["lon", "lat"]
                    .iter()
                    .any(|axis| name.eq_ignore_ascii_case(axis))
        };
        for wanted in wish.columns.iter().flatten() {
            let is_there = |name: &String| Wish::is_called(name, wanted);
            if !self.names.iter().any(is_there) && !is_position(wanted) {
                return Err(
                    Problem::new(file, format!("expected a column {wanted:?}")).hint(format!(
                        "the columns are {}",
                        crate::header::quoted(&self.names)
                    )),
                );
            }
        }
        Ok(())
    }

    /// Whether so many attributes were found that further ones were left out.
    pub(super) fn is_full(&self) -> bool {
        self.names.len() == MOST_ATTRIBUTES
    }

    /// Of the attributes `lon` and `lat`, whether they are the points.
    pub(super) fn same_positions(&self) -> [bool; 2] {
        self.is_other.map(|is_other| !is_other)
    }

    /// What was wrong with single records.
    pub(super) fn take_problems(&mut self, file: &str) -> Vec<Problem> {
        std::mem::take(&mut self.problems).finish(file)
    }

    /// The outline of what is written, and for each column its name in the file.
    pub(super) fn outline(&self, wish: &Wish) -> (Outline, Vec<String>) {
        let columns = self.names.iter().zip(&self.kinds);
        let columns = columns.filter(|(name, _)| wish.needs(name));
        let columns: Vec<WrittenColumn> = columns
            .map(|(name, kinds)| WrittenColumn {
                name: name.clone(),
                kind: kinds.of_all(),
            })
            .collect();
        let sources = columns.iter().map(|column| column.name.clone()).collect();
        let outline = Outline {
            columns,
            records: self.records,
            holds: match (self.first_polygon, self.points) {
                (Some(_), _) => Holds::Polygons,
                (None, 1..) => Holds::Points,
                (None, 0) => Holds::Nothing,
            },
            single_parts: self.single_parts,
            several_parts: self.several_parts,
            extent: self.extent,
            crs: self.crs.clone(),
        };
        (outline, sources)
    }
}

/// Whether `cells` hold `axis` of the points.
fn is_same(cells: &[(usize, Cell)], points: &[[f64; 2]], axis: usize, is_wanted: &[bool]) -> bool {
    /// Twice the eighth decimal, to which exports round.
    const SAME: f64 = 2e-8;
    let mut cells = cells.iter().peekable();
    points.iter().enumerate().all(|(record, point)| {
        let cell = cells.next_if(|(at, _)| *at == record).map(|(_, cell)| cell);
        if !is_wanted[record] {
            return true;
        }
        match cell {
            Some(Cell::Number(value)) if value.is_finite() => (value - point[axis]).abs() <= SAME,
            Some(Cell::Whole(value)) => (*value as f64 - point[axis]).abs() <= SAME,
            None | Some(Cell::Empty | Cell::Number(_)) => point[axis].is_nan(),
            Some(_) => false,
        }
    })
}
