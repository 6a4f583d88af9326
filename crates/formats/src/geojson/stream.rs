//! GeoJSON feature by feature in batches.

use std::path::{Path, PathBuf};

use checkstrip_model::Problem;
use serde_json::Value;

use super::points::PointReader;
use super::polygons::push_feature;
use super::text_sequence::{RECORD_SEPARATOR, damaged};
use crate::FormatError;
use crate::feature::FeatureFile;
use crate::feature_stream::{BATCH, FeatureStream};
use crate::feature_table::FeatureTable;
use crate::file_bytes::Pieces;

/// Bytes that are read at a time.
const BLOCK: usize = 4 << 20;

/// What is done with the text of a number; it says whether to go on.
type Take<'t> = dyn FnMut(u32, &[u8]) -> Result<bool, FormatError> + 't;

/// Features that are read in batches: points, or else polygons.
pub(crate) struct SequenceStream {
    file: String,
    path: PathBuf,
    gzip: bool,
    holds_points: bool,
}

impl SequenceStream {
    /// The file at `path`, called `file` in messages.
    ///
    /// # Errors
    /// When it cannot be read, or no text in it is a feature.
    pub(crate) fn open(file: &str, path: &Path, gzip: bool) -> Result<SequenceStream, FormatError> {
        let mut stream = SequenceStream {
            file: file.to_owned(),
            path: path.to_owned(),
            gzip,
            holds_points: true,
        };
        let (mut features, mut points) = (0, 0);
        let mut first = None;
        // One batch with a point in it says enough.
        stream.points(&mut |batch, others| {
            features += batch.records();
            points += batch.records() - others;
            if batch.records() == 0 {
                let mut problems = std::mem::take(&mut batch.table.problems).finish(file);
                if first.is_none() && !problems.is_empty() {
                    first = Some(problems.swap_remove(0));
                }
            }
            Ok(points == 0)
        })?;
        if let (Some(problem), 0) = (first, features) {
            return Err(problem.into());
        }
        stream.holds_points = points > 0 || features == 0;
        Ok(stream)
    }

    /// Calls `take` for each text with its number from 1: its line, or its place in the sequence, until
    /// it says not to go on; returns whether it went on to the end.
    fn texts(&self, take: &mut Take<'_>) -> Result<bool, FormatError> {
        let mut pieces = Pieces::open(&self.file, &self.path, self.gzip)?;
        let mut block = Vec::new();
        let mut is_more = pieces.read(&mut block, BLOCK)?;
        if block.starts_with(b"\xef\xbb\xbf") {
            block.drain(..3);
        }
        let mut number = 0;
        let separator = match block.trim_ascii_start().first() {
            Some(&RECORD_SEPARATOR) => {
                let at = block.iter().position(|byte| *byte == RECORD_SEPARATOR);
                block.drain(..=at.unwrap_or(0));
                RECORD_SEPARATOR
            }
            _ => b'\n',
        };
        loop {
            let mut start = 0;
            loop {
                let end = memchr::memchr(separator, &block[start..]).map(|at| start + at);
                let text = match end {
                    Some(end) => &block[start..end],
                    None if !is_more => &block[start..],
                    None => break,
                };
                number += 1;
                let text = text.trim_ascii();
                if !text.is_empty() && !take(number, text)? {
                    return Ok(false);
                }
                match end {
                    Some(end) => start = end + 1,
                    None => return Ok(true),
                }
            }
            block.drain(..start);
            is_more = pieces.read(&mut block, BLOCK)?;
        }
    }

    /// Hands over batches of points, each with how many of its features are something else. `push` says
    /// whether to go on.
    fn points(
        &self,
        push: &mut dyn FnMut(&mut FeatureTable, usize) -> Result<bool, FormatError>,
    ) -> Result<bool, FormatError> {
        let file = self.file.as_str();
        let mut reader = PointReader::new(file);
        let went_on = self.texts(&mut |row, text| {
            if let Err(error) = reader.push_text(row, text) {
                let problem = damaged(file, row, &error);
                reader.problem(
                    problem.hint("the line is left out; write one whole feature on each line"),
                );
            }
            if reader.records() < BATCH {
                return Ok(true);
            }
            let (table, others) =
                std::mem::replace(&mut reader, PointReader::new(file)).into_table();
            push(&mut table.into(), others)
        })?;
        if !went_on {
            return Ok(false);
        }
        let (table, others) = reader.into_table();
        push(&mut table.into(), others)
    }

    fn polygons(
        &self,
        push: &mut dyn FnMut(&FeatureTable) -> Result<(), FormatError>,
    ) -> Result<(), FormatError> {
        let file = self.file.as_str();
        let mut batch = FeatureFile::default();
        self.texts(&mut |row, text| {
            let feature: geojson::Feature = serde_json::from_slice::<Value>(text)
                .and_then(serde_json::from_value)
                .map_err(|error| -> Problem {
                    damaged(file, row, &error).hint("write one whole feature on each line")
                })?;
            push_feature(file, row, feature, &mut batch)?;
            if batch.features.len() == BATCH {
                push(&std::mem::take(&mut batch).into())?;
            }
            Ok(true)
        })?;
        push(&batch.into())
    }
}

impl FeatureStream for SequenceStream {
    fn read(
        &self,
        push: &mut dyn FnMut(&FeatureTable) -> Result<(), FormatError>,
    ) -> Result<(), FormatError> {
        if !self.holds_points {
            return self.polygons(push);
        }
        self.points(&mut |batch, _| push(batch).map(|()| true))?;
        Ok(())
    }
}
