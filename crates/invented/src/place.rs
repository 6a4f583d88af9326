//! Where the invented field lies: from its own frame (metres from its south-west corner, turned a
//! little) to longitude and latitude. The middle of the field is in the open Atlantic, 43° N 40° W,
//! so that it can be nobody's.
//!
//! # Source
//! The sinusoidal projection on the WGS 84 ellipsoid (Snyder, J. P., 1987, *Map Projections: A
//! Working Manual*, USGS Professional Paper 1395, pp. 243–248), which keeps areas exactly; 500 m from
//! its middle it bends lines by about 2 cm. It is deliberately not the projection that checkstrip
//! works in, so that an error in that one shows.

/// Longitude and latitude of the field's middle, degrees.
const MIDDLE: [f64; 2] = [-40.0, 43.0];

/// Semi-major axis of the WGS 84 ellipsoid, m.
const SEMI_MAJOR: f64 = 6_378_137.0;

/// First eccentricity squared of the WGS 84 ellipsoid, from 1/f = 298.257223563.
const ECCENTRICITY_2: f64 = 0.006_694_379_990_141_317;

/// The frame of one field.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Place {
    centre: [f64; 2],
    sin: f64,
    cos: f64,
}

impl Place {
    /// The frame of a field of this size whose side is turned `turn_deg` clockwise from north.
    pub(crate) fn new(size_m: [f64; 2], turn_deg: f64) -> Place {
        let (sin, cos) = turn_deg.to_radians().sin_cos();
        Place {
            centre: [size_m[0] / 2.0, size_m[1] / 2.0],
            sin,
            cos,
        }
    }

    /// Longitude and latitude in degrees of a point given in the field's frame, m.
    pub(crate) fn lon_lat(&self, point: [f64; 2]) -> [f64; 2] {
        let [x, y] = [point[0] - self.centre[0], point[1] - self.centre[1]];
        let (east, north) = (x * self.cos + y * self.sin, y * self.cos - x * self.sin);
        // The meridian's arc over half a kilometre, with the radius at its middle, is good to 1e-9.
        let first = MIDDLE[1].to_radians();
        let about = first + north / meridian_radius(first) / 2.0;
        let lat = first + north / meridian_radius(about);
        let parallel = SEMI_MAJOR * lat.cos() / (1.0 - ECCENTRICITY_2 * lat.sin().powi(2)).sqrt();
        [MIDDLE[0] + (east / parallel).to_degrees(), lat.to_degrees()]
    }

    /// Direction clockwise from north, degrees, of a direction in the field's frame.
    pub(crate) fn heading_deg(&self, direction: [f64; 2]) -> f64 {
        let east = direction[0] * self.cos + direction[1] * self.sin;
        let north = direction[1] * self.cos - direction[0] * self.sin;
        east.atan2(north).to_degrees()
    }
}

fn meridian_radius(lat: f64) -> f64 {
    SEMI_MAJOR * (1.0 - ECCENTRICITY_2) / (1.0 - ECCENTRICITY_2 * lat.sin().powi(2)).powf(1.5)
}

#[cfg(test)]
mod tests {
    use geo::algorithm::{Distance, Geodesic, GeodesicArea};
    use geo::{LineString, Point, Polygon};

    use super::*;

    /// Outside reference: geodesics after Karney, C. F. F. (2013), *Algorithms for geodesics*,
    /// Journal of Geodesy 87, 43–55.
    #[test]
    fn lengths_and_areas_are_those_on_the_ellipsoid() {
        let place = Place::new([800.0, 800.0], 7.0);
        let corners = [[0.0, 0.0], [800.0, 0.0], [800.0, 800.0], [0.0, 800.0]];
        let on_earth = corners.map(|c| {
            let [lon, lat] = place.lon_lat(c);
            (lon, lat)
        });
        let side: f64 = Geodesic.distance(Point::from(on_earth[0]), Point::from(on_earth[1]));
        assert!((side - 800.0).abs() < 0.05, "{side}");
        let area: f64 =
            Polygon::new(LineString::from(on_earth.to_vec()), vec![]).geodesic_area_unsigned();
        assert!((area / 640_000.0 - 1.0).abs() < 1e-6, "{area}");
    }

    #[test]
    fn a_turned_field_heads_where_it_is_turned() {
        let place = Place::new([100.0, 100.0], 7.0);
        assert!((place.heading_deg([0.0, 1.0]) - 7.0).abs() < 1e-9);
        assert!((place.heading_deg([1.0, 0.0]) - 97.0).abs() < 1e-9);
    }
}
