//! How much ground a map shows. One jumped position must not shrink the field to a dot, so the
//! extent is that of the bulk of the records, and of the strips as far as they lie on or near it.

use super::request::StripOutline;
use checkstrip_model::{CleanLog, Status};

/// At most this many records decide where the bulk of a log lies.
const SAMPLE: usize = 40_000;
/// Share of the records at each end that may lie away from the bulk.
const TAIL: f64 = 0.002;
/// The bulk is widened by this share of its span before anything outside it is cut off.
const MARGIN: f64 = 0.3;
/// Ground shown around the field, share of the longer side.
const PADDING: f64 = 0.015;

/// A rectangle of the local plane, m.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Extent {
    west: f64,
    south: f64,
    east: f64,
    north: f64,
}

impl Extent {
    /// What a sheet without any position is planned for.
    pub(super) const EMPTY: Extent = Extent {
        west: 0.0,
        south: 0.0,
        east: 100.0,
        north: 60.0,
    };

    const NOTHING: Extent = Extent {
        west: f64::INFINITY,
        south: f64::INFINITY,
        east: f64::NEG_INFINITY,
        north: f64::NEG_INFINITY,
    };

    pub(super) fn width(self) -> f64 {
        self.east - self.west
    }

    pub(super) fn height(self) -> f64 {
        self.north - self.south
    }

    pub(super) fn centre(self) -> (f64, f64) {
        (
            (self.west + self.east) / 2.0,
            (self.south + self.north) / 2.0,
        )
    }

    fn include(&mut self, [east, north]: [f64; 2]) {
        if east.is_finite() && north.is_finite() {
            self.west = self.west.min(east);
            self.east = self.east.max(east);
            self.south = self.south.min(north);
            self.north = self.north.max(north);
        }
    }

    fn holds(self, [east, north]: [f64; 2]) -> bool {
        east >= self.west && east <= self.east && north >= self.south && north <= self.north
    }

    fn is_nothing(self) -> bool {
        self.west > self.east
    }

    /// With ground around it, at least `least` m; `None` when there is nothing.
    fn padded(self, least: f64) -> Option<Extent> {
        let padding = (self.width().max(self.height()) * PADDING)
            .max(least)
            .max(5.0);
        (!self.is_nothing()).then(|| self.widened(padding, padding))
    }

    fn widened(self, by_east: f64, by_north: f64) -> Extent {
        Extent {
            west: self.west - by_east,
            south: self.south - by_north,
            east: self.east + by_east,
            north: self.north + by_north,
        }
    }
}

/// The ground all maps of a field show, so that they can be laid side by side; `None` when neither
/// a record nor a strip has a position.
pub(super) fn field_extent(log: &CleanLog, strips: &[StripOutline]) -> Option<Extent> {
    let found = match bulk_of_records(log) {
        Some(fence) => {
            let mut extent = Extent::NOTHING;
            for record in 0..log.len() {
                let position = [log.east_m[record], log.north_m[record]];
                if cuts_ground(log.status[record]) && fence.holds(position) {
                    extent.include(position);
                }
            }
            for point in strips.iter().flat_map(|strip| strip.rings.iter().flatten()) {
                if fence.holds(*point) {
                    extent.include(*point);
                }
            }
            extent
        }
        None => return extent_of(strips.iter().flat_map(|strip| strip.rings.iter().flatten())),
    };
    let half_header = log
        .width_m
        .iter()
        .copied()
        .find(|width| width.is_finite())
        .unwrap_or(0.0);
    found.padded(half_header)
}

/// The ground that holds all points, widened as maps are; `None` without a point.
pub(super) fn extent_of<'a>(points: impl Iterator<Item = &'a [f64; 2]>) -> Option<Extent> {
    let mut extent = Extent::NOTHING;
    points.for_each(|&point| extent.include(point));
    extent.padded(0.0)
}

/// The ground that holds the bulk of `points`, widened by `least` m at least; `None` without a point.
pub(super) fn extent_of_bulk(points: &[[f64; 2]], least: f64) -> Option<Extent> {
    let step = (points.len() / SAMPLE).max(1);
    let known = |point: &&[f64; 2]| point[0].is_finite() && point[1].is_finite();
    let sampled: Vec<&[f64; 2]> = points.iter().filter(known).step_by(step).collect();
    let of = |axis: usize| sampled.iter().map(|point| point[axis]).collect();
    let fence = fence(of(0), of(1))?;
    let mut extent = Extent::NOTHING;
    let near = points.iter().filter(|point| fence.holds(**point));
    near.for_each(|&point| extent.include(point));
    extent.padded(least)
}

/// Whether a record with this status stands for ground that was cut.
pub(super) fn cuts_ground(status: Status) -> bool {
    !matches!(status, Status::HeaderUp | Status::Position)
}

/// The range that holds all but the outermost records, widened.
fn bulk_of_records(log: &CleanLog) -> Option<Extent> {
    let usable = |record: &usize| {
        cuts_ground(log.status[*record])
            && log.east_m[*record].is_finite()
            && log.north_m[*record].is_finite()
    };
    let step = (log.len() / SAMPLE).max(1);
    let sampled: Vec<usize> = (0..log.len()).step_by(step).filter(usable).collect();
    let records = if sampled.is_empty() {
        (0..log.len()).filter(usable).collect()
    } else {
        sampled
    };
    let of = |values: &[f64]| records.iter().map(|&record| values[record]).collect();
    fence(of(&log.east_m), of(&log.north_m))
}

/// The range that holds all but the outermost places, widened.
fn fence(east_m: Vec<f64>, north_m: Vec<f64>) -> Option<Extent> {
    let (west, east) = tails(east_m)?;
    let (south, north) = tails(north_m)?;
    let bulk = Extent {
        west,
        south,
        east,
        north,
    };
    let margin = (bulk.width().max(bulk.height()) * MARGIN).max(50.0);
    Some(bulk.widened(margin, margin))
}

/// The values that [`TAIL`] of all values lie below and above.
fn tails(mut values: Vec<f64>) -> Option<(f64, f64)> {
    if values.is_empty() {
        return None;
    }
    let rank = ((values.len() - 1) as f64 * TAIL).ceil() as usize;
    let top = values.len() - 1 - rank;
    let high = *values.select_nth_unstable_by(top, f64::total_cmp).1;
    let low = *values.select_nth_unstable_by(rank, f64::total_cmp).1;
    Some((low.min(high), high.max(low)))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn log(positions: &[[f64; 2]]) -> CleanLog {
        CleanLog {
            east_m: positions.iter().map(|p| p[0]).collect(),
            north_m: positions.iter().map(|p| p[1]).collect(),
            status: vec![Status::Kept; positions.len()],
            ..CleanLog::default()
        }
    }

    #[test]
    fn a_jumped_position_does_not_widen_the_field() {
        let mut positions: Vec<[f64; 2]> = (0..2000)
            .map(|i| [f64::from(i % 100) * 4.0, f64::from(i / 100) * 10.0])
            .collect();
        positions.push([90_000.0, -4e6]);
        positions.push([f64::NAN, 3.0]);
        let extent = field_extent(&log(&positions), &[]).unwrap();
        assert!(
            extent.width() < 420.0 && extent.height() < 220.0,
            "{extent:?}"
        );
    }

    #[test]
    fn nothing_to_show_is_none() {
        assert_eq!(field_extent(&CleanLog::default(), &[]), None);
        assert_eq!(field_extent(&log(&[[f64::NAN, f64::NAN]]), &[]), None);
    }

    #[test]
    fn a_single_record_still_has_ground_around_it() {
        let extent = field_extent(&log(&[[3.0, 4.0]]), &[]).unwrap();
        assert!(extent.width() >= 10.0 && extent.height() >= 10.0);
    }
}
