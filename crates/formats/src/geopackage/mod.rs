//! GeoPackage (OGC 12-128r19): one layer of points as a log, of polygons as strips. The database is
//! opened read-only, from memory or, for conversions, in its place, and nothing of it is run: views and
//! computed columns are not read, so that a small file cannot grow without end.

mod edit;
mod layer;
mod stream;

use std::io::Read;
use std::path::Path;

use checkstrip_model::Problem;
use rusqlite::limits::Limit;
use rusqlite::types::ValueRef;
use rusqlite::{Connection, MAIN_DB, Row};

use crate::cell::Cell;
use crate::feature_table::{FeatureTable, Shape};
use crate::well_known_binary;
pub(crate) use edit::{EditedRow, LayerInHand};
use layer::Layer;
pub use layer::without_layer;
pub(crate) use layer::{FEATURE_NUMBER, Wanted, split_layer};
pub(crate) use stream::GeoPackageStream;

/// No outline or text of a log is longer than this many bytes.
const LONGEST_VALUE: i32 = 16 << 20;

/// Where the header says whether recent changes lie in a second file: 1 for no, 2 for yes.
const JOURNAL_BYTES: std::ops::Range<usize> = 18..20;

/// Bytes of the smallest database header.
const HEADER: usize = 100;

/// The features of the layer called `layer`, or of the only one that fits `wanted`, in the GeoPackage
/// `bytes` from `path`. Values of attributes that `is_needed` turns down are not read.
///
/// When the database is damaged further on, the features before are kept and the place is a problem.
///
/// # Errors
/// When it is no GeoPackage, no layer or more than one fits, or the layer cannot be read.
pub(crate) fn read(
    path: &Path,
    bytes: &[u8],
    layer: Option<&str>,
    wanted: Wanted,
    is_needed: &dyn Fn(&str) -> bool,
) -> Result<FeatureTable, Problem> {
    let file = path.display().to_string();
    let database = open(path, bytes)?;
    let layer = layer::choose(&file, &database, layer, wanted)?;
    let file = format!("{file}, layer {:?}", layer.name);
    let mut read = FeatureTable::default();
    let mut take = |table: FeatureTable| {
        read = table;
        Ok::<(), Problem>(())
    };
    features(
        &file,
        &database,
        &layer,
        None,
        is_needed,
        usize::MAX,
        &mut take,
    )?;
    name_crs(&file, &database, &layer, &mut read)?;
    Ok(read)
}

/// Says in `read` what reference system the layer has.
///
/// # Errors
/// When it has none and its coordinates are no degrees.
fn name_crs(
    file: &str,
    database: &Connection,
    layer: &Layer,
    read: &mut FeatureTable,
) -> Result<(), Problem> {
    read.table.crs = layer.crs(database);
    if read.table.crs.is_none() && !layer.is_wgs84(database) {
        read.take_for_wgs84(
            file,
            "no reference system for the layer",
            "set the layer's reference system",
        )?;
    }
    Ok(())
}

/// What SQLite found wrong.
fn damaged(file: &str, error: &rusqlite::Error) -> Problem {
    Problem::new(file, format!("the GeoPackage cannot be read: {error}"))
        .hint("it is damaged or was cut off: copy it again from where it came from")
}

/// # Errors
/// When not all of the GeoPackage is in its file.
fn check_whole(path: &Path) -> Result<(), Problem> {
    let mut beside = path.as_os_str().to_owned();
    beside.push("-wal");
    if std::fs::metadata(&beside).is_ok_and(|meta| meta.len() > 0) {
        return Err(Problem::new(
            path.display().to_string(),
            "its last changes are still in the file beside it (-wal)",
        )
        .hint("close the program that has the GeoPackage open, then run again"));
    }
    Ok(())
}

/// Sets limits on what a database may make this program do.
pub(crate) fn limit(database: &Connection) -> rusqlite::Result<()> {
    database.set_limit(Limit::SQLITE_LIMIT_LENGTH, LONGEST_VALUE)?;
    database.execute_batch(
        "PRAGMA trusted_schema = OFF; PRAGMA cell_size_check = ON; PRAGMA temp_store = MEMORY;",
    )
}

fn open(path: &Path, bytes: &[u8]) -> Result<Connection, Problem> {
    open_in_memory(path, bytes, true)
}

/// The GeoPackage `bytes` from `path` in memory, for reading only or to be changed there.
fn open_in_memory(path: &Path, bytes: &[u8], read_only: bool) -> Result<Connection, Problem> {
    let file = path.display().to_string();
    check_whole(path)?;
    if bytes.len() < HEADER {
        return Err(
            Problem::new(file, "expected a GeoPackage, found the beginning of one")
                .hint("it was cut off: copy it again from where it came from"),
        );
    }
    let whole = [&bytes[..JOURNAL_BYTES.start], &[1, 1][..]].concat();
    let whole = whole.as_slice().chain(&bytes[JOURNAL_BYTES.end..]);
    let opened = Connection::open_in_memory().and_then(|mut database| {
        database.deserialize_read_exact(MAIN_DB, whole, bytes.len(), read_only)?;
        limit(&database)?;
        Ok(database)
    });
    opened.map_err(|error| damaged(&file, &error))
}

/// Hands over the features of `layer` in tables of `most`, the last of them of fewer; of `bbox` (west, south,
/// east, north in the layer's coordinates) those that the layer's index finds.
fn features<E: From<Problem>>(
    file: &str,
    database: &Connection,
    layer: &Layer,
    bbox: Option<[f64; 4]>,
    is_needed: &dyn Fn(&str) -> bool,
    most: usize,
    push: &mut dyn FnMut(FeatureTable) -> Result<(), E>,
) -> Result<(), E> {
    let refuse = |error: rusqlite::Error| damaged(file, &error);
    let mut read = FeatureTable::default();
    let columns = layer.columns(file, database)?;
    // For each attribute that is read, its place in the table and whether it holds truth values.
    let mut wanted = Vec::new();
    let mut selected = vec![
        layer.number.as_deref().map_or("NULL".to_owned(), quoted),
        quoted(&layer.geometry),
    ];
    for column in &columns {
        let Some(place) = read.table.place(&column.name, read.table.headers.len()) else {
            continue;
        };
        if is_needed(&column.name) {
            selected.push(quoted(&column.name));
            wanted.push((place, column.is_truth));
        }
    }
    let mut query = format!(
        "SELECT {} FROM {}",
        selected.join(", "),
        quoted(&layer.name)
    );
    let index = bbox.and_then(|bbox| Some((bbox, layer.index(database)?)));
    let mut sides = Vec::new();
    if let Some((bbox, index)) = index {
        query.push_str(&format!(
            " WHERE rowid IN (SELECT id FROM {} WHERE maxx >= ?1 AND maxy >= ?2 AND minx <= ?3 AND \
             miny <= ?4) ORDER BY rowid",
            quoted(&index)
        ));
        sides.extend(bbox);
    }
    let headers = read.table.headers.clone();
    let mut statement = database.prepare(&query).map_err(refuse)?;
    let mut rows = statement
        .query(rusqlite::params_from_iter(sides))
        .map_err(refuse)?;
    let mut before = 0;
    loop {
        if read.records() == most {
            before += most;
            let mut next = FeatureTable::default();
            for (place, header) in headers.iter().enumerate() {
                next.table.place(header, place);
            }
            push(std::mem::replace(&mut read, next))?;
        }
        let record = read.records();
        let row = match rows.next() {
            Ok(Some(row)) => row,
            Ok(None) => break,
            Err(error) if before + record > 0 => {
                let (problem, records) = (damaged(file, &error), before + record);
                read.table.problems.push(|| Problem {
                    message: format!("{}; the {records} records before are read", problem.message),
                    ..problem
                });
                break;
            }
            Err(error) => return Err(refuse(error).into()),
        };
        let number = match row.get_ref(0).map_err(refuse)? {
            ValueRef::Integer(number) => u32::try_from(number).ok(),
            _ => None,
        };
        let number = number.unwrap_or((before + record) as u32 + 1);
        let shape = match shape(row).map_err(refuse)? {
            Some(shape) => shape,
            None => {
                read.table.problems.push(|| {
                    Problem::new(file, "the geometry cannot be read")
                        .at_row(number)
                        .in_column(layer.geometry.as_str())
                        .hint("draw it again; the record has no position")
                });
                Shape::Nothing
            }
        };
        for (at, &(place, is_truth)) in wanted.iter().enumerate() {
            let cell = match row.get_ref(at + 2).map_err(refuse)? {
                ValueRef::Null | ValueRef::Blob(_) => continue,
                ValueRef::Integer(value) if is_truth => Cell::Truth(value != 0),
                ValueRef::Integer(value) => Cell::Whole(value),
                ValueRef::Real(value) => Cell::Number(value),
                ValueRef::Text(text) => Cell::text(&String::from_utf8_lossy(text)),
            };
            read.table.set(place, record, cell);
        }
        read.push(number, shape);
    }
    push(read)
}

/// The geometry of a row, `None` when it cannot be read.
fn shape(row: &Row<'_>) -> rusqlite::Result<Option<Shape>> {
    Ok(shape_of(row.get_ref(1)?))
}

/// The geometry of a value, `None` when it cannot be read: a header (OGC 12-128r19, section 2.1.3) before
/// well-known binary.
fn shape_of(value: ValueRef<'_>) -> Option<Shape> {
    const MAGIC: &[u8] = b"GP";
    /// Magic, version, flags and reference system.
    const FIXED: usize = 8;
    let blob = match value {
        ValueRef::Null => return Some(Shape::Nothing),
        ValueRef::Blob(blob) => blob,
        _ => return None,
    };
    let &flags = blob.get(3).filter(|_| blob.starts_with(MAGIC))?;
    let (is_extended, is_empty) = (flags & 0x20 != 0, flags & 0x10 != 0);
    if is_extended {
        return Some(Shape::Other("a geometry of an extension".to_owned()));
    }
    if is_empty {
        return Some(Shape::Nothing);
    }
    let envelope = match (flags >> 1) & 7 {
        0 => 0,
        1 => 32,
        2 | 3 => 48,
        4 => 64,
        _ => return None,
    };
    blob.get(FIXED + envelope..)
        .and_then(well_known_binary::read)
}

/// A name as SQL takes it.
pub(crate) fn quoted(name: &str) -> String {
    format!("\"{}\"", name.replace('"', "\"\""))
}
