//! Everything that a file of any format holds, in batches where the format can be read so.

use std::path::Path;

use checkstrip_model::Problem;

use crate::delimited::DelimitedStream;
use crate::feature::FeatureFile;
use crate::feature_stream::{FeatureStream, Wish};
use crate::feature_table::FeatureTable;
use crate::flatgeobuf::FlatGeobufStream;
use crate::geojson::SequenceStream;
use crate::geopackage::GeoPackageStream;
use crate::geoparquet::ParquetStream;
use crate::kind::{Kind, Looked};
use crate::raw_table::RawTable;
use crate::shapefile::Bundle;
use crate::task_data::{self, Part, TaskLog, TaskSet};
use crate::{FormatError, file_bytes, geojson, shapefile};

/// The features of the file `looked`; what `wish` does not ask for may be left out.
///
/// # Errors
/// When the file cannot be read.
pub(super) fn open<'a>(
    looked: &'a Looked,
    wish: &'a Wish,
) -> Result<Box<dyn FeatureStream + 'a>, FormatError> {
    let Looked {
        file,
        path,
        layer,
        found,
    } = looked;
    let whole = |table: FeatureTable| Ok(Box::new(WholeFile(table)) as Box<dyn FeatureStream>);
    match found.kind {
        Kind::Delimited => Ok(Box::new(DelimitedStream::open(
            file, path, found.gzip, wish,
        )?)),
        Kind::GeoJsonSequence => Ok(Box::new(SequenceStream::open(file, path, found.gzip)?)),
        Kind::GeoPackage => Ok(Box::new(GeoPackageStream::open(
            path,
            layer.as_deref(),
            wish,
        )?)),
        Kind::GeoParquet => Ok(Box::new(ParquetStream::new(file, path, wish))),
        Kind::FlatGeobuf => Ok(Box::new(FlatGeobufStream::new(file, path, wish))),
        Kind::GeoJson => {
            let bytes = file_bytes::read(path)?;
            let bytes = match found.gzip {
                true => file_bytes::gunzip(file, &bytes)?,
                false => bytes,
            };
            whole(either(
                || geojson::points::read(file, &bytes),
                || geojson::polygons::read(file, &bytes),
            )?)
        }
        Kind::Shapefile => whole(from_shapefile(
            file,
            &Bundle::beside(path, file_bytes::read(path)?)?,
        )?),
        Kind::ZippedShapefile => whole(from_shapefile(
            file,
            &Bundle::in_zip(file, &file_bytes::read(path)?)?,
        )?),
    }
}

/// A file that is in memory.
struct WholeFile(FeatureTable);

impl FeatureStream for WholeFile {
    fn read(
        &self,
        push: &mut dyn FnMut(&FeatureTable) -> Result<(), FormatError>,
    ) -> Result<(), FormatError> {
        push(&self.0)
    }
}

/// Parts of task data by what stands behind a last colon.
const PARTS: [(&str, Part); 3] = [
    (":logs", Part::Logs),
    (":zones", Part::Zones),
    (":boundary", Part::Boundary),
];

/// The set that `given` names, and the part of it, where one is named behind a colon; `None` when it is no task data.
fn task_set(given: &Path) -> Result<Option<(TaskSet, Option<Part>)>, FormatError> {
    let text = given
        .to_str()
        .filter(|_| !given.exists())
        .unwrap_or_default();
    for (ending, part) in PARTS {
        if let Some(set) = text.strip_suffix(ending)
            && let Some(set) = TaskSet::open(Path::new(set))?
        {
            return Ok(Some((set, Some(part))));
        }
    }
    Ok(TaskSet::open(given)?.map(|set| (set, None)))
}

/// The features of the part of task data that `given` names, its time logs when it names none; `None` when it is no
/// task data. `changes` gets what is to be said of them.
///
/// # Errors
/// When the set cannot be read or has no such part.
pub(super) fn from_task_data(
    given: &Path,
    changes: &mut Vec<String>,
) -> Result<Option<Box<dyn FeatureStream>>, FormatError> {
    let Some((set, part)) = task_set(given)? else {
        return Ok(None);
    };
    let table = match part.unwrap_or_else(|| set.main_part()) {
        Part::Logs => {
            let (read, said) = TaskLog::open(set)?.into_table()?;
            changes.extend(said);
            read
        }
        Part::Zones => set.polygons(task_data::Wanted::Zones)?.features.into(),
        Part::Boundary => set.polygons(task_data::Wanted::Boundary)?.features.into(),
    };
    Ok(Some(Box::new(WholeFile(table))))
}

fn from_shapefile(file: &str, bundle: &Bundle) -> Result<FeatureTable, Problem> {
    either(
        || shapefile::read_points(file, bundle),
        || shapefile::read_polygons(file, bundle),
    )
}

/// Points, or else polygons; when the file holds neither, why it cannot be read.
fn either(
    points: impl FnOnce() -> Result<RawTable, Problem>,
    polygons: impl FnOnce() -> Result<FeatureFile, Problem>,
) -> Result<FeatureTable, Problem> {
    let no_points = match points() {
        Ok(table) => return Ok(table.into()),
        Err(problem) => problem,
    };
    polygons().map(FeatureTable::from).map_err(|no_polygons| {
        match no_points.message.starts_with("expected points") {
            true => no_polygons,
            false => no_points,
        }
    })
}
