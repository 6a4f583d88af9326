//! A planting log as this crate takes it: slices of one length, one entry per row and moment. Whoever
//! calls owns the columns and has put the positions into a plane in metres.

use checkstrip_model::{Column, FieldLog};

use crate::PlantingError;
use crate::reading::Reading;

/// More rows than this are believed to be a wrong column.
pub(crate) const MOST_ROWS: usize = 200;

/// The columns of one planter's log, or of a piece of it. `NaN` is no reading. Records may stand in any order.
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
        self.records.map_or_else(|| self.held(), <[u32]>::len)
    }

    /// Whether no record counts.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// Whether all columns have as many entries as there are records.
    ///
    /// # Errors
    /// When they do not.
    pub(crate) fn check_lengths(&self) -> Result<(), PlantingError> {
        let expected = self.held();
        let found = self.lengths().find(|&(_, found)| found != expected);
        match found {
            None => Ok(()),
            Some((column, found)) => Err(PlantingError::Length {
                column,
                found,
                expected,
            }),
        }
    }

    /// Each column that is there, with its entries. Rows and times are there when they have any.
    fn lengths(&self) -> impl Iterator<Item = (&'static str, usize)> {
        let of_records = [("row", self.row), ("timestamp", self.time_s)];
        let others = [
            ("distance", self.step_m),
            ("speed", self.speed_m_s),
            ("east", self.east_north_m.map(|[east, _]| east)),
            ("north", self.east_north_m.map(|[_, north]| north)),
            ("heading", self.heading_deg),
            ("header_down", self.working),
            ("width", self.width_m),
        ];
        let readings = Reading::ALL
            .iter()
            .map(|&reading| (reading.column().key(), self.reading(reading)));
        let columns = others.into_iter().chain(readings);
        of_records
            .into_iter()
            .filter(|(_, column)| !column.is_empty())
            .map(|(name, column)| (name, column.len()))
            .chain(columns.filter_map(|(name, column)| Some((name, column?.len()))))
            .chain(self.pass.map(|pass| ("pass_id", pass.len())))
    }

    /// How many records the columns hold.
    fn held(&self) -> usize {
        self.lengths().next().map_or(0, |(_, records)| records)
    }

    /// The record at place `at` of those that count.
    pub(crate) fn record(&self, at: usize) -> usize {
        self.records.map_or(at, |records| records[at] as usize)
    }
}
