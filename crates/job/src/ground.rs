//! Grounds between longitude and latitude and the local plane.

use checkstrip_spatial::crs::CrsError;
use checkstrip_spatial::local_plane::LocalPlane;
use geo::{Coord, CoordsIter, LineString, MultiPolygon};

/// From longitude and latitude, degrees, to the plane, m.
pub(crate) fn to_plane(
    ground: &MultiPolygon<f64>,
    plane: &LocalPlane,
) -> Result<MultiPolygon<f64>, CrsError> {
    moved(ground, |points| plane.points_to_plane(points))
}

/// From the plane, m, to longitude and latitude, degrees.
pub(crate) fn to_lon_lat(
    ground: &MultiPolygon<f64>,
    plane: &LocalPlane,
) -> Result<MultiPolygon<f64>, CrsError> {
    moved(ground, |points| plane.points_to_lon_lat(points))
}

/// The rings of a ground, outlines and holes.
pub(crate) fn rings(ground: &MultiPolygon<f64>) -> Vec<Vec<[f64; 2]>> {
    ground
        .iter()
        .flat_map(|polygon| std::iter::once(polygon.exterior()).chain(polygon.interiors()))
        .map(|ring| ring.coords().map(|c| [c.x, c.y]).collect())
        .collect()
}

fn moved(
    ground: &MultiPolygon<f64>,
    convert: impl Fn(&mut [[f64; 2]]) -> Result<(), CrsError>,
) -> Result<MultiPolygon<f64>, CrsError> {
    let mut points: Vec<[f64; 2]> = ground.coords_iter().map(|c| [c.x, c.y]).collect();
    convert(&mut points)?;
    // Corners are put back in the order in which they were collected.
    let mut converted = points.into_iter();
    let mut put_back = |ring: &mut LineString<f64>| {
        for (corner, [x, y]) in ring.0.iter_mut().zip(&mut converted) {
            *corner = Coord { x, y };
        }
    };
    let mut moved = ground.clone();
    for polygon in &mut moved.0 {
        polygon.exterior_mut(&mut put_back);
        polygon.interiors_mut(|rings| rings.iter_mut().for_each(&mut put_back));
    }
    Ok(moved)
}
