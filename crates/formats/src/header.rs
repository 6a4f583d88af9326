//! Which header is which column, and in which unit: from the header itself, or from the columns
//! table of a trial file, which beats it. Every reader of logs asks here before it reads records.

use checkstrip_model::{Column, ColumnSource, Problem, Quantity, units};

use crate::ReadOptions;

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
}

/// What a file's headers mean.
#[derive(Debug, Clone, Default)]
pub(crate) struct HeaderPlan {
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

/// Names under which a column is known, folded: lower-case letters and digits only. Canonical names
/// and keys fold to entries of this table (with their unit behind them).
const NAMES: &[(Column, &[&str])] = &[
    (
        Column::Timestamp,
        &[
            "timestamp",
            "time",
            "gpstime",
            "isotime",
            "datetime",
            "utctime",
            "utc",
            "unixtime",
        ],
    ),
    (Column::Lon, &["lon", "longitude", "long", "lng"]),
    (Column::Lat, &["lat", "latitude"]),
    (
        Column::MassFlow,
        &[
            "massflow",
            "flow",
            "grainflow",
            "massflowrate",
            "flowrate",
            "grainmassflow",
        ],
    ),
    (
        Column::Moisture,
        &["moisture", "moist", "grainmoisture", "moisturecontent"],
    ),
    (Column::Speed, &["speed", "groundspeed", "velocity"]),
    (
        Column::Distance,
        &[
            "distance",
            "dist",
            "distancetravelled",
            "distancetraveled",
            "traveldistance",
        ],
    ),
    (
        Column::Interval,
        &[
            "interval",
            "duration",
            "timeinterval",
            "loginterval",
            "recordinterval",
        ],
    ),
    (
        Column::Width,
        &[
            "width",
            "swathwidth",
            "swath",
            "cuttingwidth",
            "headerwidth",
            "workingwidth",
        ],
    ),
    (
        Column::HeaderDown,
        &[
            "headerdown",
            "header",
            "headerstatus",
            "headerposition",
            "headerstate",
        ],
    ),
    (
        Column::Heading,
        &["heading", "course", "track", "direction", "bearing"],
    ),
    (
        Column::PassId,
        &["passid", "pass", "passnum", "passnumber", "passno"],
    ),
    (
        Column::Elevation,
        &["elevation", "elev", "altitude", "alt", "height"],
    ),
    (
        Column::Machine,
        &["machine", "machineid", "combine", "combineid", "harvester"],
    ),
    (
        Column::Load,
        &[
            "load",
            "loadid",
            "loadnumber",
            "ticket",
            "ticketid",
            "ticketnumber",
            "scaleticket",
        ],
    ),
    (
        Column::Yield,
        &["yield", "grainyield", "dryyield", "yielddry"],
    ),
];

/// Names that mean longitude and latitude only where nothing else in the file does.
const LAST_RESORT: &[(Column, &str)] = &[(Column::Lon, "x"), (Column::Lat, "y")];

/// The header of what became of each record, in exports.
const STATUS: &str = "status";

/// Lower-case letters and digits of a header, nothing else.
fn fold(text: &str) -> String {
    text.chars()
        .filter(|c| c.is_alphanumeric())
        .flat_map(char::to_lowercase)
        .collect()
}

/// What one header says by itself.
#[derive(Debug, Clone, PartialEq)]
struct Said {
    column: Column,
    /// The header is the name that exports write.
    canonical: bool,
    /// The unit behind the name and the factor it stands for.
    unit: Option<(String, f64)>,
}

/// The unit in the rest of a header behind the column's name: `_m_s`, ` (mph)`, ` [ft]`.
fn unit_in(column: Column, rest: &str, bushel_kg: f64) -> Option<(String, f64)> {
    let unit = rest
        .trim_matches(|c: char| !(c.is_alphanumeric() || matches!(c, '%' | '°')))
        .to_lowercase()
        .replace(" per ", "/");
    let factor = units::to_si(column.quantity(), &unit, bushel_kg)?;
    Some((unit.replace(['_', ' '], "/"), factor))
}

/// The rest of `header` behind the part that folds to `name`.
fn behind<'a>(header: &'a str, name: &str) -> Option<&'a str> {
    let mut wanted = name.chars();
    let mut next = wanted.next();
    for (at, c) in header.char_indices() {
        if !c.is_alphanumeric() {
            continue;
        }
        for lower in c.to_lowercase() {
            match next {
                None => return Some(&header[at..]),
                Some(w) if w == lower => next = wanted.next(),
                Some(_) => return None,
            }
        }
        if next.is_none() {
            return Some(&header[at + c.len_utf8()..]);
        }
    }
    None
}

fn has_unit(column: Column) -> bool {
    !matches!(column.quantity(), Quantity::Label | Quantity::Switch)
}

/// What one header says, or `None` when it fits no column.
fn recognise(header: &str, container: Container, bushel_kg: f64) -> Option<Said> {
    let folded = fold(header);
    for &column in Column::ALL {
        if folded == fold(column.canonical_name()) {
            let rest = column
                .canonical_name()
                .strip_prefix(column.key())
                .unwrap_or_default();
            let unit = unit_in(column, rest, bushel_kg);
            return Some(Said {
                column,
                canonical: true,
                unit,
            });
        }
    }
    for &(column, names) in NAMES {
        for name in names {
            if folded == *name && !header.contains(['%', '°']) {
                return Some(Said {
                    column,
                    canonical: false,
                    unit: None,
                });
            }
            if has_unit(column)
                && let Some(unit) =
                    behind(header, name).and_then(|rest| unit_in(column, rest, bushel_kg))
            {
                return Some(Said {
                    column,
                    canonical: false,
                    unit: Some(unit),
                });
            }
        }
    }
    if container.short_names && header.len() == SHORT_NAME {
        return complete(&folded, bushel_kg);
    }
    None
}

/// Attribute tables of Shapefiles cut names to this many bytes.
const SHORT_NAME: usize = 10;

/// What a name that was cut short stood for: its column when all names that begin like it agree, its
/// unit when these agree as well.
fn complete(folded: &str, bushel_kg: f64) -> Option<Said> {
    let mut said: Option<Said> = None;
    for &(column, names) in NAMES {
        let units = if has_unit(column) {
            units::spellings(column.quantity())
        } else {
            vec![""]
        };
        for (name, unit) in names
            .iter()
            .flat_map(|name| units.iter().map(move |u| (name, u)))
        {
            if !format!("{name}{}", fold(unit)).starts_with(folded) {
                continue;
            }
            let unit = unit_in(column, unit, bushel_kg);
            match &mut said {
                None => {
                    said = Some(Said {
                        column,
                        canonical: false,
                        unit,
                    })
                }
                Some(earlier) if earlier.column != column => return None,
                Some(earlier) => {
                    if earlier.unit.as_ref().map(|u| u.1) != unit.as_ref().map(|u| u.1) {
                        earlier.unit = None;
                    }
                }
            }
        }
    }
    said
}

/// Whether a log is read from the column `header`, of a file whose records are points: formats that can
/// leave columns unread ask.
pub(crate) fn is_needed(header: &str, options: &ReadOptions) -> bool {
    let container = Container::default();
    let folded = fold(header);
    recognise(header, container, options.bushel_kg).is_some()
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
    let said = |header: &str| recognise(header, container, ANY_BUSHEL_KG);
    let whole = said(header)?;
    let is_same = |spelling: &String| {
        spelling.len() <= most
            && said(spelling).is_some_and(|short| {
                let factor = |said: &Said| said.unit.as_ref().map(|unit| unit.1);
                short.column == whole.column && factor(&short) == factor(&whole)
            })
    };
    let cut = header.get(..most).map(str::to_owned);
    let unit = whole.unit.as_ref().map(|(unit, _)| unit.replace('/', "_"));
    let names = NAMES.iter().filter(|(column, _)| *column == whole.column);
    let spelled = names.flat_map(|(_, names)| *names).map(|name| match &unit {
        Some(unit) => format!("{name}_{unit}"),
        None => (*name).to_owned(),
    });
    cut.into_iter().chain(spelled).find(is_same)
}

/// The places of longitude and latitude among `headers` and what turns their values into degrees; `None`
/// where not both are there exactly once.
pub(crate) fn positions(headers: &[String]) -> Option<[(usize, f64); 2]> {
    let place = |wanted: Column| {
        let said = headers.iter().enumerate().filter_map(|(at, header)| {
            let said = recognise(header, Container::default(), f64::NAN)?;
            (said.column == wanted).then(|| (at, said.unit.map_or(1.0, |unit| unit.1)))
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

/// The unit of columns that are nearly always logged in one.
fn customary_unit(quantity: Quantity) -> Option<&'static str> {
    match quantity {
        Quantity::Angle => Some("degrees"),
        Quantity::Percent => Some("%"),
        Quantity::Duration | Quantity::Time => Some("s"),
        _ => None,
    }
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

/// An entry of the columns table, ready to be pasted into a trial file.
fn table_line(column: Column, header: &str, unit: Option<&str>) -> String {
    let header = header.replace('\\', "\\\\").replace('"', "\\\"");
    match unit {
        Some(unit) => format!(
            "{} = {{ column = \"{header}\", unit = \"{unit}\" }}",
            column.key()
        ),
        None => format!("{} = {{ column = \"{header}\" }}", column.key()),
    }
}

/// An example unit for hints.
fn example_unit(column: Column) -> Option<&'static str> {
    match column.quantity() {
        Quantity::MassFlow => Some("lb/s"),
        Quantity::Length if column == Column::Distance => Some("in"),
        Quantity::Length => Some("ft"),
        Quantity::Speed => Some("mph"),
        Quantity::Yield => Some("bu/ac"),
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

/// A column chosen for the plan, its unit perhaps still unknown.
struct Chosen {
    position: usize,
    column: Column,
    unit: Option<(String, f64)>,
}

/// What the headers of `file` mean.
///
/// # Errors
/// When two headers fit one column, a unit of the columns table is not one, a column that is needed
/// has no unit, or the file lacks a position or the grain.
pub(crate) fn plan(
    file: &str,
    headers: &[String],
    container: Container,
    options: &ReadOptions,
) -> Result<HeaderPlan, Problem> {
    let mut chosen = from_table(file, headers, container, options)?;
    let by_hand: Vec<usize> = chosen.iter().map(|c| c.position).collect();
    let said: Vec<Option<Said>> = headers
        .iter()
        .enumerate()
        .map(|(at, header)| {
            if by_hand.contains(&at) {
                return None;
            }
            recognise(header, container, options.bushel_kg)
        })
        .collect();

    for &column in Column::ALL {
        let is_position = matches!(column, Column::Lon | Column::Lat);
        if chosen.iter().any(|c| c.column == column) || (container.has_points && is_position) {
            continue;
        }
        let mut fitting: Vec<usize> = (0..headers.len())
            .filter(|&at| said[at].as_ref().is_some_and(|said| said.column == column))
            .collect();
        if fitting.len() > 1
            && let Some(&exact) = fitting
                .iter()
                .find(|&&at| said[at].as_ref().is_some_and(|said| said.canonical))
        {
            fitting = vec![exact];
        }
        if fitting.is_empty()
            && let Some((_, name)) = LAST_RESORT.iter().find(|(c, _)| *c == column)
            && let Some(at) = headers.iter().position(|header| fold(header) == *name)
        {
            chosen.push(Chosen {
                position: at,
                column,
                unit: None,
            });
        }
        match fitting[..] {
            [] => {}
            [at] => {
                let unit = said[at].as_ref().and_then(|said| said.unit.clone());
                chosen.push(Chosen {
                    position: at,
                    column,
                    unit,
                });
            }
            _ => return Err(ambiguous(file, headers, column, &fitting, &said)),
        }
    }

    require(file, headers, container, &chosen)?;
    let mut plan = with_units(file, headers, chosen)?;
    plan.status = headers
        .iter()
        .position(|header| fold(header) == STATUS)
        .filter(|at| plan.columns.iter().all(|planned| planned.position != *at));
    plan.unrecognised = headers
        .iter()
        .enumerate()
        .filter(|(at, header)| {
            let is_position = said[*at]
                .as_ref()
                .is_some_and(|said| matches!(said.column, Column::Lon | Column::Lat));
            plan.columns.iter().all(|planned| planned.position != *at)
                && !(container.has_points && is_position)
                && !header.trim().is_empty()
        })
        .map(|(_, header)| header.clone())
        .collect();
    Ok(plan)
}

/// The columns that the columns table finds in this file.
fn from_table(
    file: &str,
    headers: &[String],
    container: Container,
    options: &ReadOptions,
) -> Result<Vec<Chosen>, Problem> {
    let mut chosen = Vec::new();
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
        let taken = chosen
            .iter()
            .find(|other: &&Chosen| other.position == position);
        if let Some(other) = taken {
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
                .filter(|said| said.column.quantity() == column.quantity())
                .and_then(|said| said.unit),
        };
        chosen.push(Chosen {
            position,
            column,
            unit,
        });
    }
    Ok(chosen)
}

fn ambiguous(
    file: &str,
    headers: &[String],
    column: Column,
    fitting: &[usize],
    said: &[Option<Said>],
) -> Problem {
    let names: Vec<String> = fitting.iter().map(|&at| headers[at].clone()).collect();
    let lines: Vec<String> = fitting
        .iter()
        .map(|&at| {
            let unit = said[at].as_ref().and_then(|said| said.unit.as_ref());
            let unit = unit
                .map(|unit| unit.0.as_str())
                .or_else(|| example_unit(column));
            table_line(column, &headers[at], unit)
        })
        .collect();
    let message = format!(
        "{} headers fit {}: {}",
        names.len(),
        column.key(),
        quoted(&names)
    );
    Problem::new(file, message).hint(format!(
        "choose one: write under [harvest.columns]\n  {}",
        lines.join("\nor\n  ")
    ))
}

/// Refuses a file that lacks a position or the grain.
fn require(
    file: &str,
    headers: &[String],
    container: Container,
    chosen: &[Chosen],
) -> Result<(), Problem> {
    let has = |column| chosen.iter().any(|c| c.column == column);
    let mut missing = Vec::new();
    let mut lines = Vec::new();
    for column in [Column::Lon, Column::Lat] {
        if !has(column) && !container.has_points {
            missing.push(column.key());
            lines.push(table_line(column, "…", None));
        }
    }
    if !has(Column::MassFlow) && !has(Column::Yield) {
        missing.push("mass_flow (or yield)");
        lines.push(table_line(
            Column::MassFlow,
            "…",
            example_unit(Column::MassFlow),
        ));
    }
    if missing.is_empty() {
        return Ok(());
    }
    // What else the table will have to say is said at once.
    for other in chosen {
        if other.unit.is_none() && example_unit(other.column).is_some() {
            let header = &headers[other.position];
            lines.push(table_line(other.column, header, example_unit(other.column)));
        }
    }
    let found = if headers.is_empty() {
        "none".to_owned()
    } else {
        quoted(headers)
    };
    let message = format!(
        "no header fits {}; the headers are {found}",
        missing.join(", ")
    );
    Err(Problem::new(file, message).hint(format!(
        "say which it is: write under [harvest.columns], with the header and unit of your file\n  {}",
        lines.join("\n  ")
    )))
}

/// Fills in customary units; refuses needed columns that still have none and sets the others aside.
fn with_units(file: &str, headers: &[String], chosen: Vec<Chosen>) -> Result<HeaderPlan, Problem> {
    let known = |column: Column| {
        chosen
            .iter()
            .any(|c| c.column == column && c.unit.is_some())
    };
    let (flow_known, distance_known) = (known(Column::MassFlow), known(Column::Distance));
    let mut plan = HeaderPlan::default();
    let mut refused = Vec::new();
    for Chosen {
        position,
        column,
        unit,
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
                        plan.problems.push(without_unit(file, header, column).hint(format!(
                            "the column is left out; to use it, write under [harvest.columns]\n  {}",
                            table_line(column, header, example_unit(column))
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
        let header = header.clone();
        plan.columns.push(Planned {
            position,
            column,
            header,
            unit,
            factor,
        });
    }
    let Some(&(position, column)) = refused.first() else {
        return Ok(plan);
    };
    let lines: Vec<String> = refused
        .iter()
        .map(|&(at, column)| table_line(column, &headers[at], example_unit(column)))
        .collect();
    let accepted = units::spellings(column.quantity()).join(", ");
    Err(without_unit(file, &headers[position], column).hint(format!(
        "write the unit behind the header, or under [harvest.columns] with the unit your file is in\n  \
         {}\naccepted for {}: {accepted}",
        lines.join("\n  "),
        column.key(),
    )))
}

fn without_unit(file: &str, header: &str, column: Column) -> Problem {
    Problem::new(
        file,
        format!("expected a unit for {}, found none", column.key()),
    )
    .in_column(header)
}

#[cfg(test)]
mod tests {
    use super::*;
    use checkstrip_model::ColumnMap;

    fn options(table: &[(Column, &str, Option<&str>)]) -> ReadOptions {
        let columns: ColumnMap = table
            .iter()
            .map(|&(column, header, unit)| {
                (
                    column,
                    ColumnSource {
                        column: header.into(),
                        unit: unit.map(Into::into),
                    },
                )
            })
            .collect();
        ReadOptions {
            columns,
            bushel_kg: 27.2155,
        }
    }

    fn headers(names: &[&str]) -> Vec<String> {
        names.iter().map(|&name| name.to_owned()).collect()
    }

    fn plain(names: &[&str]) -> Result<HeaderPlan, Problem> {
        plan(
            "log.csv",
            &headers(names),
            Container::default(),
            &options(&[]),
        )
    }

    fn said(header: &str) -> Option<(Column, Option<f64>)> {
        let said = recognise(header, Container::default(), 27.2155)?;
        Some((said.column, said.unit.map(|unit| unit.1)))
    }

    #[test]
    fn every_canonical_name_is_recognised_in_its_unit() {
        for &column in Column::ALL {
            let said = recognise(column.canonical_name(), Container::default(), 27.2).unwrap();
            assert_eq!((said.column, said.canonical), (column, true));
            if !matches!(column, Column::Lon | Column::Lat) && has_unit(column) {
                assert_eq!(said.unit.unwrap().1, 1.0, "{column:?}");
            }
        }
    }

    #[test]
    fn no_name_stands_for_two_columns() {
        let mut all: Vec<&str> = NAMES.iter().flat_map(|row| row.1.iter().copied()).collect();
        let count = all.len();
        all.sort_unstable();
        all.dedup();
        assert_eq!(all.len(), count);
        for &column in Column::ALL {
            let names = NAMES.iter().find(|row| row.0 == column).unwrap().1;
            assert!(names.contains(&fold(column.key()).as_str()), "{column:?}");
        }
    }

    #[test]
    fn the_guide_lists_every_name_and_unit() {
        let guide = include_str!("../../../docs/reading.md");
        for (column, names) in NAMES {
            let start = format!("| {} |", column.key());
            let row = guide.lines().find(|line| line.starts_with(&start)).unwrap();
            let listed = row.split('|').nth(3).unwrap().split(';').next().unwrap();
            let mut listed: Vec<String> = listed.split(',').map(fold).collect();
            let mut names: Vec<String> = names.iter().map(|&name| name.to_owned()).collect();
            listed.sort();
            names.sort();
            assert_eq!(listed, names, "{column:?}");
            for unit in units::spellings(column.quantity()) {
                let is_listed = guide
                    .split(['|', ',', '\n'])
                    .any(|word| word.trim() == unit);
                assert!(is_listed, "{column:?}: {unit}");
            }
        }
    }

    #[test]
    fn units_are_read_from_the_header() {
        assert_eq!(said("Speed (mph)"), Some((Column::Speed, Some(0.44704))));
        assert_eq!(said("dist_ft"), Some((Column::Distance, Some(0.3048))));
        assert_eq!(
            said("Swath width [ft]"),
            Some((Column::Width, Some(0.3048)))
        );
        assert_eq!(
            said("mass_flow_lb_s"),
            Some((Column::MassFlow, Some(units::KG_PER_LB)))
        );
        assert_eq!(said("Grain flow kg/s"), Some((Column::MassFlow, Some(1.0))));
        assert_eq!(said("MassFlowKgS"), Some((Column::MassFlow, Some(1.0))));
        assert_eq!(said("Moisture(%)"), Some((Column::Moisture, Some(1.0))));
        assert_eq!(
            said("moisture fraction"),
            Some((Column::Moisture, Some(100.0)))
        );
        assert_eq!(said("interval_ms"), Some((Column::Interval, Some(0.001))));
        assert_eq!(said("Heading (°)"), Some((Column::Heading, Some(1.0))));
        assert_eq!(said("Time"), Some((Column::Timestamp, None)));
        assert_eq!(said("Longitude"), Some((Column::Lon, None)));
        assert_eq!(said("seconds"), None);
        assert_eq!(said("Speed (furlongs)"), None);
        // Pounds are not pounds per second.
        assert_eq!(said("flow_lbs"), None);
        assert_eq!(said("raw_yield_kg_ha"), None);
    }

    #[test]
    fn names_cut_to_ten_characters_are_completed() {
        let short = Container {
            short_names: true,
            ..Container::default()
        };
        let said = |name| recognise(name, short, 27.2).map(|s| (s.column, s.unit.map(|u| u.1)));
        assert_eq!(said("moisture_p"), Some((Column::Moisture, Some(1.0))));
        assert_eq!(said("yield_kg_h"), Some((Column::Yield, Some(1.0))));
        assert_eq!(said("heading_de"), Some((Column::Heading, Some(1.0))));
        assert_eq!(said("mass_flow_"), Some((Column::MassFlow, None)));
        assert_eq!(said("header_dow"), Some((Column::HeaderDown, None)));
        assert_eq!(said("soil_type_"), None);
    }

    #[test]
    fn needed_columns_without_a_unit_are_refused_with_the_line_to_write() {
        let problem = plain(&["lon", "lat", "flow", "dist"]).unwrap_err();
        assert_eq!(problem.column.as_deref(), Some("flow"));
        assert!(
            problem
                .hint
                .contains("mass_flow = { column = \"flow\", unit = \"lb/s\" }")
        );
        assert!(
            problem
                .hint
                .contains("distance = { column = \"dist\", unit = \"in\" }")
        );
        assert!(problem.hint.contains("kg/s, kg/h"));
    }

    #[test]
    fn unneeded_columns_without_a_unit_are_set_aside() {
        let plan = plain(&["lon", "lat", "flow_kg_s", "dist_m", "speed", "elev"]).unwrap();
        assert_eq!(plan.unrecognised, ["speed", "elev"]);
        assert_eq!(plan.problems.len(), 2);
        assert!(plan.problems[0].hint.contains("speed = {"));
    }

    #[test]
    fn customary_units_are_assumed_aloud() {
        let plan = plain(&["long", "lat", "time", "moist", "yield_bu_ac"]).unwrap();
        let unit = |column| {
            plan.columns
                .iter()
                .find(|planned| planned.column == column)
                .unwrap()
                .unit
                .clone()
        };
        assert_eq!(unit(Column::Lon), "degrees");
        assert_eq!(unit(Column::Moisture), "% (assumed)");
        assert_eq!(unit(Column::Yield), "bu/ac");
    }

    #[test]
    fn two_headers_for_one_column_are_a_choice_to_make() {
        let problem = plain(&["lon", "lat", "flow_kg_s", "speed mph", "velocity (m/s)"]);
        let problem = problem.unwrap_err();
        assert!(
            problem.message.starts_with("2 headers fit speed"),
            "{problem}"
        );
        assert!(
            problem
                .hint
                .contains("column = \"velocity (m/s)\", unit = \"m/s\""),
            "{problem}"
        );
        // The name that exports write wins by itself.
        let plan = plain(&["lon", "lat", "flow_kg_s", "speed mph", "speed_m_s"]).unwrap();
        assert!(
            plan.columns
                .iter()
                .any(|planned| planned.header == "speed_m_s")
        );
        assert_eq!(plan.unrecognised, ["speed mph"]);
    }

    #[test]
    fn missing_columns_are_named_with_what_there_is() {
        let problem = plain(&["east", "north", "grain"]).unwrap_err();
        assert!(
            problem.message.contains("lon, lat, mass_flow (or yield)"),
            "{problem}"
        );
        assert!(
            problem.message.contains("\"east\", \"north\", \"grain\""),
            "{problem}"
        );
        let points = Container {
            has_points: true,
            ..Container::default()
        };
        assert!(plan("a", &headers(&["flow_kg_s"]), points, &options(&[])).is_ok());
    }

    #[test]
    fn x_and_y_are_a_last_resort() {
        let plan = plain(&["x", "y", "yield_t_ha"]).unwrap();
        assert_eq!(plan.columns[0].column, Column::Lon);
        let plan = plain(&["x", "y", "lon", "lat", "yield_t_ha"]).unwrap();
        assert_eq!(plan.unrecognised, ["x", "y"]);
    }

    #[test]
    fn the_columns_table_beats_the_headers() {
        let table = options(&[
            (Column::MassFlow, "mass", Some("lb/s")),
            (Column::Interval, "seconds", Some("s")),
            (Column::Distance, "dist", Some("in")),
        ]);
        let names = [
            "long", "lat", "mass", "time", "seconds", "dist", "moist", "elev",
        ];
        let found = plan("a", &headers(&names), Container::default(), &table).unwrap();
        assert_eq!(found.unrecognised, ["elev"]);
        let distance = found
            .columns
            .iter()
            .find(|p| p.column == Column::Distance)
            .unwrap();
        assert_eq!(distance.factor, units::M_PER_INCH);
        let wrong = options(&[(Column::MassFlow, "mass", Some("stone"))]);
        let problem = plan("a", &headers(&names), Container::default(), &wrong).unwrap_err();
        assert!(problem.hint.contains("lb/s"), "{problem}");
    }

    #[test]
    fn a_header_is_one_column() {
        let table = options(&[
            (Column::Speed, "a", Some("mph")),
            (Column::Distance, "A", Some("ft")),
            (Column::HeaderDown, "status", None),
        ]);
        let names = headers(&["lon", "lat", "flow_kg_s", "a", "status"]);
        let problem = plan("a", &names, Container::default(), &table).unwrap_err();
        assert!(problem.message.contains("speed and distance"), "{problem}");
        let table = options(&[(Column::HeaderDown, "status", None)]);
        let found = plan("a", &names, Container::default(), &table).unwrap();
        assert_eq!(found.status, None);
    }

    #[test]
    fn a_bushel_must_weigh_something() {
        let unknown = ReadOptions {
            bushel_kg: f64::NAN,
            ..options(&[])
        };
        let names = headers(&["lon", "lat", "yield_bu_ac"]);
        let problem = plan("a", &names, Container::default(), &unknown).unwrap_err();
        assert!(problem.hint.contains("crop"), "{problem}");
    }
}
