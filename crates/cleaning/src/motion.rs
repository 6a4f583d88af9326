//! Heading, distance, speed, interval and header state where the log lacks them, from positions
//! and times. Everything the log does carry is left as it is.

use checkstrip_model::Status;

/// Columns in driving order that motion is derived from.
pub(crate) struct Places<'a> {
    pub east_m: &'a [f64],
    pub north_m: &'a [f64],
    pub time_s: &'a [f64],
    /// Number of the unbroken piece of driving each record belongs to.
    pub piece: &'a [u32],
    pub status: &'a [Status],
}

/// Steps shorter than this say nothing about the direction of travel, m.
const SHORTEST_STEP_M: f64 = 0.3;

impl Places<'_> {
    fn usable(&self, at: usize) -> bool {
        self.east_m[at].is_finite()
            && self.north_m[at].is_finite()
            && self.status[at] != Status::Position
    }

    fn step(&self, from: usize, to: usize) -> [f64; 2] {
        [
            self.east_m[to] - self.east_m[from],
            self.north_m[to] - self.north_m[from],
        ]
    }

    /// Nearest usable record of the same piece before (`-1`) or after (`1`) a record.
    fn neighbour(&self, at: usize, direction: isize) -> Option<usize> {
        let mut next = at;
        loop {
            next = next.checked_add_signed(direction)?;
            if next >= self.piece.len() || self.piece[next] != self.piece[at] {
                return None;
            }
            if self.usable(next) {
                return Some(next);
            }
        }
    }

    /// Direction of travel, degrees clockwise from the plane's north: from the record before to the
    /// one after, within the same unbroken piece of driving, so that a turn between two passes does
    /// not twist the last footprint of the one or the first of the other. A machine that stands
    /// keeps its heading.
    pub(crate) fn headings(&self) -> Vec<f64> {
        let mut headings = vec![f64::NAN; self.piece.len()];
        for at in 0..headings.len() {
            if self.usable(at) {
                let before = self.neighbour(at, -1).unwrap_or(at);
                let after = self.neighbour(at, 1).unwrap_or(at);
                let [east, north] = self.step(before, after);
                if east.hypot(north) >= SHORTEST_STEP_M {
                    headings[at] = east.atan2(north).to_degrees().rem_euclid(360.0);
                }
            }
        }
        fill_from_neighbours(&mut headings, self.piece);
        headings
    }

    /// Distance travelled since the record before, m; the first record of a piece takes the second
    /// one's.
    pub(crate) fn distances(&self) -> Vec<f64> {
        let mut distances = vec![f64::NAN; self.piece.len()];
        for at in 0..distances.len() {
            if self.usable(at)
                && let Some(before) = self.neighbour(at, -1)
            {
                let [east, north] = self.step(before, at);
                // Records in between that had no position share the way.
                distances[at] = east.hypot(north) / (at - before) as f64;
            }
        }
        for at in (0..distances.len().saturating_sub(1)).rev() {
            if distances[at].is_nan() && self.piece[at] == self.piece[at + 1] {
                distances[at] = distances[at + 1];
            }
        }
        distances
    }

    /// Time since the record before, s, at most `longest`; the first record of a piece gets
    /// `typical`.
    pub(crate) fn intervals(&self, typical: f64, longest: f64) -> Vec<f64> {
        (0..self.piece.len())
            .map(|at| {
                if at == 0 || self.piece[at - 1] != self.piece[at] {
                    typical
                } else {
                    (self.time_s[at] - self.time_s[at - 1]).min(longest)
                }
            })
            .collect()
    }
}

/// Gives records without a value that of the nearest earlier record of their piece, or else of the
/// nearest later one.
fn fill_from_neighbours(values: &mut [f64], piece: &[u32]) {
    for at in 1..values.len() {
        if values[at].is_nan() && piece[at] == piece[at - 1] {
            values[at] = values[at - 1];
        }
    }
    for at in (0..values.len().saturating_sub(1)).rev() {
        if values[at].is_nan() && piece[at] == piece[at + 1] {
            values[at] = values[at + 1];
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn heading_does_not_reach_across_a_break() {
        let places = Places {
            east_m: &[0., 0., 0., 9., 9., 9.],
            north_m: &[0., 2., 4., 4., 2., 0.],
            time_s: &[0., 1., 2., 30., 31., 32.],
            piece: &[0, 0, 0, 1, 1, 1],
            status: &[Status::Kept; 6],
        };
        assert_eq!(places.headings(), [0., 0., 0., 180., 180., 180.]);
        assert_eq!(places.distances(), [2.0; 6]);
        assert_eq!(places.intervals(1.0, 5.0), [1.0; 6]);
    }

    #[test]
    fn a_standing_machine_keeps_its_heading() {
        let places = Places {
            east_m: &[0., 2., 2., 2., 2., 4.],
            north_m: &[0.; 6],
            time_s: &[0., 1., 2., 3., 4., 5.],
            piece: &[0; 6],
            status: &[Status::Kept; 6],
        };
        assert_eq!(places.headings(), [90.0; 6]);
    }
}
