//! Reading scale tickets: a table with what each load weighed, in delimited text of any dialect. Headers are
//! recognised as those of logs are, with the unit behind the name; a cell that is no number is told with its row.

use std::path::Path;

use checkstrip_model::{Problem, Quantity, ScaleTicket, ScaleTickets};

use crate::FormatError;
use crate::cell::{self, Cell};
use crate::delimited::DelimitedStream;
use crate::feature_stream::{FeatureStream, Wish};
use crate::header::{self, quoted};
use crate::raw_table::RawTable;
use crate::{sha256_of_file, without_layer};

/// What a column of a table of tickets is called, in English, German, French, Spanish and Portuguese.
const LOAD: &[&str] = &[
    "load",
    "load id",
    "load number",
    "ticket",
    "fuhre",
    "ladung",
    "charge",
    "chargement",
    "benne",
    "carga",
    "viaje",
    "viagem",
];
const MACHINE: &[&str] = &[
    "machine",
    "combine",
    "harvester",
    "maschine",
    "mähdrescher",
    "moissonneuse",
    "máquina",
    "cosechadora",
    "colheitadeira",
];
const MASS: &[&str] = &[
    "mass",
    "weight",
    "net weight",
    "net",
    "gewicht",
    "netto",
    "masse",
    "poids",
    "poids net",
    "peso",
    "peso neto",
    "masa",
    "massa",
    "peso líquido",
];
const MOISTURE: &[&str] = &["moisture", "feuchte", "humidité", "humedad", "umidade"];
const START: &[&str] = &[
    "start", "begin", "from", "beginn", "anfang", "début", "inicio", "início",
];
const END: &[&str] = &["end", "to", "ende", "fin", "fim"];

/// Reads the tickets in the file at `path`. `bushel_kg` turns bushels into kilograms.
///
/// A row whose mass is missing or no number is kept without one: whoever uses the tickets says that it cannot be
/// used. Moments are numbers or dates as in logs.
///
/// # Errors
/// When the file cannot be read, has no column of masses or none that says which load a row is of, or a cell of
/// them cannot be understood.
///
/// ```
/// let dir = tempfile::tempdir()?;
/// let path = dir.path().join("invented.csv");
/// std::fs::write(&path, "load,net weight (lb)\n7,22046.226\n")?;
/// let tickets = checkstrip_formats::read_tickets(&path, 27.2155)?;
/// assert_eq!(tickets.tickets[0].load.as_deref(), Some("7"));
/// assert!((tickets.tickets[0].mass_kg - 10_000.0).abs() < 1e-3);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn read_tickets(path: &Path, bushel_kg: f64) -> Result<ScaleTickets, FormatError> {
    let path = without_layer(path);
    let file = path.display().to_string();
    let gzip = path
        .extension()
        .is_some_and(|extension| extension.eq_ignore_ascii_case("gz"));
    let wish = Wish::default();
    let stream = DelimitedStream::open(&file, &path, gzip, &wish)?;
    let mut tickets = ScaleTickets {
        sha256: sha256_of_file(&path)?,
        path: file.clone(),
        ..ScaleTickets::default()
    };
    let decimal_comma = stream.decimal_comma();
    stream.read(&mut |features| {
        let table = &features.table;
        let columns = Columns::of(&file, &table.headers, bushel_kg)?;
        tickets.mass_unit.clone_from(&columns.mass.1);
        for record in 0..table.rows.len() {
            tickets
                .tickets
                .push(columns.ticket(&file, table, record, decimal_comma)?);
        }
        Ok(())
    })?;
    Ok(tickets)
}

/// Where the columns stand among the headers.
struct Columns {
    load: Option<usize>,
    machine: Option<usize>,
    /// Place, unit in words and the factor that turns it into kilograms.
    mass: (usize, String, f64),
    moisture: Option<(usize, f64)>,
    span: Option<[usize; 2]>,
}

impl Columns {
    fn of(file: &str, headers: &[String], bushel_kg: f64) -> Result<Columns, Problem> {
        let find = |names: &[&str], quantity| find(file, headers, names, quantity, bushel_kg);
        let place = |names: &[&str]| -> Result<Option<usize>, Problem> {
            Ok(find(names, Quantity::Label)?.map(|found| found.0))
        };
        let Some((mass, unit)) = find(MASS, Quantity::Mass)? else {
            return Err(Problem::new(
                file,
                format!("no column of weighed masses among {}", quoted(headers)),
            )
            .hint("call it mass with its unit behind: mass_kg, mass_lb, mass_t or mass_bu"));
        };
        let Some((unit, factor)) = unit else {
            return Err(Problem::new(file, "the masses have no unit")
                .in_column(headers[mass].as_str())
                .hint("write the unit behind the name: mass_kg, mass_lb, mass_t or mass_bu"));
        };
        let load = place(LOAD)?;
        let span = match (place(START)?, place(END)?) {
            (Some(start), Some(end)) => Some([start, end]),
            _ => None,
        };
        if load.is_none() && span.is_none() {
            return Err(Problem::new(
                file,
                format!("nothing says which load a ticket is of among {}", quoted(headers)),
            )
            .hint(
                "add a column load with the names that the log uses, or columns start and end with times on the \
                 log's clock",
            ));
        }
        Ok(Columns {
            load,
            machine: place(MACHINE)?,
            mass: (mass, unit, factor),
            moisture: find(MOISTURE, Quantity::Percent)?
                .map(|(place, unit)| (place, unit.map_or(1.0, |unit| unit.1))),
            span,
        })
    }

    fn ticket(
        &self,
        file: &str,
        table: &RawTable,
        record: usize,
        decimal_comma: bool,
    ) -> Result<ScaleTicket, Problem> {
        let row = table.rows[record];
        let cell = |place: usize| table.cell(place, record);
        let refuse = |place: usize, expected: &str, hint: &str| {
            let found = cell(place).as_text().unwrap_or_default().into_owned();
            Problem::new(file, format!("expected {expected}, found {found:?}"))
                .at_row(row)
                .in_column(table.headers[place].as_str())
                .hint(hint)
        };
        let number = |place: usize| {
            number(cell(place), decimal_comma).ok_or_else(|| {
                refuse(
                    place,
                    "a number",
                    "write the number alone, and its unit in the header; leave the cell empty where nothing is known",
                )
            })
        };
        let name = |place: usize| {
            let text = cell(place).as_text()?;
            let name = cell::label(&text);
            (!cell::is_missing(name.as_bytes())).then(|| name.to_owned())
        };
        let moment = |place: usize| {
            moment(cell(place), decimal_comma).ok_or_else(|| {
                refuse(
                    place,
                    "a time as in the log",
                    "write seconds, or date and time such as 2026-10-03T15:00:00Z",
                )
            })
        };
        let moisture_pct = match self.moisture {
            Some((place, factor)) => Some(number(place)? * factor).filter(|m| !m.is_nan()),
            None => None,
        };
        let span_s = match self.span {
            Some([start, end]) => Some([moment(start)?, moment(end)?])
                .filter(|span| span.iter().all(|moment| moment.is_finite())),
            None => None,
        };
        Ok(ScaleTicket {
            row,
            load: self.load.and_then(name),
            machine: self.machine.and_then(name),
            mass_kg: number(self.mass.0)? * self.mass.2,
            moisture_pct,
            span_s,
        })
    }
}

/// Place of a header, with the unit behind its name and the unit's factor, where it has one.
type Found = (usize, Option<(String, f64)>);

/// The only header that is called one of `names`, with the unit behind it.
fn find(
    file: &str,
    headers: &[String],
    names: &[&str],
    quantity: Quantity,
    bushel_kg: f64,
) -> Result<Option<Found>, Problem> {
    let mut found = headers.iter().enumerate().filter_map(|(place, header)| {
        let unit = header::named(header, names, quantity, bushel_kg)?;
        Some((place, unit))
    });
    match (found.next(), found.next()) {
        (Some(first), Some(second)) => Err(Problem::new(
            file,
            format!(
                "{:?} and {:?} both look like the {} of a ticket",
                headers[first.0], headers[second.0], names[0]
            ),
        )
        .hint("take one of them out of the file, or call it something else")),
        (only, _) => Ok(only),
    }
}

/// The number of a cell: `NaN` for none, `None` for anything else.
fn number(cell: &Cell, decimal_comma: bool) -> Option<f64> {
    match cell {
        Cell::Empty => Some(f64::NAN),
        Cell::Number(value) => Some(*value),
        Cell::Whole(value) => Some(*value as f64),
        Cell::Truth(_) => None,
        Cell::Text(text) => cell::number(text.trim().as_bytes(), decimal_comma),
    }
}

/// The moment of a cell, in the same way.
fn moment(cell: &Cell, decimal_comma: bool) -> Option<f64> {
    match (number(cell, decimal_comma), cell) {
        (None, Cell::Text(text)) => cell::moment(text.trim().as_bytes()),
        (number, _) => number,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Result<ScaleTickets, String> {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("tickets.csv");
        std::fs::write(&path, text).unwrap();
        read_tickets(&path, 25.0).map_err(|error| {
            error
                .to_string()
                .replace(&dir.path().display().to_string(), "DIR")
        })
    }

    #[test]
    fn units_names_and_dialects() {
        let bushels =
            read("Ticket;Combine;Net weight (bu);Moisture (%)\n7;A;400;14,5\n 8;;12,5;\n");
        let tickets = bushels.unwrap().tickets;
        assert_eq!(tickets[0].load.as_deref(), Some("7"));
        assert_eq!(tickets[0].machine.as_deref(), Some("A"));
        assert_eq!(
            (tickets[0].mass_kg, tickets[0].moisture_pct),
            (10_000.0, Some(14.5))
        );
        assert_eq!(tickets[1].load.as_deref(), Some("8"));
        assert_eq!(
            (tickets[1].machine.as_deref(), tickets[1].moisture_pct),
            (None, None)
        );
        assert_eq!((tickets[1].mass_kg, tickets[1].row), (312.5, 3));
        let times = read("start,end,mass_t\n2026-10-03T15:00:00Z,2026-10-03T16:00:00Z,9.5\n");
        let ticket = &times.unwrap().tickets[0];
        let [start, end] = ticket.span_s.unwrap();
        assert_eq!((end - start, ticket.mass_kg), (3600.0, 9500.0));
        let german = read("Fuhre\tGewicht (kg)\n1\t9000\n").unwrap();
        assert_eq!(
            (german.tickets[0].mass_kg, german.mass_unit.as_str()),
            (9000.0, "kg")
        );
    }

    #[test]
    fn what_cannot_be_known_is_asked_for() {
        for (text, says) in [
            ("load,grain\n1,2\n", "no column of weighed masses"),
            ("load,mass\n1,2\n", "no unit"),
            ("name,mass_kg\n1,2\n", "which load"),
            ("load,mass_kg,weight_lb\n1,2,3\n", "both look like the mass"),
            (
                "load,mass_kg\n1,much\n",
                "row 2, column \"mass_kg\": expected a number, found \"much\"",
            ),
            ("start,end,mass_kg\nnoon,2,3\n", "expected a time"),
            ("load,mass_kg\n", "no record"),
            ("", "no line with text"),
        ] {
            let error = read(text).unwrap_err();
            assert!(error.contains(says), "{text}: {error}");
            assert!(error.contains("\nhint: "), "{text}: {error}");
        }
        let empty = read("load,mass_kg\n1,\n2,NA\n3,0\n").unwrap();
        assert!(empty.tickets[0].mass_kg.is_nan() && empty.tickets[1].mass_kg.is_nan());
        assert_eq!(empty.tickets[2].mass_kg, 0.0);
    }
}
