//! Which open format a file is in: by its extension, then by how its content begins.

use std::path::Path;

use checkstrip_model::Problem;

/// The formats that are read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Kind {
    /// Delimited text: commas, semicolons, tabs, pipes or spaces.
    Delimited,
    /// GeoJSON, RFC 7946.
    GeoJson,
    /// Shapefile, with its attribute table beside it.
    Shapefile,
    /// A zip archive that holds a Shapefile.
    ZippedShapefile,
}

/// The format of a file, and whether it is wrapped in gzip.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Recognised {
    pub(crate) kind: Kind,
    pub(crate) gzip: bool,
}

/// How much of a file's beginning tells its format.
pub(crate) const START: usize = 4096;

const ACCEPTED: &str = "give delimited text (.csv, .txt, .tsv, .dat), GeoJSON (.geojson, .json), \
                        either of them in .gz, or a Shapefile (.shp, or .zip)";

/// The format of the file `path`, which begins with `start`.
pub(crate) fn recognise(path: &Path, start: &[u8]) -> Result<Recognised, Problem> {
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
        "geojson" | "json" => Some(Kind::GeoJson),
        "shp" if !gzip => Some(Kind::Shapefile),
        "zip" if !gzip => Some(Kind::ZippedShapefile),
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
        if start.starts_with(b"PAR1") || start.starts_with(b"SQLite format 3\0") {
            return Err(refuse("a Parquet or SQLite file", ACCEPTED));
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
            "name it .csv.gz or .geojson.gz",
        ));
    }
    let text = start.strip_prefix(b"\xef\xbb\xbf").unwrap_or(start);
    match text.iter().find(|byte| !byte.is_ascii_whitespace()) {
        Some(b'{') => Ok(Recognised {
            kind: Kind::GeoJson,
            gzip,
        }),
        _ if looks_like_text(start) => Ok(Recognised {
            kind: Kind::Delimited,
            gzip,
        }),
        _ => Err(refuse("a file of unknown kind", ACCEPTED)),
    }
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
        assert!(
            kind("a.parquet", b"PAR1")
                .unwrap_err()
                .message
                .contains("Parquet")
        );
        assert!(kind("a.gz", &[0x1f, 0x8b]).is_err());
    }
}
