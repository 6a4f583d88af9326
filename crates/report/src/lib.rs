//! The report of one field: a single HTML file that opens offline, prints on letter and A4 and reads
//! on a phone. It says the answer in words first and shows everything the answer rests on below. The
//! job calls [`render`] with the results and the maps; the report formats, it computes no statistic.
//!
//! What each section means is in `docs/report.md`.

mod along_plot;
mod along_strips;
mod answer;
mod axes;
mod cautions;
mod curve_plot;
mod figures;
mod forest_plot;
mod glance;
mod machines;
mod moment;
mod money;
mod page;
mod planting;
mod plots;
mod pooled;
mod rate_response;
mod row_plot;
mod season;
mod stand;
mod tables;
mod where_it_paid;

pub use forest_plot::forest_plot;
pub use moment::moment;
pub use planting::{
    PlanterReport, PlantingReport, Shown, planting_in_words, render_planting, row_spacing,
};
pub use pooled::{pooled_in_words, render_pooled};
pub use season::{SeasonReport, render_season};

use checkstrip_model::results::Results;
use checkstrip_words::Reader;

/// A map to show in the report.
#[derive(Debug, Clone, Copy)]
pub struct ReportMap<'a> {
    /// A name unique among the maps, used as the anchor in the page.
    pub key: &'a str,
    /// Heading.
    pub title: &'a str,
    /// How to read the map; also tells readers who cannot see it what it shows.
    pub caption: &'a str,
    /// The PNG file.
    pub png: &'a [u8],
}

/// Why a report could not be made.
#[derive(Debug, thiserror::Error)]
pub enum ReportError {
    /// The page could not be put together.
    #[error("the report could not be written: {0}")]
    Page(#[from] minijinja::Error),
    /// The settings could not be listed.
    #[error("the report could not be written: {0}")]
    Settings(#[from] serde_json::Error),
    /// A chart could not be drawn.
    #[error(transparent)]
    Chart(#[from] checkstrip_drawing::DrawingError),
}

/// The report as one HTML document in UTF-8, for `reader`. Maps appear in the order given.
/// Figures that are missing or not finite are shown as a dash.
///
/// # Errors
/// When the page cannot be put together, which would be a fault of this program.
pub fn render(
    results: &Results,
    maps: &[ReportMap],
    reader: Reader,
) -> Result<String, ReportError> {
    page::render(results, maps, reader)
}

/// The answer in plain sentences, one paragraph per treatment: what [`render`] puts first, for the
/// command line and other summaries.
pub fn answer_in_words(results: &Results, reader: Reader) -> Vec<String> {
    answer::answer(results, figures::Figures::new(&results.field, reader))
}

#[cfg(test)]
mod invented;

#[cfg(test)]
mod tests;
