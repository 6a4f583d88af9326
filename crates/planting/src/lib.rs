//! Planting quality row by row: what every row did, which rows are worse than the others, what repeats
//! along a row and why, what speed does to the seed, and what a grower would be told. From columns to
//! findings; no file formats, no coordinates, no drawing. `docs/planting.md` states every method.
//!
//! The caller reads the log piece by piece, puts positions into a plane, hands the pieces to
//! [`RecordsBeingRead`] and calls [`analyse`]. A log that is in memory is one piece:
//!
//! ```
//! use checkstrip_planting::{PlantingLog, PlantingRecords, PlantingSettings, Reading, analyse};
//! // Four rows, a hundred seconds at 2 m/s.
//! let row: Vec<f64> = (0..400).map(|i| f64::from(i % 4 + 1)).collect();
//! let time: Vec<f64> = (0..400).map(|i| f64::from(i / 4)).collect();
//! let (speed, skips) = (vec![2.0; 400], vec![1.5; 400]);
//! let mut log = PlantingLog { row: &row, time_s: &time, speed_m_s: Some(&speed), ..Default::default() };
//! log.set(Reading::Skips, &skips);
//! let findings = analyse(&PlantingRecords::of(&log)?, &PlantingSettings::default())?;
//! assert_eq!(findings.rows, 4);
//! assert!((findings.planter.skips_pct.unwrap() - 1.5).abs() < 1e-6);
//! # Ok::<(), checkstrip_planting::PlantingError>(())
//! ```

#![forbid(unsafe_code)]

mod advice;
mod analyse;
mod error;
mod false_alarm;
mod passes;
mod periodogram;
mod planting_log;
mod reading;
mod records;
mod repeating_fault;
mod row_comparison;
mod row_course;
mod row_quality;
mod row_tiles;
mod scratch;
mod seed_spacing;
mod settings;
mod spacing_indices;
mod speed_and_spacing;
mod stored_columns;
mod window_spectra;

pub use advice::{Advice, AdviceCode, CAUTIONS, Figure, TradeOff};
pub use analyse::{PlantingFindings, analyse};
pub use error::PlantingError;
pub use false_alarm::false_alarm_probability;
pub use passes::{Passes, PlantingPass, passes};
pub use periodogram::lomb_scargle;
pub use planting_log::PlantingLog;
pub use reading::Reading;
pub use records::{PlantingRecords, RecordsBeingRead};
pub use repeating_fault::{
    Episode, PeriodMatch, Place, RepeatingFault, RhythmCause, RhythmSearch, TurnsWith,
};
pub use row_comparison::{RowDeviation, RowTrouble};
pub use row_course::{PassOfRow, RowCourse};
pub use row_quality::{Measure, PassQuality, RowFigures};
pub use row_tiles::{RowTiles, row_tiles};
pub use scratch::Scratch;
pub use seed_spacing::{disc_circumference_m, row_offset_m, seed_spacing_m, seeds_per_ha};
pub use settings::{KnownRhythm, PlantingSettings, RowLimits};
pub use spacing_indices::{SpacingIndices, spacing_indices};
pub use speed_and_spacing::{NoSpeedEffect, SpeedAndSpacing, SpeedEffect};
pub use window_spectra::{Axis, Signal};
