//! A planting log that has one column for each row of the planter becomes one of a record for each row and
//! moment, as the model holds it: what is common to all rows is repeated, and the column `row` is added.

use checkstrip_model::Column;
use rayon::prelude::*;

use crate::column_builder::Values;
use crate::header::HeaderPlan;

/// Spreads `columns`, which are those of `plan` in its order, and the line numbers `rows` over the rows of the
/// planter; leaves them as they are where no column is of one row. Values are repeated, so that the records
/// take as many times the memory as there are rows.
pub(crate) fn spread(
    plan: &HeaderPlan,
    rows: Vec<u32>,
    columns: Vec<(Column, Values)>,
) -> (Vec<u32>, Vec<(Column, Values)>) {
    let mut planter_rows: Vec<u16> = plan.columns.iter().filter_map(|c| c.row).collect();
    planter_rows.sort_unstable();
    planter_rows.dedup();
    if planter_rows.is_empty() {
        return (rows, columns);
    }
    let records = rows.len();
    let times = planter_rows.len();
    let firsts = columns.iter().enumerate().filter(|(at, (column, _))| {
        let mut earlier = columns[..*at].iter();
        earlier.all(|(other, _)| other != column)
    });
    let mut spread: Vec<(Column, Values)> = firsts
        .collect::<Vec<_>>()
        .into_par_iter()
        .map(|(at, (column, values))| {
            // For each row of the planter where its values are; common values are those of every row.
            let of_row = |row: u16| match plan.columns[at].row {
                None => Some(values),
                Some(_) => plan
                    .columns
                    .iter()
                    .position(|c| c.column == *column && c.row == Some(row))
                    .map(|at| &columns[at].1),
            };
            let sources: Vec<Option<&Values>> =
                planter_rows.iter().map(|&row| of_row(row)).collect();
            (*column, interleaved(*column, &sources, records))
        })
        .collect();
    let numbers = planter_rows.iter().map(|&row| f64::from(row));
    let numbers = numbers.cycle().take(records * times).collect();
    spread.push((Column::Row, Values::Numbers(numbers)));
    let rows = rows
        .iter()
        .flat_map(|&row| std::iter::repeat_n(row, times))
        .collect();
    (rows, spread)
}

/// The values of all rows, record after record.
fn interleaved(column: Column, sources: &[Option<&Values>], records: usize) -> Values {
    let mut joined = Values::empty(column);
    match &mut joined {
        Values::Numbers(joined) => {
            let of_rows: Vec<Option<&[f64]>> = sources
                .iter()
                .map(|source| match source {
                    Some(Values::Numbers(values)) => Some(&values[..]),
                    _ => None,
                })
                .collect();
            joined.reserve_exact(records * sources.len());
            for record in 0..records {
                let of_record = of_rows.iter();
                joined.extend(of_record.map(|values| values.map_or(f64::NAN, |v| v[record])));
            }
        }
        Values::Names(joined) => {
            for record in 0..records {
                for source in sources {
                    match source {
                        Some(Values::Names(names)) => joined.push(names.name(record)),
                        _ => joined.push(""),
                    }
                }
            }
        }
        // A column of the model is of numbers or names.
        Values::Cells(_) | Values::Kinds(_) => {}
    }
    joined
}
