//! The UTM zone of a field: a plane in metres that every GIS knows by a number, for rasters that leave this
//! program. Nothing is measured in it; that is the local plane's work.

use crate::crs::{CrsError, ToWgs84};

/// UTM reaches from here …
const SOUTHERNMOST: f64 = -80.0;
/// … to here, degrees of latitude (Snyder, J. P., 1987, *Map Projections: A Working Manual*, USGS Professional
/// Paper 1395, p. 57).
const NORTHERNMOST: f64 = 84.0;

/// A zone of the Universal Transverse Mercator on WGS 84.
///
/// ```
/// use checkstrip_spatial::utm::UtmZone;
/// let zone = UtmZone::around(-93.5, 42.0)?;
/// assert_eq!((zone.epsg(), zone.name()), (32615, "WGS 84 / UTM zone 15N".to_owned()));
/// assert_eq!(UtmZone::around(180.0, -30.0)?.epsg(), 32701);
/// # Ok::<(), checkstrip_spatial::crs::CrsError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct UtmZone {
    number: u16,
    is_north: bool,
}

impl UtmZone {
    /// The zone of six degrees that a place given in degrees lies in, without the exceptions around Norway: a zone
    /// beside a place's own is as true there to about a thousandth.
    ///
    /// # Errors
    /// [`CrsError::NoSuchPlace`] when a number is missing, out of range, or so near a pole that no zone reaches it.
    pub fn around(lon: f64, lat: f64) -> Result<UtmZone, CrsError> {
        if !(-360.0..=360.0).contains(&lon) || !(SOUTHERNMOST..=NORTHERNMOST).contains(&lat) {
            return Err(CrsError::NoSuchPlace {
                lon: lon.to_string(),
                lat: lat.to_string(),
            });
        }
        let from_west = (lon + 180.0).rem_euclid(360.0);
        Ok(UtmZone {
            number: (from_west / 6.0) as u16 + 1,
            is_north: lat >= 0.0,
        })
    }

    /// Its number in the EPSG register.
    pub fn epsg(self) -> u16 {
        self.number + if self.is_north { 32_600 } else { 32_700 }
    }

    /// Its name there.
    pub fn name(self) -> String {
        let half = if self.is_north { 'N' } else { 'S' };
        format!("WGS 84 / UTM zone {}{half}", self.number)
    }

    /// Longitudes and latitudes in degrees become metres east and north in the zone, in place.
    ///
    /// # Errors
    /// When PROJ cannot make the zone.
    pub fn to_metres(self, points: &mut [[f64; 2]]) -> Result<(), CrsError> {
        ToWgs84::new(&format!("EPSG:{}", self.epsg()))?.convert_back(points)
    }
}
