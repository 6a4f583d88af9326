//! GeoParquet (OGC GeoParquet 1.1.0): points with attributes as a log, polygons with attributes as
//! strips; also Parquet without geometry, when longitude and latitude are columns. Row groups are read
//! one after another, and of attributes only the columns that are needed.

mod column;
mod metadata;

use std::panic::{AssertUnwindSafe, catch_unwind};

use bytes::Bytes;
use checkstrip_model::Problem;
use parquet::errors::ParquetError;
use parquet::file::reader::{FileReader, SerializedFileReader};
use parquet::schema::types::ColumnDescriptor;

use crate::cell::Cell;
use crate::feature_table::{FeatureTable, Shape};
use crate::file_bytes;
use crate::well_known_binary;
use column::{CellReader, numbers, texts};
use metadata::{Crs, Encoding, Geo};

/// A file of few bytes may hold this many rows; further ones need a byte each, since positions do not
/// repeat.
const ROWS_FREE: usize = 1 << 20;

/// The features in `bytes`. Values of columns that `is_needed` turns down are not read.
///
/// # Errors
/// When it is no Parquet, is damaged, or is written in a way that is not read.
pub(crate) fn read(
    file: &str,
    bytes: Vec<u8>,
    is_needed: &dyn Fn(&str) -> bool,
) -> Result<FeatureTable, Problem> {
    // The decoder holds some damaged files for impossible.
    let read = catch_unwind(AssertUnwindSafe(|| read_whole(file, bytes, is_needed)));
    read.unwrap_or_else(|_| Err(damaged(file, "its parts contradict each other")))
}

fn damaged(file: &str, what: &str) -> Problem {
    Problem::new(file, format!("the Parquet file cannot be read: {what}"))
        .hint("it is damaged or was cut off: copy it again from where it came from")
}

/// What the decoder refuses: a file that is damaged, or packed in a way that is not built in.
fn refused(file: &str, error: &ParquetError) -> Problem {
    match error {
        ParquetError::NYI(what) | ParquetError::General(what)
            if what.contains("Disabled feature") =>
        {
            Problem::new(file, "it is packed in a way that is not read")
                .hint("write it again without compression or with Snappy")
        }
        ParquetError::NYI(what) => Problem::new(
            file,
            format!("it is written in a way that is not read: {what}"),
        )
        .hint("write it again with the usual settings, packed with Snappy"),
        other => damaged(file, &other.to_string()),
    }
}

/// What becomes of a leaf of the schema.
enum Use {
    /// Attribute at this place of the table.
    Attribute(usize, CellReader),
    /// Geometries as well-known binary.
    Binary,
    /// One axis of points.
    Axis(usize),
    Nothing,
}

fn read_whole(
    file: &str,
    bytes: Vec<u8>,
    is_needed: &dyn Fn(&str) -> bool,
) -> Result<FeatureTable, Problem> {
    let length = bytes.len();
    let refuse = |error: ParquetError| refused(file, &error);
    let reader = SerializedFileReader::new(Bytes::from(bytes)).map_err(refuse)?;
    let meta = reader.metadata();
    let geo = Geo::read(file, meta.file_metadata())?;

    let groups = meta.row_groups();
    let rows = groups.iter().try_fold(0_usize, |rows, group| {
        rows.checked_add(usize::try_from(group.num_rows()).ok()?)
    });
    let limit = file_bytes::limit(length as u64);
    let unpacked =
        groups
            .iter()
            .flat_map(|group| group.columns())
            .try_fold(0_u64, |sum, column| {
                // The decoder takes for granted that these are not negative.
                let places = [
                    column.compressed_size(),
                    column.data_page_offset(),
                    column.dictionary_page_offset().unwrap_or(0),
                ];
                let is_possible = places.iter().all(|place| *place >= 0);
                let unpacked = u64::try_from(column.uncompressed_size()).ok();
                sum.checked_add(unpacked.filter(|_| is_possible)?)
            });
    let (Some(rows), Some(unpacked)) = (rows, unpacked) else {
        return Err(damaged(file, "its counts are impossible"));
    };
    if rows > ROWS_FREE.max(length) || unpacked > limit {
        return Err(damaged(
            file,
            &format!(
                "{length} bytes say that they hold {rows} rows of {unpacked} bytes, which no log does"
            ),
        ));
    }

    let mut read = FeatureTable::default();
    let leaves = meta.file_metadata().schema_descr().columns();
    let mut uses = Vec::with_capacity(leaves.len());
    for leaf in leaves {
        uses.push(use_of(file, leaf, geo.as_ref(), &mut read, is_needed));
    }
    let mut text_left = limit;
    for group in 0..groups.len() {
        let group = reader.get_row_group(group).map_err(refuse)?;
        // Not negative and not too many, by the sum above.
        let records = group.metadata().num_rows() as usize;
        let first = read.records();
        let mut shapes = vec![Shape::Nothing; records];
        for (at, (leaf, what)) in leaves.iter().zip(&uses).enumerate() {
            if matches!(what, Use::Nothing) {
                continue;
            }
            let column = group.get_column_reader(at).map_err(refuse)?;
            let complain = |error: ParquetError| refuse(error).in_column(leaf.name());
            match what {
                Use::Nothing => {}
                Use::Attribute(place, reader) => {
                    let table = &mut read.table;
                    let push = |record: usize, cell: Cell| {
                        if let Cell::Text(text) = &cell {
                            text_left = text_left
                                .checked_sub(text.len() as u64)
                                .ok_or_else(too_long)?;
                        }
                        table.set(*place, first + record, cell);
                        Ok(())
                    };
                    reader.read(column, leaf, records, push).map_err(complain)?;
                }
                Use::Axis(axis) => {
                    let push = |record: usize, value: f64| {
                        let shape: &mut Shape = &mut shapes[record];
                        if let Shape::Point(point) = shape {
                            point[*axis] = value;
                        } else {
                            *shape = Shape::Point([value; 2]);
                        }
                    };
                    numbers(column, leaf, records, push).map_err(complain)?;
                }
                Use::Binary => {
                    let rows_before = first as u32;
                    let problems = &mut read.table.problems;
                    let push = |record: usize, binary: &[u8]| {
                        // A dictionary can repeat a long outline as often as it likes.
                        text_left = text_left
                            .checked_sub(binary.len() as u64)
                            .ok_or_else(too_long)?;
                        match well_known_binary::read(binary) {
                            Some(shape) => shapes[record] = shape,
                            None => problems.push(|| {
                                Problem::new(file, "the geometry cannot be read")
                                    .at_row(rows_before + record as u32 + 1)
                                    .in_column(leaf.name())
                                    .hint("draw it again; the record has no position")
                            }),
                        }
                        Ok(())
                    };
                    texts(column, leaf, records, push).map_err(complain)?;
                }
            }
        }
        for shape in shapes {
            let row = read.records() as u32 + 1;
            read.push(row, shape);
        }
    }
    if let Some(geo) = geo {
        match geo.crs {
            Crs::Wgs84 => {}
            Crs::Known(definition) => read.table.crs = Some(definition),
            Crs::Unknown => {
                read.take_for_wgs84(
                    file,
                    "no reference system in its metadata",
                    "write the file with its reference system",
                )?;
            }
        }
    }
    Ok(read)
}

fn too_long() -> ParquetError {
    ParquetError::General("its values unpack to more than any log holds".to_owned())
}

/// What `leaf` is read for; an attribute gets its place in the table.
fn use_of(
    file: &str,
    leaf: &ColumnDescriptor,
    geo: Option<&Geo>,
    read: &mut FeatureTable,
    is_needed: &dyn Fn(&str) -> bool,
) -> Use {
    let path = leaf.path().parts();
    let [top, inner @ ..] = path else {
        return Use::Nothing;
    };
    if let Some(geo) = geo {
        if *top == geo.column {
            return match (geo.encoding, inner) {
                (Encoding::Binary, []) => Use::Binary,
                (Encoding::Point, [axis]) if axis == "x" => Use::Axis(0),
                (Encoding::Point, [axis]) if axis == "y" => Use::Axis(1),
                _ => Use::Nothing,
            };
        }
        // The boxes around geometries say nothing new.
        if geo.boxes.as_ref() == Some(top) {
            return Use::Nothing;
        }
    }
    let cells = match inner {
        [] if leaf.max_rep_level() == 0 => CellReader::of(leaf),
        _ => None,
    };
    let Some(cells) = cells else {
        read.table.problems.push(|| {
            Problem::new(
                file,
                "the column holds lists, records or bytes, which are not read",
            )
            .in_column(leaf.path().string())
            .hint("write its values as columns of numbers or texts if they matter")
        });
        return Use::Nothing;
    };
    match read.table.place(top, read.table.headers.len()) {
        Some(place) if is_needed(top) => Use::Attribute(place, cells),
        _ => Use::Nothing,
    }
}
