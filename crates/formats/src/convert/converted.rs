//! A file's features as they are written: every column of one kind, named within the limits of the target.

use std::borrow::Cow;
use std::cell::RefCell;
use std::io;

use checkstrip_spatial::crs::ToWgs84;

use super::names;
use super::shapes::Shapes;
use crate::FormatError;
use crate::cell::Cell;
use crate::export::feature_source::{
    ColumnKind, Drawn, FeatureBatch, FeatureSource, Outline, Value,
};
use crate::feature_stream::FeatureStream;
use crate::feature_table::FeatureTable;

/// The features of one file, of which is known what all of them have in common.
pub(super) struct Converted<'a> {
    pub(super) file: &'a str,
    pub(super) stream: &'a dyn FeatureStream,
    pub(super) outline: Outline,
    /// For each column of the outline its name in the file.
    pub(super) sources: Vec<String>,
    /// How coordinates are converted.
    pub(super) way: Option<ToWgs84>,
    pub(super) selection: Option<Selection>,
    /// Why the file could not be read again.
    pub(super) failed: RefCell<Option<FormatError>>,
}

/// A box, and how to find out what meets it.
#[derive(Clone)]
pub(super) struct Selection {
    /// West, south, east, north in degrees.
    pub(super) bbox: [f64; 4],
    /// How the file's coordinates become degrees.
    pub(super) way: Option<ToWgs84>,
}

impl Selection {
    /// The records of `table` that meet the box.
    pub(super) fn records(
        &self,
        file: &str,
        table: &FeatureTable,
    ) -> Result<Vec<usize>, FormatError> {
        Ok(Shapes::new(file, table, self.way.as_ref())?.meeting(self.bbox))
    }
}

impl Converted<'_> {
    /// Names of at most ten bytes, as attribute tables of Shapefiles take them.
    pub(super) fn shorten_names(&mut self, changes: &mut Vec<String>) {
        self.rename(names::short, changes);
    }

    /// Names that differ in more than upper and lower case.
    pub(super) fn part_names(&mut self, changes: &mut Vec<String>) {
        self.rename(names::parted, changes);
    }

    fn rename(&mut self, way: fn(&[&str]) -> Vec<String>, changes: &mut Vec<String>) {
        let columns = &mut self.outline.columns;
        let old: Vec<&str> = columns.iter().map(|c| c.name.as_str()).collect();
        let new = way(&old);
        for (column, new) in columns.iter_mut().zip(new) {
            if column.name != new {
                changes.push(format!("column {:?}: called {new:?}", column.name));
                column.name = new;
            }
        }
    }

    /// Takes out the attributes `lon` and `lat`, or renames them where they are not the points, which stand
    /// under these names in a text file: `same` says of both whether they are.
    pub(super) fn drop_positions(&mut self, same: [bool; 2], changes: &mut Vec<String>) {
        for (name, is_same) in ["lon", "lat"].into_iter().zip(same) {
            let columns = &mut self.outline.columns;
            let is_called = |source: &String| source.eq_ignore_ascii_case(name);
            let Some(at) = self.sources.iter().position(is_called) else {
                continue;
            };
            if is_same {
                columns.remove(at);
                self.sources.remove(at);
            } else {
                let new = format!("{}_attribute", columns[at].name);
                changes.push(format!(
                    "column {:?}: called {new:?}, since the points stand under this name",
                    columns[at].name
                ));
                columns[at].name = new;
            }
        }
    }

    /// The records of `table` that are written, with their values.
    fn batch<'t>(&self, table: &'t FeatureTable) -> Result<Batch<'t>, FormatError> {
        let records = match &self.selection {
            Some(selection) => Some(selection.records(self.file, table)?),
            None => None,
        };
        let raw = &table.table;
        let columns = self.outline.columns.iter().zip(&self.sources);
        let columns = columns.map(|(column, source)| {
            let at = raw.headers.iter().position(|header| header == source);
            let cells = at.map_or(&[][..], |at| &raw.columns[at]);
            let is_text = |(_, cell): &(usize, Cell)| matches!(cell, Cell::Text(_) | Cell::Empty);
            let cells = match column.kind {
                ColumnKind::Text if !cells.iter().all(is_text) => {
                    let texts = cells.iter().map(|(record, cell)| {
                        let text = match cell {
                            Cell::Number(value) if !value.is_finite() => None,
                            cell => cell.as_text(),
                        };
                        (*record, text.map_or(Cell::Empty, |text| Cell::text(&text)))
                    });
                    Cow::Owned(texts.collect())
                }
                _ => Cow::Borrowed(cells),
            };
            let mut places = vec![u32::MAX; table.records()];
            for (place, (record, _)) in cells.iter().enumerate() {
                places[*record] = place as u32;
            }
            BatchColumn {
                kind: column.kind,
                cells,
                places,
            }
        });
        Ok(Batch {
            columns: columns.collect(),
            shapes: Shapes::new(self.file, table, self.way.as_ref())?,
            all: table.records(),
            records,
        })
    }
}

impl FeatureSource for Converted<'_> {
    fn outline(&self) -> &Outline {
        &self.outline
    }

    fn each_batch(
        &self,
        write: &mut dyn FnMut(&dyn FeatureBatch) -> io::Result<()>,
    ) -> io::Result<()> {
        let mut written = Ok(());
        let mut records = 0;
        let read = self.stream.read(&mut |table| {
            let batch = self.batch(table)?;
            records += batch.records();
            if records > 0 {
                written = write(&batch);
            }
            match &written {
                Ok(()) => Ok(()),
                // What went wrong is kept; the reader is only told to stop.
                Err(_) => Err(stop()),
            }
        });
        written?;
        let failed = match read {
            Err(error) => error,
            Ok(()) if records == self.outline.records => return Ok(()),
            Ok(()) => changed(self.file),
        };
        let said = io::Error::other(failed.to_string());
        *self.failed.borrow_mut() = Some(failed);
        Err(said)
    }
}

fn stop() -> FormatError {
    FormatError::reading("".as_ref(), io::ErrorKind::Interrupted.into())
}

fn changed(file: &str) -> FormatError {
    checkstrip_model::Problem::new(file, "the file changed while it was read")
        .hint("wait until the other program has written it, then run again")
        .into()
}

/// A column of a batch: its values, and for each record the place of its value among them.
struct BatchColumn<'t> {
    kind: ColumnKind,
    cells: Cow<'t, [(usize, Cell)]>,
    places: Vec<u32>,
}

/// Some of the features.
struct Batch<'t> {
    columns: Vec<BatchColumn<'t>>,
    shapes: Shapes<'t>,
    all: usize,
    /// Those that are written, where not all are.
    records: Option<Vec<usize>>,
}

impl Batch<'_> {
    fn record(&self, record: usize) -> usize {
        self.records
            .as_ref()
            .map_or(record, |records| records[record])
    }
}

impl FeatureBatch for Batch<'_> {
    fn records(&self) -> usize {
        self.records.as_ref().map_or(self.all, Vec::len)
    }

    fn value(&self, column: usize, record: usize) -> Value<'_> {
        let column = &self.columns[column];
        let place = column.places[self.record(record)] as usize;
        match (column.cells.get(place).map(|(_, cell)| cell), column.kind) {
            (None | Some(Cell::Empty), _) => Value::Nothing,
            (Some(Cell::Truth(value)), _) => Value::Truth(*value),
            (Some(Cell::Whole(value)), ColumnKind::Number) => Value::Number(*value as f64),
            (Some(Cell::Whole(value)), _) => Value::Whole(*value),
            // What is no number is no reading.
            (Some(Cell::Number(value)), _) if !value.is_finite() => Value::Nothing,
            (Some(Cell::Number(value)), _) => Value::Number(*value),
            (Some(Cell::Text(text)), _) => Value::Text(text),
        }
    }

    fn drawn(&self, record: usize) -> Drawn<'_> {
        let record = self.record(record);
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
}
