//! Zones from drawn polygons: which of them the middle of each footprint lies in, through a tree of the
//! polygons' boxes and, within a polygon, a tree of its edges.

use super::{NO_ZONE, ZoneColumn};
use crate::crs::CrsError;
use crate::local_plane::LocalPlane;
use crate::strip_ground::project;
use checkstrip_model::{CleanLog, ZoneSet};
use geo::algorithm::indexed::IntervalTreeMultiPolygon;
use geo::orient::Direction;
use geo::{BoundingRect, Contains, Coord, MultiPolygon, Orient};
use rayon::prelude::*;
use rstar::RTree;
use rstar::primitives::{GeomWithData, Rectangle};

/// The zone of every record that cut ground; polygons of one name are one zone, and zones are in the
/// order in which their names first appear.
///
/// The middle of a footprint exactly on an edge lies in no polygon. Where polygons of several zones
/// overlap, the first in the file counts. Complexity: records × log(corners).
///
/// # Errors
/// When a corner cannot be projected.
pub fn drawn_zones(
    log: &CleanLog,
    set: &ZoneSet,
    plane: &LocalPlane,
) -> Result<ZoneColumn, CrsError> {
    let mut names: Vec<String> = Vec::new();
    let mut grounds: Vec<(u16, IntervalTreeMultiPolygon<f64>)> = Vec::new();
    let mut boxes = Vec::new();
    for zone in &set.zones {
        let place = names
            .iter()
            .position(|name| *name == zone.name)
            .unwrap_or_else(|| {
                names.push(zone.name.clone());
                names.len() - 1
            });
        // Rings wind around what is inside, holes the other way: the tree counts windings.
        let ground: MultiPolygon<f64> = project(&zone.ground, plane)?.orient(Direction::Default);
        let Some(bounds) = ground.bounding_rect() else {
            continue;
        };
        let bounds = Rectangle::from_corners(
            [bounds.min().x, bounds.min().y],
            [bounds.max().x, bounds.max().y],
        );
        boxes.push(GeomWithData::new(bounds, grounds.len()));
        grounds.push((place as u16, IntervalTreeMultiPolygon::new(&ground)));
    }
    let boxes = RTree::bulk_load(boxes);
    let found: Vec<(u16, bool)> = (0..log.len())
        .into_par_iter()
        .map_init(Vec::new, |hits, record| {
            let middle = log.footprint_middle(record);
            if log.pass[record] == 0 || middle.iter().any(|m| !m.is_finite()) {
                return (NO_ZONE, false);
            }
            let [x, y] = middle;
            hits.clear();
            hits.extend(
                boxes
                    .locate_all_at_point(&middle)
                    .map(|found| found.data)
                    .filter(|&place| grounds[place].1.contains(&Coord { x, y })),
            );
            let first = hits.iter().min().map_or(NO_ZONE, |&place| grounds[place].0);
            (first, hits.iter().any(|&place| grounds[place].0 != first))
        })
        .collect();
    let several = found
        .iter()
        .enumerate()
        .filter(|(_, (_, several))| *several);
    Ok(ZoneColumn {
        names,
        several: several.map(|(record, _)| record as u32).collect(),
        of_record: found.iter().map(|(zone, _)| *zone).collect(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use checkstrip_model::{Status, Zone};
    use geo::{LineString, Polygon};

    fn plane() -> LocalPlane {
        LocalPlane::around(-40.0, 43.0).unwrap()
    }

    /// A square from `low` to `high` m of the plane, in longitude and latitude, wound either way.
    fn square(low: f64, high: f64, turned: bool) -> LineString<f64> {
        let mut corners = [
            [low, low],
            [high, low],
            [high, high],
            [low, high],
            [low, low],
        ];
        if turned {
            corners.reverse();
        }
        plane().points_to_lon_lat(&mut corners).unwrap();
        corners.map(|[x, y]| Coord { x, y }).into_iter().collect()
    }

    fn log(middles: &[f64]) -> CleanLog {
        CleanLog {
            east_m: middles.to_vec(),
            north_m: middles.iter().map(|at| at + 1.0).collect(),
            heading_deg: vec![0.0; middles.len()],
            distance_m: vec![2.0; middles.len()],
            pass: vec![1; middles.len()],
            status: vec![Status::Kept; middles.len()],
            ..CleanLog::default()
        }
    }

    #[test]
    fn holes_overlaps_and_ground_outside() {
        let zone = |name: &str, polygon| Zone {
            name: name.into(),
            ground: MultiPolygon::new(vec![polygon]),
            row: 1,
        };
        for turned in [false, true] {
            let ring = Polygon::new(square(0.0, 100.0, turned), vec![square(40.0, 60.0, turned)]);
            let set = ZoneSet {
                zones: vec![
                    zone("loam", ring),
                    zone("clay", Polygon::new(square(90.0, 200.0, turned), vec![])),
                    zone("loam", Polygon::new(square(45.0, 55.0, turned), vec![])),
                ],
                ..ZoneSet::default()
            };
            let log = log(&[20.0, 42.0, 50.0, 95.0, 150.0, 250.0, f64::NAN]);
            let found = drawn_zones(&log, &set, &plane()).unwrap();
            assert_eq!(found.names, ["loam", "clay"]);
            let expected = [0, NO_ZONE, 0, 0, 1, NO_ZONE, NO_ZONE];
            assert_eq!(found.of_record, expected);
            assert_eq!(found.several, [3]);
        }
    }

    #[test]
    fn zones_that_are_not_kept_are_no_zone() {
        let mut column = ZoneColumn {
            names: vec!["a".into(), "b".into(), "c".into()],
            of_record: vec![0, 1, 2, NO_ZONE],
            several: vec![],
        };
        column.retain(|zone| zone != 1);
        assert_eq!(column.names, ["a", "c"]);
        assert_eq!(column.of_record, [0, NO_ZONE, 1, NO_ZONE]);
        assert_eq!(column.zone(2), Some(1));
    }
}
