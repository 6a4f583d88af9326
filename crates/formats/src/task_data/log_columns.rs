//! The number columns of one time log while its records are read, in SI units.

use checkstrip_model::{Column, Problem};

use super::cutting_edge::{self, Offset};
use super::quantities::{Quantities, Shown, Width, Work};
use super::time_log::Record;

/// Contiguous columns, one entry per record.
pub(crate) struct LogColumns {
    /// Time and position first, in this order, then what the log measured.
    pub(crate) columns: Vec<(Column, Vec<f64>)>,
    /// What was measured last, column after column behind the first four.
    last: Vec<f64>,
    statuses: Vec<u8>,
    /// Further quantities by their place in the header, as they were logged last.
    others: Vec<Other>,
}

/// A quantity that is wanted though no column takes it.
struct Other {
    shown: Shown,
    last: f64,
    values: Vec<f64>,
}

/// How the quality of positions is called in a table.
const POSITION_STATUS: &str = "position_status";

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
        columns.extend(found.row_readings.iter().map(|(column, ..)| *column));
        LogColumns {
            last: vec![f64::NAN; columns.len() - MEASURED],
            columns: columns
                .into_iter()
                .map(|column| (column, Vec::new()))
                .collect(),
            statuses: Vec::new(),
            others: Vec::new(),
        }
    }

    /// The same, with the quantities `others` besides.
    pub(crate) fn with_others(found: &Quantities, others: Vec<Shown>) -> LogColumns {
        let others = others.into_iter().map(|shown| Other {
            shown,
            last: f64::NAN,
            values: Vec::new(),
        });
        LogColumns {
            others: others.collect(),
            ..LogColumns::new(found)
        }
    }

    /// Takes out the further quantities, each with its name, and the quality of the positions where it was logged.
    pub(crate) fn take_others(&mut self) -> Vec<(String, Vec<f64>)> {
        let mut others: Vec<(String, Vec<f64>)> = std::mem::take(&mut self.others)
            .into_iter()
            .map(|other| (other.shown.name, other.values))
            .collect();
        if !self.statuses.is_empty() {
            let statuses = self.statuses.iter().map(|&status| f64::from(status));
            others.push((POSITION_STATUS.to_owned(), statuses.collect()));
        }
        others
    }

    /// Adds a record.
    #[inline(always)]
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
            for ((_, _, reading), last) in found.row_readings.iter().zip(&mut last) {
                *last = reading.value(values);
            }
            for other in &mut self.others {
                other.last = other.shown.value(values);
            }
        }
        self.columns[TIME].1.push(record.time_s);
        self.columns[LON].1.push(record.lon);
        self.columns[LAT].1.push(record.lat);
        self.columns[UP].1.push(record.up_m);
        for ((_, column), &value) in self.columns[MEASURED..].iter_mut().zip(&self.last) {
            column.push(value);
        }
        for other in &mut self.others {
            other.values.push(other.last);
        }
        self.statuses.extend(record.status);
    }

    /// Makes of the records one for each row of the planter and moment, with the number of the row from 1; what is common
    /// to all rows is repeated. Nothing happens where the log is not of rows.
    pub(crate) fn spread_rows(&mut self, found: &Quantities) {
        let rows = found.rows.len();
        if rows == 0 {
            return;
        }
        let records = self.columns[TIME].1.len();
        let common = self.columns.len() - found.row_readings.len();
        let of_rows = self.columns.split_off(common);
        for (_, values) in &mut self.columns {
            *values = values
                .iter()
                .flat_map(|&value| std::iter::repeat_n(value, rows))
                .collect();
        }
        for ((column, row, _), (_, values)) in found.row_readings.iter().zip(of_rows) {
            let known = self.columns[common..]
                .iter()
                .position(|(known, _)| known == column);
            let at = match known {
                Some(at) => common + at,
                None => {
                    self.columns.push((*column, vec![f64::NAN; records * rows]));
                    self.columns.len() - 1
                }
            };
            let spread = self.columns[at].1[*row..].iter_mut().step_by(rows);
            spread.zip(values).for_each(|(place, value)| *place = value);
        }
        let numbers = (1..=rows)
            .map(|row| row as f64)
            .cycle()
            .take(records * rows);
        self.columns.push((Column::Row, numbers.collect()));
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
