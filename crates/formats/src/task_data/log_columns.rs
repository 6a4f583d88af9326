//! The number columns of one time log while its records are read, in SI units.

use checkstrip_model::{Column, Problem};

use super::cutting_edge::{self, Offset};
use super::quantities::{Quantities, Width, Work};
use super::time_log::Record;

/// Contiguous columns, one entry per record.
pub(crate) struct LogColumns {
    /// Time and position first, in this order, then what the log measured.
    pub(crate) columns: Vec<(Column, Vec<f64>)>,
    /// What was measured last, column after column behind the first four.
    last: Vec<f64>,
    statuses: Vec<u8>,
}

const TIME: usize = 0;
const LON: usize = 1;
const LAT: usize = 2;
const UP: usize = 3;
const MEASURED: usize = 4;

impl LogColumns {
    /// Columns without a record, for what `found` reads.
    pub(crate) fn new(found: &Quantities) -> LogColumns {
        let mut columns = vec![
            Column::Timestamp,
            Column::Lon,
            Column::Lat,
            Column::Elevation,
        ];
        columns.extend(found.readings.iter().map(|(column, _)| *column));
        columns.extend((found.width != Width::Absent).then_some(Column::Width));
        columns.extend((found.work != Work::Absent).then_some(Column::HeaderDown));
        LogColumns {
            last: vec![f64::NAN; columns.len() - MEASURED],
            columns: columns
                .into_iter()
                .map(|column| (column, Vec::new()))
                .collect(),
            statuses: Vec::new(),
        }
    }

    /// Adds a record.
    #[inline]
    pub(crate) fn push(&mut self, record: &Record<'_>, found: &Quantities) {
        if record.has_news {
            let values = record.values;
            let mut last = self.last.iter_mut();
            for ((_, reading), last) in found.readings.iter().zip(&mut last) {
                *last = reading.value(values);
            }
            let width = (found.width != Width::Absent).then(|| found.width.value(values));
            let work = (found.work != Work::Absent).then(|| found.work.value(values));
            for (value, last) in width.into_iter().chain(work).zip(&mut last) {
                *last = value;
            }
        }
        self.columns[TIME].1.push(record.time_s);
        self.columns[LON].1.push(record.lon);
        self.columns[LAT].1.push(record.lat);
        self.columns[UP].1.push(record.up_m);
        for ((_, column), &value) in self.columns[MEASURED..].iter_mut().zip(&self.last) {
            column.push(value);
        }
        self.statuses.extend(record.status);
    }

    /// Takes the position from records whose receiver had no fix (status 0) or was in error (14) and from those at
    /// 0 N 0 E, where no field is, and counts them. Where every status is one of these, the receiver does not report
    /// it, and they stay.
    pub(crate) fn drop_positions_without_fix(&mut self) -> usize {
        let is_lost = |status: &u8| matches!(status, 0 | 14);
        let reports = !self.statuses.iter().all(is_lost);
        let mut dropped = 0;
        for record in 0..self.columns[LON].1.len() {
            let at_zero = self.columns[LON].1[record] == 0.0 && self.columns[LAT].1[record] == 0.0;
            if at_zero || (reports && self.statuses.get(record).is_some_and(is_lost)) {
                self.columns[LON].1[record] = f64::NAN;
                self.columns[LAT].1[record] = f64::NAN;
                dropped += 1;
            }
        }
        dropped
    }

    /// Moves positions from the receiver to the cutting edge; returns how many stayed.
    ///
    /// # Errors
    /// When the positions are on no plane.
    pub(crate) fn move_to_edge(&mut self, file: &str, offset: Offset) -> Result<usize, Problem> {
        let [(_, time), (_, lon), (_, lat), ..] = &mut self.columns[..] else {
            return Ok(0);
        };
        cutting_edge::move_to_edge(file, time, lon, lat, offset)
    }
}
