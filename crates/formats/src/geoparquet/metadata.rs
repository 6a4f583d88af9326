//! What a Parquet file says of its geometries: the `geo` entry of GeoParquet, or the logical type that
//! Parquet has had for them since 2025.

use checkstrip_model::Problem;
use parquet::basic::LogicalType;
use parquet::file::metadata::FileMetaData;
use serde_json::Value;

/// How geometries are held.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Encoding {
    /// Well-known binary.
    Binary,
    /// A record of `x` and `y`.
    Point,
    /// Lists of rings, which are lists of records of `x` and `y`.
    Polygon,
    /// Lists of polygons.
    MultiPolygon,
}

/// The reference system of the geometries.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Crs {
    /// None is named: longitude and latitude in WGS 84.
    Wgs84,
    /// Anything PROJ takes.
    Known(String),
    /// The file says that it does not know.
    Unknown,
}

/// Where the geometries are.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Geo {
    pub(super) column: String,
    pub(super) encoding: Encoding,
    pub(super) crs: Crs,
    /// Where the boxes around them are: the paths of west, south, east and north.
    pub(super) boxes: Option<[Vec<String>; 4]>,
}

impl Geo {
    /// What `meta` says; `None` for Parquet without geometry.
    ///
    /// # Errors
    /// When the entry is no such, or geometries are held in a way that is not read.
    pub(super) fn read(file: &str, meta: &FileMetaData) -> Result<Option<Geo>, Problem> {
        let entries = meta.key_value_metadata().into_iter().flatten();
        let entry = entries
            .filter(|entry| entry.key == "geo")
            .find_map(|e| e.value.as_ref());
        let Some(text) = entry else {
            return Ok(logical_geometry(meta));
        };
        let refuse = |what: &str| {
            Problem::new(file, format!("the metadata \"geo\" {what}"))
                .hint("write the file again as GeoParquet 1.1")
        };
        let geo: Value = serde_json::from_str(text).map_err(|_| refuse("is no JSON"))?;
        let column = geo["primary_column"]
            .as_str()
            .ok_or_else(|| refuse("names no primary column"))?;
        let about = &geo["columns"][column];
        let encoding = match about["encoding"].as_str() {
            Some("WKB") => Encoding::Binary,
            Some("point") => Encoding::Point,
            Some("polygon") => Encoding::Polygon,
            Some("multipolygon") => Encoding::MultiPolygon,
            Some(other) => {
                return Err(Problem::new(
                    file,
                    format!("expected points or polygons, found geometries in the encoding {other:?}"),
                )
                .in_column(column)
                .hint("a log is made of points, strips are polygons; other geometries are read as WKB"));
            }
            None => return Err(refuse("does not say how its geometries are held")),
        };
        let crs = match about.get("crs") {
            None => Crs::Wgs84,
            Some(Value::Null) => Crs::Unknown,
            Some(crs) => Crs::Known(definition(crs)),
        };
        let path = |side: &str| -> Option<Vec<String>> {
            let parts = about["covering"]["bbox"][side].as_array()?;
            parts
                .iter()
                .map(|part| part.as_str().map(str::to_owned))
                .collect()
        };
        let sides = ["xmin", "ymin", "xmax", "ymax"].map(path);
        let boxes = match sides {
            [Some(west), Some(south), Some(east), Some(north)] => Some([west, south, east, north]),
            _ => None,
        };
        Ok(Some(Geo {
            column: column.to_owned(),
            encoding,
            crs,
            boxes,
        }))
    }
}

/// PROJJSON as its authority's code, where it has one, or as it stands.
pub(crate) fn definition(projjson: &Value) -> String {
    let id = &projjson["id"];
    match (id["authority"].as_str(), &id["code"]) {
        (Some(authority), Value::Number(code)) => format!("{authority}:{code}"),
        (Some(authority), Value::String(code)) => format!("{authority}:{code}"),
        _ => projjson.to_string(),
    }
}

/// A column with the logical type of geometries.
fn logical_geometry(meta: &FileMetaData) -> Option<Geo> {
    let leaves = meta.schema_descr().columns();
    leaves
        .iter()
        .find_map(|leaf| match leaf.logical_type_ref() {
            Some(LogicalType::Geometry(kind)) => Some(Geo {
                column: leaf.name().to_owned(),
                encoding: Encoding::Binary,
                crs: match &kind.crs {
                    None => Crs::Wgs84,
                    Some(text) => Crs::Known(
                        serde_json::from_str(text)
                            .map_or_else(|_| text.clone(), |json| definition(&json)),
                    ),
                },
                boxes: None,
            }),
            _ => None,
        })
}
