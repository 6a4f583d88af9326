//! Strips on the ground: drawn polygons brought into the local plane, made narrower by the inset,
//! and prepared so that "how much of this footprint lies in this strip" is answered fast whether the
//! strip is a rectangle or a soil polygon of a thousand corners.

use crate::convex::{self, ClipScratch, Point};
use crate::crs::CrsError;
use crate::local_plane::LocalPlane;
use checkstrip_model::StripSet;
use geo::buffer::{BufferStyle, LineJoin};
use geo::{
    Area, BooleanOps, BoundingRect, Buffer, Coord, Intersects, LineString, MultiPolygon, Polygon,
};
use rstar::primitives::Line;
use rstar::{AABB, RTree};

/// A polygon ready for clipping.
#[derive(Debug)]
pub struct PreparedGround {
    polygon: MultiPolygon<f64>,
    exteriors: Vec<Vec<Point>>,
    holes: Vec<Vec<Point>>,
    bounds: [f64; 4],
    area_m2: f64,
    /// Only for grounds of many corners.
    edges: Option<RTree<Line<Point>>>,
}

/// From this many corners on, clipping every footprint is slower than asking a tree first.
const MANY_CORNERS: usize = 24;

impl PreparedGround {
    /// Prepares a polygon whose coordinates are metres of the local plane.
    pub fn new(polygon: MultiPolygon<f64>) -> PreparedGround {
        let ring = |line: &LineString<f64>| -> Vec<Point> {
            let open = &line.0[..line.0.len().saturating_sub(1)];
            open.iter().map(|c| [c.x, c.y]).collect()
        };
        let exteriors: Vec<_> = polygon.iter().map(|p| ring(p.exterior())).collect();
        let holes: Vec<_> = polygon
            .iter()
            .flat_map(|p| p.interiors().iter().map(ring))
            .collect();
        let bounds = convex::bounds_of_all(exteriors.iter().map(|r| convex::bounds(r)));
        let corners: usize = exteriors.iter().chain(&holes).map(Vec::len).sum();
        let edges = (corners > MANY_CORNERS).then(|| {
            RTree::bulk_load(
                exteriors
                    .iter()
                    .chain(&holes)
                    .flat_map(|r| (0..r.len()).map(|i| Line::new(r[i], r[(i + 1) % r.len()])))
                    .collect(),
            )
        });
        let area_m2 = polygon.unsigned_area();
        PreparedGround {
            polygon,
            exteriors,
            holes,
            bounds,
            area_m2,
            edges,
        }
    }

    /// The polygon.
    pub fn polygon(&self) -> &MultiPolygon<f64> {
        &self.polygon
    }

    /// West, south, east and north end, m.
    pub fn bounds(&self) -> [f64; 4] {
        self.bounds
    }

    /// Area, m².
    pub fn area_m2(&self) -> f64 {
        self.area_m2
    }

    /// Area of a convex footprint inside this ground, m².
    pub fn area_under(&self, footprint: &[Point; 4], scratch: &mut ClipScratch) -> f64 {
        let bounds = convex::bounds(footprint);
        if !convex::bounds_meet(&bounds, &self.bounds) {
            return 0.0;
        }
        if let Some(edges) = &self.edges {
            let window = AABB::from_corners([bounds[0], bounds[1]], [bounds[2], bounds[3]]);
            if edges
                .locate_in_envelope_intersecting(&window)
                .next()
                .is_none()
            {
                let [x, y] = footprint[0];
                let inside = self.polygon.intersects(&Coord { x, y });
                return if inside { convex::area(footprint) } else { 0.0 };
            }
        }
        let mut sum = |rings: &[Vec<Point>]| -> f64 {
            rings
                .iter()
                .map(|ring| scratch.area_inside(ring, footprint))
                .sum()
        };
        (sum(&self.exteriors) - sum(&self.holes)).max(0.0)
    }
}

/// One strip in the local plane.
#[derive(Debug)]
pub struct StripOnGround {
    /// As drawn.
    pub drawn: PreparedGround,
    /// Without the inset at its edges and without ground that another strip claims too.
    pub inset: PreparedGround,
    /// Place of its treatment in [`StripField::treatments`].
    pub treatment: usize,
}

/// All strips of a field in the local plane, in the order of the strips file.
#[derive(Debug)]
pub struct StripField {
    /// The strips.
    pub strips: Vec<StripOnGround>,
    /// The distinct treatments in order of appearance.
    pub treatments: Vec<String>,
    /// Pairs of strips that claim the same ground: their places and the shared area, m².
    pub overlapping: Vec<(usize, usize, f64)>,
}

/// Strips that share less than this are taken to touch: drawn edges seldom meet to the decimetre.
const TOUCHING_M2: f64 = 1.0;

impl StripField {
    /// Brings `set` into the plane and insets every strip by `inset_m` (0 or more).
    ///
    /// An inset that leaves nothing of a strip leaves it empty; the caller says so. Ground claimed
    /// by two strips is taken from the inset ground of both: nobody can say which treatment it had.
    ///
    /// # Errors
    /// When a corner cannot be projected.
    pub fn new(set: &StripSet, plane: &LocalPlane, inset_m: f64) -> Result<StripField, CrsError> {
        let mut treatments: Vec<String> = Vec::new();
        let mut drawn = Vec::with_capacity(set.strips.len());
        let mut treatment_of = Vec::with_capacity(set.strips.len());
        for strip in &set.strips {
            let place = treatments
                .iter()
                .position(|t| *t == strip.treatment)
                .unwrap_or_else(|| {
                    treatments.push(strip.treatment.clone());
                    treatments.len() - 1
                });
            treatment_of.push(place);
            drawn.push(project(&strip.ground, plane)?);
        }
        let mut inset: Vec<MultiPolygon<f64>> = drawn
            .iter()
            .map(|polygon| {
                if inset_m > 0.0 {
                    let style = BufferStyle::new(-inset_m).line_join(LineJoin::Miter(MITRE_ANGLE));
                    polygon.buffer_with_style(style)
                } else {
                    polygon.clone()
                }
            })
            .collect();
        let mut overlapping = Vec::new();
        for a in 0..drawn.len() {
            for b in a + 1..drawn.len() {
                let apart = match (drawn[a].bounding_rect(), drawn[b].bounding_rect()) {
                    (Some(one), Some(other)) => !one.intersects(&other),
                    _ => true,
                };
                if apart {
                    continue;
                }
                let shared = drawn[a].intersection(&drawn[b]);
                let area = shared.unsigned_area();
                if area > TOUCHING_M2 {
                    overlapping.push((a, b, area));
                    inset[a] = inset[a].difference(&shared);
                    inset[b] = inset[b].difference(&shared);
                }
            }
        }
        let strips = drawn
            .into_iter()
            .zip(inset)
            .zip(treatment_of)
            .map(|((drawn, inset), treatment)| StripOnGround {
                drawn: PreparedGround::new(drawn),
                inset: PreparedGround::new(inset),
                treatment,
            })
            .collect();
        Ok(StripField {
            strips,
            treatments,
            overlapping,
        })
    }
}

/// Corners sharper than this (radians) are cut off rather than kept pointed when a strip is inset.
const MITRE_ANGLE: f64 = 0.17;

/// Longitude and latitude to the plane.
pub(crate) fn project(
    ground: &MultiPolygon<f64>,
    plane: &LocalPlane,
) -> Result<MultiPolygon<f64>, CrsError> {
    let ring = |line: &LineString<f64>| -> Result<LineString<f64>, CrsError> {
        let (lon, lat): (Vec<f64>, Vec<f64>) = line.0.iter().map(|c| (c.x, c.y)).unzip();
        let (east, north) = plane.to_plane(&lon, &lat)?;
        Ok(east
            .into_iter()
            .zip(north)
            .map(|(x, y)| Coord { x, y })
            .collect())
    };
    ground
        .iter()
        .map(|polygon| {
            let interiors = polygon
                .interiors()
                .iter()
                .map(ring)
                .collect::<Result<_, _>>()?;
            Ok(Polygon::new(ring(polygon.exterior())?, interiors))
        })
        .collect::<Result<Vec<_>, CrsError>>()
        .map(MultiPolygon::new)
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::polygon;

    fn square() -> [Point; 4] {
        [[-1., -1.], [1., -1.], [1., 1.], [-1., 1.]]
    }

    #[test]
    fn many_corners_give_the_same_areas_as_few() {
        let circle: LineString<f64> = (0..=720)
            .map(|i| {
                let (s, c) = (f64::from(i % 720) / 720.0 * std::f64::consts::TAU).sin_cos();
                Coord {
                    x: 100.0 * c,
                    y: 100.0 * s,
                }
            })
            .collect();
        let hole: LineString<f64> = [(60., -5.), (70., -5.), (70., 5.), (60., 5.), (60., -5.)]
            .map(Coord::from)
            .into_iter()
            .collect();
        let ground = PreparedGround::new(MultiPolygon::new(vec![Polygon::new(circle, vec![hole])]));
        assert!(ground.edges.is_some());
        let mut scratch = ClipScratch::default();
        let at = |e: f64, n: f64| square().map(|p| [p[0] + e, p[1] + n]);
        assert_eq!(ground.area_under(&at(0., 0.), &mut scratch), 4.0);
        assert_eq!(ground.area_under(&at(65., 0.), &mut scratch), 0.0);
        assert!((ground.area_under(&at(60., 0.), &mut scratch) - 2.0).abs() < 1e-9);
        assert_eq!(ground.area_under(&at(200., 0.), &mut scratch), 0.0);
        let edge = ground.area_under(&at(100., 0.), &mut scratch);
        assert!((edge - 2.0).abs() < 0.02, "{edge}");
    }

    #[test]
    fn clockwise_rings_count_the_same() {
        let ring = polygon![(x: 0., y: 0.), (x: 0., y: 4.), (x: 4., y: 4.), (x: 4., y: 0.)];
        let ground = PreparedGround::new(MultiPolygon::new(vec![ring]));
        assert!((ground.area_under(&square(), &mut ClipScratch::default()) - 1.0).abs() < 1e-12);
    }
}
