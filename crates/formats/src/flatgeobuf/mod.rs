//! FlatGeobuf (version 3): points with attributes as a log, polygons with attributes as strips. A log is
//! read whole; where only a box is wanted the index says which features may meet it.

mod index;
mod properties;
mod stream;

use std::io::{self, BufRead, Cursor, Read, Seek, SeekFrom};

use ::flatgeobuf::{
    Crs, Feature, Geometry, GeometryType, Header, size_prefixed_root_as_feature,
    size_prefixed_root_as_header,
};
use checkstrip_model::Problem;

use crate::feature::Rings;
use crate::feature_table::{FeatureTable, Shape};
use crate::raw_table::RawTable;
use properties::Properties;
pub(crate) use stream::FlatGeobufStream;

/// How a file begins; the eighth byte is the patch level.
pub(crate) const MAGIC: &[u8; 7] = b"fgb\x03fgb";
/// Bytes of the beginning.
const MAGIC_LENGTH: usize = 8;
/// Bytes of the length before the header and before each feature.
const LENGTH: usize = 4;
/// Bytes of a node of the index: a box and an offset.
const NODE: u64 = 40;

/// The features in `bytes`. Values of attributes that `is_needed` turns down are not read.
///
/// When the file breaks off, the features before are kept and the place is a problem.
///
/// # Errors
/// When it is no FlatGeobuf, or is damaged.
pub(crate) fn read(
    file: &str,
    bytes: &[u8],
    is_needed: &dyn Fn(&str) -> bool,
) -> Result<FeatureTable, Problem> {
    let mut source = FlatGeobuf::open(file, Cursor::new(bytes), bytes.len() as u64, is_needed)?;
    let mut read = source.empty();
    source.read(usize::MAX, &mut read)?;
    source.finish(&mut read)?;
    Ok(read)
}

/// A file whose header is known and whose features wait to be read.
struct FlatGeobuf<R> {
    file: String,
    content: R,
    /// Where `content` is, and how long it is.
    at: u64,
    length: u64,
    /// The header, with its length before it.
    header: Vec<u8>,
    /// Where the index begins.
    index: u64,
    /// Where the features begin.
    features: u64,
    properties: Properties,
    headers: Vec<String>,
    /// Features handed over.
    read: u32,
    is_broken: bool,
    /// The part at hand.
    part: Vec<u8>,
}

impl<R: BufRead + Seek> FlatGeobuf<R> {
    /// Reads the header of `file`, which is `content` of `length` bytes.
    ///
    /// # Errors
    /// When it is no FlatGeobuf, or its beginning is damaged.
    fn open(
        file: &str,
        mut content: R,
        length: u64,
        is_needed: &dyn Fn(&str) -> bool,
    ) -> Result<FlatGeobuf<R>, Problem> {
        let mut magic = [0; MAGIC_LENGTH];
        let is_ours = content.read_exact(&mut magic).is_ok() && magic.starts_with(MAGIC);
        if !is_ours {
            return Err(damaged(file, "it is of another version, or no FlatGeobuf"));
        }
        let mut source = FlatGeobuf {
            file: file.to_owned(),
            content,
            at: MAGIC_LENGTH as u64,
            length,
            header: Vec::new(),
            index: 0,
            features: 0,
            properties: Properties::default(),
            headers: Vec::new(),
            read: 0,
            is_broken: false,
            part: Vec::new(),
        };
        source
            .next_part()
            .map_err(|_| damaged(file, "its header breaks off"))?;
        source.header = std::mem::take(&mut source.part);
        let header = size_prefixed_root_as_header(&source.header)
            .map_err(|_| damaged(file, "its header is damaged"))?;
        let mut table = RawTable::default();
        source.properties = Properties::new(&header, &mut table, is_needed);
        source.headers = table.headers;
        source.index = source.at;
        let features = index_length(&header).and_then(|index| source.at.checked_add(index));
        source.features = features
            .filter(|features| *features <= length)
            .ok_or_else(|| damaged(file, "its index breaks off"))?;
        source.go_to(source.features)?;
        Ok(source)
    }

    /// The header, which has been looked through once.
    fn header(&self) -> Result<Header<'_>, Problem> {
        size_prefixed_root_as_header(&self.header)
            .map_err(|_| damaged(&self.file, "its header is damaged"))
    }

    fn go_to(&mut self, place: u64) -> Result<(), Problem> {
        self.content
            .seek(SeekFrom::Start(place))
            .map_err(|error| damaged(&self.file, &error.to_string()))?;
        self.at = place;
        Ok(())
    }

    /// Reads the part that a length stands before, with that length.
    fn next_part(&mut self) -> io::Result<()> {
        let mut prefix = [0; LENGTH];
        self.content.read_exact(&mut prefix)?;
        let length = u64::from(u32::from_le_bytes(prefix));
        let left = self.length - self.at.min(self.length);
        // A table is at least its own offset.
        if length < LENGTH as u64 || length + LENGTH as u64 > left {
            return Err(io::ErrorKind::UnexpectedEof.into());
        }
        self.part.clear();
        self.part.extend_from_slice(&prefix);
        let read = self
            .content
            .by_ref()
            .take(length)
            .read_to_end(&mut self.part)?;
        if read as u64 != length {
            return Err(io::ErrorKind::UnexpectedEof.into());
        }
        self.at += length + LENGTH as u64;
        Ok(())
    }

    /// A table with the file's attributes and no record.
    fn empty(&self) -> FeatureTable {
        let mut read = FeatureTable::default();
        for (place, header) in self.headers.iter().enumerate() {
            read.table.place(header, place);
        }
        read
    }

    /// Adds the next `most` features to `read`, and says how many there were.
    ///
    /// # Errors
    /// When the first feature of all is damaged.
    fn read(&mut self, most: usize, read: &mut FeatureTable) -> Result<usize, Problem> {
        let geometry_type = self.header()?.geometry_type();
        let mut count = 0;
        while count < most && !self.is_broken && self.at < self.length {
            let row = self.read + 1;
            let feature = match self.next_part() {
                Ok(()) => size_prefixed_root_as_feature(&self.part).ok(),
                Err(_) => None,
            };
            let Some(feature) = feature else {
                let before = self.read;
                if before == 0 {
                    return Err(damaged(&self.file, "its first feature is damaged"));
                }
                let problem = damaged(&self.file, "it breaks off, or a feature is damaged");
                read.table.problems.push(|| Problem {
                    message: format!("{}; the {before} features before are read", problem.message),
                    ..problem.at_row(row)
                });
                self.is_broken = true;
                break;
            };
            let (file, record) = (self.file.as_str(), read.records());
            if !self.properties.read(&feature, record, &mut read.table) {
                read.table.problems.push(|| {
                    Problem::new(file, "the attributes are damaged from some place on")
                        .at_row(row)
                        .hint("export the file again")
                });
            }
            let shape = shape(&feature, geometry_type).unwrap_or_else(|| {
                read.table.problems.push(|| {
                    Problem::new(file, "the geometry cannot be read")
                        .at_row(row)
                        .hint("draw it again; the record has no position")
                });
                Shape::Nothing
            });
            read.push(row, shape);
            self.read = row;
            count += 1;
        }
        Ok(count)
    }

    /// Adds to `read`, which has the last features, what is known when all are read.
    ///
    /// # Errors
    /// When coordinates without a reference system are no degrees.
    fn finish(&self, read: &mut FeatureTable) -> Result<(), Problem> {
        let (declared, found) = (self.header()?.features_count(), u64::from(self.read));
        // No count means that the writer did not know.
        if declared > found && found > 0 && !self.is_broken {
            read.table.problems.push(|| {
                Problem::new(
                    self.file.as_str(),
                    format!("expected {declared} features, found {found}"),
                )
                .hint("it was cut off: copy it again from where it came from")
            });
        }
        self.name_crs(read)
    }

    /// Says in `read` what reference system the file names.
    fn name_crs(&self, read: &mut FeatureTable) -> Result<(), Problem> {
        match self.header()?.crs().and_then(|crs| definition(&crs)) {
            Some(definition) => {
                read.table.crs = Some(definition);
                Ok(())
            }
            None => read.take_for_wgs84(
                &self.file,
                "no reference system in its header",
                "write the file with its reference system",
            ),
        }
    }
}

fn damaged(file: &str, what: &str) -> Problem {
    Problem::new(file, format!("the FlatGeobuf file cannot be read: {what}"))
        .hint("it is damaged or was cut off: copy it again from where it came from")
}

/// Bytes of the index: a packed tree over all features.
fn index_length(header: &Header<'_>) -> Option<u64> {
    let (count, node_size) = (header.features_count(), u64::from(header.index_node_size()));
    if node_size == 0 || count == 0 {
        return Some(0);
    }
    if node_size == 1 {
        return None;
    }
    let (mut level, mut nodes) = (count, count);
    loop {
        level = level.div_ceil(node_size);
        nodes = nodes.checked_add(level)?;
        if level == 1 {
            return nodes.checked_mul(NODE);
        }
    }
}

/// The reference system, as PROJ takes it.
fn definition(crs: &Crs<'_>) -> Option<String> {
    let authority = crs.org().filter(|org| !org.is_empty()).unwrap_or("EPSG");
    if crs.code() > 0 {
        return Some(format!("{}:{}", authority.to_uppercase(), crs.code()));
    }
    if let (Some(_), Some(code)) = (crs.org(), crs.code_string().filter(|code| !code.is_empty())) {
        return Some(format!("{}:{code}", authority.to_uppercase()));
    }
    crs.wkt().filter(|wkt| !wkt.is_empty()).map(str::to_owned)
}

/// The shape of a feature, `None` when its counts contradict each other. A file of one kind does not
/// repeat it in every feature.
fn shape(feature: &Feature<'_>, of_all: GeometryType) -> Option<Shape> {
    let Some(geometry) = feature.geometry() else {
        return Some(Shape::Nothing);
    };
    let kind = match of_all {
        GeometryType::Unknown => geometry.type_(),
        kind => kind,
    };
    Some(match kind {
        GeometryType::Point => match corners(&geometry)[..] {
            [] => Shape::Nothing,
            [[x, y], ..] if x.is_nan() && y.is_nan() => Shape::Nothing,
            [point, ..] => Shape::Point(point),
        },
        GeometryType::Polygon => match rings(&geometry)? {
            rings if rings.is_empty() => Shape::Nothing,
            rings => Shape::Polygons(vec![rings]),
        },
        GeometryType::MultiPolygon => {
            let parts = geometry.parts().map(|parts| {
                let polygons: Option<Vec<Rings>> = parts.iter().map(|part| rings(&part)).collect();
                polygons
            });
            match parts {
                // Some writers put a single polygon where several are announced.
                None => match rings(&geometry)? {
                    rings if rings.is_empty() => Shape::Nothing,
                    rings => Shape::Polygons(vec![rings]),
                },
                Some(polygons) => Shape::Polygons(polygons?),
            }
        }
        other => Shape::Other(other.variant_name().unwrap_or("Geometry").to_owned()),
    })
}

fn corners(geometry: &Geometry<'_>) -> Vec<[f64; 2]> {
    let Some(xy) = geometry.xy() else {
        return Vec::new();
    };
    (0..xy.len() / 2)
        .map(|at| [xy.get(2 * at), xy.get(2 * at + 1)])
        .collect()
}

/// The rings of a polygon, which stand one behind the other.
fn rings(geometry: &Geometry<'_>) -> Option<Rings> {
    let corners = corners(geometry);
    let Some(ends) = geometry.ends().filter(|ends| !ends.is_empty()) else {
        return Some(match corners.is_empty() {
            true => Vec::new(),
            false => vec![corners],
        });
    };
    let mut start = 0;
    ends.iter()
        .map(|end| {
            let end = usize::try_from(end).ok()?;
            let ring = corners.get(start..end)?.to_vec();
            start = end;
            Some(ring)
        })
        .collect()
}
