//! Why a planting log cannot be judged row by row.

/// What keeps a planting log from being judged.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PlantingError {
    /// No row numbers.
    #[error(
        "the log has no column of row numbers, so that nothing can be said row by row\n\
         hint: export the log with one record for each row and moment, or with one column for each row"
    )]
    NoRows,
    /// No times.
    #[error(
        "the log has no column of times, which tell which readings belong to one moment\n\
         hint: export the log with its time stamps"
    )]
    NoTimes,
    /// Nothing tells how far the planter went.
    #[error(
        "the log has neither distance, speed nor positions: how far the planter went is unknown\n\
         hint: export one of them with the log"
    )]
    NoWay,
    /// Columns of different lengths.
    #[error(
        "the column {column} has {found} entries, expected {expected} as in the column of rows"
    )]
    Length {
        /// Which column.
        column: &'static str,
        /// Its entries.
        found: usize,
        /// The entries of the column of rows.
        expected: usize,
    },
    /// A row number that is none.
    #[error(
        "record {record} has the row {row}, expected a whole number from 1 to {most}\n\
         hint: rows are numbered from 1 at the left of the planter"
    )]
    Row {
        /// The record, counted from 1.
        record: usize,
        /// What stands there.
        row: f64,
        /// The highest row number that is believed.
        most: usize,
    },
    /// The planter never planted.
    #[error(
        "no pass is left to judge: of {moments} moments none belongs to a pass of {shortest_m} m or more \
         with the planter down\n\
         hint: look at the log with checkstrip inspect"
    )]
    NoPasses {
        /// Moments in the log.
        moments: usize,
        /// The shortest pass that counts, m.
        shortest_m: f64,
    },
    /// A setting that makes no sense.
    #[error("the setting {key} is {value}, expected {expected}")]
    Setting {
        /// Its key.
        key: &'static str,
        /// What was given.
        value: f64,
        /// What is possible.
        expected: &'static str,
    },
    /// What does not fit into memory could not be put aside.
    #[error(
        "readings could not be put aside on the disk: {why}\n\
         hint: make room on the disk that the results go to (a large log needs half of its size), or give \
         another folder"
    )]
    Scratch {
        /// What the operating system said.
        why: String,
    },
}
