//! The columns of a file, put together from what its headers and the columns table say: every header means
//! one column, every column is one header (or one of each row), and every unit is known.

use checkstrip_model::{Column, ColumnSource, Operation, Problem, Quantity, units};

use super::names::LAST_RESORT;
use super::recognise::{Said, fold, has_unit, recognise};
use super::refusals::{
    entry, example_unit, missing, one_column_of, one_meaning_of, without_unit, without_units,
    write_where,
};
use super::{Container, HeaderPlan, Planned, STATUS, find_header};
use crate::ReadOptions;

/// A column chosen for the plan, its unit perhaps still unknown.
#[derive(Debug, Clone)]
pub(super) struct Chosen {
    pub(super) position: usize,
    pub(super) column: Column,
    pub(super) unit: Option<(String, f64)>,
    row: Option<u16>,
}

/// What the headers of `file` mean.
///
/// # Errors
/// When a header fits several columns or several headers one, a unit of the columns table is not one, a
/// column that is needed has no unit, or the file lacks a position or what makes it a log of
/// `options.operation` (of any, when that is open).
pub(crate) fn plan(
    file: &str,
    headers: &[String],
    container: Container,
    options: &ReadOptions,
) -> Result<HeaderPlan, Problem> {
    let mut chosen = from_table(file, headers, container, options)?;
    let by_hand: Vec<usize> = chosen.iter().map(|c| c.position).collect();
    let mut said: Vec<Vec<Said>> = headers
        .iter()
        .enumerate()
        .map(|(at, header)| match by_hand.contains(&at) {
            true => Vec::new(),
            false => recognise(header, container, options.bushel_kg),
        })
        .collect();
    // Where geometries give the positions, headers that could do so mean nothing, or something else.
    let is_position = |column: Column| matches!(column, Column::Lon | Column::Lat);
    let positions: Vec<bool> = said
        .iter()
        .map(|said| container.has_points && said.iter().any(|said| is_position(said.column)))
        .collect();
    if container.has_points {
        said.iter_mut()
            .for_each(|said| said.retain(|said| !is_position(said.column)));
    }
    let told = told_operation(&chosen, &said);
    let of_operation = options.operation.or(told).unwrap_or_default();
    for said in &mut said {
        said.retain(|said| said.column.operations().contains(&of_operation));
        // Where one of its columns is named by hand, the header is not asked for the others either.
        if said.len() > 1
            && said
                .iter()
                .any(|said| chosen.iter().any(|c| c.column == said.column))
        {
            said.clear();
        }
    }
    if let Some((at, meanings)) = said.iter().enumerate().find(|(_, said)| said.len() > 1) {
        return Err(one_meaning_of(file, of_operation, &headers[at], meanings));
    }

    for &column in Column::ALL {
        if chosen.iter().any(|c| c.column == column) {
            continue;
        }
        let fits = |at: &usize| said[*at].iter().any(|said| said.column == column);
        let mut fitting: Vec<usize> = (0..headers.len()).filter(fits).collect();
        if fitting.len() > 1
            && let Some(&exact) = fitting.iter().find(|&&at| said[at][0].canonical)
        {
            fitting = vec![exact];
        }
        if fitting.is_empty()
            && !(container.has_points && is_position(column))
            && let Some((_, name)) = LAST_RESORT.iter().find(|(c, _)| *c == column)
            && let Some(at) = headers.iter().position(|header| fold(header) == *name)
        {
            chosen.push(Chosen {
                position: at,
                column,
                unit: None,
                row: None,
            });
        }
        // A column of each row beats the mean of all rows beside it.
        if fitting.iter().any(|&at| said[at][0].row.is_some()) {
            fitting.retain(|&at| said[at][0].row.is_some());
        }
        let mut of_rows = fitting.clone();
        of_rows.sort_by_key(|&at| said[at][0].row);
        let twice = of_rows
            .windows(2)
            .find(|pair| said[pair[0]][0].row == said[pair[1]][0].row);
        if let Some(twice) = twice {
            let row = said[twice[0]][0].row;
            let same: Vec<(&String, Option<&str>)> = fitting
                .iter()
                .filter(|&&at| said[at][0].row == row)
                .map(|&at| {
                    let unit = said[at][0].unit.as_ref();
                    (&headers[at], unit.map(|unit| unit.0.as_str()))
                })
                .collect();
            return Err(one_column_of(file, of_operation, column, &same));
        }
        for at in of_rows {
            let Said { unit, row, .. } = said[at][0].clone();
            chosen.push(Chosen {
                position: at,
                column,
                unit,
                row,
            });
        }
    }

    if let Some(mut problem) = missing(file, headers, container, options.operation, &chosen) {
        if let (Some(wanted), Some(told)) = (options.operation, told)
            && wanted != told
        {
            problem.message += &format!("; it looks like {}", told.log_in_words());
        }
        return Err(problem);
    }
    check_rows(file, headers, &chosen)?;
    let mut plan = with_units(file, of_operation, headers, chosen)?;
    plan.status = headers
        .iter()
        .position(|header| fold(header) == STATUS)
        .filter(|at| plan.columns.iter().all(|planned| planned.position != *at));
    plan.unrecognised = headers
        .iter()
        .enumerate()
        .filter(|(at, header)| {
            plan.columns.iter().all(|planned| planned.position != *at)
                && !positions[*at]
                && !header.trim().is_empty()
        })
        .map(|(_, header)| header.clone())
        .collect();
    Ok(plan)
}

/// What the headers tell that the log is of: the first operation of which it has a telling column, columns
/// named by hand and headers with one meaning asked first.
fn told_operation(chosen: &[Chosen], said: &[Vec<Said>]) -> Option<Operation> {
    let certain = |column: &Column| {
        chosen.iter().any(|c| c.column == *column)
            || said
                .iter()
                .any(|said| matches!(&said[..], [only] if only.column == *column))
    };
    let possible = |column: &Column| said.iter().flatten().any(|said| said.column == *column);
    let telling = |is_there: &dyn Fn(&Column) -> bool| {
        let mut all = Operation::ALL.iter().copied();
        all.find(|operation| operation.telling_columns().iter().any(is_there))
    };
    telling(&certain).or_else(|| telling(&possible))
}

/// The columns that the columns table finds in this file.
fn from_table(
    file: &str,
    headers: &[String],
    container: Container,
    options: &ReadOptions,
) -> Result<Vec<Chosen>, Problem> {
    let mut chosen: Vec<Chosen> = Vec::new();
    for (
        &column,
        ColumnSource {
            column: header,
            unit,
        },
    ) in &options.columns
    {
        // An entry that no file has is reported once for all files.
        let Some(position) = find_header(headers, header) else {
            continue;
        };
        if let Some(other) = chosen.iter().find(|other| other.position == position) {
            let message = format!(
                "the columns table gives it to {} and {}",
                other.column.key(),
                column.key()
            );
            return Err(Problem::new(file, message)
                .in_column(header.as_str())
                .hint("leave one of them out: what is missing is derived where it can be"));
        }
        let unit = match unit {
            Some(_) if !has_unit(column) => None,
            Some(unit) => match units::to_si(column.quantity(), unit, options.bushel_kg) {
                Some(factor) => Some((unit.clone(), factor)),
                None => {
                    let accepted = units::spellings(column.quantity()).join(", ");
                    let message = format!(
                        "expected a unit of {} in the columns table, found {unit:?}",
                        column.key()
                    );
                    return Err(Problem::new(file, message)
                        .in_column(header.as_str())
                        .hint(format!("write one of {accepted}")));
                }
            },
            None => recognise(&headers[position], container, options.bushel_kg)
                .into_iter()
                .find(|said| said.column.quantity() == column.quantity())
                .and_then(|said| said.unit),
        };
        chosen.push(Chosen {
            position,
            column,
            unit,
            row: None,
        });
    }
    Ok(chosen)
}

/// Refuses a file whose records are of one row each and of many rows each at once.
fn check_rows(file: &str, headers: &[String], chosen: &[Chosen]) -> Result<(), Problem> {
    let row = chosen.iter().find(|c| c.column == Column::Row);
    let of_row = chosen.iter().find(|c| c.row.is_some());
    let (Some(row), Some(of_row)) = (row, of_row) else {
        return Ok(());
    };
    let message = format!(
        "says which row a record is of, but {:?} is a column of one row",
        headers[of_row.position]
    );
    Err(Problem::new(file, message)
        .in_column(headers[row.position].as_str())
        .hint("give one row in a record, or one column for each row, not both: rename one of them"))
}

/// The unit of columns that are nearly always logged in one.
fn customary_unit(quantity: Quantity) -> Option<&'static str> {
    match quantity {
        Quantity::Angle => Some("degrees"),
        Quantity::Percent => Some("%"),
        Quantity::Duration | Quantity::Time => Some("s"),
        _ => None,
    }
}

/// Fills in customary units; refuses needed columns that still have none and sets the others aside.
fn with_units(
    file: &str,
    operation: Operation,
    headers: &[String],
    chosen: Vec<Chosen>,
) -> Result<HeaderPlan, Problem> {
    let known = |column: Column| {
        chosen
            .iter()
            .any(|c| c.column == column && c.unit.is_some())
    };
    let (flow_known, distance_known) = (known(Column::MassFlow), known(Column::Distance));
    let mut plan = HeaderPlan {
        operation,
        ..HeaderPlan::default()
    };
    let mut refused = Vec::new();
    for Chosen {
        position,
        column,
        unit,
        row,
    } in chosen
    {
        let header = &headers[position];
        let (unit, factor) = match unit {
            Some(unit) => unit,
            None if !has_unit(column) => (String::new(), 1.0),
            None => match customary_unit(column.quantity()) {
                // Positions have no other unit in practice; the rest is said.
                Some(unit) if matches!(column, Column::Lon | Column::Lat) => (unit.to_owned(), 1.0),
                Some(unit) => (format!("{unit} (assumed)"), 1.0),
                None => {
                    let needed = match column {
                        Column::Elevation => false,
                        Column::Yield => !flow_known,
                        Column::Speed => !distance_known,
                        _ => true,
                    };
                    if needed {
                        refused.push((position, column));
                    } else {
                        plan.problems
                            .push(without_unit(file, header, column).hint(format!(
                                "the column is left out; to use it, {}\n  {}",
                                write_where(operation),
                                entry(operation, column, header, example_unit(column))
                            )));
                    }
                    continue;
                }
            },
        };
        if !factor.is_finite() {
            return Err(
                Problem::new(file, format!("{unit} needs the weight of a bushel"))
                    .in_column(header.as_str())
                    .hint("name the crop, or give its bushel_lb"),
            );
        }
        plan.columns.push(Planned {
            position,
            column,
            header: header.clone(),
            unit,
            factor,
            row,
        });
    }
    match without_units(file, operation, headers, &refused) {
        Some(problem) => Err(problem),
        None => Ok(plan),
    }
}
