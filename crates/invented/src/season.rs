//! The folder that a grower of the invented farm would have at the end of the season: two days'
//! logs, the strips drawn on the field, the trial file, and a note that all of it is invented.

use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

use checkstrip_model::units::{KG_PER_LB, M_PER_FOOT, M_PER_MILE};
use checkstrip_model::{Column, FieldLog, StripSet};

use crate::field::InventedField;
use crate::harvest::Truth;
use crate::plan::{FieldPlan, InventedError};

const TRIAL: &str = r#"# The trial of an invented farm: no real field, machine or grower.

[field]
name = "Invented farm, north quarter"
crop = "soybean"

[harvest]
logs = ["harvest/*.csv"]
width = "30 ft"               # for logs that do not say it themselves; these do

[strips]
file = "strips.geojson"
check = "check"               # the treatment that the others are held against
inset = "5 ft"                # kept clear inside each strip edge

[cleaning]
grain_delay = "auto"

[zones]
by = "elevation"              # does it pay more on high or on low ground?

[payoff]
price_per_bu = 10.40

[payoff.treatments.rolled]
rent_per_ac = 3.00
fuel_gal_per_h = 6.5
fuel_price_per_gal = 3.60
labour_per_h = 25.0
speed_mph = 10.0
width_ft = 40.0
field_efficiency = 0.80
"#;

const README: &str = "\
This farm is invented. Its field, its yields, its combine and its prices were made up by
`checkstrip demo`, and the field's coordinates lie in the open Atlantic so that it can be nobody's.

harvest/2026-10-03.csv   the combine's log of the first day, in metric units
harvest/2026-10-04.csv   the log of the second day, in farm units
strips.geojson           where the soybeans were rolled and where they were left as they were
trial.toml               the trial file: checkstrip compare trial.toml

Rolling was given a gain of 1 bu/ac on top of what the ground yields. The logs carry what real ones
do: grain that reaches the sensor some 12 seconds late, turns, a stop here and there, a last pass of
part width, position jumps, wrong readings and repeated rows.
";

/// A season written to disk.
#[derive(Debug, Clone)]
pub struct Season {
    /// Its folder.
    pub folder: PathBuf,
    /// The trial file in it.
    pub trial: PathBuf,
    /// The harvest logs, in the order of their days.
    pub logs: Vec<PathBuf>,
    /// The strips.
    pub strips: PathBuf,
    /// Records in all logs.
    pub records: usize,
    /// What is true of the field, for checks; no file says it.
    pub truth: Truth,
}

/// Writes the season of the invented farm ([`FieldPlan::default`]) into `folder`, which is made when
/// it is not there. Files of the same names are replaced, each in one step; others are left alone.
///
/// # Errors
/// [`InventedError::Write`] when a file cannot be written.
pub fn write_season(folder: &Path) -> Result<Season, InventedError> {
    let harvest = InventedField::new(FieldPlan::default())?.harvest();
    let days = folder.join("harvest");
    fs::create_dir_all(&days).map_err(|source| failed(&days, source))?;
    let mut logs = Vec::new();
    for (file, source) in harvest.log.files.iter().enumerate() {
        let units: &[Written] = if file == 0 { METRIC } else { FARM };
        let path = days.join(&source.path);
        write(&path, &csv(&harvest.log, file as u32, units))?;
        logs.push(path);
    }
    let strips = folder.join(&harvest.strips.path);
    write(&strips, &geojson(&harvest.strips))?;
    let trial = folder.join("trial.toml");
    write(&trial, TRIAL)?;
    write(&folder.join("README.txt"), README)?;
    Ok(Season {
        folder: folder.to_owned(),
        trial,
        logs,
        strips,
        records: harvest.log.len(),
        truth: harvest.truth,
    })
}

fn failed(path: &Path, source: std::io::Error) -> InventedError {
    InventedError::Write {
        path: path.display().to_string(),
        source,
    }
}

/// Writes a file under another name first, so that a killed run leaves no half of it.
fn write(path: &Path, text: &str) -> Result<(), InventedError> {
    let mut half = path.as_os_str().to_owned();
    half.push(".part");
    let half = PathBuf::from(half);
    fs::write(&half, text).map_err(|source| failed(&half, source))?;
    fs::rename(&half, path).map_err(|source| failed(path, source))
}

/// A column of a log as written: header, the SI size of its unit, decimals.
struct Written {
    column: Column,
    header: &'static str,
    unit: f64,
    decimals: usize,
}

const fn written(column: Column, header: &'static str, unit: f64, decimals: usize) -> Written {
    Written {
        column,
        header,
        unit,
        decimals,
    }
}

/// The first day's log, under the names that checkstrip writes itself.
const METRIC: &[Written] = &[
    written(Column::Timestamp, "timestamp_s", 1.0, 0),
    written(Column::Lon, "lon", 1.0, 8),
    written(Column::Lat, "lat", 1.0, 8),
    written(Column::MassFlow, "mass_flow_kg_s", 1.0, 4),
    written(Column::Moisture, "moisture_pct", 1.0, 2),
    written(Column::Speed, "speed_m_s", 1.0, 3),
    written(Column::Distance, "distance_m", 1.0, 3),
    written(Column::Interval, "interval_s", 1.0, 1),
    written(Column::Width, "width_m", 1.0, 3),
    written(Column::HeaderDown, "header_down", 1.0, 0),
    written(Column::Heading, "heading_deg", 1.0, 1),
    written(Column::PassId, "pass_id", 1.0, 0),
    written(Column::Elevation, "elevation_m", 1.0, 2),
    written(Column::Machine, "machine", 1.0, 0),
];

/// The second day's log, in farm units and another order.
const FARM: &[Written] = &[
    written(Column::Timestamp, "timestamp_s", 1.0, 0),
    written(Column::Machine, "machine", 1.0, 0),
    written(Column::PassId, "pass_id", 1.0, 0),
    written(Column::Lat, "lat", 1.0, 8),
    written(Column::Lon, "lon", 1.0, 8),
    written(Column::Elevation, "elevation_ft", M_PER_FOOT, 1),
    written(Column::Heading, "heading_deg", 1.0, 1),
    written(Column::HeaderDown, "header_down", 1.0, 0),
    written(Column::Width, "width_ft", M_PER_FOOT, 2),
    written(Column::Speed, "speed_mph", M_PER_MILE / 3600.0, 2),
    written(Column::Distance, "distance_ft", M_PER_FOOT, 2),
    written(Column::Interval, "interval_s", 1.0, 1),
    written(Column::MassFlow, "mass_flow_lb_s", KG_PER_LB, 3),
    written(Column::Moisture, "moisture_pct", 1.0, 2),
];

fn csv(log: &FieldLog, file: u32, columns: &[Written]) -> String {
    let mut text = columns
        .iter()
        .map(|c| c.header)
        .collect::<Vec<_>>()
        .join(",");
    text.push('\n');
    let of_file = (0..log.len()).filter(|&record| log.file[record] == file);
    for record in of_file {
        for (at, column) in columns.iter().enumerate() {
            if at > 0 {
                text.push(',');
            }
            if let Some(labels) = log.labels(column.column) {
                text.push_str(labels.name(record));
            } else if let Some(numbers) = log.numbers(column.column) {
                let value = numbers[record] / column.unit;
                // Writing to a String cannot fail.
                let _ = write!(text, "{value:.*}", column.decimals);
            }
        }
        text.push('\n');
    }
    text
}

fn geojson(strips: &StripSet) -> String {
    let features: Vec<String> = strips
        .strips
        .iter()
        .map(|strip| {
            let rings: Vec<String> = strip
                .ground
                .iter()
                .map(|polygon| {
                    let points: Vec<String> = polygon
                        .exterior()
                        .coords()
                        .map(|c| format!("[{:.9},{:.9}]", c.x, c.y))
                        .collect();
                    format!("[[{}]]", points.join(","))
                })
                .collect();
            format!(
                "{{\"type\":\"Feature\",\"properties\":{{\"strip_id\":\"{}\",\"treatment\":\"{}\",\
                 \"block\":\"{}\"}},\"geometry\":{{\"type\":\"MultiPolygon\",\
                 \"coordinates\":[{}]}}}}",
                strip.strip_id,
                strip.treatment,
                strip.block.as_deref().unwrap_or(""),
                rings.join(",")
            )
        })
        .collect();
    format!(
        "{{\"type\":\"FeatureCollection\",\"note\":\"strips of an invented farm\",\n\
         \"features\":[\n{}\n]}}\n",
        features.join(",\n")
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn here(name: &str) -> PathBuf {
        std::env::temp_dir().join(format!("checkstrip-season-{}-{name}", std::process::id()))
    }

    #[test]
    fn two_runs_write_the_same_bytes() {
        let (first, second) = (here("a"), here("b"));
        let season = write_season(&first).unwrap();
        write_season(&second).unwrap();
        // Again into the same folder: nothing of the first run is in the way.
        write_season(&second).unwrap();
        for name in [
            "harvest/2026-10-03.csv",
            "harvest/2026-10-04.csv",
            "strips.geojson",
            "trial.toml",
        ] {
            assert_eq!(
                fs::read(first.join(name)).unwrap(),
                fs::read(second.join(name)).unwrap()
            );
        }
        let lines: usize = season
            .logs
            .iter()
            .map(|log| fs::read_to_string(log).unwrap().lines().count() - 1)
            .sum();
        assert_eq!(lines, season.records);
        let readme = fs::read_to_string(first.join("README.txt")).unwrap();
        assert!(readme.contains("invented"));
        assert_eq!(fs::read_dir(first.join("harvest")).unwrap().count(), 2);
        fs::remove_dir_all(first).unwrap();
        fs::remove_dir_all(second).unwrap();
    }

    #[test]
    fn both_days_say_the_same_in_their_units() {
        let plan = FieldPlan {
            passes: 8,
            pass_length_m: 100.0,
            blocks: 1,
            ..FieldPlan::default()
        };
        let log = InventedField::new(plan).unwrap().harvest().log;
        let read = |columns: &[Written], header: &str| -> Vec<f64> {
            let text = csv(&log, 1, columns);
            let mut lines = text.lines();
            let at = lines
                .next()
                .unwrap()
                .split(',')
                .position(|h| h == header)
                .unwrap();
            lines
                .map(|line| line.split(',').nth(at).unwrap().parse().unwrap())
                .collect()
        };
        for (metric, farm, unit, digits) in [
            ("mass_flow_kg_s", "mass_flow_lb_s", KG_PER_LB, 3e-4),
            ("distance_m", "distance_ft", M_PER_FOOT, 3e-3),
            ("speed_m_s", "speed_mph", 0.44704, 4e-3),
        ] {
            for (a, b) in read(METRIC, metric).iter().zip(read(FARM, farm)) {
                assert!((a - b * unit).abs() < digits, "{metric} {a} {b}");
            }
        }
    }

    #[test]
    fn a_folder_that_cannot_be_written_is_named() {
        let file = here("file");
        fs::write(&file, "in the way").unwrap();
        let error = write_season(&file).unwrap_err().to_string();
        assert!(error.contains("checkstrip-season"), "{error}");
        fs::remove_file(file).unwrap();
    }
}
