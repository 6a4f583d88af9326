//! Which columns an export of a cleaned log has, and in what order: one list for all formats.

use checkstrip_model::{CleanLog, Column, Labels, Quantity, Status};

/// Names that only exports carry: no column of a log as machines write it.
pub(crate) const EXPORT_ONLY: &[&str] = &[
    "record",
    "status",
    "pass",
    "raw_yield_kg_ha",
    "overlap_m2",
    "area_m2",
    "wet_mass_kg",
    LOGGED_YIELD,
];

/// The yield that the log itself carried: `yield_kg_ha` is the cleaned one.
const LOGGED_YIELD: &str = "logged_yield_kg_ha";

/// The values of a column.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Values<'a> {
    /// The number of the record, from 1.
    Record,
    Status(&'a [Status]),
    Pass(&'a [u32]),
    /// Numbers, and how many decimals are worth writing.
    Numbers(&'a [f64], u8),
    Labels(&'a Labels),
    /// Area harvested for the first time, m².
    NewArea(&'a CleanLog),
}

/// One column of an export.
#[derive(Debug, Clone, Copy)]
pub(crate) struct ExportColumn<'a> {
    pub(crate) name: &'static str,
    pub(crate) values: Values<'a>,
}

/// Decimals of longitudes and latitudes: a millimetre on the ground.
pub(crate) const POSITION_DECIMALS: u8 = 8;

/// Decimals of areas, masses and lengths: far below what a machine can tell.
const DECIMALS: u8 = 4;

/// How many decimals of a column are worth writing.
fn decimals(column: Column) -> u8 {
    match column.quantity() {
        _ if matches!(column, Column::Lon | Column::Lat) => POSITION_DECIMALS,
        Quantity::Switch => 0,
        Quantity::Time | Quantity::Duration | Quantity::Angle | Quantity::Yield => 3,
        _ => DECIMALS,
    }
}

/// The columns of an export of `log`, longitude and latitude only `with_position`.
pub(crate) fn columns(log: &CleanLog, with_position: bool) -> Vec<ExportColumn<'_>> {
    let mut columns = vec![
        ExportColumn {
            name: "record",
            values: Values::Record,
        },
        ExportColumn {
            name: "status",
            values: Values::Status(&log.status),
        },
        ExportColumn {
            name: "pass",
            values: Values::Pass(&log.pass),
        },
    ];
    for &column in Column::ALL {
        if !with_position && matches!(column, Column::Lon | Column::Lat) {
            continue;
        }
        let name = match column {
            Column::Yield => LOGGED_YIELD,
            _ => column.canonical_name(),
        };
        if let Some(numbers) = log.log.numbers(column) {
            let values = Values::Numbers(numbers, decimals(column));
            columns.push(ExportColumn { name, values });
        } else if let Some(labels) = log.log.labels(column) {
            columns.push(ExportColumn {
                name,
                values: Values::Labels(labels),
            });
        }
    }
    let yields = decimals(Column::Yield);
    columns.extend([
        ExportColumn {
            name: "yield_kg_ha",
            values: Values::Numbers(&log.yield_kg_ha, yields),
        },
        ExportColumn {
            name: "raw_yield_kg_ha",
            values: Values::Numbers(&log.raw_yield_kg_ha, yields),
        },
        ExportColumn {
            name: "overlap_m2",
            values: Values::Numbers(&log.overlap_m2, DECIMALS),
        },
        ExportColumn {
            name: "area_m2",
            values: Values::NewArea(log),
        },
        ExportColumn {
            name: "wet_mass_kg",
            values: Values::Numbers(&log.wet_mass_kg, DECIMALS),
        },
    ]);
    columns
}

impl ExportColumn<'_> {
    /// The number of record `record` and its decimals, when the column holds numbers; `NaN` for no
    /// reading.
    pub(crate) fn number(&self, record: usize) -> Option<(f64, u8)> {
        match self.values {
            Values::Numbers(numbers, decimals) => Some((numbers[record], decimals)),
            Values::NewArea(log) => Some((log.new_area_m2(record), DECIMALS)),
            _ => None,
        }
    }
}
