//! FlatGeobuf (version 3): points with attributes as a log, polygons with attributes as strips. The
//! index is stepped over: a log is read whole.

mod properties;

use ::flatgeobuf::{
    Crs, Feature, Geometry, GeometryType, Header, size_prefixed_root_as_feature,
    size_prefixed_root_as_header,
};
use checkstrip_model::Problem;

use crate::feature::Rings;
use crate::feature_table::{FeatureTable, Shape};
use properties::Properties;

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
    let damaged = |what: &str| {
        Problem::new(file, format!("the FlatGeobuf file cannot be read: {what}"))
            .hint("it is damaged or was cut off: copy it again from where it came from")
    };
    if !bytes.starts_with(MAGIC) {
        return Err(damaged("it is of another version, or no FlatGeobuf"));
    }
    let rest = bytes.get(MAGIC_LENGTH..).unwrap_or_default();
    let (header, mut rest) = prefixed(rest).ok_or_else(|| damaged("its header breaks off"))?;
    let header =
        size_prefixed_root_as_header(header).map_err(|_| damaged("its header is damaged"))?;
    let index = index_length(&header).and_then(|length| usize::try_from(length).ok());
    rest = index
        .and_then(|length| rest.get(length..))
        .ok_or_else(|| damaged("its index breaks off"))?;

    let mut read = FeatureTable::default();
    let properties = Properties::new(&header, &mut read.table, is_needed);
    let declared = header.features_count();
    while !rest.is_empty() {
        let record = read.records();
        let feature = prefixed(rest).and_then(|(feature, later)| {
            rest = later;
            size_prefixed_root_as_feature(feature).ok()
        });
        let Some(feature) = feature else {
            if record == 0 {
                return Err(damaged("its first feature is damaged"));
            }
            let problem = damaged("it breaks off, or a feature is damaged");
            read.table.problems.push(|| Problem {
                message: format!("{}; the {record} features before are read", problem.message),
                ..problem.at_row(record as u32 + 1)
            });
            break;
        };
        let row = record as u32 + 1;
        if !properties.read(&feature, record, &mut read.table) {
            read.table.problems.push(|| {
                Problem::new(file, "the attributes are damaged from some place on")
                    .at_row(row)
                    .hint("export the file again")
            });
        }
        let shape = shape(&feature, header.geometry_type()).unwrap_or_else(|| {
            read.table.problems.push(|| {
                Problem::new(file, "the geometry cannot be read")
                    .at_row(row)
                    .hint("draw it again; the record has no position")
            });
            Shape::Nothing
        });
        read.push(row, shape);
    }
    let records = read.records() as u64;
    // No count means that the writer did not know.
    if declared > records && records > 0 && rest.is_empty() {
        read.table.problems.push(|| {
            Problem::new(
                file,
                format!("expected {declared} features, found {records}"),
            )
            .hint("it was cut off: copy it again from where it came from")
        });
    }
    match header.crs().and_then(|crs| definition(&crs)) {
        Some(definition) => read.table.crs = Some(definition),
        None => {
            read.take_for_wgs84(
                file,
                "no reference system in its header",
                "write the file with its reference system",
            )?;
        }
    }
    Ok(read)
}

/// The part that a length stands before, with that length, and what is behind it.
fn prefixed(bytes: &[u8]) -> Option<(&[u8], &[u8])> {
    let length: [u8; LENGTH] = bytes.get(..LENGTH)?.try_into().ok()?;
    let end = LENGTH.checked_add(usize::try_from(u32::from_le_bytes(length)).ok()?)?;
    // A table is at least its own offset.
    (end >= 2 * LENGTH && end <= bytes.len()).then(|| bytes.split_at(end))
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
