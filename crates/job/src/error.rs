//! Why a field could not be done: the first error of whichever crate met it, with the place it
//! belongs to.

use checkstrip_cleaning::CleaningError;
use checkstrip_formats::FormatError;
use checkstrip_model::Problem;
use checkstrip_planting::PlantingError;
use checkstrip_report::ReportError;
use checkstrip_spatial::crs::CrsError;
use checkstrip_spatial::maps::MapError;
use checkstrip_spatial::surface::SurfaceError;
use checkstrip_trial::TrialError;
use checkstrip_trial::layout::LayoutError;
use checkstrip_words::WordsError;

/// Why a field could not be done.
#[derive(Debug, thiserror::Error)]
pub enum JobError {
    /// A file could not be read or written.
    #[error(transparent)]
    Format(#[from] FormatError),
    /// A file's content cannot be used.
    #[error(transparent)]
    Input(#[from] Problem),
    /// The log cannot be cleaned.
    #[error("{file}: {source}")]
    Cleaning {
        /// The first of the log's files.
        file: String,
        /// What is wrong.
        source: CleaningError,
    },
    /// The strips cannot be compared.
    #[error("{file}: {source}")]
    Trial {
        /// The strips or trial file.
        file: String,
        /// What is wrong.
        source: TrialError,
    },
    /// A planting log cannot be judged row by row.
    #[error("{file}: {source}")]
    Planting {
        /// The first of the log's files.
        file: String,
        /// What is wrong.
        source: PlantingError,
    },
    /// Strips that cannot be laid.
    #[error(transparent)]
    Layout(#[from] LayoutError),
    /// Positions that cannot be projected.
    #[error(transparent)]
    Crs(#[from] CrsError),
    /// A file of words cannot be used.
    #[error(transparent)]
    Words(#[from] WordsError),
    /// A map could not be drawn.
    #[error(transparent)]
    Map(#[from] MapError),
    /// There is no yield surface.
    #[error(transparent)]
    Surface(#[from] SurfaceError),
    /// The report could not be written.
    #[error(transparent)]
    Report(#[from] ReportError),
    /// The report could not be set on paper.
    #[error(transparent)]
    Print(#[from] checkstrip_print::PrintError),
    /// The results could not be turned into JSON.
    #[error("the results cannot be written as JSON: {0}")]
    Json(#[from] serde_json::Error),
}
