//! The files that make up one Shapefile: side by side in a folder, or in a zip archive.

use std::io::Cursor;
use std::path::Path;

use checkstrip_model::Problem;
use zip::ZipArchive;

use crate::{FormatError, file_bytes};

/// The parts of a Shapefile.
#[derive(Debug, Default)]
pub(crate) struct Bundle {
    pub(crate) shp: Vec<u8>,
    pub(crate) dbf: Option<Vec<u8>>,
    /// The definition of the coordinate reference system.
    pub(crate) prj: Option<String>,
    /// The name of the attribute table's encoding.
    pub(crate) encoding: Option<String>,
}

/// An archive with more entries than this is not a Shapefile.
const MOST_ENTRIES: usize = 1000;

impl Bundle {
    /// The Shapefile whose `.shp` is `path`, with content `shp`.
    ///
    /// # Errors
    /// When the folder or a companion cannot be read.
    pub(crate) fn beside(path: &Path, shp: Vec<u8>) -> Result<Bundle, FormatError> {
        let mut bundle = Bundle {
            shp,
            ..Bundle::default()
        };
        let folder = match path.parent() {
            Some(parent) if !parent.as_os_str().is_empty() => parent,
            _ => Path::new("."),
        };
        let stem = path
            .file_stem()
            .unwrap_or_default()
            .to_string_lossy()
            .to_lowercase();
        let entries = std::fs::read_dir(folder).map_err(|e| FormatError::reading(folder, e))?;
        for entry in entries {
            let companion = entry.map_err(|e| FormatError::reading(folder, e))?.path();
            let name = companion
                .file_name()
                .unwrap_or_default()
                .to_string_lossy()
                .to_lowercase();
            let extension = match name.rsplit_once('.') {
                Some((same, extension)) if same == stem => extension,
                _ => continue,
            };
            if matches!(extension, "dbf" | "prj" | "cpg") {
                let bytes = std::fs::read(&companion)
                    .map_err(|error| FormatError::reading(&companion, error))?;
                bundle.add(extension, bytes);
            }
        }
        Ok(bundle)
    }

    /// The one Shapefile in the zip archive `bytes`.
    ///
    /// # Errors
    /// When there is none or more than one, an entry points out of the archive, or it unpacks to
    /// more than any log does.
    pub(crate) fn in_zip(file: &str, bytes: &[u8]) -> Result<Bundle, Problem> {
        let damaged = |error: zip::result::ZipError| {
            Problem::new(file, format!("the zip archive cannot be read: {error}"))
                .hint("it is damaged or was cut off: copy it again from where it came from")
        };
        let mut archive = ZipArchive::new(Cursor::new(bytes)).map_err(damaged)?;
        if archive.len() > MOST_ENTRIES {
            let message = format!(
                "expected a few files in the archive, found {}",
                archive.len()
            );
            return Err(Problem::new(file, message).hint("pack one Shapefile alone"));
        }
        let mut names = Vec::new();
        for at in 0..archive.len() {
            let entry = archive.by_index(at).map_err(damaged)?;
            let name = entry.name().map_err(damaged)?.into_owned();
            if entry.enclosed_name().is_none()
                || name.starts_with(['/', '\\'])
                || name.split(['/', '\\']).any(|part| part == "..")
            {
                let message = format!("the archive's entry {name:?} points out of the archive");
                return Err(Problem::new(file, message)
                    .hint("pack the Shapefile again, its files without folders"));
            }
            names.push(name);
        }
        let lower: Vec<String> = names.iter().map(|name| name.to_lowercase()).collect();
        // Some systems pack a hidden companion under the same name into this folder.
        let shps: Vec<usize> = (0..lower.len())
            .filter(|&at| lower[at].ends_with(".shp") && !lower[at].starts_with("__macosx/"))
            .collect();
        let &[shp] = &shps[..] else {
            let message = format!(
                "expected one .shp in the archive, found {}; it holds {}",
                shps.len(),
                names.join(", ")
            );
            return Err(Problem::new(file, message).hint("pack one Shapefile into one archive"));
        };
        let stem = lower[shp].trim_end_matches("shp");
        let mut bundle = Bundle::default();
        let mut unpacked = 0;
        for (at, name) in lower.iter().enumerate() {
            let Some(extension) = name.strip_prefix(stem) else {
                continue;
            };
            if !matches!(extension, "shp" | "dbf" | "prj" | "cpg") {
                continue;
            }
            let entry = archive.by_index(at).map_err(damaged)?;
            let packed = entry.compressed_size().min(bytes.len() as u64);
            let content = file_bytes::unpack(file, entry, packed)?;
            unpacked += content.len() as u64;
            if unpacked > file_bytes::UNPACKED_LIMIT {
                return Err(Problem::new(file, "the archive unpacks to more than 2 GiB")
                    .hint("unpack it yourself and give the .shp"));
            }
            bundle.add(extension, content);
        }
        Ok(bundle)
    }

    /// Puts in the part whose file ends in `extension`.
    pub(crate) fn add(&mut self, extension: &str, bytes: Vec<u8>) {
        let text = |bytes: &[u8]| {
            let text = String::from_utf8_lossy(bytes).trim().to_owned();
            (!text.is_empty()).then_some(text)
        };
        match extension {
            "shp" => self.shp = bytes,
            "dbf" => self.dbf = Some(bytes),
            "prj" => self.prj = text(&bytes),
            _ => self.encoding = text(&bytes),
        }
    }
}
