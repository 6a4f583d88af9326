//! Which header is which column, and in which unit: from the header itself ([`names`], [`recognise`]), or
//! from the columns table of a trial file, which beats it; put together in [`plan`], with the choice to make
//! ([`refusals`]) where headers leave one. Every reader of logs asks here before it reads records.

mod guide;
mod names;
mod plan;
mod recognise;
mod refusals;

#[cfg(test)]
mod tests;

use checkstrip_model::{Column, Operation, Problem, Quantity};

use crate::ReadOptions;
use names::{LAST_RESORT, NAMES};
use recognise::{Said, fold, recognise};

pub use guide::header_guide;
pub(crate) use plan::plan;
pub(crate) use recognise::named;
pub(crate) use refusals::quoted;

/// A column of the log and where it stands in the file.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Planned {
    /// The place among the file's headers.
    pub(crate) position: usize,
    pub(crate) column: Column,
    pub(crate) header: String,
    /// The unit the values are in, in words.
    pub(crate) unit: String,
    /// Turns a value into SI.
    pub(crate) factor: f64,
    /// The row of the planter that the values are of, where every row has a column of its own.
    pub(crate) row: Option<u16>,
}

/// What a file's headers mean.
#[derive(Debug, Clone, Default)]
pub(crate) struct HeaderPlan {
    /// What the log is of.
    pub(crate) operation: Operation,
    pub(crate) columns: Vec<Planned>,
    /// The place of a `status` header, which may make the file an export of a cleaned log.
    pub(crate) status: Option<usize>,
    pub(crate) unrecognised: Vec<String>,
    pub(crate) problems: Vec<Problem>,
}

/// What the container of the headers implies.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Container {
    /// Records are point geometries: longitude and latitude come from there.
    pub(crate) has_points: bool,
    /// Headers are cut to ten characters (attribute tables of Shapefiles).
    pub(crate) short_names: bool,
}

/// The header of what became of each record, in exports.
const STATUS: &str = "status";

/// Whether a log is read from the column `header`, of a file whose records are points: formats that can
/// leave columns unread ask.
pub(crate) fn is_needed(header: &str, options: &ReadOptions) -> bool {
    let container = Container::default();
    let folded = fold(header);
    !recognise(header, container, options.bushel_kg).is_empty()
        || folded == STATUS
        || LAST_RESORT.iter().any(|(_, name)| folded == *name)
        || options
            .columns
            .values()
            .any(|source| find_header(&[header.to_owned()], &source.column).is_some())
}

/// A spelling of at most `most` bytes that says the same column in the same unit as `header`, when it says
/// one.
pub(crate) fn short_spelling(header: &str, most: usize) -> Option<String> {
    let container = Container {
        short_names: true,
        ..Container::default()
    };
    // What a bushel weighs is not asked: any weight tells units apart.
    const ANY_BUSHEL_KG: f64 = 1.0;
    let said = |header: &str| match &recognise(header, container, ANY_BUSHEL_KG)[..] {
        [only] => Some(only.clone()),
        _ => None,
    };
    let whole = said(header)?;
    let is_same = |spelling: &String| {
        spelling.len() <= most
            && said(spelling).is_some_and(|short| {
                let factor = |said: &Said| said.unit.as_ref().map(|unit| unit.1);
                (short.column, short.row) == (whole.column, whole.row)
                    && factor(&short) == factor(&whole)
            })
    };
    let cut = header.get(..most).map(str::to_owned);
    let unit = whole.unit.as_ref().map(|(unit, _)| unit.replace('/', "_"));
    // English names, the first language of the table.
    let known = NAMES.iter().filter(|(column, _)| *column == whole.column);
    let spelled = known
        .flat_map(|(_, languages)| languages[0])
        .map(|name| match &unit {
            Some(unit) => format!("{}_{unit}", fold(name)),
            None => fold(name),
        });
    cut.into_iter().chain(spelled).find(is_same)
}

/// The places of longitude and latitude among `headers` and what turns their values into degrees; `None`
/// where not both are there exactly once.
pub(crate) fn positions(headers: &[String]) -> Option<[(usize, f64); 2]> {
    let place = |wanted: Column| {
        let said = headers.iter().enumerate().filter_map(|(at, header)| {
            match &recognise(header, Container::default(), f64::NAN)[..] {
                [said] if said.column == wanted => {
                    Some((at, said.unit.as_ref().map_or(1.0, |unit| unit.1)))
                }
                _ => None,
            }
        });
        let mut fitting: Vec<(usize, f64)> = said.collect();
        if fitting.len() > 1 {
            fitting.retain(|(at, _)| fold(&headers[*at]) == fold(wanted.canonical_name()));
        }
        if fitting.is_empty() {
            let (_, last) = LAST_RESORT.iter().find(|(column, _)| *column == wanted)?;
            let at = headers.iter().position(|header| fold(header) == *last)?;
            fitting.push((at, 1.0));
        }
        match fitting[..] {
            [only] => Some(only),
            _ => None,
        }
    };
    Some([place(Column::Lon)?, place(Column::Lat)?])
}

/// An attribute that is called like a rate put on or asked for.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct RateAttribute {
    pub(crate) name: String,
    pub(crate) quantity: Quantity,
    /// Its unit and what turns it into SI, when the name says it.
    pub(crate) unit: Option<(String, f64)>,
}

/// Those of `names` that are called like a rate of seeds, mass or volume per area, asked for or put on; one entry each.
pub(crate) fn rate_attributes(names: &[String], short_names: bool) -> Vec<RateAttribute> {
    let container = Container {
        short_names,
        ..Container::default()
    };
    let is_rate = |said: &Said| {
        matches!(
            said.column.quantity(),
            Quantity::CountPerArea | Quantity::MassPerArea | Quantity::VolumePerArea
        )
    };
    let found = names.iter().filter_map(|name| {
        let mut said = recognise(name, container, f64::NAN);
        said.retain(is_rate);
        let said = said.into_iter().next()?;
        Some(RateAttribute {
            name: name.clone(),
            quantity: said.column.quantity(),
            unit: said.unit,
        })
    });
    found.collect()
}

/// Those of `names` that mean `column`.
pub(crate) fn with_column(names: &[String], column: Column) -> Vec<&str> {
    let means = |name: &&String| {
        let said = recognise(name, Container::default(), f64::NAN);
        said.iter().any(|said| said.column == column)
    };
    names.iter().filter(means).map(String::as_str).collect()
}

/// The place of the header that an entry of the columns table names.
pub(crate) fn find_header(headers: &[String], wanted: &str) -> Option<usize> {
    let trimmed = wanted.trim();
    headers
        .iter()
        .position(|header| header == wanted)
        .or_else(|| {
            headers
                .iter()
                .position(|header| header.trim().eq_ignore_ascii_case(trimmed))
        })
}
