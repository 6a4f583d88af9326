//! A report as PDF. The page that a browser shows is the only text of a report: this crate reads it, sorts it into
//! headings, paragraphs, tables and pictures, and has them set on paper by Typst, a typesetting library. What the
//! PDF says is therefore what the page says, to the word and the figure. The job calls [`print()`] with each report.

mod page;
mod typesetting;

use checkstrip_model::units::Paper;

/// Why a page could not be printed. Each would be a fault of this program: pages are its own.
#[derive(Debug, thiserror::Error)]
pub enum PrintError {
    /// The page holds something that has no place on paper yet.
    #[error("the PDF could not be made: the page holds {0}")]
    Unknown(String),
    /// The page could not be handed over.
    #[error("the PDF could not be made: {0}")]
    Page(#[from] serde_json::Error),
    /// A picture of the page could not be unpacked.
    #[error("the PDF could not be made: a picture is damaged ({0})")]
    Picture(#[from] base64::DecodeError),
    /// The page could not be set.
    #[error("the PDF could not be set: {0}")]
    Typesetting(String),
}

/// The report `html` as a PDF on `paper`: tagged for screen readers, without the moment it was made, so that the
/// same report always gives the same bytes.
///
/// # Errors
/// When the page holds an element that this crate does not know, or cannot be set.
pub fn print(html: &str, paper: Paper) -> Result<Vec<u8>, PrintError> {
    typesetting::pdf(page::read(html)?, paper)
}

#[cfg(test)]
mod tests;
