//! The metric plane of one field: a transverse Mercator around its middle, in which every length
//! and area is taken. Cleaning, overlay and maps work in it; longitude and latitude are met again
//! only on the way out.
//!
//! # Source
//! Transverse Mercator of scale 1 on the WGS 84 ellipsoid, by PROJ's extended algorithm (Engsager,
//! K. and Poder, K., 2007, *A highly accurate world wide algorithm for the transverse Mercator
//! mapping (almost)*, Proc. XXIII Int. Cartographic Conf., Moscow). Its scale at a distance *x* east
//! or west of the origin is 1 + x²/(2R²) (Snyder, J. P., 1987, *Map Projections: A Working Manual*,
//! USGS Professional Paper 1395, p. 61): 1.2 parts in 10⁸ at 1 km, 1.2 in 10⁶ at 10 km.

use proj::Proj;

use crate::crs::CrsError;
use crate::projection::{Way, convert_all};

/// A field's own plane: metres east and north of a point. It can be shared between threads.
///
/// ```
/// use checkstrip_spatial::local_plane::LocalPlane;
/// let plane = LocalPlane::around(-93.5, 42.0)?;
/// // One second of latitude is about 30.85 m here.
/// let (east, north) = plane.to_plane(&[-93.5], &[42.0 + 1.0 / 3600.0])?;
/// assert!(east[0].abs() < 1e-6 && (north[0] - 30.85).abs() < 0.01);
/// # Ok::<(), checkstrip_spatial::crs::CrsError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct LocalPlane {
    lon: f64,
    lat: f64,
    definition: String,
}

impl LocalPlane {
    /// The plane around a point given in degrees, WGS 84.
    ///
    /// # Errors
    /// [`CrsError::NoSuchPlace`] when a number is missing or out of range.
    pub fn around(lon: f64, lat: f64) -> Result<LocalPlane, CrsError> {
        if !(-360.0..=360.0).contains(&lon) || !(-90.0..=90.0).contains(&lat) {
            return Err(CrsError::NoSuchPlace {
                lon: lon.to_string(),
                lat: lat.to_string(),
            });
        }
        let definition = format!(
            "+proj=tmerc +algo=poder_engsager +lat_0={lat} +lon_0={lon} +k=1 +x_0=0 +y_0=0 \
             +ellps=WGS84 +units=m"
        );
        Ok(LocalPlane {
            lon,
            lat,
            definition,
        })
    }

    /// Longitude and latitude of the plane's origin, degrees.
    pub fn origin(&self) -> [f64; 2] {
        [self.lon, self.lat]
    }

    /// Metres east and north of the origin, for longitudes and latitudes in degrees. `NaN` in either
    /// gives `NaN` in both, and so does a point that the plane cannot hold (about a quarter of the
    /// globe away).
    ///
    /// # Errors
    /// [`CrsError::Lengths`] when the columns differ in length.
    pub fn to_plane(&self, lon: &[f64], lat: &[f64]) -> Result<(Vec<f64>, Vec<f64>), CrsError> {
        let mut points = pairs(lon, lat)?;
        for point in &mut points {
            *point = point.map(f64::to_radians);
        }
        self.run(Way::ToPlane, &mut points)?;
        Ok(columns(&points))
    }

    /// Longitudes and latitudes in degrees, for metres east and north of the origin; the inverse of
    /// [`LocalPlane::to_plane`].
    ///
    /// # Errors
    /// [`CrsError::Lengths`] when the columns differ in length.
    pub fn to_lon_lat(
        &self,
        east: &[f64],
        north: &[f64],
    ) -> Result<(Vec<f64>, Vec<f64>), CrsError> {
        let mut points = pairs(east, north)?;
        self.run(Way::FromPlane, &mut points)?;
        for point in &mut points {
            *point = point.map(f64::to_degrees);
        }
        Ok(columns(&points))
    }

    /// [`LocalPlane::to_plane`] for points, in place: longitude, latitude become east, north.
    ///
    /// # Errors
    /// When PROJ cannot make the plane, which no valid origin causes.
    pub fn points_to_plane(&self, points: &mut [[f64; 2]]) -> Result<(), CrsError> {
        for point in points.iter_mut() {
            *point = point.map(f64::to_radians);
        }
        self.run(Way::ToPlane, points)
    }

    /// [`LocalPlane::to_lon_lat`] for points, in place: east, north become longitude, latitude.
    ///
    /// # Errors
    /// When PROJ cannot make the plane, which no valid origin causes.
    pub fn points_to_lon_lat(&self, points: &mut [[f64; 2]]) -> Result<(), CrsError> {
        self.run(Way::FromPlane, points)?;
        for point in points.iter_mut() {
            *point = point.map(f64::to_degrees);
        }
        Ok(())
    }

    fn run(&self, way: Way, points: &mut [[f64; 2]]) -> Result<(), CrsError> {
        convert_all(
            &self.definition,
            || Proj::new(&self.definition),
            way,
            points,
        )
        .map_err(|error| CrsError::Unknown {
            shown: self.definition.clone(),
            reason: error.to_string(),
        })
    }
}

fn pairs(first: &[f64], second: &[f64]) -> Result<Vec<[f64; 2]>, CrsError> {
    if first.len() != second.len() {
        return Err(CrsError::Lengths {
            first: first.len(),
            second: second.len(),
        });
    }
    Ok(first.iter().zip(second).map(|(&a, &b)| [a, b]).collect())
}

fn columns(points: &[[f64; 2]]) -> (Vec<f64>, Vec<f64>) {
    points.iter().map(|p| (p[0], p[1])).unzip()
}

#[cfg(test)]
mod tests {
    use geo::algorithm::{Distance, Geodesic, GeodesicArea};
    use geo::{LineString, Point, Polygon};
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn origin_is_zero_and_north_is_up() {
        let plane = LocalPlane::around(-93.5, 42.0).unwrap();
        let (east, north) = plane.to_plane(&[-93.5, -93.49], &[42.0, 42.0]).unwrap();
        assert!(east[0].abs() < 1e-9 && north[0].abs() < 1e-9);
        assert!(east[1] > 800.0 && north[1].abs() < 1.0);
    }

    #[test]
    fn missing_positions_stay_missing() {
        let plane = LocalPlane::around(-93.5, 42.0).unwrap();
        let lon = [-93.5, f64::NAN, -93.5, -93.4, f64::INFINITY];
        let lat = [42.0, 42.0, f64::NAN, 42.0, 42.0];
        let (east, north) = plane.to_plane(&lon, &lat).unwrap();
        let known: Vec<bool> = east.iter().map(|e| e.is_finite()).collect();
        assert_eq!(known, [true, false, false, true, false]);
        assert!(
            east.iter()
                .zip(&north)
                .all(|(e, n)| e.is_nan() == n.is_nan())
        );
        let (lon, _) = plane.to_lon_lat(&east, &north).unwrap();
        assert!(lon[1].is_nan() && (lon[3] + 93.4).abs() < 1e-12);
    }

    #[test]
    fn bad_origins_and_columns_are_refused() {
        assert!(LocalPlane::around(f64::NAN, 42.0).is_err());
        let error = LocalPlane::around(450_000.0, 4_660_000.0)
            .unwrap_err()
            .to_string();
        assert!(error.contains("450000"), "{error}");
        let plane = LocalPlane::around(0.0, 0.0).unwrap();
        assert_eq!(
            plane.to_plane(&[0.0], &[]),
            Err(CrsError::Lengths {
                first: 1,
                second: 0
            })
        );
    }

    #[test]
    fn a_million_points_keep_their_order() {
        let plane = LocalPlane::around(-93.5, 42.0).unwrap();
        let lon: Vec<f64> = (0..1_000_000)
            .map(|i| -93.51 + f64::from(i) * 2e-8)
            .collect();
        let lat = vec![42.0; lon.len()];
        let started = std::time::Instant::now();
        let (east, _) = plane.to_plane(&lon, &lat).unwrap();
        println!("1,000,000 points to the plane in {:?}", started.elapsed());
        assert!(east.windows(2).all(|w| w[0] < w[1]));
    }

    proptest! {
        /// Law: going out and coming back is the identity, to a micrometre.
        #[test]
        fn there_and_back(lon in -180.0..180.0, lat in -80.0..80.0, de in -5e3..5e3, dn in -5e3..5e3) {
            let plane = LocalPlane::around(lon, lat).unwrap();
            let mut point = [[de, dn]];
            plane.points_to_lon_lat(&mut point).unwrap();
            plane.points_to_plane(&mut point).unwrap();
            prop_assert!((point[0][0] - de).abs() < 1e-6 && (point[0][1] - dn).abs() < 1e-6);
        }

        /// Law: within 2 km of the origin lengths and areas are those on the ellipsoid to 1 part in
        /// 10⁷. Outside reference: geodesics by GeographicLib's algorithm (Karney, C. F. F., 2013,
        /// *Algorithms for geodesics*, Journal of Geodesy 87, 43–55).
        #[test]
        fn lengths_and_areas_are_true(
            lon in -180.0..180.0, lat in -70.0..70.0, east in -1500.0..1500.0,
            north in -1500.0..1500.0, side in 50.0f64..500.0,
        ) {
            let plane = LocalPlane::around(lon, lat).unwrap();
            let mut corners = [
                [east, north], [east + side, north], [east + side, north + side],
                [east, north + side],
            ];
            plane.points_to_lon_lat(&mut corners).unwrap();
            let length: f64 = Geodesic.distance(Point::from(corners[0]), Point::from(corners[2]));
            prop_assert!((length / (side * 2f64.sqrt()) - 1.0).abs() < 1e-7);
            let ring: Vec<(f64, f64)> = corners.iter().map(|c| (c[0], c[1])).collect();
            let area: f64 = Polygon::new(LineString::from(ring), vec![]).geodesic_area_unsigned();
            prop_assert!((area / (side * side) - 1.0).abs() < 2e-7);
        }
    }
}
