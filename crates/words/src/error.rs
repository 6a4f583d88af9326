//! Why words cannot be used.

use std::path::PathBuf;

/// Why a file of words cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum WordsError {
    /// The file cannot be read.
    #[error("{}: cannot be read: {source}\nhint: --words and [report] words name a file of words; checkstrip reference words prints one to start from", path.display())]
    Read {
        /// The file.
        path: PathBuf,
        /// What the system says.
        source: std::io::Error,
    },
    /// Something in it is wrong.
    #[error("{}, row {row}: {what}\nhint: {hint}", path.display())]
    Wrong {
        /// The file.
        path: PathBuf,
        /// The row, from 1.
        row: usize,
        /// What is wrong.
        what: String,
        /// What to do.
        hint: String,
    },
}
