//! Grain and ground of the strips in short slices along their direction, for the comparison along the
//! strips. Slices of all strips lie side by side: they are cut across the field's common direction,
//! each record going whole to the slice that holds the middle of its footprint.

use crate::cells::{direction_of, strip_direction};
use crate::compass::compass;
use crate::overlay::Overlay;
use crate::strip_ground::StripField;
use checkstrip_model::CleanLog;

/// Strips that run this far off the common direction have no place along it: at 20° a slice already
/// cuts them aslant by a third of their width.
const MOST_OFF_RAD: f64 = 20.0 * std::f64::consts::PI / 180.0;

/// The line along which distances on the strips count.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StripAxis {
    /// Direction in which they grow, radians clockwise from north of the plane.
    pub direction_rad: f64,
    /// Where 0 lies: east × sin + north × cos of the direction, m.
    pub start_m: f64,
}

impl StripAxis {
    /// Distance of a point of the plane (east, north, m) from the beginning, m.
    pub fn distance_m(&self, [east, north]: [f64; 2]) -> f64 {
        let (sin, cos) = self.direction_rad.sin_cos();
        east * sin + north * cos - self.start_m
    }

    /// The end of the field where distances begin, as a compass point.
    pub fn begins_in(&self) -> &'static str {
        compass(self.direction_rad.to_degrees() + 180.0)
    }
}

/// What was harvested on one slice of a strip.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct StripSlice {
    /// Newly harvested ground of kept records inside the inset strip, m².
    pub area_m2: f64,
    /// Grain from that ground at market moisture, kg.
    pub dry_mass_kg: f64,
}

/// Where the strips were harvested, along their common direction.
#[derive(Debug, Clone, PartialEq)]
pub struct HarvestAlong {
    /// The common direction, radians clockwise from north of the plane, 0 to π.
    pub direction_rad: f64,
    /// For each strip the first and the last middle of a footprint, as east × sin + north × cos, m;
    /// `None` for strips without a kept record and for those that run another way.
    pub spans_m: Vec<Option<[f64; 2]>>,
    /// Strips that run another way.
    pub other_ways: usize,
}

impl HarvestAlong {
    /// Finds the spans of all strips. Cost: one look at every part of the overlay.
    pub fn new(log: &CleanLog, field: &StripField, overlay: &Overlay) -> HarvestAlong {
        let direction_rad = strip_direction(field);
        let runs_along: Vec<bool> = field
            .strips
            .iter()
            .map(|strip| {
                direction_of(strip)
                    .is_none_or(|own| (own - direction_rad).cos().abs() >= MOST_OFF_RAD.cos())
            })
            .collect();
        let axis = StripAxis {
            direction_rad,
            start_m: 0.0,
        };
        let mut spans_m = vec![None; field.strips.len()];
        for part in overlay.kept_parts(log) {
            let place = axis.distance_m(log.footprint_middle(part.record));
            if runs_along[part.strip] && place.is_finite() {
                let [low, high] = spans_m[part.strip].unwrap_or([place; 2]);
                spans_m[part.strip] = Some([low.min(place), high.max(place)]);
            }
        }
        HarvestAlong {
            direction_rad,
            spans_m,
            other_ways: runs_along.iter().filter(|along| !**along).count(),
        }
    }

    /// Median length of the strips as harvested, m; `NaN` without a strip.
    pub fn strip_length_m(&self) -> f64 {
        let spans = self.spans_m.iter().flatten();
        let mut lengths: Vec<f64> = spans.map(|[low, high]| high - low).collect();
        lengths.sort_unstable_by(f64::total_cmp);
        lengths.get(lengths.len() / 2).copied().unwrap_or(f64::NAN)
    }

    /// Slices `slice_m` long over the whole harvest, what is left over shared by both ends, and the
    /// axis on which their distances count. For each strip one row of slices, all of one length; strips
    /// that run another way hold nothing. Sums are made in the order of the records.
    pub fn slices(
        &self,
        log: &CleanLog,
        overlay: &Overlay,
        slice_m: f64,
    ) -> (StripAxis, Vec<Vec<StripSlice>>) {
        let spans = self.spans_m.iter().flatten();
        let (low, high) = spans.fold((f64::INFINITY, f64::NEG_INFINITY), |ends, span| {
            (ends.0.min(span[0]), ends.1.max(span[1]))
        });
        let length = (high - low).max(0.0);
        let count = (length / slice_m).ceil().max(1.0);
        let axis = StripAxis {
            direction_rad: self.direction_rad,
            start_m: (low + high - count * slice_m) / 2.0,
        };
        let mut slices = vec![vec![StripSlice::default(); count as usize]; self.spans_m.len()];
        for part in overlay.kept_parts(log) {
            if self.spans_m[part.strip].is_none() {
                continue;
            }
            let place = axis.distance_m(log.footprint_middle(part.record)) / slice_m;
            // The last middle lies on the end of the last slice when the slices fit exactly.
            let slice = &mut slices[part.strip][(place as usize).min(count as usize - 1)];
            slice.area_m2 += part.area_m2;
            slice.dry_mass_kg += part.mass_kg;
        }
        (axis, slices)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::local_plane::LocalPlane;
    use crate::overlay::overlay;
    use crate::strip_sums::strip_sums;
    use checkstrip_model::{Status, Strip, StripSet};
    use geo::{LineString, MultiPolygon, Polygon};

    /// Passes 10 m wide that run north in a plane, one a strip, of so many records of 2 m each.
    fn log(passes: usize, records: usize) -> CleanLog {
        let mut log = CleanLog::default();
        for pass in 0..passes {
            for record in 0..records {
                log.east_m.push(5.0 + 10.0 * pass as f64);
                log.north_m.push(2.0 * (record + 1) as f64);
                log.heading_deg.push(0.0);
                log.distance_m.push(2.0);
                log.width_m.push(10.0);
                log.pass.push(pass as u32 + 1);
                log.status.push(Status::Kept);
                log.footprint_m2.push(20.0);
                log.overlap_m2.push(0.0);
                log.moisture_pct.push(13.0);
                log.yield_kg_ha
                    .push(3000.0 + 7.0 * record as f64 + 100.0 * pass as f64);
            }
        }
        log
    }

    /// Strips with these corners in the plane.
    fn strips(corners: &[Vec<[f64; 2]>]) -> StripField {
        let plane = LocalPlane::around(-93.5, 42.0).unwrap();
        let strips = corners.iter().enumerate().map(|(place, corners)| {
            let (east, north): (Vec<f64>, Vec<f64>) = corners.iter().map(|c| (c[0], c[1])).unzip();
            let (lon, lat) = plane.to_lon_lat(&east, &north).unwrap();
            let ring: LineString<f64> = lon.into_iter().zip(lat).map(geo::Coord::from).collect();
            Strip {
                strip_id: place.to_string(),
                treatment: ["check", "rolled"][place % 2].to_owned(),
                block: Some((place / 2).to_string()),
                ground: MultiPolygon::new(vec![Polygon::new(ring, vec![])]),
                row: place as u32 + 1,
            }
        });
        let set = StripSet {
            strips: strips.collect(),
            ..StripSet::default()
        };
        StripField::new(&set, &plane, 0.0).unwrap()
    }

    fn rectangle(west: f64, south: f64, east: f64, north: f64) -> Vec<[f64; 2]> {
        vec![
            [west, south],
            [east, south],
            [east, north],
            [west, north],
            [west, south],
        ]
    }

    /// Law: the slices of a strip add up to the strip.
    #[test]
    fn slices_add_up_to_the_strips() {
        let log = log(3, 150);
        let field = strips(&[
            rectangle(0.0, 0.0, 10.0, 300.0),
            rectangle(10.0, 30.0, 20.0, 290.0),
            rectangle(20.0, 0.0, 30.0, 250.0),
        ]);
        let overlay = overlay(&log, &field);
        let harvest = HarvestAlong::new(&log, &field, &overlay);
        let (axis, slices) = harvest.slices(&log, &overlay, 20.0);
        assert_eq!((axis.begins_in(), harvest.other_ways), ("south", 0));
        assert!((harvest.strip_length_m() - 260.0).abs() < 3.0);
        for (sum, slices) in strip_sums(&log, &field, &overlay).iter().zip(&slices) {
            assert_eq!(slices.len(), 15);
            let area: f64 = slices.iter().map(|slice| slice.area_m2).sum();
            let mass: f64 = slices.iter().map(|slice| slice.dry_mass_kg).sum();
            assert!((area - sum.area_m2).abs() < 1e-6 && (mass - sum.dry_mass_kg).abs() < 1e-6);
        }
        // 298 m between the first and the last middle: 1 m is left over at either end.
        let places = [axis.distance_m([0.0, 0.0]), axis.distance_m([99.0, 300.0])];
        assert!(
            (places[0] - 0.0).abs() < 0.01 && (places[1] - 300.0).abs() < 0.01,
            "{places:?}"
        );
    }

    #[test]
    fn rings_drawn_the_other_way_round_change_nothing() {
        let log = log(2, 100);
        let mut corners = vec![
            rectangle(0.0, 0.0, 10.0, 200.0),
            rectangle(10.0, 0.0, 20.0, 200.0),
        ];
        let found = |corners: &[Vec<[f64; 2]>]| {
            let field = strips(corners);
            let overlay = overlay(&log, &field);
            let harvest = HarvestAlong::new(&log, &field, &overlay);
            let (axis, slices) = harvest.slices(&log, &overlay, 20.0);
            (axis.begins_in(), slices)
        };
        let there = found(&corners);
        corners.iter_mut().for_each(|ring| ring.reverse());
        let back = found(&corners);
        assert_eq!(there.0, back.0);
        for (there, back) in there.1.iter().flatten().zip(back.1.iter().flatten()) {
            assert!((there.area_m2 - back.area_m2).abs() < 1e-6);
        }
    }

    #[test]
    fn strips_that_run_another_way_and_strips_of_one_record_are_survived() {
        let log = log(4, 100);
        let field = strips(&[
            rectangle(0.0, 0.0, 10.0, 200.0),
            rectangle(10.0, 0.0, 20.0, 200.0),
            rectangle(20.0, 100.0, 40.0, 102.0),
            rectangle(900.0, 0.0, 910.0, 200.0),
        ]);
        let overlay = overlay(&log, &field);
        let harvest = HarvestAlong::new(&log, &field, &overlay);
        assert_eq!(
            (harvest.other_ways, harvest.spans_m[2], harvest.spans_m[3]),
            (1, None, None)
        );
        let (_, slices) = harvest.slices(&log, &overlay, 20.0);
        assert!(
            slices[2]
                .iter()
                .chain(&slices[3])
                .all(|slice| slice.area_m2 == 0.0)
        );

        let one = HarvestAlong::new(&CleanLog::default(), &field, &Overlay::default());
        assert!(one.strip_length_m().is_nan());
        let single = self::log(1, 1);
        let overlay = self::overlay(&single, &field);
        let harvest = HarvestAlong::new(&single, &field, &overlay);
        assert_eq!(harvest.strip_length_m(), 0.0);
        assert_eq!(harvest.slices(&single, &overlay, 20.0).1[0].len(), 1);
    }
}
