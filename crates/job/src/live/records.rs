//! The columns of a field's records in driving order, as small as they can be drawn from.

use super::quantities::{LOGGED, MOISTURE, STATUS, YIELD, YIELD_BEFORE};
use super::{CleanedField, LiveField};
use checkstrip_model::{CleanLog, Column, Status};

/// One column, one entry for every record in driving order; `NaN` where there is none.
#[derive(Debug, Clone, PartialEq)]
pub enum RecordColumn {
    /// Metres, degrees or a quantity in SI units.
    Numbers(Vec<f32>),
    /// Moments, s.
    Moments(Vec<f64>),
    /// Passes, from 1; 0 where nothing was cut.
    Passes(Vec<u32>),
    /// Statuses: 0 for kept, else one more than the place among [`Status::REASONS`].
    Statuses(Vec<u8>),
}

impl RecordColumn {
    /// Its entries one after the other, little-endian.
    pub fn bytes(&self) -> Vec<u8> {
        match self {
            RecordColumn::Numbers(of) => of.iter().flat_map(|v| v.to_le_bytes()).collect(),
            RecordColumn::Moments(of) => of.iter().flat_map(|v| v.to_le_bytes()).collect(),
            RecordColumn::Passes(of) => of.iter().flat_map(|v| v.to_le_bytes()).collect(),
            RecordColumn::Statuses(of) => of.clone(),
        }
    }
}

impl LiveField {
    /// The column `key` of the log as `cleaned` has it: `east`, `north` (where the cutting edge was at the
    /// record), `heading`, `width` and `length` of its ground, `time`, `pass`, `status`, or a key of
    /// [`quantities`](Self::quantities). `None` when there is no such column.
    pub fn records(&self, key: &str, cleaned: &CleanedField) -> Option<RecordColumn> {
        let log = &cleaned.outcome.log;
        let numbers = |values: &[f64]| {
            let order = self.driving_order().iter();
            RecordColumn::Numbers(
                order
                    .map(|&record| values[record as usize] as f32)
                    .collect(),
            )
        };
        Some(match key {
            "east" => numbers(&log.east_m),
            "north" => numbers(&log.north_m),
            "heading" => numbers(&log.heading_deg),
            "width" => numbers(&log.width_m),
            "length" => numbers(&log.distance_m),
            "time" => {
                let time = log.log.numbers(Column::Timestamp)?;
                let order = self.driving_order().iter();
                RecordColumn::Moments(order.map(|&record| time[record as usize]).collect())
            }
            "pass" => {
                let order = self.driving_order().iter();
                RecordColumn::Passes(order.map(|&record| log.pass[record as usize]).collect())
            }
            STATUS => RecordColumn::Statuses(self.statuses(log)),
            YIELD => numbers(&log.yield_kg_ha),
            YIELD_BEFORE => numbers(&log.raw_yield_kg_ha),
            MOISTURE => numbers(&log.moisture_pct),
            key => match key.strip_prefix(LOGGED) {
                Some(column) => numbers(log.log.numbers(Column::from_key(column)?)?),
                None => numbers(&self.applied_column(key)?),
            },
        })
    }

    fn statuses(&self, log: &CleanLog) -> Vec<u8> {
        let mut byte = [0; 256];
        for (place, &reason) in Status::REASONS.iter().enumerate() {
            byte[reason as usize] = place as u8 + 1;
        }
        let order = self.driving_order().iter();
        order
            .map(|&record| byte[log.status[record as usize] as usize])
            .collect()
    }
}
