//! GeoParquet (OGC GeoParquet 1.1.0): points with attributes as a log, polygons with attributes as
//! strips; also Parquet without geometry, when longitude and latitude are columns. Of attributes only the
//! columns that are needed are read, of row groups only those that may meet a box.

mod column;
mod file_chunks;
mod log;
mod metadata;
mod native;
mod pages;
mod pieces;
mod stream;

use std::fs::File;
use std::path::Path;

use bytes::Bytes;
use checkstrip_model::{Problem, contained};
use parquet::basic::Compression;
use parquet::column::reader::ColumnReader;
use parquet::errors::ParquetError;
use parquet::file::metadata::RowGroupMetaData;
use parquet::file::reader::{ChunkReader, FileReader, SerializedFileReader};
use parquet::file::statistics::Statistics;
use parquet::schema::types::ColumnDescriptor;

use crate::FormatError;
use crate::cell::Cell;
use crate::feature_table::{FeatureTable, Shape};
use crate::file_bytes;
use crate::raw_table::RawTable;
use crate::well_known_binary;
use column::{CellReader, numbers, texts};
use file_chunks::FileChunks;
pub(crate) use log::ParquetLog;
use metadata::{Crs, Encoding, Geo};
use pages::Budget;
pub(crate) use pieces::ParquetPieces;
pub(crate) use stream::ParquetStream;

/// A file of few bytes may hold this many rows; further ones need a byte each, since positions do not
/// repeat.
const ROWS_FREE: u64 = 1 << 20;

/// The features in `bytes`, with all their attributes.
///
/// # Errors
/// When it is no Parquet, is damaged, or is written in a way that is not read.
pub(crate) fn read(file: &str, bytes: Vec<u8>) -> Result<FeatureTable, Problem> {
    undamaged(file, || {
        let source = ParquetFile::of_bytes(file, bytes, &|_| true)?;
        let mut read = source.empty();
        for group in 0..source.groups().len() {
            let mut reader = source.group(group, |_| true)?;
            while reader.read(&source, usize::MAX, &mut read)? > 0 {}
        }
        source.finish(&mut read)?;
        Ok(read)
    })
}

/// What `read` gives; the decoder holds some damaged files for impossible.
fn undamaged<T>(file: &str, read: impl FnOnce() -> Result<T, Problem>) -> Result<T, Problem> {
    contained(read).unwrap_or_else(|| Err(damaged(file, "its parts contradict each other")))
}

fn damaged(file: &str, what: &str) -> Problem {
    Problem::new(file, format!("the Parquet file cannot be read: {what}"))
        .hint("it is damaged or was cut off: copy it again from where it came from")
}

/// What the decoder refuses: a file that is damaged, or written in a way that is not built in.
fn refused(file: &str, error: &ParquetError) -> Problem {
    match error {
        ParquetError::NYI(what) => Problem::new(
            file,
            format!("it is written in a way that is not read: {what}"),
        )
        .hint("write it again with the usual settings, packed with Snappy or Zstandard"),
        other => damaged(file, &other.to_string()),
    }
}

/// What becomes of a leaf of the schema.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Use {
    /// Attribute at this place of the table.
    Attribute(usize, CellReader),
    /// Geometries as well-known binary.
    Binary,
    /// One axis of points.
    Axis(usize),
    /// One axis of the corners of polygons.
    Corners(usize),
    Nothing,
}

/// A file whose metadata are known and whose row groups wait to be read.
struct ParquetFile<R: ChunkReader + 'static> {
    file: String,
    reader: SerializedFileReader<R>,
    /// The same bytes, for the pages to be looked at.
    chunks: R,
    geo: Option<Geo>,
    /// For each leaf of the schema.
    uses: Vec<Use>,
    /// The attributes.
    headers: Vec<String>,
    /// Columns that are not read.
    left_out: Vec<String>,
    /// What pages may still unpack to.
    pages: Budget,
    /// What values may still take: a dictionary repeats a long one as often as it likes.
    texts: Budget,
}

impl ParquetFile<Bytes> {
    fn of_bytes(
        file: &str,
        bytes: Vec<u8>,
        is_needed: &dyn Fn(&str) -> bool,
    ) -> Result<ParquetFile<Bytes>, Problem> {
        let bytes = Bytes::from(bytes);
        ParquetFile::open(file, [bytes.clone(), bytes], is_needed)
    }
}

impl ParquetFile<FileChunks> {
    /// The file at `path`, called `file` in messages, of which only what is asked for will be in memory.
    fn of_file(
        file: &str,
        path: &Path,
        is_needed: &dyn Fn(&str) -> bool,
    ) -> Result<ParquetFile<FileChunks>, FormatError> {
        let chunks = File::open(path).and_then(FileChunks::new);
        let chunks = chunks.map_err(|error| FormatError::reading(path, error))?;
        Ok(undamaged(file, || {
            ParquetFile::open(file, [chunks.clone(), chunks], is_needed)
        })?)
    }
}

impl<R: ChunkReader + 'static> ParquetFile<R> {
    /// The file `file`, to which both of `chunks` lead. Values of columns that `is_needed` turns down are not
    /// read.
    ///
    /// # Errors
    /// When it is no Parquet, says impossible things, or its geometries are not read.
    fn open(
        file: &str,
        [chunks, same]: [R; 2],
        is_needed: &dyn Fn(&str) -> bool,
    ) -> Result<ParquetFile<R>, Problem> {
        let length = chunks.len();
        let reader = SerializedFileReader::new(chunks).map_err(|error| refused(file, &error))?;
        let meta = reader.metadata();
        let geo = Geo::read(file, meta.file_metadata())?;
        let groups = meta.row_groups();
        let rows = groups.iter().try_fold(0_u64, |rows, group| {
            rows.checked_add(u64::try_from(group.num_rows()).ok()?)
        });
        let limit = file_bytes::limit(length);
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
        let most_rows = ROWS_FREE.max(length).min(u64::from(u32::MAX));
        if rows > most_rows || unpacked > limit {
            return Err(damaged(
                file,
                &format!(
                    "{length} bytes say that they hold {rows} rows of {unpacked} bytes, which no log \
                     does"
                ),
            ));
        }
        let mut table = RawTable::default();
        let mut left_out = Vec::new();
        let leaves = meta.file_metadata().schema_descr().columns();
        let uses = leaves
            .iter()
            .map(|leaf| use_of(leaf, geo.as_ref(), &mut table, &mut left_out, is_needed));
        Ok(ParquetFile {
            uses: uses.collect(),
            file: file.to_owned(),
            chunks: same,
            geo,
            headers: table.headers,
            left_out,
            pages: Budget::new(limit, most_rows),
            texts: Budget::new(limit, 0),
            reader,
        })
    }

    fn groups(&self) -> &[RowGroupMetaData] {
        self.reader.metadata().row_groups()
    }

    fn leaf(&self, at: usize) -> &ColumnDescriptor {
        &self
            .reader
            .metadata()
            .file_metadata()
            .schema_descr()
            .columns()[at]
    }

    fn refuse(&self, error: &ParquetError) -> Problem {
        refused(&self.file, error)
    }

    /// A table with the file's attributes and no record.
    fn empty(&self) -> FeatureTable {
        let mut table = FeatureTable::default();
        for (place, header) in self.headers.iter().enumerate() {
            table.table.place(header, place);
        }
        table
    }

    /// Adds to `read`, which has all records, what the file says of all of them.
    ///
    /// # Errors
    /// When coordinates without a reference system are no degrees.
    fn finish(&self, read: &mut FeatureTable) -> Result<(), Problem> {
        for column in &self.left_out {
            read.table.problems.push(|| {
                Problem::new(
                    self.file.as_str(),
                    "the column holds lists, records or bytes, which are not read",
                )
                .in_column(column.as_str())
                .hint("write its values as columns of numbers or texts if they matter")
            });
        }
        match self.geo.as_ref().map(|geo| &geo.crs) {
            None | Some(Crs::Wgs84) => Ok(()),
            Some(Crs::Known(definition)) => {
                read.table.crs = Some(definition.clone());
                Ok(())
            }
            Some(Crs::Unknown) => read.take_for_wgs84(
                &self.file,
                "no reference system in its metadata",
                "write the file with its reference system",
            ),
        }
    }

    /// The values of leaf `at` in row group `group`, whose pages have been looked at.
    fn column(&self, group: usize, at: usize) -> Result<ColumnReader, Problem> {
        let refuse = |error: ParquetError| self.refuse(&error).in_column(self.leaf(at).name());
        let about = self.groups()[group].column(at);
        // Of the two packings called LZ4 the older one says nowhere how it is framed.
        if about.compression() == Compression::LZ4 {
            return Err(Problem::new(
                self.file.as_str(),
                "it is packed with the outdated kind of LZ4, which is not read",
            )
            .hint("write it again, packed with Snappy, Zstandard or LZ4_RAW"));
        }
        pages::check(&self.chunks, about, &self.pages).map_err(refuse)?;
        let group = self.reader.get_row_group(group).map_err(refuse)?;
        group.get_column_reader(at).map_err(refuse)
    }

    /// A reader of row group `group`: of the leaves that are used in a way that `is_wanted` accepts.
    fn group(&self, group: usize, is_wanted: impl Fn(Use) -> bool) -> Result<GroupReader, Problem> {
        let mut columns = Vec::new();
        for (at, &used) in self.uses.iter().enumerate() {
            if used != Use::Nothing && is_wanted(used) {
                columns.push((at, used, self.column(group, at)?));
            }
        }
        Ok(GroupReader {
            columns,
            // Not negative, by the sum when the file was opened.
            left: self.groups()[group].num_rows() as usize,
        })
    }

    /// Whether features of `group` may meet the box west, south, east, north: what is known of the boxes
    /// around them, or of native points, says so, or nothing is known.
    fn may_meet(&self, group: &RowGroupMetaData, [west, south, east, north]: [f64; 4]) -> bool {
        let Some(geo) = &self.geo else {
            return true;
        };
        let native = |axis: &str| vec![geo.column.clone(), axis.to_owned()];
        let sides = match (&geo.boxes, geo.encoding) {
            (Some(boxes), _) => boxes.clone(),
            (None, Encoding::Point) => ["x", "y", "x", "y"].map(native),
            (None, _) => return true,
        };
        let range = |side: &[String]| -> Option<[f64; 2]> {
            let mut columns = group.columns().iter();
            let column = columns.find(|column| column.column_path().parts() == side)?;
            match column.statistics()? {
                Statistics::Double(known) => Some([*known.min_opt()?, *known.max_opt()?]),
                Statistics::Float(known) => {
                    Some([*known.min_opt()?, *known.max_opt()?].map(f64::from))
                }
                _ => None,
            }
        };
        let lowest = |at: usize| range(&sides[at]).map_or(f64::NEG_INFINITY, |range| range[0]);
        let highest = |at: usize| range(&sides[at]).map_or(f64::INFINITY, |range| range[1]);
        lowest(0) <= east && lowest(1) <= north && highest(2) >= west && highest(3) >= south
    }
}

/// A row group being read, all its columns side by side.
struct GroupReader {
    /// Leaf, what it is read for, and its values.
    columns: Vec<(usize, Use, ColumnReader)>,
    /// Rows that are not read yet.
    left: usize,
}

impl GroupReader {
    /// Adds the next `most` records to `read`, and says how many there were.
    fn read<R: ChunkReader>(
        &mut self,
        source: &ParquetFile<R>,
        most: usize,
        read: &mut FeatureTable,
    ) -> Result<usize, Problem> {
        let records = most.min(self.left);
        self.left -= records;
        if records == 0 {
            return Ok(0);
        }
        let first = read.records();
        let mut shapes = vec![Shape::Nothing; records];
        let mut corners = Vec::new();
        for (at, used, column) in &mut self.columns {
            let leaf = source.leaf(*at);
            let complain = |error: ParquetError| source.refuse(&error).in_column(leaf.name());
            match *used {
                Use::Nothing => {}
                Use::Attribute(place, reader) => {
                    let table = &mut read.table;
                    let push = |record: usize, cell: Cell| {
                        if let Cell::Text(text) = &cell {
                            source.texts.take(text.len() as u64)?;
                        }
                        table.set(place, first + record, cell);
                        Ok(())
                    };
                    reader.read(column, leaf, records, push).map_err(complain)?;
                }
                Use::Axis(axis) => {
                    let push = |record: usize, value: f64| {
                        let shape: &mut Shape = &mut shapes[record];
                        if let Shape::Point(point) = shape {
                            point[axis] = value;
                        } else {
                            *shape = Shape::Point([value; 2]);
                        }
                    };
                    numbers(column, leaf, records, push).map_err(complain)?;
                }
                Use::Corners(axis) => corners.push((axis, leaf, column)),
                Use::Binary => {
                    let rows_before = first as u32;
                    let problems = &mut read.table.problems;
                    let push = |record: usize, binary: &[u8]| {
                        if let Some(point) = well_known_binary::plain_point(binary) {
                            shapes[record] = point;
                            return Ok(());
                        }
                        source.texts.take(binary.len() as u64)?;
                        match well_known_binary::read(binary) {
                            Some(shape) => shapes[record] = shape,
                            None => problems.push(|| {
                                Problem::new(source.file.as_str(), "the geometry cannot be read")
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
        corners.sort_by_key(|(axis, ..)| *axis);
        if let [(0, leaf, x), (1, _, y)] = &mut corners[..] {
            shapes = native::polygons([x, y], leaf, records)
                .map_err(|error| source.refuse(&error).in_column(leaf.path().string()))?;
        }
        for shape in shapes {
            let row = read.records() as u32 + 1;
            read.push(row, shape);
        }
        Ok(records)
    }
}

/// What `leaf` is read for; an attribute gets its place in the table.
fn use_of(
    leaf: &ColumnDescriptor,
    geo: Option<&Geo>,
    table: &mut RawTable,
    left_out: &mut Vec<String>,
    is_needed: &dyn Fn(&str) -> bool,
) -> Use {
    let path = leaf.path().parts();
    let [top, inner @ ..] = path else {
        return Use::Nothing;
    };
    if let Some(geo) = geo {
        if *top == geo.column {
            let axis = match inner.last().map(String::as_str) {
                Some("x") => Some(0),
                Some("y") => Some(1),
                _ => None,
            };
            let lists = leaf.max_rep_level();
            return match (geo.encoding, inner, axis) {
                (Encoding::Binary, [], _) => Use::Binary,
                (Encoding::Point, [_], Some(axis)) if lists == 0 => Use::Axis(axis),
                (Encoding::Polygon, _, Some(axis)) if lists == 2 => Use::Corners(axis),
                (Encoding::MultiPolygon, _, Some(axis)) if lists == 3 => Use::Corners(axis),
                _ => Use::Nothing,
            };
        }
        // The boxes around geometries say nothing new.
        if geo
            .boxes
            .as_ref()
            .is_some_and(|boxes| boxes[0].first() == Some(top))
        {
            return Use::Nothing;
        }
    }
    let cells = match inner {
        [] if leaf.max_rep_level() == 0 => CellReader::of(leaf),
        _ => None,
    };
    let Some(cells) = cells else {
        left_out.push(leaf.path().string());
        return Use::Nothing;
    };
    match table.place(top, table.headers.len()) {
        Some(place) if is_needed(top) => Use::Attribute(place, cells),
        _ => Use::Nothing,
    }
}

#[cfg(test)]
mod tests;
