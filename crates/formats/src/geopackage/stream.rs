//! A GeoPackage in batches, read where it lies; of a box only the features that the layer's index finds.

use std::path::Path;

use checkstrip_model::Problem;
use rusqlite::{Connection, OpenFlags};

use super::layer::{self, Layer};
use super::{Wanted, check_whole, damaged, features, limit, name_crs};
use crate::FormatError;
use crate::feature_stream::{BATCH, FeatureStream, Wish};
use crate::feature_table::FeatureTable;

/// A layer that is read in batches.
pub(crate) struct GeoPackageStream<'a> {
    file: String,
    database: Connection,
    layer: Layer,
    wish: &'a Wish,
}

impl<'a> GeoPackageStream<'a> {
    /// The layer called `layer` of the file at `path`, or the only one of points or polygons.
    ///
    /// # Errors
    /// When it is no GeoPackage, or no layer or more than one fits.
    pub(crate) fn open(
        path: &Path,
        layer: Option<&str>,
        wish: &'a Wish,
    ) -> Result<GeoPackageStream<'a>, Problem> {
        let file = path.display().to_string();
        check_whole(path)?;
        let database = connect(path).map_err(|error| damaged(&file, &error))?;
        let layer = layer::choose(&file, &database, layer, Wanted::Either)?;
        Ok(GeoPackageStream {
            file: format!("{file}, layer {:?}", layer.name),
            database,
            layer,
            wish,
        })
    }
}

/// Opens the file as one that nobody changes: SQLite makes no file beside it.
fn connect(path: &Path) -> rusqlite::Result<Connection> {
    let mut address = String::from("file:");
    for byte in path.as_os_str().as_encoded_bytes() {
        match byte {
            b'/' | b'.' | b'-' | b'_' => address.push(char::from(*byte)),
            letter if letter.is_ascii_alphanumeric() => address.push(char::from(*letter)),
            other => address.push_str(&format!("%{other:02x}")),
        }
    }
    address.push_str("?mode=ro&immutable=1");
    let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_URI;
    let database = Connection::open_with_flags(address, flags)?;
    limit(&database)?;
    Ok(database)
}

impl FeatureStream for GeoPackageStream<'_> {
    fn read(
        &self,
        push: &mut dyn FnMut(&FeatureTable) -> Result<(), FormatError>,
    ) -> Result<(), FormatError> {
        let (file, database, layer) = (&self.file, &self.database, &self.layer);
        let is_degrees = layer.crs(database).is_none();
        let bbox = self.wish.bbox.filter(|_| is_degrees);
        let is_needed = |name: &str| self.wish.needs(name);
        let mut is_first = true;
        features(
            file,
            database,
            layer,
            bbox,
            &is_needed,
            BATCH,
            &mut |mut batch| {
                let about_records = std::mem::take(&mut batch.table.problems);
                name_crs(file, database, layer, &mut batch)?;
                if std::mem::take(&mut is_first) {
                    batch.table.problems.append(about_records, 0);
                } else {
                    // That a reference system is missing is said once.
                    batch.table.problems = about_records;
                }
                push(&batch)
            },
        )
    }

    fn features_in_file(&self) -> Option<u64> {
        self.layer.features(&self.database)
    }
}
