//! A layer of a GeoPackage that is edited in memory: rows that nobody touches stay as they are, and so do
//! all other layers and tables. Indexes follow, since the triggers that keep them are run.

use std::path::Path;

use checkstrip_model::Problem;
use rusqlite::functions::{Context, FunctionFlags};
use rusqlite::types::ValueRef;
use rusqlite::{Connection, MAIN_DB, OptionalExtension, params};

use super::layer::{self, Layer};
use super::{Wanted, open_in_memory, quoted, shape_of};
use crate::export::feature_source::Drawn;
use crate::export::push_geometry;
use crate::feature::Rings;
use crate::feature_table::Shape;

/// A GeoPackage in memory, and the layer that is edited.
pub(crate) struct LayerInHand {
    file: String,
    database: Connection,
    layer: Layer,
    /// The column that numbers its features.
    number: String,
}

/// What is written of a row.
pub(crate) struct EditedRow<'a> {
    /// Columns and what is to stand in them.
    pub(crate) values: Vec<(&'a str, Option<&'a str>)>,
    /// The outline, where it changed.
    pub(crate) polygons: Option<Vec<Rings>>,
}

impl LayerInHand {
    /// The layer of polygons called `layer`, or the only one, of the GeoPackage `bytes` from `path`.
    ///
    /// # Errors
    /// When it cannot be read, or its features have no number to be told apart by.
    pub(crate) fn open(
        path: &Path,
        bytes: &[u8],
        layer: Option<&str>,
    ) -> Result<LayerInHand, Problem> {
        let file = path.display().to_string();
        let database = open_in_memory(path, bytes, false)?;
        add_functions(&database).map_err(|error| refused(&file, &error))?;
        let layer = layer::choose(&file, &database, layer, Wanted::Polygons)?;
        let Some(number) = layer.number.clone() else {
            return Err(Problem::new(
                file,
                "the layer's features have no number, so that none of them can be changed",
            )
            .hint("save the layer again, or the strips as GeoJSON"));
        };
        Ok(LayerInHand {
            file,
            database,
            layer,
            number,
        })
    }

    /// Sees to it that there is a column called `name`.
    ///
    /// # Errors
    /// When it cannot be added.
    pub(crate) fn need_column(&self, name: &str) -> Result<(), Problem> {
        if self.kind_of(name)?.is_some() {
            return Ok(());
        }
        let add = format!(
            "ALTER TABLE {} ADD COLUMN {} TEXT",
            quoted(&self.layer.name),
            quoted(name)
        );
        self.run(self.database.execute(&add, []))
    }

    /// The declared type of a column, in upper case.
    fn kind_of(&self, column: &str) -> Result<Option<String>, Problem> {
        let query = "SELECT upper(type) FROM pragma_table_xinfo(?1) WHERE name = ?2";
        let found = self
            .database
            .query_row(query, [&self.layer.name, column], |row| row.get(0));
        found
            .optional()
            .map_err(|error| refused(&self.file, &error))
    }

    /// Takes feature number `row` out.
    ///
    /// # Errors
    /// When the file's own rules forbid it.
    pub(crate) fn remove(&self, row: u32) -> Result<(), Problem> {
        let remove = format!(
            "DELETE FROM {} WHERE {} = ?1",
            quoted(&self.layer.name),
            quoted(&self.number)
        );
        self.run(self.database.execute(&remove, [row]))
    }

    /// Adds a feature, a copy of feature number `source` where one is given, and returns its number.
    ///
    /// # Errors
    /// When the file's own rules forbid it, such as a value that may be there once only.
    pub(crate) fn add(&self, source: Option<u32>) -> Result<u32, Problem> {
        let columns = self.layer.columns(&self.file, &self.database)?;
        let names: Vec<String> = columns.iter().map(|column| quoted(&column.name)).collect();
        let (table, number) = (quoted(&self.layer.name), quoted(&self.number));
        let done = match source {
            Some(source) if !names.is_empty() => self.database.execute(
                &format!(
                    "INSERT INTO {table} ({0}) SELECT {0} FROM {table} WHERE {number} = ?1",
                    names.join(", ")
                ),
                [source],
            ),
            _ => self
                .database
                .execute(&format!("INSERT INTO {table} DEFAULT VALUES"), []),
        };
        self.run(done)?;
        u32::try_from(self.database.last_insert_rowid()).map_err(|_| {
            Problem::new(
                self.file.as_str(),
                "the layer has no numbers left for features",
            )
            .hint("save the layer again")
        })
    }

    /// Writes values and outline of feature number `row`.
    ///
    /// # Errors
    /// When a column of numbers is to hold a name, or the file's own rules forbid it.
    pub(crate) fn write(&self, row: u32, edited: &EditedRow<'_>) -> Result<(), Problem> {
        let set = |column: &str| {
            format!(
                "UPDATE {} SET {} = ?1 WHERE {} = ?2",
                quoted(&self.layer.name),
                quoted(column),
                quoted(&self.number)
            )
        };
        for &(column, value) in &edited.values {
            self.check_kind(column, value)?;
            self.run(self.database.execute(&set(column), params![value, row]))?;
        }
        let Some(polygons) = &edited.polygons else {
            return Ok(());
        };
        if polygons.len() > 1 && self.layer.kind == "POLYGON" {
            self.run(self.database.execute(
                "UPDATE gpkg_geometry_columns SET geometry_type_name = 'GEOMETRY' \
                 WHERE lower(table_name) = lower(?1)",
                [&self.layer.name],
            ))?;
        }
        // Outlines drawn here have neither heights nor measures.
        self.run(self.database.execute(
            "UPDATE gpkg_geometry_columns SET z = min(z * 2, 2), m = min(m * 2, 2) \
             WHERE lower(table_name) = lower(?1)",
            [&self.layer.name],
        ))?;
        let mut blob = Vec::new();
        let srs_id = i32::try_from(self.layer.srs_id).unwrap_or(0);
        let as_multiple = self.layer.kind == "MULTIPOLYGON";
        push_geometry(&mut blob, Drawn::Polygons(polygons), srs_id, as_multiple);
        let set = set(&self.layer.geometry);
        self.run(self.database.execute(&set, params![blob, row]))?;
        self.widen(polygons)
    }

    fn check_kind(&self, column: &str, value: Option<&str>) -> Result<(), Problem> {
        let kind = self.kind_of(column)?.unwrap_or_default();
        let is_of_text = kind.is_empty() || kind.contains("TEXT") || kind.contains("CHAR");
        match value {
            Some(value) if !is_of_text && value.parse::<f64>().is_err() => Err(Problem::new(
                self.file.as_str(),
                format!("expected a number, found {value:?}: the column holds numbers only"),
            )
            .in_column(column)
            .hint("give it a number, or make the column one of text in your map program")),
            _ => Ok(()),
        }
    }

    /// Makes the box that the file states around the layer hold `polygons`.
    fn widen(&self, polygons: &[Rings]) -> Result<(), Problem> {
        let mut bounds = None;
        for corner in polygons.iter().flatten().flatten() {
            crate::export::feature_source::widen(&mut bounds, *corner);
        }
        let Some([west, south, east, north]) = bounds else {
            return Ok(());
        };
        self.run(self.database.execute(
            "UPDATE gpkg_contents SET min_x = min(coalesce(min_x, ?1), ?1), \
             min_y = min(coalesce(min_y, ?2), ?2), max_x = max(coalesce(max_x, ?3), ?3), \
             max_y = max(coalesce(max_y, ?4), ?4) WHERE lower(table_name) = lower(?5)",
            params![west, south, east, north, self.layer.name],
        ))
    }

    /// The bytes of the GeoPackage, changed at `now` (ISO 8601, UTC).
    ///
    /// # Errors
    /// When there is no memory for them.
    pub(crate) fn into_bytes(self, now: &str) -> Result<Vec<u8>, Problem> {
        self.run(self.database.execute(
            "UPDATE gpkg_contents SET last_change = ?1 WHERE lower(table_name) = lower(?2)",
            [now, &self.layer.name],
        ))?;
        let bytes = self.database.serialize(MAIN_DB);
        let bytes = bytes.map_err(|error| refused(&self.file, &error))?;
        Ok(bytes.to_vec())
    }

    fn run(&self, done: rusqlite::Result<usize>) -> Result<(), Problem> {
        done.map(|_| ())
            .map_err(|error| refused(&self.file, &error))
    }
}

fn refused(file: &str, error: &rusqlite::Error) -> Problem {
    Problem::new(file, format!("the layer cannot be changed: {error}"))
        .hint("save the layer again in your map program, or the strips as GeoJSON")
}

/// The functions that the triggers of spatial indexes call (OGC 12-128r19, annex F.3).
fn add_functions(database: &Connection) -> rusqlite::Result<()> {
    let flags = FunctionFlags::SQLITE_UTF8
        | FunctionFlags::SQLITE_DETERMINISTIC
        | FunctionFlags::SQLITE_INNOCUOUS;
    fn bounds(context: &Context<'_>) -> Option<[f64; 4]> {
        let value: ValueRef<'_> = context.get_raw(0);
        let mut bounds = None;
        let mut widen = |corner: [f64; 2]| {
            crate::export::feature_source::widen(&mut bounds, corner);
        };
        match shape_of(value)? {
            Shape::Polygons(polygons) => {
                polygons.iter().flatten().flatten().copied().for_each(widen);
            }
            Shape::Point(point) => widen(point),
            Shape::Nothing | Shape::Other(_) => {}
        }
        bounds
    }
    database.create_scalar_function("ST_IsEmpty", 1, flags, |context| {
        Ok(i32::from(bounds(context).is_none()))
    })?;
    for (name, side) in [
        ("ST_MinX", 0),
        ("ST_MinY", 1),
        ("ST_MaxX", 2),
        ("ST_MaxY", 3),
    ] {
        database.create_scalar_function(name, 1, flags, move |context| {
            Ok(bounds(context).map(|bounds| bounds[side]))
        })?;
    }
    Ok(())
}
