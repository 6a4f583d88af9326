//! Features as one layer of a GeoPackage (OGC 12-128r19). The database is put together under a temporary
//! name.

use std::io;
use std::path::Path;

use checkstrip_model::CleanLog;
use rusqlite::types::ToSqlOutput;
use rusqlite::{Connection, ErrorCode, MAIN_DB, params, params_from_iter};

use super::atomic::write_beside;
use super::feature_source::{
    CleanedFeatures, ColumnKind, Drawn, FeatureBatch, FeatureSource, Holds, Outline, Value,
    WrittenColumn,
};
use crate::FormatError;
use crate::geopackage::{FEATURE_NUMBER, quoted};
use crate::well_known_binary;

/// WGS 84 longitude and latitude, as the standard wants it in every file.
const WGS_84: &str = "GEOGCS[\"WGS 84\",DATUM[\"WGS_1984\",SPHEROID[\"WGS 84\",6378137,298.257223563,\
    AUTHORITY[\"EPSG\",\"7030\"]],AUTHORITY[\"EPSG\",\"6326\"]],PRIMEM[\"Greenwich\",0,\
    AUTHORITY[\"EPSG\",\"8901\"]],UNIT[\"degree\",0.0174532925199433,AUTHORITY[\"EPSG\",\"9122\"]],\
    AUTHORITY[\"EPSG\",\"4326\"]]";
/// Its row.
const WGS_84_ROW: i32 = 4326;
/// The row of a system that no authority numbers; those below belong to authorities.
const OWN_ROW: i32 = 300_001;

/// The tables that every GeoPackage has (sections 1.1.2, 1.1.3 and 2.1.5), application and version
/// numbers (section 1.1.1).
const TABLES: &str = "
PRAGMA application_id = 1196444487;
PRAGMA user_version = 10300;
CREATE TABLE gpkg_spatial_ref_sys (
  srs_name TEXT NOT NULL, srs_id INTEGER PRIMARY KEY, organization TEXT NOT NULL,
  organization_coordsys_id INTEGER NOT NULL, definition TEXT NOT NULL, description TEXT);
CREATE TABLE gpkg_contents (
  table_name TEXT NOT NULL PRIMARY KEY, data_type TEXT NOT NULL, identifier TEXT UNIQUE,
  description TEXT DEFAULT '',
  last_change DATETIME NOT NULL DEFAULT (strftime('%Y-%m-%dT%H:%M:%fZ','now')),
  min_x DOUBLE, min_y DOUBLE, max_x DOUBLE, max_y DOUBLE, srs_id INTEGER,
  CONSTRAINT fk_gc_r_srs_id FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys(srs_id));
CREATE TABLE gpkg_geometry_columns (
  table_name TEXT NOT NULL, column_name TEXT NOT NULL, geometry_type_name TEXT NOT NULL,
  srs_id INTEGER NOT NULL, z TINYINT NOT NULL, m TINYINT NOT NULL,
  CONSTRAINT pk_geom_cols PRIMARY KEY (table_name, column_name),
  CONSTRAINT uk_gc_table_name UNIQUE (table_name),
  CONSTRAINT fk_gc_tn FOREIGN KEY (table_name) REFERENCES gpkg_contents(table_name),
  CONSTRAINT fk_gc_srs FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys (srs_id));
INSERT INTO gpkg_spatial_ref_sys VALUES
  ('Undefined Cartesian SRS', -1, 'NONE', -1, 'undefined', NULL),
  ('Undefined geographic SRS', 0, 'NONE', 0, 'undefined', NULL);
";

/// Writes `log` as the layer `cleaned` of a GeoPackage: one point per record under canonical names,
/// null where there is no reading.
///
/// # Errors
/// When the file cannot be written.
pub fn write_cleaned_geopackage(path: &Path, log: &CleanLog) -> Result<(), FormatError> {
    write_geopackage(path, "cleaned", &CleanedFeatures::new(log))
}

/// Writes `source` as the layer `layer`. Names of columns differ in more than upper and lower case.
///
/// # Errors
/// When the file cannot be written.
pub(crate) fn write_geopackage(
    path: &Path,
    layer: &str,
    source: &dyn FeatureSource,
) -> Result<(), FormatError> {
    let write = |temporary: &Path| {
        let mut database = Connection::open(temporary)?;
        // Nobody else sees the file before it is whole.
        database.execute_batch("PRAGMA journal_mode = OFF; PRAGMA synchronous = OFF;")?;
        build(&mut database, layer, source)?;
        database.close().map_err(|(_, error)| error)
    };
    write_beside(path, |temporary| {
        let failed = match write(temporary) {
            Ok(()) => return Ok(()),
            Err(error) => error,
        };
        Err(match failed {
            // What went wrong behind the database says more.
            rusqlite::Error::ToSqlConversionFailure(source) => match source.downcast::<io::Error>()
            {
                Ok(error) => *error,
                Err(other) => io::Error::other(other),
            },
            rusqlite::Error::SqliteFailure(code, _) if code.code == ErrorCode::DiskFull => {
                io::ErrorKind::StorageFull.into()
            }
            other => io::Error::other(other),
        })
    })
}

/// The bytes of a GeoPackage whose layer `layer` has no polygon yet, and the text columns `columns`.
///
/// # Errors
/// When there is no memory for it.
pub(crate) fn empty_geopackage(layer: &str, columns: &[&str]) -> rusqlite::Result<Vec<u8>> {
    let text = |name: &&str| WrittenColumn {
        name: (*name).to_owned(),
        kind: ColumnKind::Text,
    };
    let source = NoPolygons(Outline {
        columns: columns.iter().map(text).collect(),
        records: 0,
        holds: Holds::Polygons,
        single_parts: true,
        several_parts: false,
        extent: None,
        crs: None,
    });
    let mut database = Connection::open_in_memory()?;
    build(&mut database, layer, &source)?;
    Ok(database.serialize(MAIN_DB)?.to_vec())
}

/// A layer that is still empty.
struct NoPolygons(Outline);

impl FeatureSource for NoPolygons {
    fn outline(&self) -> &Outline {
        &self.0
    }

    fn each_batch(&self, _: &mut dyn FnMut(&dyn FeatureBatch) -> io::Result<()>) -> io::Result<()> {
        Ok(())
    }
}

fn build(
    database: &mut Connection,
    layer: &str,
    source: &dyn FeatureSource,
) -> rusqlite::Result<()> {
    let outline = source.outline();
    database.execute_batch(TABLES)?;
    let add = "INSERT OR IGNORE INTO gpkg_spatial_ref_sys VALUES (?1, ?2, ?3, ?4, ?5, NULL)";
    database.execute(
        add,
        params!["WGS 84", WGS_84_ROW, "EPSG", WGS_84_ROW, WGS_84],
    )?;
    let srs_id = match &outline.crs {
        None => WGS_84_ROW,
        Some(crs) => {
            let (authority, code) = match &crs.code {
                Some((authority, code)) => (authority.as_str(), *code),
                None => ("NONE", OWN_ROW),
            };
            let row = if authority == "EPSG" { code } else { OWN_ROW };
            let definition = &crs.description.wkt;
            database.execute(add, params![crs.name, row, authority, code, definition])?;
            row
        }
    };

    let names: Vec<&str> = outline.columns.iter().map(|c| c.name.as_str()).collect();
    let number = free_name(FEATURE_NUMBER, &names);
    let geometry = free_name("geom", &names);
    let kind = match outline.holds {
        Holds::Points => "POINT",
        Holds::Nothing => "GEOMETRY",
        Holds::Polygons if outline.several_parts => "MULTIPOLYGON",
        Holds::Polygons => "POLYGON",
    };
    let mut table = format!(
        "CREATE TABLE {} ({} INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, {} {kind}",
        quoted(layer),
        quoted(&number),
        quoted(&geometry),
    );
    for column in &outline.columns {
        let kind = match column.kind {
            ColumnKind::Truth => "BOOLEAN",
            ColumnKind::Whole => "INTEGER",
            ColumnKind::Number => "REAL",
            ColumnKind::Text => "TEXT",
        };
        table.push_str(&format!(", {} {kind}", quoted(&column.name)));
    }
    table.push(')');
    database.execute(&table, [])?;
    let [west, south, east, north] = outline.extent.map_or([None; 4], |e| e.map(Some));
    database.execute(
        "INSERT INTO gpkg_contents (table_name, data_type, identifier, min_x, min_y, max_x, max_y, \
         srs_id) VALUES (?1, 'features', ?1, ?2, ?3, ?4, ?5, ?6)",
        params![layer, west, south, east, north, srs_id],
    )?;
    database.execute(
        "INSERT INTO gpkg_geometry_columns VALUES (?1, ?2, ?3, ?4, 0, 0)",
        params![layer, geometry, kind, srs_id],
    )?;

    let all = database.transaction()?;
    {
        let marks = vec!["?"; outline.columns.len() + 1].join(", ");
        let mut columns = vec![quoted(&geometry)];
        columns.extend(names.iter().map(|name| quoted(name)));
        let mut insert = all.prepare(&format!(
            "INSERT INTO {} ({}) VALUES ({marks})",
            quoted(layer),
            columns.join(", ")
        ))?;
        let mut blob = Vec::new();
        let written = source.each_batch(&mut |batch| {
            for record in 0..batch.records() {
                blob.clear();
                push_geometry(
                    &mut blob,
                    batch.drawn(record),
                    srs_id,
                    kind == "MULTIPOLYGON",
                );
                let geometry = match blob.is_empty() {
                    true => ToSqlOutput::from(rusqlite::types::Null),
                    false => ToSqlOutput::from(blob.as_slice()),
                };
                let values =
                    (0..outline.columns.len()).map(|column| match batch.value(column, record) {
                        Value::Nothing => ToSqlOutput::from(rusqlite::types::Null),
                        Value::Truth(value) => ToSqlOutput::from(value),
                        Value::Whole(value) => ToSqlOutput::from(value),
                        Value::Number(value) => ToSqlOutput::from(value),
                        Value::Text(text) => ToSqlOutput::from(text),
                    });
                insert
                    .execute(params_from_iter(std::iter::once(geometry).chain(values)))
                    .map_err(io::Error::other)?;
            }
            Ok(())
        });
        written.map_err(|error| rusqlite::Error::ToSqlConversionFailure(Box::new(error)))?;
    }
    all.commit()
}

/// Appends a geometry: header (section 2.1.3, little-endian, no envelope), then well-known binary.
pub(crate) fn push_geometry(out: &mut Vec<u8>, drawn: Drawn<'_>, srs_id: i32, as_multiple: bool) {
    const HEADER: [u8; 4] = [b'G', b'P', 0, 1];
    if drawn == Drawn::Nothing {
        return;
    }
    out.extend_from_slice(&HEADER);
    out.extend_from_slice(&srs_id.to_le_bytes());
    match drawn {
        Drawn::Nothing => {}
        Drawn::Point(point) => well_known_binary::push_point(out, point),
        Drawn::Polygons(polygons) if as_multiple => {
            well_known_binary::push_multi_polygon(out, polygons);
        }
        Drawn::Polygons(polygons) => well_known_binary::push_polygons(out, polygons),
    }
}

/// `wanted`, with a number behind it where a column is called so, in any case.
pub(super) fn free_name(wanted: &str, taken: &[&str]) -> String {
    let is_free = |name: &String| !taken.iter().any(|other| other.eq_ignore_ascii_case(name));
    std::iter::once(wanted.to_owned())
        .chain((1..).map(|number| format!("{wanted}_{number}")))
        .find(is_free)
        .unwrap_or_default()
}
