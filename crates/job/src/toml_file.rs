//! Files that people write settings in: read as TOML, what is wrong told with its row.

use crate::error::JobError;
use checkstrip_formats::FormatError;
use checkstrip_model::Problem;
use serde::de::DeserializeOwned;
use std::path::Path;

/// A file's content as `T`. `keys_in` says where its keys are explained.
///
/// # Errors
/// A file that cannot be read, is no TOML, or has a key or value that `T` has no place for, with its row.
pub(crate) fn read_toml<T: DeserializeOwned>(path: &Path, keys_in: &str) -> Result<T, JobError> {
    let text = std::fs::read_to_string(path).map_err(|source| FormatError::Io {
        path: path.to_owned(),
        action: "read",
        source,
    })?;
    toml::from_str(&text).map_err(|error| {
        let row = error
            .span()
            .map(|span| text[..span.start.min(text.len())].matches('\n').count() as u32 + 1);
        let mut found = Problem::new(path.display().to_string(), error.message().to_owned())
            .hint(format!("{keys_in} shows every key with an example"));
        found.row = row;
        found.into()
    })
}
