//! Strips edited in a Shapefile: shapes that nobody moved keep heights and measures, records keep every
//! attribute.

use std::io::{self, Cursor};
use std::path::{Path, PathBuf};

use checkstrip_model::Problem;
use geo::MultiPolygon;
use shapefile::{NO_DATA, Point, PointM, PointZ, PolygonRing, Shape, ShapeWriter};

use super::changes::Changes;
use super::{EditedStrip, StripFile};
use crate::export::{WGS_84, empty_strips_shapefile};
use crate::feature::FeatureFile;
use crate::shapefile::{AttributeTable, Bundle, EditedTable, read_polygons, read_shapes};
use crate::{FormatError, file_bytes, write_bytes_atomically};

/// Bytes of the header, behind which the shapes come.
const HEADER: usize = 100;

/// The files of a Shapefile that say what strips there are.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct ShapefileParts {
    shp: Vec<u8>,
    /// The index of the shapes, once they were written here.
    shx: Option<Vec<u8>>,
    dbf: Vec<u8>,
    prj: Option<Vec<u8>>,
    cpg: Option<Vec<u8>>,
}

/// Endings of the files that belong to one Shapefile.
const ENDINGS: &[&str] = &[
    "shp", "shx", "dbf", "prj", "cpg", "qpj", "sbn", "sbx", "qix", "idm", "ind",
];
/// Those that index where shapes lie, and are wrong once they lie elsewhere.
const INDEXES: &[&str] = &["sbn", "sbx", "qix", "idm", "ind"];

/// The files of the Shapefile `path` that are there.
pub(super) fn companions(path: &Path) -> Result<Vec<PathBuf>, FormatError> {
    let folder = match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    };
    let lower =
        |part: Option<&std::ffi::OsStr>| part.unwrap_or_default().to_string_lossy().to_lowercase();
    let stem = lower(path.file_stem());
    let mut found = Vec::new();
    for entry in std::fs::read_dir(folder).map_err(|e| FormatError::reading(folder, e))? {
        let name = entry.map_err(|e| FormatError::reading(folder, e))?.path();
        if lower(name.file_stem()) == stem && ENDINGS.contains(&&*lower(name.extension())) {
            found.push(path.with_file_name(name.file_name().unwrap_or_default()));
        }
    }
    found.sort();
    Ok(found)
}

fn ends_in(path: &Path, ending: &str) -> bool {
    path.extension()
        .is_some_and(|extension| extension.eq_ignore_ascii_case(ending))
}

impl ShapefileParts {
    /// The Shapefile whose `.shp` is `path`, with content `shp`.
    pub(super) fn beside(path: &Path, shp: Vec<u8>) -> Result<ShapefileParts, FormatError> {
        let found = companions(path)?;
        let read = |ending: &str| -> Result<Option<Vec<u8>>, FormatError> {
            let Some(part) = found.iter().find(|part| ends_in(part, ending)) else {
                return Ok(None);
            };
            let bytes = std::fs::read(part).map_err(|e| FormatError::reading(part, e))?;
            Ok(Some(bytes))
        };
        Ok(ShapefileParts {
            shp,
            shx: None,
            dbf: read("dbf")?.unwrap_or_default(),
            prj: read("prj")?,
            cpg: read("cpg")?,
        })
    }

    /// A Shapefile of no strips, in WGS 84.
    pub(super) fn empty(path: &Path) -> Result<ShapefileParts, FormatError> {
        let parts = empty_strips_shapefile();
        let (shp, shx, dbf) = parts.map_err(|error| FormatError::writing(path, error))?;
        Ok(ShapefileParts {
            shp,
            shx: Some(shx),
            dbf,
            prj: Some(WGS_84.into()),
            cpg: Some(b"UTF-8".to_vec()),
        })
    }

    pub(super) fn features(&self, file: &str) -> Result<FeatureFile, Problem> {
        if self.shp.len() <= HEADER {
            return Ok(FeatureFile {
                crs: self.bundle().prj,
                short_names: true,
                ..FeatureFile::default()
            });
        }
        read_polygons(file, &self.bundle())
    }

    fn bundle(&self) -> Bundle {
        let mut bundle = Bundle::default();
        bundle.add("shp", self.shp.clone());
        if !self.dbf.is_empty() {
            bundle.add("dbf", self.dbf.clone());
        }
        for (ending, part) in [("prj", &self.prj), ("cpg", &self.cpg)] {
            if let Some(part) = part {
                bundle.add(ending, part.clone());
            }
        }
        bundle
    }

    /// SHA-256 of the `.shp`, as results have it.
    pub(super) fn sha256(&self) -> String {
        file_bytes::sha256(&self.shp)
    }

    /// A hash over all parts.
    pub(super) fn revision(&self) -> String {
        let none = Vec::new();
        let parts = [
            &self.shp,
            &self.dbf,
            self.prj.as_ref().unwrap_or(&none),
            self.cpg.as_ref().unwrap_or(&none),
        ];
        let hashes = parts.map(|part| file_bytes::sha256(part));
        file_bytes::sha256(hashes.concat().as_bytes())
    }

    /// Writes the parts that changed, the `.shp` last: where it is new, the rest is. Indexes of where the
    /// shapes lay are taken away.
    pub(super) fn write(&self, path: &Path) -> Result<(), FormatError> {
        let there = companions(path)?;
        let named = |ending: &str| {
            let found = there.iter().find(|part| ends_in(part, ending)).cloned();
            found.unwrap_or_else(|| path.with_extension(ending))
        };
        let is_there = |ending: &str| there.iter().any(|part| ends_in(part, ending));
        if let Some(shx) = &self.shx {
            write_bytes_atomically(&named("shx"), shx)?;
        }
        write_bytes_atomically(&named("dbf"), &self.dbf)?;
        for (ending, part) in [("prj", &self.prj), ("cpg", &self.cpg)] {
            if let (Some(part), false) = (part, is_there(ending)) {
                write_bytes_atomically(&named(ending), part)?;
            }
        }
        for index in INDEXES.iter().filter(|index| is_there(index)) {
            let index = named(index);
            std::fs::remove_file(&index).map_err(|e| FormatError::writing(&index, e))?;
        }
        write_bytes_atomically(&named("shp"), &self.shp)
    }
}

/// The parts of `file` with `changes`.
pub(super) fn edited(
    file: &StripFile,
    parts: &ShapefileParts,
    changes: &Changes<'_>,
) -> Result<ShapefileParts, FormatError> {
    let shown = file.shown();
    let mut before = match parts.shp.len() <= HEADER {
        true => Vec::new(),
        false => match read_shapes(&shown, &parts.shp)? {
            (shapes, None) => shapes.into_iter().map(Some).collect(),
            (_, Some(cut_off)) => return Err(cut_off.into()),
        },
    };
    let of_first = before
        .first()
        .and_then(Option::as_ref)
        .map_or(Outlines::Plain, Outlines::of);
    let mut shapes = Vec::new();
    let mut sources = Vec::new();
    let mut strips = Vec::new();
    for (at, (strip, heir)) in changes.kept.iter().enumerate() {
        let Some(edited) = heir else { continue };
        let Some(shape) = before.get_mut(at).and_then(Option::take) else {
            continue;
        };
        shapes.push(match strip.ground == edited.ground {
            true => shape,
            false => drawn(file, edited, of_first)?,
        });
        sources.push(Some(at));
        strips.push((Some(*strip), *edited));
    }
    for (source, edited) in &changes.added {
        shapes.push(drawn(file, edited, of_first)?);
        sources.push(source.map(|strip| strip.row as usize - 1));
        strips.push((None, *edited));
    }

    let bundle = parts.bundle();
    let table = AttributeTable::read(&shown, &parts.dbf, bundle.encoding.as_deref())?;
    if table.records != before.len() {
        return Err(Problem::new(
            shown,
            "the attribute table has another number of records than there are shapes",
        )
        .hint("one of .shp and .dbf was cut off or is from another export: copy both again")
        .into());
    }
    let mut table = EditedTable::new(&table, &sources);
    let (names, options) = (&file.names, &file.options);
    let treatment = table.field(file.attribute(&names.treatment, &options.treatment));
    let block = (names.block.is_some() || changes.have_blocks())
        .then(|| table.field(file.attribute(&names.block, &options.block)));
    let strip_id = (names.strip_id.is_some() || changes.need_names())
        .then(|| table.field(file.attribute(&names.strip_id, &options.strip_id)));
    for (record, (before, edited)) in strips.iter().enumerate() {
        if before.is_none_or(|before| before.treatment != edited.treatment) {
            table.set(&shown, record, treatment, Some(&edited.treatment))?;
        }
        if let Some(block) = block
            && before.is_none_or(|before| before.block != edited.block)
        {
            table.set(&shown, record, block, edited.block.as_deref())?;
        }
        if let Some(strip_id) = strip_id
            && (names.strip_id.is_none()
                || before.is_none_or(|before| before.strip_id != edited.strip_id))
        {
            table.set(&shown, record, strip_id, Some(&edited.strip_id))?;
        }
    }
    let written = written(&shapes).map_err(|error| FormatError::writing(&file.path, error))?;
    Ok(ShapefileParts {
        shp: written.0,
        shx: Some(written.1),
        dbf: table.bytes(&shown)?,
        ..parts.clone()
    })
}

/// What the corners of a Shapefile hold beside their place.
#[derive(Clone, Copy)]
enum Outlines {
    Plain,
    Measures,
    Heights,
}

impl Outlines {
    fn of(shape: &Shape) -> Outlines {
        match shape {
            Shape::PolygonM(_) => Outlines::Measures,
            Shape::PolygonZ(_) => Outlines::Heights,
            _ => Outlines::Plain,
        }
    }
}

/// A strip as a shape of the kind that the file holds; heights of new corners are 0.
fn drawn(file: &StripFile, strip: &EditedStrip, outlines: Outlines) -> Result<Shape, Problem> {
    let ground: &MultiPolygon<f64> = &strip.ground;
    let polygons = file.places.polygons(&file.shown(), ground)?;
    fn rings<P>(
        polygons: &[crate::feature::Rings],
        corner: fn([f64; 2]) -> P,
    ) -> Vec<PolygonRing<P>> {
        let of_one = |rings: &crate::feature::Rings| -> Vec<PolygonRing<P>> {
            let points = rings
                .iter()
                .map(|ring| ring.iter().copied().map(corner).collect());
            let named = points.enumerate().map(|(at, points)| match at {
                0 => PolygonRing::Outer(points),
                _ => PolygonRing::Inner(points),
            });
            named.collect()
        };
        polygons.iter().flat_map(of_one).collect()
    }
    Ok(match outlines {
        Outlines::Plain => {
            let rings = rings(&polygons, |[x, y]| Point::new(x, y));
            Shape::Polygon(shapefile::Polygon::with_rings(rings))
        }
        Outlines::Measures => {
            let rings = rings(&polygons, |[x, y]| PointM::new(x, y, NO_DATA));
            Shape::PolygonM(shapefile::PolygonM::with_rings(rings))
        }
        Outlines::Heights => {
            let rings = rings(&polygons, |[x, y]| PointZ::new(x, y, 0.0, NO_DATA));
            Shape::PolygonZ(shapefile::PolygonZ::with_rings(rings))
        }
    })
}

/// The shapes and their index.
fn written(shapes: &[Shape]) -> io::Result<(Vec<u8>, Vec<u8>)> {
    let (mut shp, mut shx) = (Cursor::new(Vec::new()), Cursor::new(Vec::new()));
    let mut writer = ShapeWriter::with_shx(&mut shp, &mut shx);
    for shape in shapes {
        match shape {
            Shape::Polygon(polygon) => writer.write_shape(polygon),
            Shape::PolygonM(polygon) => writer.write_shape(polygon),
            Shape::PolygonZ(polygon) => writer.write_shape(polygon),
            _ => continue,
        }
        .map_err(io::Error::other)?;
    }
    writer.finalize().map_err(io::Error::other)?;
    drop(writer);
    Ok((shp.into_inner(), shx.into_inner()))
}
