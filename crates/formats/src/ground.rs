//! From the rings a file holds to the ground of a polygon: rings are closed, and what encloses no
//! certain ground is refused with what to do.

use checkstrip_model::Problem;
use geo::coordinate_position::CoordPos;
use geo::validation::{InvalidMultiPolygon, InvalidPolygon};
use geo::{Area, Coord, CoordinatePosition, LineString, MultiPolygon, Polygon, Validation};

use crate::feature::Feature;

/// More corners than any drawn strip has.
const MOST_CORNERS: usize = 100_000;

/// No reference system has coordinates beyond this, in metres, feet or degrees.
const FARTHEST: f64 = 1e9;

fn is_on_earth(ring: &[[f64; 2]]) -> bool {
    ring.iter().flatten().all(|value| value.abs() <= FARTHEST)
}

/// The ground of `feature`, in the file's coordinates.
///
/// # Errors
/// When a ring crosses itself, has no area or fewer than three corners, or parts overlap.
pub(crate) fn ground(file: &str, feature: &Feature) -> Result<MultiPolygon<f64>, Problem> {
    let refuse = |message: String, hint: &str| {
        Err(Problem::new(file, message).at_row(feature.row).hint(hint))
    };
    let corners: usize = feature.polygons.iter().flatten().map(Vec::len).sum();
    if corners == 0 {
        return refuse(
            "the polygon has no ring".into(),
            "draw it, or take the feature out",
        );
    }
    if corners > MOST_CORNERS {
        return refuse(
            format!("expected at most {MOST_CORNERS} corners, found {corners}"),
            "simplify the outline before saving it",
        );
    }
    let mut polygons = Vec::new();
    for rings in &feature.polygons {
        let mut closed = Vec::new();
        for ring in rings {
            if !is_on_earth(ring) {
                return refuse(
                    "a corner has no position, or none on Earth".into(),
                    "draw it again",
                );
            }
            let distinct = distinct_corners(ring);
            if distinct < 3 {
                return refuse(
                    format!("expected at least 3 distinct corners, found {distinct}"),
                    "draw it again, or take the feature out of the file",
                );
            }
            closed.push(close(ring));
        }
        let mut closed = closed.into_iter();
        let Some(outer) = closed.next() else { continue };
        let polygon = Polygon::new(outer, closed.collect());
        if is_line(polygon.exterior()) {
            return refuse(
                "the outline encloses no ground".into(),
                "its corners lie on one line: draw it again",
            );
        }
        polygons.push(polygon);
    }
    let ground = MultiPolygon::new(polygons);
    let Err(found) = ground.check_validation() else {
        return Ok(ground);
    };
    let (message, hint) = match found {
        InvalidMultiPolygon::InvalidPolygon(_, InvalidPolygon::SelfIntersection(_)) => (
            "the outline crosses or touches itself".to_owned(),
            "move the corners so that the outline goes around once, as a figure 0 and not 8",
        ),
        InvalidMultiPolygon::InvalidPolygon(_, polygon) => (
            format!("the rings do not fit together: {polygon}"),
            "draw holes inside the outline",
        ),
        InvalidMultiPolygon::ElementsOverlaps(..)
        | InvalidMultiPolygon::ElementsTouchOnALine(..) => (
            "parts of the polygon overlap or share an edge".to_owned(),
            "merge the parts into one outline",
        ),
    };
    refuse(message, hint)
}

/// The ground that polygons enclose, each an outer ring followed by its holes, in any one plane; `file` and
/// `row` are for the message.
///
/// # Errors
/// When a ring crosses itself, has no area or fewer than three corners, or parts overlap: what
/// [`read_strips`](crate::read_strips) refuses.
pub fn outline_ground(
    file: &str,
    row: u32,
    polygons: &[Vec<Vec<[f64; 2]>>],
) -> Result<MultiPolygon<f64>, Problem> {
    let feature = Feature {
        row,
        polygons: polygons.to_vec(),
        attributes: Vec::new(),
    };
    ground(file, &feature)
}

/// Whether all corners lie on one line.
fn is_line(ring: &LineString<f64>) -> bool {
    let [first, second, ..] = ring.0[..] else {
        return true;
    };
    let along = second - first;
    ring.0.iter().all(|&corner| {
        let across = corner - first;
        along.x * across.y == along.y * across.x
    })
}

/// The ring with its first corner again at its end and no corner twice in a row.
fn close(ring: &[[f64; 2]]) -> LineString<f64> {
    let mut corners: Vec<Coord<f64>> = ring.iter().map(|&[x, y]| Coord { x, y }).collect();
    corners.dedup();
    let mut line = LineString::new(corners);
    line.close();
    line
}

fn distinct_corners(ring: &[[f64; 2]]) -> usize {
    let mut corners: Vec<[u64; 2]> = ring.iter().map(|corner| corner.map(f64::to_bits)).collect();
    corners.sort_unstable();
    corners.dedup();
    corners.len()
}

/// Sorts loose rings into polygons with holes: a ring inside an odd number of others is a hole of
/// the smallest of these. (Which way round a ring runs is often wrong in files, so it is not asked.)
pub(crate) fn nest(rings: Vec<Vec<[f64; 2]>>) -> Vec<Vec<Vec<[f64; 2]>>> {
    // Corners that are nowhere are refused with their feature's number when its ground is made.
    if rings.len() < 2 || !rings.iter().all(|ring| is_on_earth(ring)) {
        return vec![rings];
    }
    let shapes: Vec<Polygon<f64>> = rings
        .iter()
        .map(|ring| Polygon::new(close(ring), vec![]))
        .collect();
    let around: Vec<Vec<usize>> = rings
        .iter()
        .enumerate()
        .map(|(inner, ring)| {
            (0..rings.len())
                .filter(|&outer| {
                    outer != inner
                        && shapes[outer].unsigned_area() > shapes[inner].unsigned_area()
                        && is_within(ring, &shapes[outer])
                })
                .collect()
        })
        .collect();
    let mut polygons: Vec<(usize, Vec<Vec<[f64; 2]>>)> = Vec::new();
    for (at, ring) in rings.iter().enumerate() {
        if around[at].len().is_multiple_of(2) {
            polygons.push((at, vec![ring.clone()]));
        }
    }
    for (at, ring) in rings.iter().enumerate() {
        if !around[at].len().is_multiple_of(2) {
            // The nearest ring around a hole is the one with most rings around itself.
            let nearest = around[at]
                .iter()
                .copied()
                .max_by_key(|&outer| around[outer].len());
            if let Some((_, polygon)) = polygons
                .iter_mut()
                .find(|(outer, _)| Some(*outer) == nearest)
            {
                polygon.push(ring.clone());
            }
        }
    }
    polygons.into_iter().map(|(_, polygon)| polygon).collect()
}

/// Whether `ring` lies in `shape`, judged by its first corner that is not on the outline.
fn is_within(ring: &[[f64; 2]], shape: &Polygon<f64>) -> bool {
    ring.iter()
        .map(|&[x, y]| shape.coordinate_position(&Coord { x, y }))
        .find(|position| *position != CoordPos::OnBoundary)
        == Some(CoordPos::Inside)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn feature(rings: &[&[[f64; 2]]]) -> Feature {
        let polygon = rings.iter().map(|ring| ring.to_vec()).collect();
        Feature {
            row: 3,
            polygons: vec![polygon],
            attributes: vec![],
        }
    }

    #[test]
    fn an_open_ring_is_closed() {
        let found = ground("a", &feature(&[&[[0.0, 0.0], [1.0, 0.0], [1.0, 1.0]]])).unwrap();
        assert_eq!(found.0[0].exterior().0.len(), 4);
        assert!((found.unsigned_area() - 0.5).abs() < 1e-12);
    }

    #[test]
    fn rings_that_enclose_no_certain_ground_are_refused() {
        let bow = ground(
            "a",
            &feature(&[&[[0.0, 0.0], [1.0, 1.0], [1.0, 0.0], [0.0, 1.0]]]),
        );
        let problem = bow.unwrap_err();
        assert_eq!(problem.row, Some(3));
        assert!(problem.message.contains("crosses"), "{problem}");
        let line = ground("a", &feature(&[&[[0.0, 0.0], [1.0, 1.0], [2.0, 2.0]]])).unwrap_err();
        assert!(line.message.contains("no ground"), "{line}");
        let two = ground("a", &feature(&[&[[0.0, 0.0], [1.0, 1.0], [0.0, 0.0]]])).unwrap_err();
        assert!(two.message.contains("found 2"), "{two}");
        let nan = ground("a", &feature(&[&[[0.0, 0.0], [1.0, f64::NAN], [0.0, 1.0]]]));
        assert!(nan.is_err());
        let leaning = &[[0.0, 0.0], [4.0, 0.0], [4.0, 4.0], [1.0, -1.0]];
        let crossing = ground("a", &feature(&[leaning])).unwrap_err();
        assert!(crossing.message.contains("crosses"), "{crossing}");
    }

    #[test]
    fn rings_are_nested_whichever_way_they_run() {
        let square = |at: f64, size: f64| {
            vec![
                [at, at],
                [at + size, at],
                [at + size, at + size],
                [at, at + size],
                [at, at],
            ]
        };
        let nested = nest(vec![square(2.0, 1.0), square(0.0, 10.0), square(20.0, 5.0)]);
        assert_eq!(nested.len(), 2);
        assert_eq!(nested[0].len(), 2);
        let island = nest(vec![square(0.0, 10.0), square(1.0, 8.0), square(2.0, 3.0)]);
        let nowhere = vec![[0.0, f64::NAN], [f64::INFINITY, 1.0], [1.0, 1e300]];
        assert_eq!(nest(vec![nowhere, square(0.0, 1.0)]).len(), 1);
        assert_eq!(island.iter().map(Vec::len).collect::<Vec<_>>(), [2, 1]);
    }
}
