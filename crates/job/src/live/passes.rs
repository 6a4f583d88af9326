//! The passes of a field for whoever draws on it: what to pick one by, and edges and middle lines to
//! draw along.

use super::LiveField;
use crate::strips::driven_bounds;
use checkstrip_model::{CleanLog, Column};
use checkstrip_spatial::pass_direction::pass_direction;
use geo::{LineString, Simplify};
use rayon::prelude::*;
use serde::Serialize;

/// Corners are left out where a line moves by less, m.
const STRAIGHT_M: f64 = 0.1;

/// One pass.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PassSummary {
    /// Its number, from 1.
    pub number: u32,
    /// Its first record in driving order, from 0.
    pub first: usize,
    /// Records from there to its last one.
    pub count: usize,
    /// First and last moment, s; `None` where the log has none.
    pub time_s: [Option<f64>; 2],
    /// Place of its machine among the machines.
    pub machine: usize,
    /// From its first to its last record, degrees clockwise from north.
    pub direction_deg: f64,
    /// Ground travelled, m.
    pub length_m: f64,
}

/// Lines of one pass in the plane, m east and north.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PassEdges {
    /// The number of the pass.
    pub number: u32,
    /// Edge of the cut ground to the left of the travel.
    pub left: Vec<[f64; 2]>,
    /// Edge to the right.
    pub right: Vec<[f64; 2]>,
    /// Middle line.
    pub centre: Vec<[f64; 2]>,
}

impl LiveField {
    /// West, south, east and north end of the ground that was cut, m in the plane.
    pub fn extent(&self) -> [f64; 4] {
        driven_bounds(&self.first.outcome.log)
    }

    /// The way most passes run, degrees clockwise from north; `None` when nothing was cut.
    pub fn direction_deg(&self) -> Option<f64> {
        pass_direction(&self.first.outcome.log).map(|found| found.direction_deg)
    }

    /// The usual width of the header, m; `None` when nothing was cut.
    pub fn header_width_m(&self) -> Option<f64> {
        let log = &self.first.outcome.log;
        let cutting = (0..log.len()).filter(|&record| log.pass[record] > 0);
        let mut widths: Vec<f64> = cutting.map(|record| log.width_m[record]).collect();
        let middle = widths.len() / 2;
        (!widths.is_empty()).then(|| *widths.select_nth_unstable_by(middle, f64::total_cmp).1)
    }

    /// The passes, in driving order.
    pub fn passes(&self) -> Vec<PassSummary> {
        let log = &self.first.outcome.log;
        let order = self.driving_order();
        let time = log.log.numbers(Column::Timestamp);
        let machine = log.log.labels(Column::Machine);
        let machines = &self.first.outcome.machines;
        let one = |(number, first, last): &(u32, usize, usize)| {
            let records = &order[*first..=*last];
            let of_pass = || {
                let records = records.iter().map(|&record| record as usize);
                records.filter(|&record| log.pass[record] == *number)
            };
            let moment = |record: usize| {
                let time = time.map(|time| time[record]);
                time.filter(|time| time.is_finite())
            };
            let (from, to) = (order[*first] as usize, order[*last] as usize);
            let [east, north] = [
                log.east_m[to] - log.east_m[from],
                log.north_m[to] - log.north_m[from],
            ];
            let named = machine.map(|names| names.name(from));
            PassSummary {
                number: *number,
                first: *first,
                count: records.len(),
                time_s: [moment(from), moment(to)],
                machine: named
                    .and_then(|name| machines.iter().position(|machine| machine == name))
                    .unwrap_or(0),
                direction_deg: match from == to {
                    true => log.heading_deg[from],
                    false => east.atan2(north).to_degrees().rem_euclid(360.0),
                },
                length_m: of_pass()
                    .map(|record| log.distance_m[record])
                    .filter(|metres| metres.is_finite())
                    .sum(),
            }
        };
        self.pass_spans().iter().map(one).collect()
    }

    /// Edges and middle lines of the passes, straightened within 0.1 m.
    pub fn pass_edges(&self) -> Vec<PassEdges> {
        let log = &self.first.outcome.log;
        let order = self.driving_order();
        let spans = self.pass_spans();
        let one = |(number, first, last): &(u32, usize, usize)| {
            let records = order[*first..=*last].iter().map(|&record| record as usize);
            let records: Vec<usize> = records
                .filter(|&record| log.pass[record] == *number && has_ground(log, record))
                .collect();
            let along = |line: Side| {
                let mut points = Vec::with_capacity(records.len() + 1);
                for (at, &record) in records.iter().enumerate() {
                    let [rear, front] = line(&log.footprint(record));
                    if at == 0 {
                        points.push(rear);
                    }
                    points.push(front);
                }
                straightened(points)
            };
            PassEdges {
                number: *number,
                left: along(|corners| [corners[3], corners[2]]),
                right: along(|corners| [corners[0], corners[1]]),
                centre: along(|corners| {
                    [
                        middle(corners[3], corners[0]),
                        middle(corners[2], corners[1]),
                    ]
                }),
            }
        };
        spans.par_iter().map(one).collect()
    }

    /// Number, first and last place in driving order of every pass.
    fn pass_spans(&self) -> Vec<(u32, usize, usize)> {
        let log = &self.first.outcome.log;
        let mut spans: Vec<(u32, usize, usize)> = Vec::new();
        for (place, &record) in self.driving_order().iter().enumerate() {
            match (log.pass[record as usize], spans.last_mut()) {
                (0, _) => {}
                (number, Some(last)) if last.0 == number => last.2 = place,
                (number, _) => spans.push((number, place, place)),
            }
        }
        spans
    }

    pub(super) fn driving_order(&self) -> &[u32] {
        &self.first.outcome.driving_order
    }
}

/// Of a footprint's corners, the rear and the front end of a line along it.
type Side = fn(&[[f64; 2]; 4]) -> [[f64; 2]; 2];

fn middle(a: [f64; 2], b: [f64; 2]) -> [f64; 2] {
    [(a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0]
}

fn has_ground(log: &CleanLog, record: usize) -> bool {
    log.footprint_m2[record] > 0.0 && log.east_m[record].is_finite()
}

/// Corners to the millimetre, finer than which no edge is known.
fn straightened(points: Vec<[f64; 2]>) -> Vec<[f64; 2]> {
    let line: LineString<f64> = points.into_iter().map(geo::Coord::from).collect();
    let millimetres = |metres: f64| (metres * 1e3).round() / 1e3;
    line.simplify(STRAIGHT_M)
        .coords()
        .map(|corner| [millimetres(corner.x), millimetres(corner.y)])
        .collect()
}
