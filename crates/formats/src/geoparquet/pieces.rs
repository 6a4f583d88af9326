//! A log in GeoParquet in pieces: the columns of a row group are decoded side by side, some pages of each in
//! memory.

use std::path::{Path, PathBuf};
use std::sync::Mutex;

use checkstrip_model::Problem;
use parquet::column::reader::ColumnReader;

use super::file_chunks::FileChunks;
use super::{ParquetFile, Use, undamaged};
use crate::cell::Cell;
use crate::column_builder::ColumnBuilder;
use crate::feature_stream::BATCH;
use crate::feature_table::FeatureTable;
use crate::header::{self, Container};
use crate::log_part::LogPart;
use crate::problem_list::ProblemList;
use crate::raw_table::Built;
use crate::{FormatError, ReadOptions};

/// Values of a piece, before those of single rows are spread.
const VALUES: usize = 1 << 21;

/// A file whose headers are known and whose records wait to be read.
pub(crate) struct ParquetPieces {
    path: PathBuf,
    source: ParquetFile<FileChunks>,
}

impl ParquetPieces {
    /// Looks at the metadata of the file at `path`, called `file` in messages.
    ///
    /// # Errors
    /// When it is no Parquet, or is written in a way that is not read.
    pub(crate) fn open(
        file: &str,
        path: &Path,
        options: &ReadOptions,
    ) -> Result<ParquetPieces, FormatError> {
        let is_needed = |name: &str| header::is_needed(name, options);
        Ok(ParquetPieces {
            path: path.to_owned(),
            source: ParquetFile::of_file(file, path, &is_needed)?,
        })
    }

    /// The headers, in the order of the file.
    pub(crate) fn headers(&self) -> &[String] {
        &self.source.headers
    }

    /// Hands over the records in pieces, and returns what is wrong with single ones.
    ///
    /// # Errors
    /// When the file is damaged, holds no points, its headers are not those of a log, and those of `push`.
    pub(crate) fn read(
        &self,
        options: &ReadOptions,
        push: &mut dyn FnMut(LogPart) -> Result<(), FormatError>,
    ) -> Result<ProblemList, FormatError> {
        let source = &self.source;
        let file = &source.file;
        let has_points = undamaged(file, || Ok(self.has_points()))??;
        if source.groups().iter().all(|group| group.num_rows() == 0) {
            // No feature: that is said where points are asked for.
            source.empty().into_points(file)?;
        }
        let container = Container {
            has_points,
            ..Container::default()
        };
        let plan = header::plan(file, &source.headers, container, options)?;
        let most = BATCH.min(VALUES / plan.columns.len().max(1)).max(1);
        let mut said = Said::default();
        let mut rows_before = 0;
        for (at, group) in source.groups().iter().enumerate() {
            let mut drawn = undamaged(file, || source.group(at, is_geometry))?;
            let columns = undamaged(file, || self.columns(at))?;
            let mut left = group.num_rows() as usize;
            while left > 0 {
                let records = most.min(left);
                left -= records;
                let mut table = source.empty();
                undamaged(file, || drawn.read(source, records, &mut table))?;
                table.table.rows = (rows_before + 1..).take(records).collect();
                said.add(Said::DRAWN, take_moved(&mut table, rows_before));
                rows_before += records as u32;
                source.finish(&mut table)?;
                said.once(std::mem::take(&mut table.table.problems));
                // Where there are points elsewhere, other geometries are only said.
                table.points += usize::from(has_points);
                let mut table = table.into_points(file)?;
                said.add(Said::NO_POINTS, std::mem::take(&mut table.problems));
                let build = |builder: ColumnBuilder<'_>, place: usize, rows: &[u32]| {
                    undamaged(file, || self.fill(builder, &columns, place, rows))
                };
                let (part, of_columns) =
                    table.into_part_as(file, plan.clone(), container, build)?;
                for (place, problems) in of_columns.into_iter().enumerate() {
                    said.add(Said::COLUMNS + place, problems);
                }
                push(part)?;
            }
        }
        Ok(said.all())
    }

    /// Whether a record has a point. It is looked at apart, so that what is counted of the pages stands.
    fn has_points(&self) -> Result<bool, FormatError> {
        let source = ParquetFile::of_file(&self.source.file, &self.path, &|_| false)?;
        for group in 0..source.groups().len() {
            let mut reader = source.group(group, is_geometry)?;
            loop {
                let mut drawn = FeatureTable::default();
                if reader.read(&source, BATCH, &mut drawn)? == 0 {
                    break;
                }
                if drawn.table.points.iter().any(|point| point[0].is_finite()) {
                    return Ok(true);
                }
            }
        }
        Ok(false)
    }

    /// The attributes of row group `group` at their beginning, each at its place among the headers.
    fn columns(&self, group: usize) -> Result<Vec<Option<Mutex<ColumnReader>>>, Problem> {
        let places = 0..self.source.headers.len();
        places
            .map(|place| match self.source.attribute(place) {
                Some((at, _)) => Ok(Some(Mutex::new(self.source.column(group, at)?))),
                None => Ok(None),
            })
            .collect()
    }

    /// The next values of the attribute at `place`: those of the records `rows`.
    fn fill(
        &self,
        mut builder: ColumnBuilder<'_>,
        columns: &[Option<Mutex<ColumnReader>>],
        place: usize,
        rows: &[u32],
    ) -> Built {
        let mut problems = ProblemList::default();
        builder.reserve(rows.len());
        let column = columns.get(place).and_then(Option::as_ref);
        match (self.source.attribute(place), column) {
            (Some(attribute), Some(column)) => {
                let mut column = column
                    .lock()
                    .unwrap_or_else(std::sync::PoisonError::into_inner);
                self.source
                    .fill(&mut builder, attribute, &mut column, rows, &mut problems)?;
            }
            _ => rows
                .iter()
                .for_each(|&row| builder.push_cell(&Cell::Empty, row, &mut problems)),
        }
        Ok((builder.values, problems))
    }
}

fn is_geometry(used: Use) -> bool {
    !matches!(used, Use::Attribute(..))
}

/// What was wrong with the geometries of a piece, its records numbered in the file.
fn take_moved(table: &mut FeatureTable, rows_before: u32) -> ProblemList {
    let mut problems = std::mem::take(&mut table.table.problems);
    problems.move_rows(rows_before);
    problems
}

/// What was said, in the order in which it is said of a file that is read whole: geometries, the file,
/// geometries that are no points, column after column.
#[derive(Default)]
struct Said {
    lists: Vec<ProblemList>,
    is_said: bool,
}

impl Said {
    const DRAWN: usize = 0;
    const FILE: usize = 1;
    const NO_POINTS: usize = 2;
    const COLUMNS: usize = 3;

    fn add(&mut self, list: usize, problems: ProblemList) {
        if self.lists.len() <= list {
            self.lists.resize_with(list + 1, ProblemList::default);
        }
        self.lists[list].append(problems, 0);
    }

    /// What is wrong with the file is the same for every piece.
    fn once(&mut self, problems: ProblemList) {
        if !std::mem::replace(&mut self.is_said, true) {
            self.add(Said::FILE, problems);
        }
    }

    fn all(self) -> ProblemList {
        let mut all = ProblemList::default();
        for list in self.lists {
            all.append(list, 0);
        }
        all
    }
}
