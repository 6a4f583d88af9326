//! Features as the writers of table-like formats take them, wherever they come from: a cleaned log, or
//! a file that is converted. What all of them have in common is known before the first is written; the
//! features come in batches.

use std::io;

use checkstrip_model::{CleanLog, Column};

use super::columns::{self, ExportColumn, Values};
use super::written_crs::WrittenCrs;
use crate::feature::Rings;

/// What the values of a column are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum ColumnKind {
    Truth,
    Whole,
    Number,
    Text,
}

/// A value, of the kind of its column.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Value<'a> {
    Nothing,
    Truth(bool),
    Whole(i64),
    /// A finite number.
    Number(f64),
    Text(&'a str),
}

/// The geometry of a feature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Drawn<'a> {
    Nothing,
    Point([f64; 2]),
    /// Closed rings, outer ones counterclockwise, holes clockwise.
    Polygons(&'a [Rings]),
}

/// What geometry the features have.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Holds {
    Nothing,
    Points,
    Polygons,
}

/// A column's name and kind.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct WrittenColumn {
    pub(crate) name: String,
    pub(crate) kind: ColumnKind,
}

/// What is known of all features before the first of them is written.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Outline {
    pub(crate) columns: Vec<WrittenColumn>,
    pub(crate) records: usize,
    pub(crate) holds: Holds,
    /// Whether there are polygons of one part, and of several.
    pub(crate) single_parts: bool,
    pub(crate) several_parts: bool,
    /// West, south, east, north of all features; `None` when none has a geometry.
    pub(crate) extent: Option<[f64; 4]>,
    /// The reference system; `None` for WGS 84 longitude and latitude.
    pub(crate) crs: Option<WrittenCrs>,
}

/// Some of the features, in memory.
pub(crate) trait FeatureBatch {
    fn records(&self) -> usize;
    /// The value of attribute `column` of `record`, both from 0.
    fn value(&self, column: usize, record: usize) -> Value<'_>;
    fn drawn(&self, record: usize) -> Drawn<'_>;
}

/// Features with attributes.
pub(crate) trait FeatureSource {
    fn outline(&self) -> &Outline;

    /// Hands over batch after batch in the order of the features, from the first, as often as it is asked.
    ///
    /// # Errors
    /// Those of `write`, and where the features cannot be read.
    fn each_batch(
        &self,
        write: &mut dyn FnMut(&dyn FeatureBatch) -> io::Result<()>,
    ) -> io::Result<()>;
}

/// Makes `extent` hold `point` as well.
pub(crate) fn widen(extent: &mut Option<[f64; 4]>, [x, y]: [f64; 2]) {
    let [west, south, east, north] = extent.get_or_insert([x, y, x, y]);
    (*west, *south) = (west.min(x), south.min(y));
    (*east, *north) = (east.max(x), north.max(y));
}

/// A cleaned log as features: its columns as exports have them, longitude and latitude among them for
/// programs that know no geometry.
pub(crate) struct CleanedFeatures<'a> {
    log: &'a CleanLog,
    columns: Vec<ExportColumn<'a>>,
    outline: Outline,
}

impl<'a> CleanedFeatures<'a> {
    pub(crate) fn new(log: &'a CleanLog) -> CleanedFeatures<'a> {
        let columns = columns::columns(log, true);
        let written = columns.iter().map(|column| WrittenColumn {
            name: column.name.to_owned(),
            kind: match column.values {
                Values::Record | Values::Pass(_) => ColumnKind::Whole,
                Values::Status(_) | Values::Labels(_) => ColumnKind::Text,
                Values::Numbers(..) | Values::NewArea(_) => ColumnKind::Number,
            },
        });
        let outline = Outline {
            columns: written.collect(),
            records: log.len(),
            holds: Holds::Points,
            single_parts: false,
            several_parts: false,
            extent: None,
            crs: None,
        };
        let mut features = CleanedFeatures {
            columns,
            outline,
            log,
        };
        let mut extent = None;
        for record in 0..log.len() {
            if let Drawn::Point(point) = features.drawn(record) {
                widen(&mut extent, point);
            }
        }
        features.outline.extent = extent;
        features
    }
}

impl FeatureSource for CleanedFeatures<'_> {
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

impl FeatureBatch for CleanedFeatures<'_> {
    fn records(&self) -> usize {
        self.log.len()
    }

    fn value(&self, column: usize, record: usize) -> Value<'_> {
        let column = &self.columns[column];
        if let Some((number, _)) = column.number(record) {
            return match number.is_finite() {
                true => Value::Number(number),
                false => Value::Nothing,
            };
        }
        match column.values {
            Values::Record => Value::Whole(record as i64 + 1),
            Values::Pass(pass) => Value::Whole(i64::from(pass[record])),
            Values::Status(status) => Value::Text(status[record].key()),
            Values::Labels(labels) => match labels.name(record) {
                "" => Value::Nothing,
                name => Value::Text(name),
            },
            Values::Numbers(..) | Values::NewArea(_) => Value::Nothing,
        }
    }

    fn drawn(&self, record: usize) -> Drawn<'_> {
        let axis = |column| {
            let numbers = self.log.log.numbers(column)?;
            numbers
                .get(record)
                .copied()
                .filter(|value| value.is_finite())
        };
        match (axis(Column::Lon), axis(Column::Lat)) {
            (Some(lon), Some(lat)) => Drawn::Point([lon, lat]),
            _ => Drawn::Nothing,
        }
    }
}
