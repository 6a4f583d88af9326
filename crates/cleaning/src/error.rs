//! Why a log cannot be cleaned at all.

use checkstrip_spatial::crs::CrsError;

/// A log that cannot be used. Faults of single records are statuses, not errors.
#[derive(Debug, thiserror::Error)]
pub enum CleaningError {
    /// There is nothing to clean.
    #[error("the log holds no record")]
    Empty,
    /// No record has a usable position.
    #[error("none of the {records} records has a usable longitude and latitude")]
    NoPosition {
        /// Records in the log.
        records: usize,
    },
    /// Neither the log nor the settings say how wide the header was.
    #[error(
        "the log does not say how wide the header cut\n\
         hint: add width = \"30 ft\" (your header's width) under [harvest] in the trial file, or \
         --width \"30 ft\" on the command line"
    )]
    NoWidth,
    /// Every width in the log is zero, negative or missing.
    #[error(
        "every cutting width in the log is zero or missing\n\
         hint: add width = \"30 ft\" (your header's width) under [harvest] in the trial file, or \
         --width \"30 ft\" on the command line; it then replaces the log's own widths"
    )]
    ZeroWidth,
    /// Neither a flow nor a yield.
    #[error("the log has neither a grain flow nor a yield column")]
    NoGrain,
    /// A setting that makes no sense.
    #[error("the cleaning setting {name} is {value}, expected {expected}")]
    Setting {
        /// Key under `[cleaning]`.
        name: &'static str,
        /// What was given.
        value: String,
        /// What is possible.
        expected: &'static str,
    },
    /// Tickets that nothing joins to the log.
    #[error(
        "{tickets}: {}\nhint: {}",
        match has_loads {
            true => "the tickets have neither the name of their load nor start and end",
            false => "the log has no load column, and the tickets have no start and end",
        },
        match has_loads {
            true => "add a column load with the names that the log uses",
            false => "add columns start and end to the tickets, with the times at which each load was begun and \
                      finished on the log's clock; or name the log's column of loads under [harvest.columns]",
        }
    )]
    NoLoads {
        /// The file of tickets.
        tickets: String,
        /// Whether the log has loads.
        has_loads: bool,
    },
    /// Tickets with times for a log without.
    #[error(
        "the scale tickets go by time, and the log has no times\n\
         hint: add a column of loads to the log, or export it with its times"
    )]
    TicketTimesWithoutClock,
    /// No ticket can be used.
    #[error(
        "{tickets}: no ticket fits the log ({reasons})\n\
         hint: check that the tickets are of this field, with loads and machines spelled as in the log, or \
         leave the tickets out"
    )]
    NoTicketFits {
        /// The file of tickets.
        tickets: String,
        /// Why the first ones do not.
        reasons: String,
    },
    /// Positions that no plane can hold.
    #[error(transparent)]
    Crs(#[from] CrsError),
}
