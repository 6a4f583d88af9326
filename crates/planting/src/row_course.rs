//! How the rows in most trouble and the middle row went from pass to pass, so that one sees since when.

use serde::{Deserialize, Serialize};

use crate::repeating_fault::{RepeatingFault, RhythmCause};
use crate::row_comparison::{RowDeviation, RowTrouble, median};
use crate::row_quality::{Measure, PassSums};
use crate::window_spectra::Signal;

/// Rows that are followed at most: a chart of more is not read.
const MOST_ROWS: usize = 4;

/// A row on one pass.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct PassOfRow {
    /// Number of the pass.
    pub pass: usize,
    /// The row's mean.
    pub value: f64,
    /// The mean of the middle row.
    pub middle_row: f64,
}

/// A row over the passes, in the measure that it is worst in.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RowCourse {
    /// Row, from 1.
    pub row: usize,
    /// The measure.
    pub measure: Measure,
    /// The passes on which both were read.
    pub passes: Vec<PassOfRow>,
}

/// The courses of the rows that are called or along which a fault of their own repeats, the one in most
/// trouble first; at most four.
pub(crate) fn row_courses(
    passes: &[PassSums],
    trouble: &[RowTrouble],
    deviations: &[RowDeviation],
    repeating: &[RepeatingFault],
) -> Vec<RowCourse> {
    let of_fault = |row: usize| {
        let own = repeating
            .iter()
            .find(|fault| fault.cause != RhythmCause::Implement && fault.rows.contains(&row))?;
        Some(match own.signal {
            Signal::Skips => Measure::Skips,
            Signal::Multiples => Measure::Multiples,
            Signal::SingulationLoss => Measure::Singulation,
        })
    };
    let of_call = |row: usize| {
        let called = deviations.iter().filter(|d| d.row == row && d.called);
        let worst = called.max_by(|a, b| a.trouble().total_cmp(&b.trouble()))?;
        Some(worst.measure)
    };
    trouble
        .iter()
        .filter_map(|of| Some((of.row, of_fault(of.row).or_else(|| of_call(of.row))?)))
        .take(MOST_ROWS)
        .map(|(row, measure)| course(passes, row, measure))
        .collect()
}

fn course(passes: &[PassSums], row: usize, measure: Measure) -> RowCourse {
    let on_pass = |pass: &PassSums| {
        let value = pass.of(measure, row - 1).mean()?;
        let rows = (0..pass.rows).filter_map(|row| pass.of(measure, row).mean());
        Some(PassOfRow {
            pass: pass.number,
            value,
            middle_row: median(rows)?,
        })
    };
    RowCourse {
        row,
        measure,
        passes: passes.iter().filter_map(on_pass).collect(),
    }
}
