//! A log in GeoParquet: its columns are decoded side by side, straight into those of the log.

use bytes::Bytes;
use checkstrip_model::Problem;
use parquet::column::reader::ColumnReader;
use parquet::errors::ParquetError;
use parquet::file::reader::ChunkReader;
use rayon::prelude::*;

use super::column::{CellReader, plain_numbers};
use super::{ParquetFile, Use, undamaged};
use crate::cell::Cell;
use crate::column_builder::ColumnBuilder;
use crate::feature_table::FeatureTable;
use crate::log_part::LogPart;
use crate::problem_list::ProblemList;
use crate::raw_table::Built;
use crate::{ReadOptions, file_bytes, header};

/// A log whose headers are known and whose records wait to be read.
pub(crate) struct ParquetLog {
    source: ParquetFile<Bytes>,
}

impl ParquetLog {
    /// Looks at the metadata of `file`, whose content is `bytes`.
    ///
    /// # Errors
    /// When it is no Parquet, or is written in a way that is not read.
    pub(crate) fn open(
        file: &str,
        bytes: Vec<u8>,
        options: &ReadOptions,
    ) -> Result<ParquetLog, Problem> {
        let is_needed = |name: &str| header::is_needed(name, options);
        let source = undamaged(file, || ParquetFile::of_bytes(file, bytes, &is_needed))?;
        Ok(ParquetLog { source })
    }

    /// The headers, in the order of the file.
    pub(crate) fn headers(&self) -> &[String] {
        &self.source.headers
    }

    /// Reads every record.
    ///
    /// # Errors
    /// When the file is damaged, holds no points, or its headers are not those of a log.
    pub(crate) fn read(self, options: &ReadOptions) -> Result<LogPart, Problem> {
        let (sha256, part) = rayon::join(
            || file_bytes::sha256(&self.source.chunks),
            || undamaged(&self.source.file, || self.columns(options)),
        );
        let mut part = part?;
        part.source.sha256 = sha256;
        Ok(part)
    }

    fn columns(&self, options: &ReadOptions) -> Result<LogPart, Problem> {
        let source = &self.source;
        let file = &source.file;
        let groups = source.groups();
        let drawn: Vec<Result<FeatureTable, Problem>> = (0..groups.len())
            .into_par_iter()
            .map(|group| {
                let is_geometry = |used| !matches!(used, Use::Attribute(..));
                let mut drawn = FeatureTable::default();
                let mut reader = source.group(group, is_geometry)?;
                reader.read(source, usize::MAX, &mut drawn)?;
                Ok(drawn)
            })
            .collect();
        let mut table = source.empty();
        for drawn in drawn {
            table.append(drawn?);
        }
        table.table.rows = (1..).take(table.records()).collect();
        source.finish(&mut table)?;
        let table = table.into_points(file)?;
        table.into_part_of(file, String::new(), options, |builder, place, rows| {
            undamaged(file, || self.column(builder, place, rows))
        })
    }

    /// The values of the attribute at `place`, of all row groups.
    fn column(&self, mut builder: ColumnBuilder<'_>, place: usize, rows: &[u32]) -> Built {
        let source = &self.source;
        let mut problems = ProblemList::default();
        builder.reserve(rows.len());
        let mut left = rows;
        if let Some(attribute) = source.attribute(place) {
            for (group, about) in source.groups().iter().enumerate() {
                let mut column = source.column(group, attribute.0)?;
                let (of_group, later) = left.split_at(about.num_rows() as usize);
                source.fill(
                    &mut builder,
                    attribute,
                    &mut column,
                    of_group,
                    &mut problems,
                )?;
                left = later;
            }
        }
        for &row in left {
            builder.push_cell(&Cell::Empty, row, &mut problems);
        }
        Ok((builder.values, problems))
    }
}

impl<R: ChunkReader + 'static> ParquetFile<R> {
    /// The leaf of the attribute at `place`, and how it is read, when it is.
    pub(super) fn attribute(&self, place: usize) -> Option<(usize, CellReader)> {
        let mut uses = self.uses.iter().enumerate();
        uses.find_map(|(at, used)| match used {
            Use::Attribute(found, cells) if *found == place => Some((at, *cells)),
            _ => None,
        })
    }

    /// Adds the next values of an attribute to `builder`: those of the records `rows`.
    ///
    /// # Errors
    /// When the file is damaged.
    pub(super) fn fill(
        &self,
        builder: &mut ColumnBuilder<'_>,
        (at, cells): (usize, CellReader),
        column: &mut ColumnReader,
        rows: &[u32],
        problems: &mut ProblemList,
    ) -> Result<(), Problem> {
        let leaf = self.leaf(at);
        let refuse = |error: ParquetError| self.refuse(&error).in_column(leaf.name());
        if builder.takes_numbers() {
            let push = |numbers: &[f64]| builder.push_numbers(numbers);
            if plain_numbers(column, cells, leaf, rows.len(), push).map_err(refuse)? {
                return Ok(());
            }
        }
        let mut record = 0;
        let push = |at: usize, cell: Cell| {
            if let Cell::Text(text) = &cell {
                self.texts.take(text.len() as u64)?;
            }
            while record < at {
                builder.push_cell(&Cell::Empty, rows[record], problems);
                record += 1;
            }
            builder.push_cell(&cell, rows[record], problems);
            record += 1;
            Ok(())
        };
        cells.read(column, leaf, rows.len(), push).map_err(refuse)?;
        for &row in &rows[record..] {
            builder.push_cell(&Cell::Empty, row, problems);
        }
        Ok(())
    }
}
