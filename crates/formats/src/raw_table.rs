//! The records of a format that keeps its values apart from their meaning: points with attributes,
//! as GeoJSON and Shapefiles hold them, before the headers are understood.

use std::collections::HashMap;

use checkstrip_model::{Column, Problem};
use checkstrip_spatial::crs::ToWgs84;
use rayon::prelude::*;

use crate::ReadOptions;
use crate::cell::Cell;
use crate::column_builder::{ColumnBuilder, Values};
use crate::header::{self, Container, HeaderPlan};
use crate::log_part::LogPart;
use crate::problem_list::ProblemList;

/// Attributes beyond this many are left out: no log has so many, and a file in which every feature
/// brings new ones would fill the memory.
pub(crate) const MOST_ATTRIBUTES: usize = 1000;

/// The values of a column of a log, and what was wrong with them.
pub(crate) type Built = Result<(Values, ProblemList), Problem>;

/// Points with attributes.
#[derive(Debug, Default)]
pub(crate) struct RawTable {
    /// For each record its feature number, from 1.
    pub(crate) rows: Vec<u32>,
    /// For each record its point in the file's coordinates; `NaN` where it has none.
    pub(crate) points: Vec<[f64; 2]>,
    pub(crate) headers: Vec<String>,
    /// For each header its values, each with its record from 0; records without one are left out,
    /// so that rare attributes cost nothing.
    pub(crate) columns: Vec<Vec<(usize, Cell)>>,
    places: HashMap<String, usize>,
    pub(crate) problems: ProblemList,
    /// The coordinate reference system that the file names.
    pub(crate) crs: Option<String>,
    /// Names in this table were cut to ten characters.
    short_names: bool,
}

impl RawTable {
    /// A table whose names were cut to ten characters.
    pub(crate) fn with_short_names() -> RawTable {
        RawTable {
            short_names: true,
            ..RawTable::default()
        }
    }

    /// The place of attribute `name`, a new one when it has not been seen; `guess` is looked at
    /// first, since records name their attributes in the same order.
    pub(crate) fn place(&mut self, name: &str, guess: usize) -> Option<usize> {
        if self.headers.get(guess).is_some_and(|header| header == name) {
            return Some(guess);
        }
        if let Some(&place) = self.places.get(name) {
            return Some(place);
        }
        if self.headers.len() >= MOST_ATTRIBUTES {
            return None;
        }
        let place = self.headers.len();
        self.headers.push(name.to_owned());
        self.columns.push(Vec::new());
        self.places.insert(name.to_owned(), place);
        Some(place)
    }

    /// Sets an attribute of the record that will be number `record`, from 0.
    pub(crate) fn set(&mut self, place: usize, record: usize, cell: Cell) {
        let column = &mut self.columns[place];
        match column.last_mut() {
            // An attribute given twice: the last one counts.
            Some((last, value)) if *last == record => *value = cell,
            _ => column.push((record, cell)),
        }
    }

    /// The value of the attribute at `place` of a record.
    pub(crate) fn cell(&self, place: usize, record: usize) -> &Cell {
        let column = &self.columns[place];
        match column.binary_search_by_key(&record, |(at, _)| *at) {
            Ok(at) => &column[at].1,
            Err(_) => &Cell::Empty,
        }
    }

    /// Takes away everything behind the first `records` records.
    pub(crate) fn truncate(&mut self, records: usize) {
        self.rows.truncate(records);
        self.points.truncate(records);
        for column in &mut self.columns {
            while column.last().is_some_and(|(record, _)| *record >= records) {
                column.pop();
            }
        }
    }

    /// The records as a part of a log.
    ///
    /// # Errors
    /// When the headers are not those of a log, or the coordinates cannot be converted.
    pub(crate) fn into_part(
        mut self,
        file: &str,
        sha256: String,
        options: &ReadOptions,
    ) -> Result<LogPart, Problem> {
        let raw = std::mem::take(&mut self.columns);
        self.into_part_of(file, sha256, options, |mut builder, position, rows| {
            let mut problems = ProblemList::default();
            let mut cells = raw[position].iter().peekable();
            for (record, &row) in rows.iter().enumerate() {
                let cell = cells.next_if(|(at, _)| *at == record).map(|(_, cell)| cell);
                builder.push_cell(cell.unwrap_or(&Cell::Empty), row, &mut problems);
            }
            Ok((builder.values, problems))
        })
    }

    /// As [`into_part`](Self::into_part), with values that are held elsewhere: `build` fills the builder of
    /// the column at a place among the headers, given the numbers of the records.
    ///
    /// # Errors
    /// Besides those, the first of `build`.
    pub(crate) fn into_part_of(
        mut self,
        file: &str,
        sha256: String,
        options: &ReadOptions,
        build: impl Fn(ColumnBuilder<'_>, usize, &[u32]) -> Built + Sync,
    ) -> Result<LogPart, Problem> {
        if self.rows.is_empty() {
            return Err(Problem::new(file, "no record in it")
                .hint("export the log again, or leave the file out"));
        }
        let container = Container {
            has_points: self.points.iter().any(|point| point[0].is_finite()),
            short_names: self.short_names,
        };
        let plan = header::plan(file, &self.headers, container, options)?;
        let mut problems = std::mem::take(&mut self.problems);
        let (mut part, of_columns) = self.into_part_as(file, plan, container, build)?;
        for of_column in of_columns {
            problems.append(of_column, 0);
        }
        part.source.sha256 = sha256;
        part.found(problems);
        Ok(part)
    }

    /// As [`into_part_of`](Self::into_part_of), for headers that are understood as `plan`; also what is wrong with
    /// the records, column by column.
    ///
    /// # Errors
    /// When the coordinates cannot be converted, and the first of `build`.
    pub(crate) fn into_part_as(
        mut self,
        file: &str,
        mut plan: HeaderPlan,
        container: Container,
        build: impl Fn(ColumnBuilder<'_>, usize, &[u32]) -> Built + Sync,
    ) -> Result<(LogPart, Vec<ProblemList>), Problem> {
        let rows = &self.rows;
        let built: Vec<Built> = plan
            .columns
            .par_iter()
            .map(|planned| {
                let builder = ColumnBuilder::new(file, planned, false);
                build(builder, planned.position, rows)
            })
            .collect();
        let (mut columns, mut problems) = (Vec::new(), Vec::new());
        for (planned, built) in plan.columns.iter().zip(built) {
            let (values, of_column) = built?;
            problems.push(of_column);
            columns.push((planned.column, values));
        }
        let status = match plan.status {
            Some(at) => Some(build(ColumnBuilder::names(file, &self.headers[at]), at, rows)?.0),
            None => None,
        };

        if container.has_points {
            let by_hand = |column| columns.iter().any(|(c, _)| *c == column);
            let (lon_by_hand, lat_by_hand) = (by_hand(Column::Lon), by_hand(Column::Lat));
            let crs = to_degrees(file, self.crs.as_deref(), &mut self.points)?;
            for (column, axis, by_hand) in
                [(Column::Lon, 0, lon_by_hand), (Column::Lat, 1, lat_by_hand)]
            {
                if by_hand {
                    continue;
                }
                let values = self.points.iter().map(|point| point[axis]).collect();
                columns.push((column, Values::Numbers(values)));
                plan.columns.push(header::Planned {
                    position: usize::MAX,
                    column,
                    header: "point geometry".to_owned(),
                    unit: crs.clone(),
                    factor: 1.0,
                    row: None,
                });
            }
        }
        let part = LogPart::new(file, plan, self.rows, columns, status);
        Ok((part, problems))
    }
}

/// Converts points from the reference system a file names (WGS 84 when none) to longitude and
/// latitude, and says what they were in.
pub(crate) fn to_degrees(
    file: &str,
    crs: Option<&str>,
    points: &mut [[f64; 2]],
) -> Result<String, Problem> {
    let Some(definition) = crs else {
        return Ok("degrees".to_owned());
    };
    let refuse = |error: checkstrip_spatial::crs::CrsError| Problem::new(file, error.to_string());
    let way = ToWgs84::new(definition).map_err(refuse)?;
    if way.is_identity() {
        return Ok("degrees".to_owned());
    }
    way.convert(points).map_err(refuse)?;
    Ok(format!("{}, converted to degrees", short_name(definition)))
}

/// The name in a definition: the first quoted text of WKT, or the whole of a code.
pub(crate) fn short_name(definition: &str) -> String {
    match definition.split('"').nth(1) {
        Some(name) if definition.contains('[') => name.to_owned(),
        _ => definition.trim().to_owned(),
    }
}
