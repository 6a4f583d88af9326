//! Which open format a file is in: by its extension, then by how its content begins.

use std::path::{Path, PathBuf};

use checkstrip_model::Problem;
use serde::de::IgnoredAny;

use crate::flatgeobuf::MAGIC;
use crate::geojson::text_sequence::RECORD_SEPARATOR;
use crate::geopackage::split_layer;
use crate::task_data::TaskSet;
use crate::{FormatError, file_bytes};

/// The formats that are read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Kind {
    /// Delimited text: commas, semicolons, tabs, pipes or spaces.
    Delimited,
    /// GeoJSON, RFC 7946.
    GeoJson,
    /// GeoJSON features one after another: RFC 8142, or one on each line.
    GeoJsonSequence,
    /// Shapefile, with its attribute table beside it.
    Shapefile,
    /// A zip archive that holds a Shapefile.
    ZippedShapefile,
    /// GeoPackage, OGC 12-128.
    GeoPackage,
    /// Parquet, with or without the metadata of GeoParquet.
    GeoParquet,
    /// FlatGeobuf.
    FlatGeobuf,
}

impl Kind {
    /// The format in words.
    fn words(self) -> &'static str {
        match self {
            Kind::Delimited => "delimited text",
            Kind::GeoJson => "GeoJSON",
            Kind::GeoJsonSequence => "GeoJSON, one feature after another",
            Kind::Shapefile => "Shapefile",
            Kind::ZippedShapefile => "zipped Shapefile",
            Kind::GeoPackage => "GeoPackage",
            Kind::GeoParquet => "Parquet",
            Kind::FlatGeobuf => "FlatGeobuf",
        }
    }
}

/// The format of the file that `given` names, in words.
///
/// # Errors
/// When it cannot be read, is empty or is of no known format.
pub fn format_in_words(given: &Path) -> Result<String, FormatError> {
    if let Some(set) = TaskSet::open(given)? {
        return Ok(set.format_in_words());
    }
    let found = look(given)?.found;
    Ok(match found.gzip {
        true => format!("{} in gzip", found.kind.words()),
        false => found.kind.words().to_owned(),
    })
}

/// The format of a file, and whether it is wrapped in gzip.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Recognised {
    pub(crate) kind: Kind,
    pub(crate) gzip: bool,
}

/// How much of a file's beginning tells its format.
const START: usize = 4096;

const ACCEPTED: &str = "give delimited text (.csv, .txt, .tsv, .dat), GeoJSON (.geojson, .json, \
                        .ndjson), either of them in .gz, a Shapefile (.shp, or .zip), GeoPackage \
                        (.gpkg), GeoParquet (.parquet), FlatGeobuf (.fgb), or ISO 11783-10 task \
                        data (the folder, its TASKDATA.XML, or a .zip)";

/// A file that was read, with its format.
pub(crate) struct Opened {
    /// The file as given, for messages.
    pub(crate) file: String,
    /// Where it lies.
    pub(crate) path: PathBuf,
    /// The layer named behind it.
    pub(crate) layer: Option<String>,
    /// Its bytes.
    pub(crate) bytes: Vec<u8>,
    /// Its format.
    pub(crate) found: Recognised,
}

/// A file of which only the beginning was read.
pub(crate) struct Looked {
    /// The file as given, for messages.
    pub(crate) file: String,
    /// Where it lies.
    pub(crate) path: PathBuf,
    /// The layer named behind it.
    pub(crate) layer: Option<String>,
    /// Its format.
    pub(crate) found: Recognised,
}

/// Looks at the beginning of the file that `given` names, a layer of it perhaps behind a colon.
///
/// # Errors
/// When it cannot be read, is empty or is of no known format.
pub(crate) fn look(given: &Path) -> Result<Looked, FormatError> {
    let (path, layer) = split_layer(given);
    let start = file_bytes::read_start(&path, START)?;
    let found = recognise(&path, &start)?;
    Ok(Looked {
        file: given.display().to_string(),
        path,
        layer,
        found,
    })
}

/// Reads the file that `given` names, a layer of it perhaps behind a colon.
///
/// # Errors
/// When it cannot be read or is of no known format.
pub(crate) fn open(given: &Path) -> Result<Opened, FormatError> {
    let (path, layer) = split_layer(given);
    let bytes = file_bytes::read(&path)?;
    let found = recognise(&path, &bytes[..bytes.len().min(START)])?;
    Ok(Opened {
        file: given.display().to_string(),
        path,
        layer,
        bytes,
        found,
    })
}

/// The format of the file `path`, which begins with `start`.
fn recognise(path: &Path, start: &[u8]) -> Result<Recognised, Problem> {
    let name = path
        .file_name()
        .unwrap_or_default()
        .to_string_lossy()
        .to_lowercase();
    let gzip = start.starts_with(&[0x1f, 0x8b]);
    let stem = if gzip {
        name.strip_suffix(".gz").unwrap_or(&name)
    } else {
        &name
    };
    let extension = stem.rsplit_once('.').map_or("", |(_, extension)| extension);
    let kind = match extension {
        "csv" | "txt" | "tsv" | "dat" => Some(Kind::Delimited),
        "geojson" | "json" if is_sequence(start) => Some(Kind::GeoJsonSequence),
        "geojson" | "json" => Some(Kind::GeoJson),
        "ndjson" | "geojsonl" | "geojsons" | "geojsonseq" | "jsonl" => Some(Kind::GeoJsonSequence),
        "shp" if !gzip => Some(Kind::Shapefile),
        "zip" if !gzip => Some(Kind::ZippedShapefile),
        "gpkg" if !gzip => Some(Kind::GeoPackage),
        "parquet" | "geoparquet" if !gzip => Some(Kind::GeoParquet),
        "fgb" if !gzip => Some(Kind::FlatGeobuf),
        _ => None,
    };
    let refuse = |found: &str, hint: &str| {
        Problem::new(
            path.display().to_string(),
            format!("expected a log or strips, found {found}"),
        )
        .hint(hint)
    };
    // What the content gives away beats a wrong extension.
    if !gzip {
        if start.starts_with(b"PK\x03\x04") {
            return match extension {
                "zip" => Ok(Recognised {
                    kind: Kind::ZippedShapefile,
                    gzip,
                }),
                "csv" | "txt" | "tsv" | "dat" | "xlsx" | "ods" => Err(refuse(
                    "a spreadsheet or zip archive",
                    "save the sheet as CSV",
                )),
                _ => Err(refuse(
                    "a zip archive",
                    "name it .zip if it holds a Shapefile",
                )),
            };
        }
        for (magic, kind) in [
            (&b"SQLite format 3\0"[..], Kind::GeoPackage),
            (b"PAR1", Kind::GeoParquet),
            (MAGIC, Kind::FlatGeobuf),
        ] {
            if start.starts_with(magic) {
                return Ok(Recognised { kind, gzip });
            }
        }
        if start.starts_with(b"%PDF") {
            return Err(refuse("a PDF document", ACCEPTED));
        }
        if start.starts_with(&[0, 0, 0x27, 0x0a]) {
            return Ok(Recognised {
                kind: Kind::Shapefile,
                gzip,
            });
        }
    }
    if matches!(extension, "dbf" | "shx" | "prj" | "cpg") {
        return Err(refuse(
            "a companion of a Shapefile",
            "give the .shp beside it",
        ));
    }
    if let Some(kind) = kind {
        return Ok(Recognised { kind, gzip });
    }
    if gzip {
        return Err(refuse(
            "a gzip file of unknown content",
            "name it .csv.gz, .geojson.gz or .ndjson.gz",
        ));
    }
    let text = start.strip_prefix(b"\xef\xbb\xbf").unwrap_or(start);
    match text.iter().find(|byte| !byte.is_ascii_whitespace()) {
        Some(b'{') if !is_sequence(start) => Ok(Recognised {
            kind: Kind::GeoJson,
            gzip,
        }),
        Some(&(b'{' | RECORD_SEPARATOR)) => Ok(Recognised {
            kind: Kind::GeoJsonSequence,
            gzip,
        }),
        _ if looks_like_text(start) => Ok(Recognised {
            kind: Kind::Delimited,
            gzip,
        }),
        _ => Err(refuse("a file of unknown kind", ACCEPTED)),
    }
}

/// Whether GeoJSON begins with a record separator, or with one line that is whole and another object
/// behind it.
fn is_sequence(start: &[u8]) -> bool {
    let text = start.strip_prefix(b"\xef\xbb\xbf").unwrap_or(start);
    let text = text.trim_ascii_start();
    if text.starts_with(&[RECORD_SEPARATOR]) {
        return true;
    }
    let Some(end) = memchr::memchr(b'\n', text) else {
        return false;
    };
    let (line, later) = text.split_at(end);
    later.trim_ascii_start().starts_with(b"{") && serde_json::from_slice::<IgnoredAny>(line).is_ok()
}

/// Text has no control characters but line ends and tabs; UTF-16 is told by its mark.
fn looks_like_text(start: &[u8]) -> bool {
    start.starts_with(&[0xff, 0xfe])
        || start.starts_with(&[0xfe, 0xff])
        || !start
            .iter()
            .any(|&byte| byte < 0x20 && !matches!(byte, b'\t' | b'\n' | b'\r' | 0x0c))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn kind(name: &str, start: &[u8]) -> Result<Kind, Problem> {
        recognise(Path::new(name), start).map(|found| found.kind)
    }

    #[test]
    fn extension_then_content() {
        assert_eq!(kind("a.CSV", b"lon,lat").unwrap(), Kind::Delimited);
        assert_eq!(kind("a.GeoJSON", b"{").unwrap(), Kind::GeoJson);
        assert_eq!(kind("a.log", b" {\"type\"").unwrap(), Kind::GeoJson);
        assert_eq!(kind("a.log", b"lon lat\n").unwrap(), Kind::Delimited);
        assert_eq!(kind("a.txt", &[0, 0, 0x27, 0x0a]).unwrap(), Kind::Shapefile);
        assert_eq!(kind("a.zip", b"PK\x03\x04").unwrap(), Kind::ZippedShapefile);
        assert_eq!(kind("a.txt", b"PAR1").unwrap(), Kind::GeoParquet);
        assert_eq!(
            kind("a.db", b"SQLite format 3\0").unwrap(),
            Kind::GeoPackage
        );
        assert_eq!(kind("a", b"fgb\x03fgb\x01").unwrap(), Kind::FlatGeobuf);
        for text in ["{\"a\": 1}\n{\"a\"", "\u{1e}{\"a\":\n1}"] {
            assert_eq!(
                kind("a.json", text.as_bytes()).unwrap(),
                Kind::GeoJsonSequence
            );
            assert_eq!(kind("a", text.as_bytes()).unwrap(), Kind::GeoJsonSequence);
        }
        assert_eq!(kind("a.json", b"{\n{").unwrap(), Kind::GeoJson);
        assert!(
            recognise(Path::new("a.csv.gz"), &[0x1f, 0x8b])
                .unwrap()
                .gzip
        );
    }

    #[test]
    fn other_kinds_are_refused_with_what_to_do() {
        assert!(
            kind("a.csv", b"PK\x03\x04")
                .unwrap_err()
                .hint
                .contains("save the sheet as CSV")
        );
        assert!(kind("a.dbf", b"\x03").unwrap_err().hint.contains(".shp"));
        assert!(
            kind("a.bin", b"\x00\x01\x02")
                .unwrap_err()
                .message
                .contains("unknown kind")
        );
        assert!(kind("a.gz", &[0x1f, 0x8b]).is_err());
    }
}
