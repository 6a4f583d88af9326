//! What a caller asks for and what can go wrong: the kinds of map, the request and its errors.

use checkstrip_model::{CleanLog, results::Field};
use checkstrip_words::{Reader, Words, say};

/// The maps there are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum MapKind {
    /// Yield as the log has it, before anything was put right.
    YieldBefore,
    /// Yield after cleaning.
    YieldAfter,
    /// Which records were dropped, and why.
    RemovedRecords,
    /// The strips with their treatments and yields.
    StripYields,
}

impl MapKind {
    /// Every kind, in the order a report shows them.
    pub const ALL: &[MapKind] = &[
        MapKind::StripYields,
        MapKind::YieldAfter,
        MapKind::YieldBefore,
        MapKind::RemovedRecords,
    ];

    /// The name in file names and on the command line.
    pub fn key(self) -> &'static str {
        match self {
            MapKind::YieldBefore => "yield_before",
            MapKind::YieldAfter => "yield_after",
            MapKind::RemovedRecords => "removed_records",
            MapKind::StripYields => "strip_yields",
        }
    }

    /// The kind whose [`key`](Self::key) is `key`.
    pub fn from_key(key: &str) -> Option<MapKind> {
        MapKind::ALL.iter().copied().find(|kind| kind.key() == key)
    }

    /// The heading on the map.
    pub fn title(self, words: &Words) -> String {
        match self {
            MapKind::YieldBefore => say!(words, "map-yield-before"),
            MapKind::YieldAfter => say!(words, "map-yield-after"),
            MapKind::RemovedRecords => say!(words, "map-removed-records"),
            MapKind::StripYields => say!(words, "map-strip-yields"),
        }
    }

    /// One or two sentences on how to read the map, for a report.
    pub fn caption(self, words: &Words) -> String {
        match self {
            MapKind::YieldBefore => say!(words, "map-yield-before-caption"),
            MapKind::YieldAfter => say!(words, "map-yield-after-caption"),
            MapKind::RemovedRecords => say!(words, "map-removed-records-caption"),
            MapKind::StripYields => say!(words, "map-strip-yields-caption"),
        }
    }
}

/// A strip as a map draws it.
#[derive(Debug, Clone, PartialEq)]
pub struct StripOutline {
    /// Its name.
    pub strip_id: String,
    /// Its treatment.
    pub treatment: String,
    /// Its block.
    pub block: String,
    /// Its ground: closed rings in the local plane, east and north in m; holes are rings inside
    /// rings.
    pub rings: Vec<Vec<[f64; 2]>>,
    /// Yield at market moisture, kg/ha; `None` when nothing was harvested.
    pub yield_kg_ha: Option<f64>,
    /// Whether its treatment is the check.
    pub is_check: bool,
}

/// What every map of a field needs besides its log.
#[derive(Debug, Clone, Copy)]
pub struct MapRequest<'a> {
    /// The field and its crop.
    pub field: &'a Field,
    /// Units and language of title, legend and scale bar.
    pub reader: Reader<'a>,
    /// The strips, in drawing order; may be empty.
    pub strips: &'a [StripOutline],
}

/// Why a map could not be drawn.
#[derive(Debug, thiserror::Error)]
pub enum MapError {
    /// The log's columns do not belong together.
    #[error(
        "the cleaned log cannot be mapped: {records} records, but its column {column} has {found} entries"
    )]
    Columns {
        /// Number of records.
        records: usize,
        /// The column that differs.
        column: &'static str,
        /// Its length.
        found: usize,
    },
    /// The drawing surface failed.
    #[error("the map could not be drawn: {0}")]
    Surface(String),
    /// The lettering or the encoding failed.
    #[error("the map could not be drawn: {0}")]
    Drawing(#[from] checkstrip_drawing::DrawingError),
    /// What the map shows lies where no plane holds it.
    #[error("the map could not be drawn: {0}")]
    Place(#[from] crate::crs::CrsError),
}

/// Checks that the columns the maps read have one entry per record.
pub(super) fn check_columns(log: &CleanLog) -> Result<(), MapError> {
    let columns: [(&'static str, usize); 8] = [
        ("east_m", log.east_m.len()),
        ("north_m", log.north_m.len()),
        ("heading_deg", log.heading_deg.len()),
        ("distance_m", log.distance_m.len()),
        ("width_m", log.width_m.len()),
        ("pass", log.pass.len()),
        ("raw_yield_kg_ha", log.raw_yield_kg_ha.len()),
        ("yield_kg_ha", log.yield_kg_ha.len()),
    ];
    let records = log.len();
    match columns.into_iter().find(|&(_, found)| found != records) {
        Some((column, found)) => Err(MapError::Columns {
            records,
            column,
            found,
        }),
        None => Ok(()),
    }
}
