//! GeoParquet in batches: the columns of a row group are decoded side by side, a page of each in memory.

use std::path::Path;

use super::file_chunks::FileChunks;
use super::metadata::Crs;
use super::{ParquetFile, undamaged};
use crate::FormatError;
use crate::feature_stream::{BATCH, FeatureStream, Wish};
use crate::feature_table::FeatureTable;

/// A file that is read in batches.
pub(crate) struct ParquetStream<'a> {
    file: String,
    path: &'a Path,
    wish: &'a Wish,
}

impl<'a> ParquetStream<'a> {
    /// The file at `path`, called `file` in messages.
    pub(crate) fn new(file: &str, path: &'a Path, wish: &'a Wish) -> ParquetStream<'a> {
        ParquetStream {
            file: file.to_owned(),
            path,
            wish,
        }
    }

    fn open(&self) -> Result<ParquetFile<FileChunks>, FormatError> {
        ParquetFile::of_file(&self.file, self.path, &|name| self.wish.needs(name))
    }
}

impl FeatureStream for ParquetStream<'_> {
    fn read(
        &self,
        push: &mut dyn FnMut(&FeatureTable) -> Result<(), FormatError>,
    ) -> Result<(), FormatError> {
        let source = self.open()?;
        let is_degrees = source
            .geo
            .as_ref()
            .is_some_and(|geo| matches!(geo.crs, Crs::Wgs84 | Crs::Unknown));
        let bbox = self.wish.bbox.filter(|_| is_degrees);
        let mut rows_before = 0;
        let mut is_first = true;
        for (at, group) in source.groups().iter().enumerate() {
            let rows = group.num_rows() as u32;
            if bbox.is_some_and(|bbox| !source.may_meet(group, bbox)) {
                rows_before += rows;
                continue;
            }
            let mut reader = undamaged(&self.file, || source.group(at, |_| true))?;
            loop {
                let mut batch = source.empty();
                let read = undamaged(&self.file, || reader.read(&source, BATCH, &mut batch))?;
                if read == 0 {
                    break;
                }
                let rows = batch.table.rows.iter_mut();
                rows.for_each(|row| *row += rows_before);
                batch.table.problems.move_rows(rows_before);
                rows_before += read as u32;
                self.hand_over(&source, batch, &mut is_first, push)?;
            }
        }
        if is_first {
            self.hand_over(&source, source.empty(), &mut is_first, push)?;
        }
        Ok(())
    }

    fn features_in_file(&self) -> Option<u64> {
        let source = self.open().ok()?;
        let rows = source.groups().iter().map(|group| group.num_rows() as u64);
        Some(rows.sum())
    }
}

impl ParquetStream<'_> {
    /// What is wrong with the file as a whole is said with the first batch only.
    fn hand_over(
        &self,
        source: &ParquetFile<FileChunks>,
        mut batch: FeatureTable,
        is_first: &mut bool,
        push: &mut dyn FnMut(&FeatureTable) -> Result<(), FormatError>,
    ) -> Result<(), FormatError> {
        let about_records = std::mem::take(&mut batch.table.problems);
        source.finish(&mut batch)?;
        if std::mem::take(is_first) {
            batch.table.problems.append(about_records, 0);
        } else {
            batch.table.problems = about_records;
        }
        push(&batch)
    }
}
