//! Zones as drawn, such as the soils of a map: named ground that a trial's answer is split by.

use geo::MultiPolygon;

/// One drawn zone.
#[derive(Debug, Clone, PartialEq)]
pub struct Zone {
    /// Its name; several polygons may share one.
    pub name: String,
    /// Its ground, WGS 84 longitude and latitude in degrees.
    pub ground: MultiPolygon<f64>,
    /// Feature number in its file, from 1.
    pub row: u32,
}

/// The zones of a file, with where they came from.
#[derive(Debug, Clone, Default)]
pub struct ZoneSet {
    /// The file as given.
    pub path: String,
    /// SHA-256 of the file's bytes, lower-case hexadecimal.
    pub sha256: String,
    /// The coordinate reference system the file was in, as it names it.
    pub crs: String,
    /// The attribute that the names were read from.
    pub name_column: String,
    /// The polygons in the file's order.
    pub zones: Vec<Zone>,
    /// What was wrong with single polygons.
    pub problems: Vec<crate::Problem>,
}
