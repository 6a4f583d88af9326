//! What is said where headers leave a choice, lack a unit, or lack a column that a log needs: what was
//! expected, what was found, and the line to write.

use checkstrip_model::{Column, Operation, Problem, Quantity, units};

use super::Container;
use super::plan::Chosen;
use super::recognise::Said;

/// How a line to write is introduced, by what the log is of.
pub(super) fn write_where(operation: Operation) -> &'static str {
    match operation {
        Operation::Harvest => "write under [harvest.columns]",
        Operation::Planting | Operation::Application => "add to the command",
        Operation::StandCount => "write under [stand.columns]",
    }
}

/// An entry that says which column `header` is, ready to be pasted where [`write_where`] says.
pub(super) fn entry(
    operation: Operation,
    column: Column,
    header: &str,
    unit: Option<&str>,
) -> String {
    let key = column.key();
    if matches!(operation, Operation::Planting | Operation::Application) {
        return match unit {
            Some(unit) => format!("--column \"{key}={header}:{unit}\""),
            None => format!("--column \"{key}={header}\""),
        };
    }
    let header = header.replace('\\', "\\\\").replace('"', "\\\"");
    match unit {
        Some(unit) => format!("{key} = {{ column = \"{header}\", unit = \"{unit}\" }}"),
        None => format!("{key} = {{ column = \"{header}\" }}"),
    }
}

/// An example unit for hints.
pub(super) fn example_unit(column: Column) -> Option<&'static str> {
    match column.quantity() {
        Quantity::MassFlow => Some("lb/s"),
        Quantity::Length
            if matches!(
                column,
                Column::Distance | Column::SeedSpacing | Column::RowSpacing
            ) =>
        {
            Some("in")
        }
        Quantity::Length => Some("ft"),
        Quantity::Speed => Some("mph"),
        Quantity::Yield => Some("bu/ac"),
        Quantity::CountPerArea if column == Column::Stand => Some("plants/ac"),
        Quantity::CountPerArea => Some("seeds/ac"),
        Quantity::MassPerArea => Some("lb/ac"),
        Quantity::VolumePerArea => Some("gal/ac"),
        Quantity::Force => Some("lbf"),
        Quantity::Pressure => Some("inH2O"),
        _ => None,
    }
}

/// How many headers a message lists.
const LISTED: usize = 40;

/// Headers for a message.
pub(crate) fn quoted(headers: &[String]) -> String {
    let mut quoted: Vec<String> = headers
        .iter()
        .take(LISTED)
        .map(|header| format!("{header:?}"))
        .collect();
    if headers.len() > LISTED {
        quoted.push(format!("and {} more", headers.len() - LISTED));
    }
    quoted.join(", ")
}

/// Several headers fit one column.
pub(super) fn one_column_of(
    file: &str,
    operation: Operation,
    column: Column,
    fitting: &[(&String, Option<&str>)],
) -> Problem {
    let names: Vec<String> = fitting.iter().map(|(name, _)| (*name).clone()).collect();
    let lines: Vec<String> = fitting
        .iter()
        .map(|(name, unit)| entry(operation, column, name, unit.or(example_unit(column))))
        .collect();
    let message = format!(
        "{} headers fit {}: {}",
        names.len(),
        column.key(),
        quoted(&names)
    );
    Problem::new(file, message).hint(format!(
        "choose one: {}\n  {}",
        write_where(operation),
        lines.join("\nor\n  ")
    ))
}

/// One header fits several columns.
pub(super) fn one_meaning_of(
    file: &str,
    operation: Operation,
    header: &str,
    meanings: &[Said],
) -> Problem {
    let keys: Vec<&str> = meanings.iter().map(|said| said.column.key()).collect();
    let lines: Vec<String> = meanings
        .iter()
        .map(|said| {
            let unit = said.unit.as_ref().map(|unit| unit.0.as_str());
            let unit = unit.or(example_unit(said.column));
            entry(operation, said.column, header, unit)
        })
        .collect();
    Problem::new(file, format!("it may mean {}", keys.join(" or ")))
        .in_column(header)
        .hint(format!(
            "choose one: {}\n  {}\nor, where it is none of them, name another header for one of them, or \
             rename this one in the file",
            write_where(operation),
            lines.join("\nor\n  ")
        ))
}

/// Refuses a file that lacks a position or what tells its operation; `None` when it has them.
pub(super) fn missing(
    file: &str,
    headers: &[String],
    container: Container,
    wanted: Option<Operation>,
    chosen: &[Chosen],
) -> Option<Problem> {
    let has = |column: &Column| chosen.iter().any(|c| c.column == *column);
    let operation = wanted.unwrap_or_default();
    let mut missing = Vec::new();
    let mut lines = Vec::new();
    // A count that names its strip needs no position.
    let is_placed = container.has_points
        || (wanted.is_none_or(|wanted| wanted == Operation::StandCount) && has(&Column::StripId));
    for column in [Column::Lon, Column::Lat] {
        if !has(&column) && !is_placed {
            missing.push(column.key());
            lines.push(entry(operation, column, "…", None));
        }
    }
    if operation == Operation::StandCount && !missing.is_empty() {
        missing.push("or else strip_id");
        lines.push(entry(operation, Column::StripId, "…", None));
    }
    let is_told = match wanted {
        Some(operation) => operation.telling_columns().iter().any(has),
        None => Operation::ALL
            .iter()
            .any(|operation| operation.telling_columns().iter().any(has)),
    };
    if !is_told {
        missing.push(match operation {
            Operation::Harvest => "mass_flow (or yield)",
            Operation::Planting => "seed_rate (or another column of a planting log)",
            Operation::Application => "applied_mass (or applied_volume)",
            Operation::StandCount => "plant_count (or stand)",
        });
        let column = operation.telling_columns()[0];
        lines.push(entry(operation, column, "…", example_unit(column)));
    }
    if missing.is_empty() {
        return None;
    }
    // What else the table will have to say is said at once.
    for other in chosen {
        let unit = example_unit(other.column);
        if other.unit.is_none() && unit.is_some() {
            lines.push(entry(
                operation,
                other.column,
                &headers[other.position],
                unit,
            ));
        }
    }
    let found = match headers.is_empty() {
        true => "none".to_owned(),
        false => quoted(headers),
    };
    let message = format!(
        "no header fits {}; the headers are {found}",
        missing.join(", ")
    );
    Some(Problem::new(file, message).hint(format!(
        "say which it is: {}, with the header and unit of your file\n  {}",
        write_where(operation),
        lines.join("\n  ")
    )))
}

/// A column that needs a unit has none.
pub(super) fn without_unit(file: &str, header: &str, column: Column) -> Problem {
    Problem::new(
        file,
        format!("expected a unit for {}, found none", column.key()),
    )
    .in_column(header)
}

/// The columns `refused`, each with its place among the headers, need a unit and have none.
pub(super) fn without_units(
    file: &str,
    operation: Operation,
    headers: &[String],
    refused: &[(usize, Column)],
) -> Option<Problem> {
    let &(position, column) = refused.first()?;
    let lines: Vec<String> = refused
        .iter()
        .map(|&(at, column)| entry(operation, column, &headers[at], example_unit(column)))
        .collect();
    let accepted = units::spellings(column.quantity()).join(", ");
    Some(without_unit(file, &headers[position], column).hint(format!(
        "write the unit behind the header, or {} with the unit your file is in\n  {}\naccepted for {}: \
         {accepted}",
        write_where(operation).trim_start_matches("write "),
        lines.join("\n  "),
        column.key(),
    )))
}
