//! The table of names and units as a page of the documentation: `checkstrip reference headers` prints it, and
//! a test holds `docs/headers.md` to it.

use std::fmt::Write;

use checkstrip_model::{Column, Operation, Quantity, units};

use super::names::{LANGUAGES, NAMES, ROW_WORDS, ambiguous};

/// Quantities with their names on the page.
const QUANTITIES: [(Quantity, &str); 14] = [
    (Quantity::Time, "moment"),
    (Quantity::Duration, "length of time"),
    (Quantity::Angle, "angle, longitude, latitude"),
    (Quantity::MassFlow, "grain flow"),
    (Quantity::Percent, "share"),
    (Quantity::Speed, "speed"),
    (Quantity::Length, "length"),
    (Quantity::Yield, "yield"),
    (Quantity::CountPerArea, "seeds or plants per area"),
    (Quantity::MassPerArea, "mass per area"),
    (Quantity::VolumePerArea, "volume per area"),
    (Quantity::Force, "force"),
    (Quantity::Pressure, "pressure"),
    (Quantity::Number, "number"),
];

/// The page `docs/headers.md`.
pub fn header_guide() -> String {
    let mut page = String::from(
        "# Names of columns\n\n\
         Printed by `checkstrip reference headers`; do not edit. Which names of columns checkstrip knows, in \
         five languages, and in which units. Upper and lower case, accents, spaces and punctuation do not \
         matter; `ae`, `oe`, `ue` and `ss` do for German letters. The unit may stand behind the name: \
         `Mass flow (lb/s)`, `Ertrag [dt/ha]`, `vitesse_km_h`. How a log is read is in \
         [reading.md](reading.md).\n",
    );
    let mut section = |title: &str, columns: &[Column]| {
        let _ = write!(
            page,
            "\n## {title}\n\n| column | holds | {} |\n|---|---|{}\n",
            LANGUAGES.join(" | "),
            "---|".repeat(LANGUAGES.len())
        );
        for column in columns {
            let known = NAMES.iter().find(|(known, _)| known == column);
            let languages = known.iter().flat_map(|(_, names)| names.iter());
            let names: Vec<String> = languages.map(|names| names.join(", ")).collect();
            let _ = writeln!(
                page,
                "| `{}` | {} | {} |",
                column.canonical_name(),
                column.meaning().trim_end_matches('.'),
                names.join(" | ")
            );
        }
    };
    // Columns of logs of all the first operations and none of the others.
    let of = |wanted: &[Operation], not: &[Operation]| -> Vec<Column> {
        let all = Column::ALL.iter().copied();
        all.filter(|column| {
            let of_column = column.operations();
            wanted.iter().all(|operation| of_column.contains(operation))
                && !not.iter().any(|operation| of_column.contains(operation))
        })
        .collect()
    };
    use Operation::{Application, Harvest, Planting, StandCount};
    section("Every log", &of(&[Harvest, Planting, Application], &[]));
    section("Harvest", &of(&[Harvest], &[Planting]));
    section("Planting", &of(&[Planting], &[Harvest, Application]));
    section(
        "As-applied, also planting",
        &of(&[Planting, Application], &[Harvest]),
    );
    section("Stand counts", &of(&[StandCount], &[Harvest]));
    let _ = write!(
        page,
        "\n`x` and `y` are longitude and latitude where nothing else in the file is. A planting log has \
         records of one row each (column `row`), or one column for each row: the row's number stands in \
         front or behind, after one of {}: `Row 3 Downforce (lb)`, `singulation_r12_pct`.\n",
        ROW_WORDS.join(", ")
    );
    page.push_str(
        "\n## Names with several meanings\n\nTheir unit decides. Where it does not, the file is refused with \
         the choice to make.\n\n| name | may be |\n|---|---|\n",
    );
    for (name, columns) in ambiguous() {
        let keys: Vec<&str> = columns.iter().map(|column| column.key()).collect();
        let _ = writeln!(page, "| {name} | {} |", keys.join(", "));
    }
    page.push_str("\n## Units\n\n| quantity | accepted |\n|---|---|\n");
    for (quantity, words) in QUANTITIES {
        let spellings = units::spellings(quantity);
        if !spellings.is_empty() {
            let _ = writeln!(page, "| {words} | {} |", spellings.join(", "));
        }
    }
    page
}
