//! A report as it lies in a folder: the page, and the same on paper.

use crate::error::JobError;
use checkstrip_formats::write_bytes_atomically;
use checkstrip_print::print;
use checkstrip_words::Reader;
use std::path::{Path, PathBuf};

/// Writes `report.html`, which holds `html`, and `report.pdf`. Returns both, the page first.
///
/// # Errors
/// When a file cannot be written, or the page cannot be set on paper.
pub(crate) fn write_report(
    dir: &Path,
    html: &str,
    reader: Reader,
) -> Result<[PathBuf; 2], JobError> {
    let [page, paper] = ["report.html", "report.pdf"].map(|name| dir.join(name));
    write_bytes_atomically(&page, html.as_bytes())?;
    write_bytes_atomically(&paper, &print(html, reader.paper)?)?;
    Ok([page, paper])
}
