//! The layers of a GeoPackage: which one is read, its columns and its reference system.

use std::path::{Path, PathBuf};

use checkstrip_model::Problem;
use rusqlite::{Connection, OptionalExtension};

use super::{damaged, quoted};

/// Which layers fit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Wanted {
    Points,
    Polygons,
    Either,
}

/// A layer of features.
#[derive(Debug, Clone)]
pub(crate) struct Layer {
    pub(crate) name: String,
    /// The column of its geometries.
    pub(crate) geometry: String,
    /// Which geometries it says it holds, such as `POINT`; `GEOMETRY` for any.
    pub(super) kind: String,
    /// The row of its reference system.
    pub(super) srs_id: i64,
    /// The column that numbers its features.
    pub(crate) number: Option<String>,
}

/// A column of attributes.
#[derive(Debug, Clone)]
pub(crate) struct LayerColumn {
    pub(crate) name: String,
    /// Its numbers are truth values.
    pub(crate) is_truth: bool,
}

/// More layers than a file for one field has.
const MOST_LAYERS: usize = 1000;

/// The name under which GeoPackages keep the number of a feature.
pub(crate) const FEATURE_NUMBER: &str = "fid";

/// The file that a path names: `field.gpkg` for `field.gpkg:strips`, any other path as it is.
pub fn without_layer(path: &Path) -> PathBuf {
    split_layer(path).0
}

/// `path` without the layer behind it: `field.gpkg:strips` is the layer `strips` of `field.gpkg`.
pub(crate) fn split_layer(path: &Path) -> (PathBuf, Option<String>) {
    const BEFORE: &str = ".gpkg:";
    if let Some(text) = path.to_str()
        && !path.exists()
        && let Some(at) = text.to_lowercase().rfind(BEFORE)
        && let (Some(file), Some(layer)) = (
            text.get(..at + BEFORE.len() - 1),
            text.get(at + BEFORE.len()..),
        )
        && !layer.is_empty()
    {
        return (PathBuf::from(file), Some(layer.to_owned()));
    }
    (path.to_owned(), None)
}

/// The layer called `name`, or the only one that fits `wanted`.
///
/// # Errors
/// When there is none, or more than one, or the file is no GeoPackage.
pub(super) fn choose(
    file: &str,
    database: &Connection,
    name: Option<&str>,
    wanted: Wanted,
) -> Result<Layer, Problem> {
    let layers = layers(file, database)?;
    let shown = || {
        let names = layers
            .iter()
            .map(|layer| format!("{:?} ({})", layer.name, layer.kind.to_lowercase()));
        names.collect::<Vec<_>>().join(", ")
    };
    if let Some(name) = name {
        let found = layers
            .iter()
            .find(|layer| layer.name == name)
            .or_else(|| layers.iter().find(|l| l.name.eq_ignore_ascii_case(name)));
        return found.cloned().ok_or_else(|| {
            Problem::new(
                file,
                format!("expected a layer {name:?}; there are: {}", shown()),
            )
            .hint("name one of them behind the file and a colon")
        });
    }
    let fitting: Vec<&Layer> = layers.iter().filter(|layer| layer.fits(wanted)).collect();
    let what = match wanted {
        Wanted::Points => "of points",
        Wanted::Polygons => "of polygons",
        Wanted::Either => "of points or polygons",
    };
    match fitting[..] {
        [only] => Ok(only.clone()),
        [] => {
            let found = match layers.is_empty() {
                true => "none".to_owned(),
                false => shown(),
            };
            Err(
                Problem::new(file, format!("expected a layer {what}, found {found}"))
                    .hint("save the log as points, strips, zones and boundaries as polygons"),
            )
        }
        [first, ..] => Err(Problem::new(
            file,
            format!(
                "expected one layer {what}, found {}: {}",
                fitting.len(),
                shown()
            ),
        )
        .hint(format!(
            "name the layer behind the file and a colon, as in {file}:{}",
            first.name
        ))),
    }
}

fn layers(file: &str, database: &Connection) -> Result<Vec<Layer>, Problem> {
    let query = "SELECT c.table_name, g.column_name, g.geometry_type_name, g.srs_id \
                 FROM gpkg_geometry_columns g JOIN gpkg_contents c \
                 ON lower(c.table_name) = lower(g.table_name) \
                 WHERE lower(c.data_type) = 'features'";
    let read = || -> rusqlite::Result<Vec<Layer>> {
        let mut statement = database.prepare(query)?;
        let found = statement.query_map([], |row| {
            Ok(Layer {
                name: row.get(0)?,
                geometry: row.get(1)?,
                kind: row.get::<_, String>(2)?.to_uppercase(),
                srs_id: row.get(3)?,
                number: None,
            })
        })?;
        found.take(MOST_LAYERS).collect()
    };
    let mut layers = read().map_err(|error| match error.sqlite_error_code() {
        // The tables that every GeoPackage has are not there.
        Some(rusqlite::ErrorCode::Unknown) => {
            Problem::new(file, "expected a GeoPackage, found another SQLite database")
                .hint("save the log or the strips as GeoPackage (.gpkg)")
        }
        _ => damaged(file, &error),
    })?;
    for layer in &mut layers {
        layer.number = layer
            .number_column(database)
            .map_err(|e| damaged(file, &e))?;
    }
    Ok(layers)
}

impl Layer {
    fn fits(&self, wanted: Wanted) -> bool {
        let holds = |kinds: &[&str]| kinds.contains(&self.kind.as_str());
        let (points, polygons) = (
            holds(&["POINT", "GEOMETRY"]),
            holds(&["POLYGON", "MULTIPOLYGON", "GEOMETRY"]),
        );
        match wanted {
            Wanted::Points => points,
            Wanted::Polygons => polygons,
            Wanted::Either => points || polygons,
        }
    }

    /// The column that is the primary key, when it is called as usual: it is the feature's number and
    /// no attribute.
    fn number_column(&self, database: &Connection) -> rusqlite::Result<Option<String>> {
        let query = "SELECT name FROM pragma_table_xinfo(?1) WHERE pk = 1 AND lower(name) = ?2";
        database
            .query_row(query, [&self.name, FEATURE_NUMBER], |row| row.get(0))
            .optional()
    }

    /// The columns of attributes that are stored, in the order of the table.
    pub(super) fn columns(
        &self,
        file: &str,
        database: &Connection,
    ) -> Result<Vec<LayerColumn>, Problem> {
        let refuse = |error: rusqlite::Error| damaged(file, &error);
        let kind: Option<(String, String)> = database
            .query_row(
                "SELECT type, coalesce(sql, '') FROM sqlite_schema WHERE lower(name) = lower(?1)",
                [&self.name],
                |row| Ok((row.get(0)?, row.get(1)?)),
            )
            .optional()
            .map_err(refuse)?;
        match kind {
            Some((kind, sql)) if kind == "table" && !is_virtual(&sql) => {}
            Some(_) => {
                return Err(Problem::new(file, "the layer is a view, which is not read")
                    .hint("save it as a layer of its own"));
            }
            None => {
                return Err(Problem::new(file, "the layer's table is not in the file")
                    .hint("save the layer again"));
            }
        }
        let query = "SELECT name, upper(type) FROM pragma_table_xinfo(?1) WHERE hidden = 0";
        let mut statement = database.prepare(query).map_err(refuse)?;
        let columns = statement
            .query_map([&self.name], |row| {
                Ok(LayerColumn {
                    name: row.get(0)?,
                    is_truth: row.get::<_, String>(1)? == "BOOLEAN",
                })
            })
            .map_err(refuse)?;
        let mut columns: Vec<LayerColumn> = columns.collect::<Result<_, _>>().map_err(refuse)?;
        columns.retain(|column| {
            !column.name.eq_ignore_ascii_case(&self.geometry)
                && Some(&column.name) != self.number.as_ref()
        });
        Ok(columns)
    }

    /// The table of the boxes around its features (annex F.3, *RTree Spatial Indexes*), when there is one.
    pub(super) fn index(&self, database: &Connection) -> Option<String> {
        let name = format!("rtree_{}_{}", self.name, self.geometry);
        let query = "SELECT s.name, s.sql FROM sqlite_schema s JOIN gpkg_extensions e \
                     ON lower(e.table_name) = lower(?1) \
                     AND lower(e.extension_name) = 'gpkg_rtree_index' \
                     WHERE lower(s.name) = lower(?2) AND s.type = 'table'";
        let found = database.query_row(query, [&self.name, &name], |row| {
            Ok((row.get::<_, String>(0)?, row.get::<_, String>(1)?))
        });
        let (name, sql) = found.ok()?;
        let sql = sql.to_lowercase();
        (is_virtual(&sql) && sql.contains("using rtree")).then_some(name)
    }

    /// How many features it has.
    pub(super) fn features(&self, database: &Connection) -> Option<u64> {
        let query = format!("SELECT count(*) FROM {}", quoted(&self.name));
        let count = database.query_row(&query, [], |row| row.get::<_, i64>(0));
        u64::try_from(count.ok()?).ok()
    }

    /// Whether the layer says that it is in WGS 84.
    pub(super) fn is_wgs84(&self, database: &Connection) -> bool {
        self.reference_system(database)
            .is_some_and(|(organisation, code, _)| {
                organisation.eq_ignore_ascii_case("EPSG") && code == 4326
            })
    }

    /// The definition of its reference system; `None` for WGS 84, and where it has none.
    pub(super) fn crs(&self, database: &Connection) -> Option<String> {
        let (organisation, code, definition) = self.reference_system(database)?;
        match organisation.to_uppercase().as_str() {
            "EPSG" if code == 4326 => None,
            known @ ("EPSG" | "ESRI") => Some(format!("{known}:{code}")),
            _ => Some(definition).filter(|d| !d.trim().is_empty() && d != "undefined"),
        }
    }

    /// Organisation, its code, and definition.
    fn reference_system(&self, database: &Connection) -> Option<(String, i64, String)> {
        let query = "SELECT organization, organization_coordsys_id, definition \
                     FROM gpkg_spatial_ref_sys WHERE srs_id = ?1";
        let found = database.query_row(query, [self.srs_id], |row| {
            Ok((row.get(0)?, row.get(1)?, row.get(2)?))
        });
        found.ok()
    }
}

/// Whether a table is made by a module of SQLite and not stored as such.
fn is_virtual(sql: &str) -> bool {
    let sql = sql.trim_start().to_uppercase();
    sql.starts_with("CREATE VIRTUAL")
}
