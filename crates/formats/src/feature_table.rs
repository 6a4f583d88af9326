//! What a file of features holds, before anything is asked of it: attributes by column, and for each
//! feature its point or polygons. Readers of formats that mix both fill it; a log takes its points, a
//! file of strips its polygons, and a conversion all of it.

use checkstrip_model::Problem;

use crate::cell::Cell;
use crate::feature::{Feature, FeatureFile, Rings};
use crate::raw_table::RawTable;
use crate::unnamed_crs::take_for_wgs84;

/// The geometry of one feature, in the file's coordinates.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Shape {
    /// None.
    Nothing,
    Point([f64; 2]),
    Polygons(Vec<Rings>),
    /// A geometry of another kind, by its name.
    Other(String),
}

/// Features with attributes.
#[derive(Debug, Default)]
pub(crate) struct FeatureTable {
    /// The attributes, and a point for every feature: `NaN` where it has none.
    pub(crate) table: RawTable,
    /// Features that are polygons: the record, from 0, and its ground.
    pub(crate) polygons: Vec<(usize, Vec<Rings>)>,
    /// How many features are points.
    pub(crate) points: usize,
    /// Features that are something else: the record, from 0, and what.
    pub(crate) others: Vec<(usize, String)>,
}

impl FeatureTable {
    /// Ends the feature at hand, whose attributes were set as those of record
    /// [`records`](Self::records).
    pub(crate) fn push(&mut self, row: u32, shape: Shape) {
        let record = self.records();
        let mut position = [f64::NAN; 2];
        match shape {
            Shape::Nothing => {}
            Shape::Point(point) => {
                position = point;
                self.points += 1;
            }
            Shape::Polygons(polygons) => self.polygons.push((record, polygons)),
            Shape::Other(kind) => self.others.push((record, kind)),
        }
        self.table.rows.push(row);
        self.table.points.push(position);
    }

    /// Puts the features of `later`, which has the same attributes, behind these.
    pub(crate) fn append(&mut self, later: FeatureTable) {
        let before = self.records();
        self.points += later.points;
        let polygons = later.polygons.into_iter();
        self.polygons
            .extend(polygons.map(|(record, drawn)| (record + before, drawn)));
        let others = later.others.into_iter();
        self.others
            .extend(others.map(|(record, kind)| (record + before, kind)));
        self.table.rows.extend(later.table.rows);
        self.table.points.extend(later.table.points);
        self.table.problems.append(later.table.problems, 0);
        for (column, more) in self.table.columns.iter_mut().zip(later.table.columns) {
            column.extend(
                more.into_iter()
                    .map(|(record, cell)| (record + before, cell)),
            );
        }
    }

    /// How many features there are.
    pub(crate) fn records(&self) -> usize {
        self.table.rows.len()
    }

    /// Takes the coordinates for WGS 84, since the file names no reference system, and notes so;
    /// `missing` and `hint` as in [`take_for_wgs84`].
    ///
    /// # Errors
    /// When a coordinate is outside degrees.
    pub(crate) fn take_for_wgs84(
        &mut self,
        file: &str,
        missing: &str,
        hint: &str,
    ) -> Result<(), Problem> {
        let rings = self.polygons.iter().flat_map(|(_, parts)| parts).flatten();
        let points = self.table.points.iter().chain(rings.flatten()).copied();
        let note = take_for_wgs84(file, missing, hint, points)?;
        self.table.problems.push(|| note);
        Ok(())
    }

    /// The features as the records of a log.
    ///
    /// # Errors
    /// When there are none, or no feature that has a geometry is a point.
    pub(crate) fn into_points(mut self, file: &str) -> Result<RawTable, Problem> {
        if self.records() == 0 {
            return Err(Problem::new(file, "expected points, found no feature")
                .hint("export the log again, or leave the file out"));
        }
        let wrong = self
            .polygons
            .iter()
            .map(|(record, _)| (*record, "Polygon"))
            .chain(self.others.iter().map(|(record, kind)| (*record, &**kind)));
        for (record, kind) in wrong {
            if self.points == 0 {
                return Err(Problem::new(
                    file,
                    format!("expected points, found {kind} geometries"),
                )
                .hint("a log is made of points; polygons belong into [strips]"));
            }
            let row = self.table.rows[record];
            self.table.problems.push(|| {
                Problem::new(file, format!("expected a Point, found {kind:?}"))
                    .at_row(row)
                    .hint("the record has no position and will be dropped")
            });
        }
        Ok(self.table)
    }

    /// The features as polygons.
    ///
    /// # Errors
    /// When a feature is none.
    pub(crate) fn into_polygons(self, file: &str) -> Result<FeatureFile, Problem> {
        let rows = &self.table.rows;
        let mut polygons = self.polygons.into_iter().peekable();
        let mut features = Vec::with_capacity(rows.len());
        for (record, &row) in rows.iter().enumerate() {
            let Some((_, polygons)) = polygons.next_if(|(at, _)| *at == record) else {
                let other = self.others.iter().find(|(at, _)| *at == record);
                let found = match other {
                    Some((_, kind)) => kind,
                    None if self.table.points[record][0].is_finite() => "Point",
                    None => "no geometry",
                };
                return Err(Problem::new(
                    file,
                    format!("expected a Polygon or MultiPolygon, found {found}"),
                )
                .at_row(row)
                .hint("draw the strip as an area, or take the feature out of the file"));
            };
            features.push(Feature {
                row,
                polygons,
                attributes: Vec::new(),
            });
        }
        let (names, columns) = (self.table.headers, self.table.columns);
        for (name, cells) in names.iter().zip(columns) {
            for (record, cell) in cells {
                if cell != Cell::Empty {
                    features[record].attributes.push((name.clone(), cell));
                }
            }
        }
        Ok(FeatureFile {
            features,
            attribute_names: names,
            crs: self.table.crs,
            short_names: false,
            problems: self.table.problems.finish(file),
        })
    }
}

impl From<RawTable> for FeatureTable {
    fn from(table: RawTable) -> FeatureTable {
        let points = table.points.iter().filter(|p| !p[0].is_nan()).count();
        FeatureTable {
            table,
            points,
            ..FeatureTable::default()
        }
    }
}

impl From<FeatureFile> for FeatureTable {
    fn from(file: FeatureFile) -> FeatureTable {
        let mut read = FeatureTable::default();
        for name in &file.attribute_names {
            read.table.place(name, read.table.headers.len());
        }
        for (record, feature) in file.features.into_iter().enumerate() {
            let mut guess = 0;
            for (name, cell) in feature.attributes {
                if let Some(place) = read.table.place(&name, guess) {
                    read.table.set(place, record, cell);
                    guess = place + 1;
                }
            }
            read.push(feature.row, Shape::Polygons(feature.polygons));
        }
        for problem in file.problems {
            read.table.problems.push(|| problem);
        }
        read.table.crs = file.crs;
        read
    }
}
