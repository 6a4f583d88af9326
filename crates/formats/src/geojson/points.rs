//! A log as GeoJSON points. The text is read once, straight into raw columns, without a tree of the
//! whole document.

use std::borrow::Cow;
use std::fmt;

use checkstrip_model::Problem;
use serde::Deserialize;
use serde::de::value::{MapAccessDeserializer, SeqAccessDeserializer};
use serde::de::{DeserializeSeed, Deserializer, IgnoredAny, MapAccess, SeqAccess, Visitor};
use serde_json::Value;

use super::{crs_name, json_problem};
use crate::cell::Cell;
use crate::raw_table::RawTable;

/// The points of the GeoJSON text `bytes`.
///
/// When the text breaks off, the records before are kept and the break is a problem.
///
/// # Errors
/// When the text is no GeoJSON or holds no point.
pub(crate) fn read(file: &str, bytes: &[u8]) -> Result<RawTable, Problem> {
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let mut reading = Reading {
        file,
        ..Reading::default()
    };
    let mut json = serde_json::Deserializer::from_slice(bytes);
    let result = Document(&mut reading)
        .deserialize(&mut json)
        .and_then(|()| json.end());
    let records = reading.table.rows.len();
    if let Err(error) = result {
        let problem = json_problem(file, bytes, &error);
        if records == 0 {
            return Err(problem);
        }
        // What the feature that broke off had brought already.
        reading.table.truncate(records);
        reading.table.problems.push(|| Problem {
            message: format!("{}; the {records} records before are read", problem.message),
            ..problem
        });
    }
    reading.finish()
}

/// Points that come feature by feature, each a text of its own.
pub(super) struct PointReader<'f>(Reading<'f>);

impl<'f> PointReader<'f> {
    pub(super) fn new(file: &'f str) -> Self {
        PointReader(Reading {
            file,
            ..Reading::default()
        })
    }

    /// Adds the feature `text`, number `row`. A damaged one adds nothing.
    pub(super) fn push_text(&mut self, row: u32, text: &[u8]) -> Result<(), serde_json::Error> {
        let mut json = serde_json::Deserializer::from_slice(text);
        let (records, others) = (self.0.table.rows.len(), self.0.other_geometries);
        let read = Feature(&mut self.0)
            .deserialize(&mut json)
            .and_then(|()| json.end());
        let table = &mut self.0.table;
        if read.is_err() {
            table.truncate(records);
            self.0.other_geometries = others;
        } else if let Some(last) = table.rows.last_mut() {
            *last = row;
        }
        read
    }

    pub(super) fn problem(&mut self, problem: Problem) {
        self.0.table.problems.push(|| problem);
    }

    pub(super) fn is_empty(&self) -> bool {
        self.0.table.rows.is_empty()
    }

    pub(super) fn records(&self) -> usize {
        self.0.table.rows.len()
    }

    /// The records, whatever they are, and how many of them have a geometry that is no point.
    pub(super) fn into_table(self) -> (RawTable, usize) {
        (self.0.table, self.0.other_geometries)
    }

    /// The records.
    ///
    /// # Errors
    /// When there are none, or none of them is a point.
    pub(super) fn finish(self) -> Result<RawTable, Problem> {
        self.0.finish()
    }
}

#[derive(Default)]
struct Reading<'f> {
    file: &'f str,
    table: RawTable,
    crs: Option<Value>,
    /// Features whose geometry is no point.
    other_geometries: usize,
    /// The first such geometry.
    other_geometry: Option<String>,
}

impl Reading<'_> {
    fn finish(self) -> Result<RawTable, Problem> {
        let (file, mut table) = (self.file, self.table);
        let records = table.rows.len();
        if records == 0 {
            return Err(Problem::new(file, "expected GeoJSON features, found none")
                .hint("a log is a FeatureCollection of points with attributes"));
        }
        if self.other_geometries == records {
            let found = self.other_geometry.unwrap_or_default();
            return Err(
                Problem::new(file, format!("expected points, found {found} geometries"))
                    .hint("a log is made of points; polygons belong into [strips]"),
            );
        }
        if let Some(crs) = self.crs {
            table.crs = crs_name(file, &crs)?;
        }
        Ok(table)
    }

    /// Ends a feature: everything it brought becomes a record.
    fn push(&mut self, point: Option<Geometry>) {
        let row = self.table.rows.len() as u32 + 1;
        let file = self.file;
        let position = match point {
            Some(Geometry {
                kind,
                point: Some(point),
            }) if kind == "Point" => point,
            Some(Geometry { kind, .. }) => {
                self.other_geometries += 1;
                if kind != "Point" {
                    self.table.problems.push(|| {
                        Problem::new(file, format!("expected a Point, found {kind:?}"))
                            .at_row(row)
                            .hint("the record has no position and will be dropped")
                    });
                }
                self.other_geometry.get_or_insert(kind);
                [f64::NAN; 2]
            }
            None => [f64::NAN; 2],
        };
        self.table.points.push(position);
        self.table.rows.push(row);
    }
}

/// A short text, taken from the document without a copy where it can be.
struct Key<'t>(Cow<'t, str>);

impl<'de> Deserialize<'de> for Key<'de> {
    fn deserialize<D: Deserializer<'de>>(json: D) -> Result<Self, D::Error> {
        struct KeyVisitor;
        impl<'de> Visitor<'de> for KeyVisitor {
            type Value = Key<'de>;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a text")
            }

            fn visit_borrowed_str<E>(self, text: &'de str) -> Result<Key<'de>, E> {
                Ok(Key(Cow::Borrowed(text)))
            }

            fn visit_str<E>(self, text: &str) -> Result<Key<'de>, E> {
                Ok(Key(Cow::Owned(text.to_owned())))
            }
        }
        json.deserialize_str(KeyVisitor)
    }
}

macro_rules! seed {
    ($name:ty, $value:ty, $ask:ident) => {
        impl<'de> DeserializeSeed<'de> for $name {
            type Value = $value;
            fn deserialize<D: Deserializer<'de>>(self, json: D) -> Result<$value, D::Error> {
                json.$ask(self)
            }
        }
    };
}

/// The outermost object: a collection, or one feature.
struct Document<'r, 'f>(&'r mut Reading<'f>);
seed!(Document<'_, '_>, (), deserialize_map);

impl<'de> Visitor<'de> for Document<'_, '_> {
    type Value = ();

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a GeoJSON FeatureCollection or Feature")
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<(), A::Error> {
        let mut geometry = None;
        let mut is_feature = false;
        while let Some(key) = map.next_key::<Key<'_>>()? {
            match &*key.0 {
                "features" => map.next_value_seed(Features(self.0))?,
                "crs" => self.0.crs = Some(map.next_value()?),
                "geometry" => {
                    geometry = map.next_value_seed(GeometrySeed)?;
                    is_feature = true;
                }
                "properties" => {
                    map.next_value_seed(Properties(self.0))?;
                    is_feature = true;
                }
                _ => drop(map.next_value::<IgnoredAny>()?),
            }
        }
        if is_feature && self.0.table.rows.is_empty() {
            self.0.push(geometry);
        }
        Ok(())
    }
}

/// The list of features.
struct Features<'r, 'f>(&'r mut Reading<'f>);
seed!(Features<'_, '_>, (), deserialize_seq);

impl<'de> Visitor<'de> for Features<'_, '_> {
    type Value = ();

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a list of features")
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<(), A::Error> {
        while list.next_element_seed(Feature(self.0))?.is_some() {}
        Ok(())
    }
}

/// One feature.
struct Feature<'r, 'f>(&'r mut Reading<'f>);
seed!(Feature<'_, '_>, (), deserialize_map);

impl<'de> Visitor<'de> for Feature<'_, '_> {
    type Value = ();

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a feature")
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<(), A::Error> {
        let mut geometry = None;
        while let Some(key) = map.next_key::<Key<'_>>()? {
            match &*key.0 {
                "geometry" => geometry = map.next_value_seed(GeometrySeed)?,
                "properties" => map.next_value_seed(Properties(self.0))?,
                _ => drop(map.next_value::<IgnoredAny>()?),
            }
        }
        self.0.push(geometry);
        Ok(())
    }
}

/// The attributes of the feature at hand.
struct Properties<'r, 'f>(&'r mut Reading<'f>);
seed!(Properties<'_, '_>, (), deserialize_any);

impl<'de> Visitor<'de> for Properties<'_, '_> {
    type Value = ();

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("an object of attributes, or null")
    }

    fn visit_unit<E>(self) -> Result<(), E> {
        Ok(())
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<(), A::Error> {
        let table = &mut self.0.table;
        let record = table.rows.len();
        let mut guess = 0;
        while let Some(key) = map.next_key::<Key<'_>>()? {
            let place = table.place(&key.0, guess);
            let cell = map.next_value_seed(CellSeed)?;
            if let Some(place) = place {
                table.set(place, record, cell);
                guess = place + 1;
            }
        }
        Ok(())
    }
}

/// One attribute value; lists and objects are kept as JSON text.
struct CellSeed;
seed!(CellSeed, Cell, deserialize_any);

impl<'de> Visitor<'de> for CellSeed {
    type Value = Cell;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("an attribute value")
    }

    fn visit_unit<E>(self) -> Result<Cell, E> {
        Ok(Cell::Empty)
    }

    fn visit_bool<E>(self, value: bool) -> Result<Cell, E> {
        Ok(Cell::Truth(value))
    }

    fn visit_i64<E>(self, value: i64) -> Result<Cell, E> {
        Ok(Cell::Whole(value))
    }

    fn visit_u64<E>(self, value: u64) -> Result<Cell, E> {
        Ok(i64::try_from(value).map_or(Cell::Number(value as f64), Cell::Whole))
    }

    fn visit_f64<E>(self, value: f64) -> Result<Cell, E> {
        Ok(Cell::Number(value))
    }

    fn visit_str<E>(self, value: &str) -> Result<Cell, E> {
        Ok(if value.is_empty() {
            Cell::Empty
        } else {
            Cell::Text(value.into())
        })
    }

    fn visit_seq<A: SeqAccess<'de>>(self, list: A) -> Result<Cell, A::Error> {
        let value = Value::deserialize(SeqAccessDeserializer::new(list))?;
        Ok(Cell::text(&value.to_string()))
    }

    fn visit_map<A: MapAccess<'de>>(self, map: A) -> Result<Cell, A::Error> {
        let value = Value::deserialize(MapAccessDeserializer::new(map))?;
        Ok(Cell::text(&value.to_string()))
    }
}

/// The kind of a geometry and, when its coordinates are one position, that position.
struct Geometry {
    kind: String,
    point: Option<[f64; 2]>,
}

struct GeometrySeed;
seed!(GeometrySeed, Option<Geometry>, deserialize_any);

impl<'de> Visitor<'de> for GeometrySeed {
    type Value = Option<Geometry>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a geometry or null")
    }

    fn visit_unit<E>(self) -> Result<Option<Geometry>, E> {
        Ok(None)
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Option<Geometry>, A::Error> {
        let mut geometry = Geometry {
            kind: String::new(),
            point: None,
        };
        while let Some(key) = map.next_key::<Key<'_>>()? {
            match &*key.0 {
                "type" => geometry.kind = map.next_value::<Key<'_>>()?.0.into_owned(),
                "coordinates" => geometry.point = map.next_value_seed(PositionSeed)?,
                _ => drop(map.next_value::<IgnoredAny>()?),
            }
        }
        Ok(Some(geometry))
    }
}

/// Coordinates: two or more numbers, or anything else, which is no position.
struct PositionSeed;
seed!(PositionSeed, Option<[f64; 2]>, deserialize_any);

impl<'de> Visitor<'de> for PositionSeed {
    type Value = Option<[f64; 2]>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("coordinates")
    }

    fn visit_unit<E>(self) -> Result<Self::Value, E> {
        Ok(None)
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<Self::Value, A::Error> {
        let mut position = [f64::NAN; 2];
        let mut numbers = 0;
        while let Some(coordinate) = list.next_element_seed(CoordinateSeed)? {
            if let Some(value) = coordinate {
                if let Some(axis) = position.get_mut(numbers) {
                    *axis = value;
                }
                numbers += 1;
            }
        }
        Ok((numbers >= 2).then_some(position))
    }
}

/// One coordinate, or a list of a geometry that is no point.
struct CoordinateSeed;
seed!(CoordinateSeed, Option<f64>, deserialize_any);

impl<'de> Visitor<'de> for CoordinateSeed {
    type Value = Option<f64>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a coordinate")
    }

    fn visit_unit<E>(self) -> Result<Self::Value, E> {
        Ok(None)
    }

    fn visit_i64<E>(self, value: i64) -> Result<Self::Value, E> {
        Ok(Some(value as f64))
    }

    fn visit_u64<E>(self, value: u64) -> Result<Self::Value, E> {
        Ok(Some(value as f64))
    }

    fn visit_f64<E>(self, value: f64) -> Result<Self::Value, E> {
        Ok(Some(value))
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<Self::Value, A::Error> {
        while list.next_element::<IgnoredAny>()?.is_some() {}
        Ok(None)
    }
}
