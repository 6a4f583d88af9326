//! The features of a file in batches, so that memory does not grow with the file: what a conversion
//! reads, once to learn what there is and once to write it.

use crate::FormatError;
use crate::feature_table::FeatureTable;

/// Records of a batch, where a format says how many there are.
pub(crate) const BATCH: usize = 65_536;

/// Reads a file from its beginning, as often as it is asked to.
pub(crate) trait FeatureStream {
    /// Hands over batch after batch, in the order of the file; every batch says the file's reference
    /// system. A batch without a record may carry problems.
    ///
    /// # Errors
    /// When the file cannot be read, and those of `push`.
    fn read(
        &self,
        push: &mut dyn FnMut(&FeatureTable) -> Result<(), FormatError>,
    ) -> Result<(), FormatError>;

    /// How many features the file has, where the stream hands over only those that an index found.
    fn features_in_file(&self) -> Option<u64> {
        None
    }
}

/// What is wanted of a file.
#[derive(Debug, Clone, Default)]
pub(crate) struct Wish {
    /// Only features that may meet this box are needed: west, south, east, north in degrees.
    pub(crate) bbox: Option<[f64; 4]>,
    /// Only these attributes are needed.
    pub(crate) columns: Option<Vec<String>>,
}

impl Wish {
    /// Whether the attribute `name` is needed.
    pub(crate) fn needs(&self, name: &str) -> bool {
        let columns = self.columns.as_ref();
        columns.is_none_or(|columns| columns.iter().any(|column| Wish::is_called(name, column)))
    }

    /// Whether the attribute `name` is the one asked for as `wanted`.
    pub(crate) fn is_called(name: &str, wanted: &str) -> bool {
        name.trim().eq_ignore_ascii_case(wanted.trim())
    }
}
