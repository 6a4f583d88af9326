//! Grounds with attributes of any names, as the writers of table-like formats take them.

use std::io;
use std::path::Path;

use geo::{LineString, MultiPolygon, Orient, orient::Direction};

use super::feature_source::{
    ColumnKind, Drawn, FeatureBatch, FeatureSource, Holds, Outline, Value, WrittenColumn, widen,
};
use super::{write_features_geojson, write_features_shapefile, write_geopackage, write_parquet};
use crate::FormatError;
use crate::convert::names;
use crate::feature::Rings;

/// What the values of an attribute are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AttributeKind {
    /// Whole numbers.
    Whole,
    /// Numbers.
    Number,
    /// Texts.
    Text,
}

/// The name and kind of an attribute.
pub type AttributeColumn = (&'static str, AttributeKind);

/// The value of an attribute, of its kind.
#[derive(Debug, Clone, PartialEq)]
pub enum Attribute {
    /// None.
    Nothing,
    /// A whole number.
    Whole(i64),
    /// A finite number.
    Number(f64),
    /// Text.
    Text(String),
}

/// A ground with a value for each attribute.
#[derive(Debug, Clone, PartialEq)]
pub struct AttributedGround {
    /// The ground, WGS 84 longitude and latitude in degrees.
    pub ground: MultiPolygon<f64>,
    /// Its values, in the order of the attributes.
    pub values: Vec<Attribute>,
}

/// Writes `grounds`, whose attributes are `columns`, as GeoJSON with nine decimals of a degree, about 0.1 mm, as all
/// writers of grounds do.
///
/// # Errors
/// When the file cannot be written.
pub fn write_grounds_geojson(
    path: &Path,
    columns: &[AttributeColumn],
    grounds: &[AttributedGround],
) -> Result<(), FormatError> {
    write_features_geojson(path, &Grounds::new(columns, grounds))
}

/// Writes `grounds` as the Shapefile `path` (`.shp`) with the files that belong to it. Names of attributes are cut to ten
/// bytes as a conversion does it, texts after 254 bytes.
///
/// # Errors
/// When a file cannot be written.
pub fn write_grounds_shapefile(
    path: &Path,
    columns: &[AttributeColumn],
    grounds: &[AttributedGround],
) -> Result<(), FormatError> {
    let mut source = Grounds::new(columns, grounds);
    let long: Vec<&str> = columns.iter().map(|(name, _)| *name).collect();
    for (column, short) in source.outline.columns.iter_mut().zip(names::short(&long)) {
        column.name = short;
    }
    write_features_shapefile(path, &source).map(drop)
}

/// Writes `grounds` as the layer `layer` of a GeoPackage.
///
/// # Errors
/// When the file cannot be written.
pub fn write_grounds_geopackage(
    path: &Path,
    layer: &str,
    columns: &[AttributeColumn],
    grounds: &[AttributedGround],
) -> Result<(), FormatError> {
    write_geopackage(path, layer, &Grounds::new(columns, grounds))
}

/// Writes `grounds` as GeoParquet.
///
/// # Errors
/// When the file cannot be written.
pub fn write_grounds_parquet(
    path: &Path,
    columns: &[AttributeColumn],
    grounds: &[AttributedGround],
) -> Result<(), FormatError> {
    write_parquet(path, &Grounds::new(columns, grounds))
}

struct Grounds<'a> {
    outline: Outline,
    grounds: &'a [AttributedGround],
    rings: Vec<Vec<Rings>>,
}

impl<'a> Grounds<'a> {
    fn new(columns: &[AttributeColumn], grounds: &'a [AttributedGround]) -> Grounds<'a> {
        let rings: Vec<Vec<Rings>> = grounds.iter().map(|ground| rings(&ground.ground)).collect();
        let mut extent = None;
        for &corner in rings.iter().flatten().flatten().flatten() {
            widen(&mut extent, corner);
        }
        let columns = columns.iter().map(|&(name, kind)| WrittenColumn {
            name: name.to_owned(),
            kind: match kind {
                AttributeKind::Whole => ColumnKind::Whole,
                AttributeKind::Number => ColumnKind::Number,
                AttributeKind::Text => ColumnKind::Text,
            },
        });
        let outline = Outline {
            columns: columns.collect(),
            records: grounds.len(),
            holds: Holds::Polygons,
            single_parts: rings.iter().any(|parts| parts.len() == 1),
            several_parts: rings.iter().any(|parts| parts.len() != 1),
            extent,
            crs: None,
        };
        Grounds {
            outline,
            grounds,
            rings,
        }
    }
}

fn rings(ground: &MultiPolygon<f64>) -> Vec<Rings> {
    let rounded = |degrees: f64| (degrees * 1e9).round() / 1e9;
    let ring = |ring: &LineString<f64>| -> Vec<[f64; 2]> {
        ring.coords()
            .map(|c| [rounded(c.x), rounded(c.y)])
            .collect()
    };
    let oriented = ground.orient(Direction::Default);
    let parts = oriented.iter().map(|polygon| {
        let rings = std::iter::once(polygon.exterior()).chain(polygon.interiors());
        rings.map(ring).collect()
    });
    parts.collect()
}

impl FeatureSource for Grounds<'_> {
    fn outline(&self) -> &Outline {
        &self.outline
    }

    fn each_batch(
        &self,
        write: &mut dyn FnMut(&dyn FeatureBatch) -> io::Result<()>,
    ) -> io::Result<()> {
        write(self)
    }
}

impl FeatureBatch for Grounds<'_> {
    fn records(&self) -> usize {
        self.grounds.len()
    }

    fn value(&self, column: usize, record: usize) -> Value<'_> {
        match &self.grounds[record].values[column] {
            Attribute::Whole(number) => Value::Whole(*number),
            Attribute::Number(number) if number.is_finite() => Value::Number(*number),
            Attribute::Text(text) => Value::Text(text),
            Attribute::Nothing | Attribute::Number(_) => Value::Nothing,
        }
    }

    fn drawn(&self, record: usize) -> Drawn<'_> {
        Drawn::Polygons(&self.rings[record])
    }
}
