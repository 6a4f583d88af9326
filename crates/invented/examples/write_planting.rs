//! Writes a large invented planting log as CSV, to measure with: 24 rows of 30 inches, ten records a second,
//! passes of 800 m, a blocked cell in row 9. A thousand acres are 277 passes, 22 million row records.
//!
//! ```text
//! cargo run --release -p checkstrip-invented --example write_planting -- 1000 wide planting.csv
//! ```
//!
//! `wide` writes a record for each moment with a column for each row, `long` one for each row and moment, with
//! the planter's place, `own` the same with each row's own place. A fourth word, `swing`, lets the seed rate swing.

use std::error::Error;
use std::fs::File;
use std::io::{BufWriter, Write};

use checkstrip_invented::{PlanterFault, PlanterPlan, invented_passes};
use checkstrip_model::{Column, FieldLog};

/// What is the same for all rows of a moment, with its decimals.
const OF_MOMENT: [(Column, usize); 6] = [
    (Column::Timestamp, 1),
    (Column::Lon, 8),
    (Column::Lat, 8),
    (Column::Speed, 3),
    (Column::Heading, 1),
    (Column::Width, 3),
];

/// What every row has, with its decimals and what a monitor would head it with.
const OF_ROWS: [(Column, usize, &str); 10] = [
    (Column::TargetSeedRate, 0, "Target rate (seeds/ha)"),
    (Column::SeedRate, 0, "Population (seeds/ha)"),
    (Column::Singulation, 1, "Singulation (%)"),
    (Column::Skips, 1, "Skips (%)"),
    (Column::Multiples, 1, "Multiples (%)"),
    (Column::SpacingVariation, 1, "Spacing CV (%)"),
    (Column::Downforce, 0, "Gauge wheel load (N)"),
    (Column::GroundContact, 1, "Ground contact (%)"),
    (Column::RideQuality, 1, "Ride (%)"),
    (Column::Vacuum, 0, "Meter vacuum (Pa)"),
];

fn main() -> Result<(), Box<dyn Error>> {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let [acres, form, path, swing @ ..] = &words[..] else {
        return Err("give acres, wide, long or own, and the file to write".into());
    };
    let mut plan = PlanterPlan {
        rows: 24,
        pass_length_m: 800.0,
        interval_s: 0.1,
        rate_swing: if swing.is_empty() { 0.0 } else { 0.15 },
        ..PlanterPlan::default()
    };
    let of_pass_m2 = plan.rows as f64 * plan.row_spacing_m * plan.pass_length_m;
    plan.passes = (acres.parse::<f64>()? * 4_046.856 / of_pass_m2).round() as usize;
    plan.faults = vec![PlanterFault::BlockedCell {
        row: 9,
        passes: [plan.passes / 4, plan.passes / 2],
        share: 0.9,
    }];
    let mut out = BufWriter::new(File::create(path)?);
    write_headers(&mut out, plan.rows, form)?;
    let mut written = Ok(());
    invented_passes(&plan, |pass| {
        if written.is_ok() {
            written = write_pass(&mut out, &pass, plan.rows, form);
        }
    })?;
    written?;
    out.flush()?;
    Ok(())
}

fn write_headers(out: &mut impl Write, rows: usize, form: &str) -> std::io::Result<()> {
    for (column, _) in OF_MOMENT {
        write!(out, "{},", column.canonical_name())?;
    }
    write!(out, "header_down,pass_id")?;
    if form != "wide" {
        write!(out, ",row")?;
    }
    for (column, _, name) in OF_ROWS {
        match form {
            "wide" => (1..=rows).try_for_each(|row| write!(out, ",Row {row} {name}"))?,
            _ => write!(out, ",{}", column.canonical_name())?,
        }
    }
    writeln!(out)
}

fn write_pass(
    out: &mut impl Write,
    pass: &FieldLog,
    rows: usize,
    form: &str,
) -> std::io::Result<()> {
    let numbers = |column| pass.numbers(column).unwrap_or_default();
    let of_moment = OF_MOMENT.map(|(column, decimals)| (column, numbers(column), decimals));
    let of_rows = OF_ROWS.map(|(column, decimals, _)| (numbers(column), decimals));
    let down = numbers(Column::HeaderDown);
    let number = pass.labels(Column::PassId).map_or("", |pass| pass.name(0));
    for first in (0..pass.len()).step_by(rows) {
        let start = |out: &mut dyn Write, record: usize| {
            for (column, values, decimals) in &of_moment {
                let is_place = matches!(column, Column::Lon | Column::Lat);
                let value = match form {
                    // The middle of the planter.
                    "wide" | "long" if is_place => {
                        values[first..first + rows].iter().sum::<f64>() / rows as f64
                    }
                    _ => values[record],
                };
                write!(out, "{value:.decimals$},")?;
            }
            write!(out, "{},{number}", down[record])
        };
        if form == "wide" {
            start(out, first)?;
            for (values, decimals) in &of_rows {
                for record in first..first + rows {
                    write!(out, ",{:.decimals$}", values[record])?;
                }
            }
            writeln!(out)?;
            continue;
        }
        for record in first..first + rows {
            start(out, record)?;
            write!(out, ",{}", record - first + 1)?;
            for (values, decimals) in &of_rows {
                write!(out, ",{:.decimals$}", values[record])?;
            }
            writeln!(out)?;
        }
    }
    Ok(())
}
