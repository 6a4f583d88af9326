//! Features as the writers of table-like formats take them, wherever they come from: a cleaned log, or
//! a file that is converted.

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

/// Features with attributes.
pub(crate) trait FeatureSource {
    fn columns(&self) -> &[WrittenColumn];
    fn records(&self) -> usize;
    /// The value of attribute `column` of `record`, both from 0.
    fn value(&self, column: usize, record: usize) -> Value<'_>;
    fn drawn(&self, record: usize) -> Drawn<'_>;
    fn holds(&self) -> Holds;
    /// The reference system; `None` for WGS 84 longitude and latitude.
    fn crs(&self) -> Option<&WrittenCrs>;
}

/// West, south, east, north of all features; `None` when none has a geometry.
pub(crate) fn extent(source: &dyn FeatureSource) -> Option<[f64; 4]> {
    let mut extent = [
        f64::INFINITY,
        f64::INFINITY,
        f64::NEG_INFINITY,
        f64::NEG_INFINITY,
    ];
    let mut add = |[x, y]: [f64; 2]| {
        extent = [
            extent[0].min(x),
            extent[1].min(y),
            extent[2].max(x),
            extent[3].max(y),
        ];
    };
    for record in 0..source.records() {
        match source.drawn(record) {
            Drawn::Nothing => {}
            Drawn::Point(point) => add(point),
            Drawn::Polygons(polygons) => polygons
                .iter()
                .flatten()
                .flatten()
                .copied()
                .for_each(&mut add),
        }
    }
    (extent[0] <= extent[2]).then_some(extent)
}

/// A cleaned log as features: its columns as exports have them, longitude and latitude among them for
/// programs that know no geometry.
pub(crate) struct CleanedFeatures<'a> {
    log: &'a CleanLog,
    columns: Vec<ExportColumn<'a>>,
    written: Vec<WrittenColumn>,
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
        CleanedFeatures {
            written: written.collect(),
            columns,
            log,
        }
    }
}

impl FeatureSource for CleanedFeatures<'_> {
    fn columns(&self) -> &[WrittenColumn] {
        &self.written
    }

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

    fn holds(&self) -> Holds {
        Holds::Points
    }

    fn crs(&self) -> Option<&WrittenCrs> {
        None
    }
}
