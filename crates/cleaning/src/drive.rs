//! The drive: every column the cleaning steps need, complete, in driving order and in the local
//! plane. Columns that the log lacks are derived here, and how is written down.

use crate::CleaningError;
use crate::motion::Places;
use crate::order::{Order, driving_order};
use crate::passes::passes;
use crate::position::{Steps, position_faults};
use checkstrip_model::{Column, Crop, FieldLog, Status, silence_that_ends_a_pass_s};
use checkstrip_spatial::local_plane::LocalPlane;

/// All columns in driving order, one entry a record.
#[derive(Debug, Default)]
pub(crate) struct Drive {
    pub order: Order,
    pub east_m: Vec<f64>,
    pub north_m: Vec<f64>,
    /// Clockwise from the plane's north.
    pub heading_deg: Vec<f64>,
    pub distance_m: Vec<f64>,
    pub interval_s: Vec<f64>,
    pub speed_m_s: Vec<f64>,
    pub width_m: Vec<f64>,
    pub flow_kg_s: Vec<f64>,
    pub moisture_pct: Vec<f64>,
    pub header_down: Vec<bool>,
    /// The machine's own pass numbers, where it wrote them.
    pub logged_pass: Option<Vec<u32>>,
    /// Unbroken pieces of logging: broken by silence, another machine or a change of header state.
    pub piece: Vec<u32>,
    /// Whether the flow is already at market moisture (logs that carry only a yield).
    pub at_market_moisture: bool,
    /// Silence longer than this breaks a piece, s.
    pub gap_s: f64,
    /// Usual cutting width, m.
    pub typical_width_m: f64,
    /// Usual distance a record, m.
    pub typical_distance_m: f64,
    /// Derived columns, each with how.
    pub derived: Vec<(Column, String)>,
}

/// A distance over this many times the usual one is no reading: the ground it claims was not cut.
const MOST_DISTANCE: f64 = 10.0;
/// Nor is an interval over this many times the usual one.
const MOST_INTERVAL: f64 = 100.0;
/// Nor a width over this many times the usual one, or under the other share of it (a section of a
/// wide header is a sixteenth or so).
const WIDTHS: [f64; 2] = [1.0 / 50.0, 3.0];

impl Drive {
    /// Number of records.
    pub(crate) fn len(&self) -> usize {
        self.order.record.len()
    }

    /// Builds the drive. `header_width_m` stands in for a width the log lacks or logs as zero.
    pub(crate) fn new(
        log: &FieldLog,
        plane: &LocalPlane,
        crop: &Crop,
        header_width_m: Option<f64>,
    ) -> Result<Drive, CleaningError> {
        let order = driving_order(log);
        let record = order.record.clone();
        let take = |column: Column| {
            log.numbers(column).map(|values| {
                record
                    .iter()
                    .map(|&record| values[record as usize])
                    .collect::<Vec<f64>>()
            })
        };
        let mut drive = Drive {
            derived: order.notes.clone(),
            ..Drive::default()
        };
        let n = order.record.len();
        drive.gap_s = silence_that_ends_a_pass_s(order.typical_interval_s);

        let nowhere = || vec![f64::NAN; n];
        let lon = take(Column::Lon).unwrap_or_else(nowhere);
        let lat = take(Column::Lat).unwrap_or_else(nowhere);
        (drive.east_m, drive.north_m) = plane.to_plane(&lon, &lat)?;
        drive.order = order;

        drive.header_down = match take(Column::HeaderDown) {
            Some(down) => down.into_iter().map(|d| d > 0.5).collect(),
            None => {
                drive.note(Column::HeaderDown, "down wherever the machine logged");
                vec![true; n]
            }
        };
        drive.logged_pass = log.labels(Column::PassId).map(|labels| {
            drive
                .order
                .record
                .iter()
                .map(|&record| labels.index[record as usize])
                .collect()
        });

        let logged_distance = take(Column::Distance);
        let logged_speed = take(Column::Speed);
        let logged_interval = take(Column::Interval);
        let travel = logged_distance.clone().or_else(|| {
            let interval = drive.order.typical_interval_s;
            logged_speed
                .as_ref()
                .map(|speed| speed.iter().map(|v| v * interval).collect())
        });
        let steps = Steps {
            east_m: &drive.east_m,
            north_m: &drive.north_m,
            time_s: &drive.order.time_s,
            machine: &drive.order.machine,
            distance_m: travel.as_deref(),
            gap_s: drive.gap_s,
        };
        position_faults(&steps, &mut drive.order.status);
        if drive
            .order
            .status
            .iter()
            .all(|&status| status == Status::Position)
        {
            return Err(CleaningError::NoPosition { records: n });
        }
        drive.piece = drive.pieces();

        let places = Places {
            east_m: &drive.east_m,
            north_m: &drive.north_m,
            time_s: &drive.order.time_s,
            piece: &drive.piece,
            status: &drive.order.status,
        };
        let typical = drive.order.typical_interval_s;
        let mut notes: Vec<(Column, &str)> = Vec::new();
        let interval_s = logged_interval.unwrap_or_else(|| {
            notes.push((Column::Interval, "time since the record before"));
            places.intervals(typical, drive.gap_s)
        });
        let distance_m = match (logged_distance, &logged_speed) {
            (Some(distance), _) => distance,
            (None, Some(speed)) => {
                notes.push((Column::Distance, "speed × interval"));
                speed
                    .iter()
                    .zip(&interval_s)
                    .map(|(v, dt)| v * dt)
                    .collect()
            }
            (None, None) => {
                notes.push((Column::Distance, "from position to position"));
                places.distances()
            }
        };
        let speed_m_s = logged_speed.unwrap_or_else(|| {
            notes.push((Column::Speed, "distance over interval"));
            distance_m
                .iter()
                .zip(&interval_s)
                .map(|(d, dt)| d / dt)
                .collect()
        });
        let heading_deg = match take(Column::Heading) {
            // True north and the plane's north differ by less than a hundredth of a degree within
            // a field of the plane's own origin.
            Some(mut heading) => {
                if heading.iter().any(|h| !h.is_finite()) {
                    let derived = places.headings();
                    for (logged, derived) in heading.iter_mut().zip(derived) {
                        if !logged.is_finite() {
                            *logged = derived;
                        }
                    }
                }
                heading
            }
            None => {
                notes.push((
                    Column::Heading,
                    "from the position before to the position after",
                ));
                places.headings()
            }
        };
        drive.interval_s = interval_s;
        drive.distance_m = distance_m;
        drive.speed_m_s = speed_m_s;
        drive.heading_deg = heading_deg;
        for (column, how) in notes {
            drive.note(column, how);
        }
        drive.width_m = drive.widths(take(Column::Width), header_width_m)?;
        drive.typical_width_m = drive.typical(&drive.width_m);
        drive.typical_distance_m = drive.typical(&drive.distance_m);
        drive.forget_impossible();
        drive.take_grain(
            take(Column::MassFlow),
            take(Column::Yield),
            take(Column::Moisture),
            crop,
        )?;
        Ok(drive)
    }

    /// Empties distances, intervals and widths that no machine can have; one of them would drown the
    /// sums of all the others.
    fn forget_impossible(&mut self) {
        let forget = |values: &mut [f64], usual: f64, [least, most]: [f64; 2]| {
            for value in values {
                if value.abs() > most * usual || (*value > 0.0 && *value < least * usual) {
                    *value = f64::NAN;
                }
            }
        };
        let interval = self.order.typical_interval_s;
        forget(
            &mut self.distance_m,
            self.typical_distance_m,
            [0.0, MOST_DISTANCE],
        );
        forget(&mut self.interval_s, interval, [0.0, MOST_INTERVAL]);
        forget(&mut self.width_m, self.typical_width_m, WIDTHS);
    }

    fn note(&mut self, column: Column, how: &str) {
        self.derived.push((column, how.to_owned()));
    }

    /// Numbers of the unbroken pieces of logging.
    fn pieces(&self) -> Vec<u32> {
        let order = &self.order;
        let mut piece = 0;
        (0..self.len())
            .map(|at| {
                if at > 0
                    && (order.machine[at] != order.machine[at - 1]
                        || order.time_s[at] - order.time_s[at - 1] > self.gap_s
                        || self.header_down[at] != self.header_down[at - 1])
                {
                    piece += 1;
                }
                piece
            })
            .collect()
    }

    fn widths(
        &mut self,
        logged: Option<Vec<f64>>,
        header_width_m: Option<f64>,
    ) -> Result<Vec<f64>, CleaningError> {
        let n = self.len();
        match (logged, header_width_m) {
            (Some(widths), given) => {
                if widths.iter().any(|&w| w > 0.0) {
                    return Ok(widths);
                }
                let width = given.ok_or(CleaningError::ZeroWidth)?;
                self.note(
                    Column::Width,
                    "the header width given, the log's own are all zero",
                );
                Ok(vec![width; n])
            }
            (None, Some(width)) => {
                self.note(Column::Width, "the header width given");
                Ok(vec![width; n])
            }
            (None, None) => Err(CleaningError::NoWidth),
        }
    }

    /// Median of the positive values where the header is down.
    fn typical(&self, values: &[f64]) -> f64 {
        let mut cutting: Vec<f64> = values
            .iter()
            .zip(&self.header_down)
            .filter(|(v, down)| **down && **v > 0.0)
            .map(|(v, _)| *v)
            .collect();
        crate::robust::median(&mut cutting)
    }

    fn take_grain(
        &mut self,
        flow: Option<Vec<f64>>,
        yield_kg_ha: Option<Vec<f64>>,
        moisture: Option<Vec<f64>>,
        crop: &Crop,
    ) -> Result<(), CleaningError> {
        let market = vec![crop.market_moisture_pct; self.len()];
        match (flow, yield_kg_ha) {
            (Some(flow), _) => {
                self.flow_kg_s = flow;
                self.moisture_pct = match moisture {
                    Some(moisture) => moisture,
                    None => {
                        self.note(Column::Moisture, "market moisture, the log has none");
                        market
                    }
                };
            }
            (None, Some(yields)) => {
                self.flow_kg_s = (0..self.len())
                    .map(|at| {
                        let area = self.distance_m[at] * self.width_m[at];
                        yields[at] * area / 1e4 / self.interval_s[at]
                    })
                    .collect();
                self.moisture_pct = moisture.unwrap_or(market);
                self.at_market_moisture = true;
                self.note(
                    Column::MassFlow,
                    "yield × distance × width, taken as market moisture",
                );
            }
            (None, None) => return Err(CleaningError::NoGrain),
        }
        Ok(())
    }

    /// Mass at market moisture.
    pub(crate) fn at_market(&self, crop: &Crop, wet_kg: f64, moisture_pct: f64) -> f64 {
        if self.at_market_moisture {
            wet_kg
        } else {
            crop.at_market_moisture(wet_kg, moisture_pct)
        }
    }

    /// Pass of each record, and its yield as logged: its own flow over its own distance × width,
    /// kg/ha at market moisture.
    pub(crate) fn passes_and_raw_yields(&self, crop: &Crop) -> (Vec<u32>, Vec<f64>) {
        let pass = passes(self);
        let raw = (0..self.len())
            .map(|at| {
                let area = self.distance_m[at] * self.width_m[at];
                if pass[at] == 0 || area.is_nan() || area <= 0.0 {
                    return f64::NAN;
                }
                let wet = self.flow_kg_s[at] * self.interval_s[at];
                self.at_market(crop, wet, self.moisture_pct[at]) / area * 1e4
            })
            .collect();
        (pass, raw)
    }

    /// The drive as a series of distinct records, for steps that count in records; `None` when no
    /// record is repeated and the drive already is one.
    pub(crate) fn without_repeats(&self) -> Option<Drive> {
        let distinct: Vec<usize> = (0..self.len())
            .filter(|&at| !self.order.repeated[at])
            .collect();
        if distinct.len() == self.len() {
            return None;
        }
        fn take<T: Copy>(values: &[T], places: &[usize]) -> Vec<T> {
            places.iter().map(|&at| values[at]).collect()
        }
        let order = &self.order;
        Some(Drive {
            order: Order {
                record: take(&order.record, &distinct),
                machine: take(&order.machine, &distinct),
                machines: order.machines.clone(),
                time_s: take(&order.time_s, &distinct),
                status: take(&order.status, &distinct),
                repeated: vec![false; distinct.len()],
                typical_interval_s: order.typical_interval_s,
                ..Order::default()
            },
            east_m: take(&self.east_m, &distinct),
            north_m: take(&self.north_m, &distinct),
            heading_deg: take(&self.heading_deg, &distinct),
            distance_m: take(&self.distance_m, &distinct),
            interval_s: take(&self.interval_s, &distinct),
            speed_m_s: take(&self.speed_m_s, &distinct),
            width_m: take(&self.width_m, &distinct),
            flow_kg_s: take(&self.flow_kg_s, &distinct),
            moisture_pct: take(&self.moisture_pct, &distinct),
            header_down: take(&self.header_down, &distinct),
            logged_pass: self.logged_pass.as_ref().map(|pass| take(pass, &distinct)),
            piece: take(&self.piece, &distinct),
            derived: Vec::new(),
            ..*self
        })
    }

    /// The way back from driving order to the order of the files.
    pub(crate) fn back_to_log(&self) -> BackToLog<'_> {
        BackToLog {
            record: &self.order.record,
        }
    }
}

/// From driving order back to the order of the files.
pub(crate) struct BackToLog<'a> {
    record: &'a [u32],
}

impl BackToLog<'_> {
    pub(crate) fn column<T: Copy>(&self, values: &[T], empty: T) -> Vec<T> {
        let mut column = vec![empty; self.record.len()];
        for (&record, &value) in self.record.iter().zip(values) {
            column[record as usize] = value;
        }
        column
    }

    pub(crate) fn numbers(&self, values: &[f64]) -> Vec<f64> {
        self.column(values, f64::NAN)
    }
}
