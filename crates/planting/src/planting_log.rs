//! A planting log as this crate takes it: slices of one length, one entry per row and moment. Whoever
//! calls owns the columns and has put the positions into a plane in metres.

use checkstrip_model::{Column, FieldLog};

use crate::PlantingError;
use crate::reading::Reading;

/// More rows than this are believed to be a wrong column.
const MOST_ROWS: usize = 200;

/// The columns of one planter's log. `NaN` is no reading. Records may stand in any order.
#[derive(Debug, Clone, Default)]
pub struct PlantingLog<'a> {
    /// Row of the planter, from 1 at its left.
    pub row: &'a [f64],
    /// Moment, s from any origin. Records of one moment share it exactly.
    pub time_s: &'a [f64],
    /// Ground travelled since the moment before, m.
    pub step_m: Option<&'a [f64]>,
    /// Ground speed, m/s.
    pub speed_m_s: Option<&'a [f64]>,
    /// Position in a metric plane, m east and north. The planter's or the row's.
    pub east_north_m: Option<[&'a [f64]; 2]>,
    /// Direction of travel, degrees clockwise from north.
    pub heading_deg: Option<&'a [f64]>,
    /// 0 where the row or the planter was not in work.
    pub working: Option<&'a [f64]>,
    /// The machine's own pass, as any number.
    pub pass: Option<&'a [u32]>,
    /// Working width of the planter, m.
    pub width_m: Option<&'a [f64]>,
    /// The records that count, in rising order; absent: all. Keeps two planters in one log apart.
    pub records: Option<&'a [u32]>,
    /// The readings, in the order of [`Reading::ALL`]; [`set`](Self::set) puts one in place.
    pub readings: [Option<&'a [f64]>; Reading::ALL.len()],
}

impl<'a> PlantingLog<'a> {
    /// The log as readers leave it, with positions that the caller has put into a plane. Distance comes
    /// from the log's own distances, or from its speeds and times, or from the positions.
    pub fn of(log: &'a FieldLog, east_north_m: Option<[&'a [f64]; 2]>) -> PlantingLog<'a> {
        let mut columns = PlantingLog {
            row: log.numbers(Column::Row).unwrap_or_default(),
            time_s: log.numbers(Column::Timestamp).unwrap_or_default(),
            step_m: log.numbers(Column::Distance),
            speed_m_s: log.numbers(Column::Speed),
            east_north_m,
            heading_deg: log.numbers(Column::Heading),
            working: log.numbers(Column::HeaderDown),
            pass: log.labels(Column::PassId).map(|labels| &labels.index[..]),
            width_m: log.numbers(Column::Width),
            ..PlantingLog::default()
        };
        for &reading in Reading::ALL {
            if let Some(values) = log.numbers(reading.column()) {
                columns.set(reading, values);
            }
        }
        columns
    }

    /// Puts a reading's column in place.
    pub fn set(&mut self, reading: Reading, values: &'a [f64]) {
        self.readings[reading as usize] = Some(values);
    }

    /// A reading's column.
    pub fn reading(&self, reading: Reading) -> Option<&'a [f64]> {
        self.readings[reading as usize]
    }

    /// Number of records that count.
    pub fn len(&self) -> usize {
        self.records.map_or(self.row.len(), <[u32]>::len)
    }

    /// Whether no record counts.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// The number of rows, which is the highest row number.
    ///
    /// # Errors
    /// When a needed column is absent, columns differ in length, or a row number is none.
    pub(crate) fn check(&self) -> Result<usize, PlantingError> {
        if self.row.is_empty() {
            return Err(PlantingError::NoRows);
        }
        if self.time_s.is_empty() {
            return Err(PlantingError::NoTimes);
        }
        if self.step_m.is_none() && self.speed_m_s.is_none() && self.east_north_m.is_none() {
            return Err(PlantingError::NoWay);
        }
        let expected = self.row.len();
        let lengths = [
            ("timestamp", Some(self.time_s.len())),
            ("distance", self.step_m.map(<[f64]>::len)),
            ("speed", self.speed_m_s.map(<[f64]>::len)),
            ("east", self.east_north_m.map(|[east, _]| east.len())),
            ("north", self.east_north_m.map(|[_, north]| north.len())),
            ("heading", self.heading_deg.map(<[f64]>::len)),
            ("header_down", self.working.map(<[f64]>::len)),
            ("pass_id", self.pass.map(<[u32]>::len)),
            ("width", self.width_m.map(<[f64]>::len)),
        ];
        let readings = Reading::ALL
            .iter()
            .map(|&r| (r.column().key(), self.reading(r).map(<[f64]>::len)));
        for (column, found) in lengths.into_iter().chain(readings) {
            if let Some(found) = found
                && found != expected
            {
                return Err(PlantingError::Length {
                    column,
                    found,
                    expected,
                });
            }
        }
        let mut rows = 0;
        for at in 0..self.len() {
            let record = self.record(at);
            let row = self.row.get(record).copied().unwrap_or(f64::NAN);
            // A record without a row is no row's reading and is passed over.
            if row.is_nan() {
                continue;
            }
            if row < 1.0 || row > MOST_ROWS as f64 || row.fract() != 0.0 {
                return Err(PlantingError::Row {
                    record: record + 1,
                    row,
                    most: MOST_ROWS,
                });
            }
            rows = rows.max(row as usize);
        }
        if rows == 0 {
            return Err(PlantingError::NoRows);
        }
        Ok(rows)
    }

    /// The record at place `at` of those that count.
    pub(crate) fn record(&self, at: usize) -> usize {
        self.records.map_or(at, |records| records[at] as usize)
    }
}
