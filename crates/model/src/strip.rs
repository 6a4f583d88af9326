//! Treatment strips as drawn or planned: what was done on which ground.

use geo::MultiPolygon;

/// One strip.
#[derive(Debug, Clone, PartialEq)]
pub struct Strip {
    /// Its name in tables and maps.
    pub strip_id: String,
    /// What was done on it.
    pub treatment: String,
    /// The block it belongs to; `None` where the file does not say.
    pub block: Option<String>,
    /// Its ground, WGS 84 longitude and latitude in degrees.
    pub ground: MultiPolygon<f64>,
    /// Feature number in its file, from 1.
    pub row: u32,
}

/// The strips of one field, with where they came from.
#[derive(Debug, Clone, Default)]
pub struct StripSet {
    /// The file as given.
    pub path: String,
    /// SHA-256 of the file's bytes, lower-case hexadecimal.
    pub sha256: String,
    /// The strips in the file's order.
    pub strips: Vec<Strip>,
    /// The coordinate reference system the file was in, as it names it.
    pub crs: String,
    /// What was wrong with single strips.
    pub problems: Vec<crate::Problem>,
}
