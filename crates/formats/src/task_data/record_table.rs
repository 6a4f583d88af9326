//! Every record of the time logs with every quantity, whether a column takes it or not, as a table to convert.

use checkstrip_model::{Column, Problem};

use super::joined_logs::Joined;
use super::quantities::operation_of;
use super::task_log::{TaskLog, distinct};
use super::totals::Totals;
use crate::ReadOptions;
use crate::cell::Cell;
use crate::column_builder::Values;
use crate::feature_table::{FeatureTable, Shape};

/// The names of tasks in a table of all records.
const TASK: &str = "task";

impl TaskLog {
    /// Every record of all logs with every quantity, for a conversion, and what is to be said of it. Columns that
    /// checkstrip understands have the names that exports give them, in SI units; the others stand as they were logged
    /// behind them, with their unit in the name. Points are where the cutting edge was, as far as the machine says.
    ///
    /// # Errors
    /// When none of the logs holds a record, or they are too long.
    pub(crate) fn into_table(mut self) -> Result<(FeatureTable, Vec<String>), Problem> {
        let options = ReadOptions::default();
        let mut joined = Joined::of_all_quantities();
        for log in self.logs {
            let operation = operation_of(&log.header).unwrap_or_default();
            let mut found = self.set.quantities(&log, operation, &options)?;
            // One record for each moment, the rows of a planter beside each other.
            found.rows.clear();
            found.row_readings.clear();
            joined.read(&mut self.set, &log, &found)?;
        }
        let records = joined.records;
        let mut said: Vec<String> = joined
            .moves
            .iter()
            .map(|moved| format!("positions{}", moved.replacen(',', ":", 1)))
            .collect();
        for (at, task, _) in &joined.totals {
            let totals = Totals::of_task(&self.set.root.children[*at]).words();
            if !totals.is_empty() {
                said.push(format!(
                    "totals of task {task} are of no record and left out: {totals}"
                ));
            }
        }
        let mut read = FeatureTable::default();
        let table = &mut read.table;
        let mut points = vec![[f64::NAN; 2]; records];
        let mut put = |name: &str, values: Vec<f64>| {
            let Some(place) = table.place(name, table.headers.len()) else {
                return;
            };
            for (record, value) in values.into_iter().enumerate() {
                if value.is_finite() {
                    table.set(place, record, Cell::Number(value));
                }
            }
        };
        let others = std::mem::take(&mut joined.others);
        let tasks = std::mem::take(&mut joined.tasks).finish();
        let mut names = vec![(TASK, tasks)];
        for (column, values) in joined.finish() {
            match (column, values) {
                (Column::Lon, Values::Numbers(values)) => {
                    points
                        .iter_mut()
                        .zip(values)
                        .for_each(|(point, lon)| point[0] = lon);
                }
                (Column::Lat, Values::Numbers(values)) => {
                    points
                        .iter_mut()
                        .zip(values)
                        .for_each(|(point, lat)| point[1] = lat);
                }
                (_, Values::Numbers(values)) => put(column.canonical_name(), values),
                (_, Values::Names(labels)) => {
                    names.push((column.canonical_name(), labels.finish()))
                }
                (_, Values::Cells(_) | Values::Kinds(_)) => {}
            }
        }
        for (name, values) in others {
            put(&name, values);
        }
        for (name, labels) in names {
            if let Some(place) = table.place(name, table.headers.len()) {
                for record in 0..records {
                    table.set(place, record, Cell::text(labels.name(record)));
                }
            }
        }
        let is_known = |point: &[f64; 2]| point.iter().all(|value| value.is_finite());
        for (record, point) in points.into_iter().enumerate() {
            let shape = match is_known(&point) {
                true => Shape::Point(point),
                false => Shape::Nothing,
            };
            read.push(record as u32 + 1, shape);
        }
        read.table.problems = distinct(self.set.problems);
        Ok((read, said))
    }
}
