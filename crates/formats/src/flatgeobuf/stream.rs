//! FlatGeobuf in batches, feature after feature; of a box only the features that the index finds.

use std::fs::File;
use std::io::BufReader;
use std::path::Path;

use super::{FlatGeobuf, definition, index};
use crate::FormatError;
use crate::feature_stream::{BATCH, FeatureStream, Wish};
use crate::feature_table::FeatureTable;

/// A file that is read in batches.
pub(crate) struct FlatGeobufStream<'a> {
    file: String,
    path: &'a Path,
    wish: &'a Wish,
}

impl<'a> FlatGeobufStream<'a> {
    /// The file at `path`, called `file` in messages.
    pub(crate) fn new(file: &str, path: &'a Path, wish: &'a Wish) -> FlatGeobufStream<'a> {
        FlatGeobufStream {
            file: file.to_owned(),
            path,
            wish,
        }
    }

    fn open(&self) -> Result<FlatGeobuf<BufReader<File>>, FormatError> {
        let refuse = |error| FormatError::reading(self.path, error);
        let content = File::open(self.path).map_err(refuse)?;
        let length = content.metadata().map_err(refuse)?.len();
        let is_needed = |name: &str| self.wish.needs(name);
        let content = BufReader::with_capacity(256 << 10, content);
        Ok(FlatGeobuf::open(&self.file, content, length, &is_needed)?)
    }

    /// The features that may meet the box, when one is wanted and the file has an index in
    /// degrees.
    fn found(&self, source: &mut FlatGeobuf<BufReader<File>>) -> Option<Vec<(u64, u64)>> {
        let bbox = self.wish.bbox?;
        let header = source.header().ok()?;
        let (features, node_size) = (header.features_count(), u64::from(header.index_node_size()));
        let crs = header.crs().and_then(|crs| definition(&crs));
        let is_degrees = crs.is_none_or(|crs| crs == "EPSG:4326");
        if features == 0 || node_size < 2 || !is_degrees {
            return None;
        }
        // A damaged index is no reason not to read the features.
        let (content, start) = (&mut source.content, source.index);
        index::search(content, start, features, node_size, bbox).ok()
    }
}

impl FeatureStream for FlatGeobufStream<'_> {
    fn read(
        &self,
        push: &mut dyn FnMut(&FeatureTable) -> Result<(), FormatError>,
    ) -> Result<(), FormatError> {
        let mut source = self.open()?;
        if let Some(found) = self.found(&mut source) {
            for places in found.chunks(BATCH) {
                let mut batch = source.empty();
                for (place, number) in places {
                    source.read = u32::try_from(*number).unwrap_or(u32::MAX - 1);
                    source.go_to(source.features.saturating_add(*place))?;
                    source.read(1, &mut batch)?;
                }
                source.name_crs(&mut batch)?;
                push(&batch)?;
            }
            if found.is_empty() {
                let mut batch = source.empty();
                source.name_crs(&mut batch)?;
                push(&batch)?;
            }
            return Ok(());
        }
        source.go_to(source.features)?;
        let mut is_first = true;
        loop {
            let mut batch = source.empty();
            let read = source.read(BATCH, &mut batch)?;
            if read < BATCH {
                source.finish(&mut batch)?;
            } else if std::mem::take(&mut is_first) {
                source.name_crs(&mut batch)?;
            } else {
                // That a reference system is missing is said once.
                let about_records = std::mem::take(&mut batch.table.problems);
                source.name_crs(&mut batch)?;
                batch.table.problems = about_records;
            }
            push(&batch)?;
            if read < BATCH {
                return Ok(());
            }
        }
    }

    fn features_in_file(&self) -> Option<u64> {
        let source = self.open().ok()?;
        let count = source.header().ok()?.features_count();
        (count > 0).then_some(count)
    }
}
