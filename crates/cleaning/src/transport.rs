//! Grain back to the ground it grew on. What the sensor saw between two moments was cut one grain
//! delay earlier; the grain of a record's ground is therefore the sensor's flow summed over the
//! record's own interval, moved by the delay. Sums, not single readings, are moved, so that no grain
//! is lost or counted twice when the delay is not a whole number of records.
//!
//! The shift is that of Birrell, S. J., Sudduth, K. A. and Borgelt, S. C. (1996), *Comparison of
//! sensors and techniques for crop yield mapping*, Computers and Electronics in Agriculture 14,
//! 215–233.

use crate::drive::Drive;

/// Grain of one record's ground.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Grain {
    /// Known: wet mass, kg, and its moisture, percent (`NaN` when no moisture reading is believed).
    Known { wet_kg: f64, moisture_pct: f64 },
    /// The machine was not logging when this grain passed the sensor.
    NotLogged,
    /// It was logging, but the reading is not believed.
    NotBelieved,
}

/// At least this share of a record's shifted interval must be covered by logging, and of that by
/// believed readings.
const LEAST_COVER: f64 = 0.5;

/// Running totals of one machine's log at the end of each record, with silences in between.
#[derive(Default)]
struct Totals {
    start_s: Vec<f64>,
    end_s: Vec<f64>,
    /// Up to the end of each record: time logged, time with believed flow, grain; and time with
    /// believed moisture, moisture × time.
    sums: Vec<[f64; 5]>,
}

impl Totals {
    fn push(&mut self, start_s: f64, end_s: f64, flow: Option<f64>, moisture: Option<f64>) {
        let length = end_s - start_s;
        let mut sum = self.sums.last().copied().unwrap_or_default();
        sum[0] += length;
        if let Some(flow) = flow {
            sum[1] += length;
            sum[2] += flow * length;
        }
        if let Some(moisture) = moisture {
            sum[3] += length;
            sum[4] += moisture * length;
        }
        self.start_s.push(start_s);
        self.end_s.push(end_s);
        self.sums.push(sum);
    }

    /// The totals at a moment; `from` is where the search may start and is moved forward.
    fn at(&self, moment: f64, from: &mut usize) -> [f64; 5] {
        while *from < self.end_s.len() && self.end_s[*from] < moment {
            *from += 1;
        }
        let before = if *from == 0 {
            [0.0; 5]
        } else {
            self.sums[*from - 1]
        };
        let Some(&start) = self.start_s.get(*from) else {
            return before;
        };
        if moment <= start {
            return before;
        }
        let share = (moment - start) / (self.end_s[*from] - start);
        let after = self.sums[*from];
        std::array::from_fn(|i| before[i] + share * (after[i] - before[i]))
    }
}

/// Grain of the ground of each record in driving order, for a sensor that lags the header by
/// `delay_s` (negative: the log was moved too far already).
///
/// `believed_flow` and `believed_moisture` say which readings count. Each machine's grain is its
/// own. Linear in the number of records.
pub(crate) fn grain_on_its_ground(
    drive: &Drive,
    delay_s: f64,
    believed_flow: &[bool],
    believed_moisture: &[bool],
) -> Vec<Grain> {
    let order = &drive.order;
    let n = drive.len();
    let mut grain = Vec::with_capacity(n);
    let mut from = 0;
    while from < n {
        let to = (from..n)
            .find(|&at| order.machine[at] != order.machine[from])
            .unwrap_or(n);
        let mut totals = Totals::default();
        let mut clock = f64::NEG_INFINITY;
        for at in from..to {
            if order.status[at] == checkstrip_model::Status::Time {
                continue;
            }
            let end = order.time_s[at];
            let start = interval_start(drive, at).max(clock);
            if end > start {
                let flow = believed_flow[at].then(|| drive.flow_kg_s[at]);
                let moisture = believed_moisture[at].then(|| drive.moisture_pct[at]);
                totals.push(start, end, flow, moisture);
                clock = end;
            }
        }
        let (mut low, mut high) = (0, 0);
        for at in from..to {
            let end = order.time_s[at] + delay_s;
            let start = interval_start(drive, at) + delay_s;
            let length = end - start;
            let (a, b) = (totals.at(start, &mut low), totals.at(end, &mut high));
            let sum: [f64; 5] = std::array::from_fn(|i| b[i] - a[i]);
            grain.push(if length.is_nan() || length <= 0.0 {
                Grain::NotBelieved
            } else if sum[0] < LEAST_COVER * length {
                Grain::NotLogged
            } else if sum[1] <= LEAST_COVER * sum[0] {
                Grain::NotBelieved
            } else {
                let moisture_pct = if sum[3] > LEAST_COVER * sum[0] {
                    sum[4] / sum[3]
                } else {
                    f64::NAN
                };
                Grain::Known {
                    wet_kg: sum[2] / sum[1] * length,
                    moisture_pct,
                }
            });
        }
        from = to;
    }
    grain
}

/// When a record's interval began.
fn interval_start(drive: &Drive, at: usize) -> f64 {
    let interval = drive.interval_s[at];
    let interval = if interval > 0.0 {
        interval
    } else {
        drive.order.typical_interval_s
    };
    drive.order.time_s[at] - interval
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::order::Order;
    use checkstrip_model::Status;

    fn drive(flow: &[f64]) -> Drive {
        let n = flow.len();
        Drive {
            order: Order {
                record: (0..n as u32).collect(),
                machine: vec![0; n],
                time_s: (1..=n).map(|t| t as f64).collect(),
                status: vec![Status::Kept; n],
                typical_interval_s: 1.0,
                ..Order::default()
            },
            interval_s: vec![1.0; n],
            flow_kg_s: flow.to_vec(),
            moisture_pct: vec![14.0; n],
            ..Drive::default()
        }
    }

    fn masses(grain: &[Grain]) -> Vec<f64> {
        grain
            .iter()
            .map(|g| match g {
                Grain::Known { wet_kg, .. } => *wet_kg,
                _ => f64::NAN,
            })
            .collect()
    }

    #[test]
    fn whole_and_half_shifts_keep_the_grain() {
        let flow = [0., 0., 4., 4., 2., 0., 0., 0.];
        let drive = drive(&flow);
        let all = vec![true; flow.len()];
        let whole = masses(&grain_on_its_ground(&drive, 2.0, &all, &all));
        assert_eq!(whole[..6], [4., 4., 2., 0., 0., 0.]);
        assert!(whole[6].is_nan() && whole[7].is_nan());
        let half = masses(&grain_on_its_ground(&drive, 1.5, &all, &all));
        assert_eq!(half[..5], [2., 4., 3., 1., 0.]);
        let back = masses(&grain_on_its_ground(&drive, -1.0, &all, &all));
        assert_eq!(back[1..], flow[..7]);
    }

    #[test]
    fn a_reading_not_believed_leaves_its_ground_unknown() {
        let drive = drive(&[3., 3., 90., 3., 3.]);
        let mut believed = vec![true; 5];
        believed[2] = false;
        let grain = grain_on_its_ground(&drive, 1.0, &believed, &[true; 5]);
        assert_eq!(grain[1], Grain::NotBelieved);
        assert_eq!(grain[4], Grain::NotLogged);
        assert_eq!(masses(&grain)[0], 3.0);
    }
}
