//! A drawn feature before it becomes a strip: its rings in the file's coordinates and its
//! attributes as text, whichever format it came from.

/// A polygon with attributes.
#[derive(Debug, Clone, Default)]
pub(crate) struct Feature {
    /// Feature number, from 1.
    pub(crate) row: u32,
    /// The polygons, each an outer ring followed by its holes.
    pub(crate) polygons: Vec<Vec<Vec<[f64; 2]>>>,
    /// The attributes that have a value: name and value.
    pub(crate) attributes: Vec<(String, String)>,
}

/// The features of a file.
#[derive(Debug, Default)]
pub(crate) struct FeatureFile {
    pub(crate) features: Vec<Feature>,
    /// The names of all attributes.
    pub(crate) attribute_names: Vec<String>,
    /// The coordinate reference system that the file names.
    pub(crate) crs: Option<String>,
    /// Names are cut to ten characters.
    pub(crate) short_names: bool,
    /// What was wrong with single features.
    pub(crate) problems: Vec<checkstrip_model::Problem>,
}
