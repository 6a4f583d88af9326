//! Logs of what was done on the field, planting or as-applied, beside its harvest: strips outlined from
//! the passes somebody chooses, and what was put on under each record of the harvest.

use super::quantities::{ShownQuantity, shown};
use super::{DrawnStrip, LiveField};
use crate::error::JobError;
use crate::machine_log::MachineLog;
use crate::outline::{OutlineBy, OutlineSetup, outline_in, passes_of};
use crate::setup::LogSetup;
use checkstrip_model::{Column, Operation, Warning};
use checkstrip_spatial::local_plane::LocalPlane;
use checkstrip_spatial::point_grid::PointGrid;
use geo::{LineString, Simplify};
use rayon::prelude::*;
use serde::Serialize;
use std::path::PathBuf;

/// What of a planting or application is worth drawing, and what it is called.
const QUANTITIES: &[(Column, &str)] = &[
    (Column::SeedRate, "Seeds placed"),
    (Column::TargetSeedRate, "Seeds asked for"),
    (Column::AppliedMass, "Product put on"),
    (Column::TargetMass, "Product asked for"),
    (Column::AppliedVolume, "Product put on"),
    (Column::TargetVolume, "Product asked for"),
    (Column::Singulation, "Singulation"),
    (Column::Skips, "Skips"),
    (Column::Multiples, "Multiples"),
    (Column::SpacingVariation, "Spacing variation"),
    (Column::Downforce, "Downforce"),
    (Column::GroundContact, "Ground contact"),
    (Column::RideQuality, "Ride"),
    (Column::Vacuum, "Vacuum"),
    (Column::Speed, "Speed of that work"),
];

/// What stands before the key of a column of such a log.
const APPLIED: &str = "applied.";

/// A record of the harvest takes what was put on within half the machine's width and so many metres
/// more: rows and nozzles lie no farther from the positions logged.
const BEYOND_M: f64 = 2.0;

/// Corners of lines are left out where they move by less, m.
const STRAIGHT_M: f64 = 0.5;

/// A log of what was done.
#[derive(Debug)]
pub(super) struct AppliedLog {
    machine: MachineLog,
    setup: OutlineSetup,
    /// For each record its pass, from 1; 0 where nothing was at work.
    pass: Vec<u32>,
    width_m: f64,
}

/// Such a log in short.
#[derive(Debug, Clone, Serialize)]
pub struct AppliedSummary {
    /// What to ask for it by.
    pub id: String,
    /// Its first file as given.
    pub file: String,
    /// Which work it is of.
    pub operation: Operation,
    /// What tells treatments apart in it: `product`, `rate`, and always `treatment`.
    pub by: Vec<&'static str>,
    /// How many passes it has.
    pub passes: usize,
}

/// One pass of such a log.
#[derive(Debug, Clone, Serialize)]
pub struct AppliedPass {
    /// Its number, from 1.
    pub number: u32,
    /// Its number and what was put on, in words.
    pub label: String,
    /// First and last moment, s; `None` where the log has none.
    pub time_s: [Option<f64>; 2],
    /// Where the middle of the machine went, m in the plane.
    pub centre: Vec<[f64; 2]>,
}

/// Strips that were outlined, in the plane.
#[derive(Debug, Clone, Serialize)]
pub struct AppliedOutline {
    /// The strips, numbered across the passes.
    pub strips: Vec<DrawnStrip>,
    /// What to know before using them.
    pub warnings: Vec<Warning>,
}

impl AppliedLog {
    /// Reads the log in `files`.
    ///
    /// # Errors
    /// When it cannot be read, is of a harvest, or does not say how wide the machine was.
    pub(super) fn read(files: Vec<PathBuf>, plane: &LocalPlane) -> Result<AppliedLog, JobError> {
        let setup = OutlineSetup {
            log: LogSetup::new(files, None),
            by: OutlineBy::Treatment(String::new()),
            row_spacing_m: None,
            left_out: Vec::new(),
            keep_end_rows: false,
            boundary: None,
            untreated: String::new(),
        };
        let machine = MachineLog::read_on(&setup.log, plane.clone())?;
        let pass = match passes_of(&machine, &setup) {
            Err(JobError::Input(problem)) => {
                return Err(problem
                    .hint(
                        "checkstrip outline takes it as an option, and makes strips to go on with",
                    )
                    .into());
            }
            passes => passes?,
        };
        let widths = machine.log.numbers(Column::Width).unwrap_or_default();
        let width_m = widths.iter().copied().filter(|w| *w > 0.0);
        Ok(AppliedLog {
            width_m: width_m.fold(0.0, f64::max),
            machine,
            setup,
            pass,
        })
    }

    fn by(&self) -> Vec<&'static str> {
        let has = |columns: &[Column]| columns.iter().any(|&column| self.machine.log.has(column));
        let rates = [
            Column::TargetSeedRate,
            Column::TargetMass,
            Column::TargetVolume,
        ];
        let mut by = Vec::new();
        if has(&[Column::Product]) {
            by.push("product");
        }
        if has(&rates) {
            by.push("rate");
        }
        by.push("treatment");
        by
    }

    /// The records of each pass, in the order of the file.
    fn records_of_passes(&self) -> Vec<Vec<usize>> {
        let count = self.pass.iter().copied().max().unwrap_or(0) as usize;
        let mut records = vec![Vec::new(); count];
        for (record, &pass) in self.pass.iter().enumerate() {
            if pass > 0 {
                records[pass as usize - 1].push(record);
            }
        }
        if let Some(time) = self.machine.log.numbers(Column::Timestamp) {
            for of_pass in &mut records {
                of_pass.sort_by(|&a, &b| time[a].total_cmp(&time[b]));
            }
        }
        records
    }

    fn passes(&self) -> Vec<AppliedPass> {
        let time = self.machine.log.numbers(Column::Timestamp);
        let [east, north] = self.machine.east_north_m();
        let one = |(at, records): (usize, &Vec<usize>)| {
            let number = at as u32 + 1;
            let mut names: Vec<&str> = Vec::new();
            if let Some(products) = self.machine.log.labels(Column::Product) {
                for &record in records {
                    let name = products.name(record);
                    if !name.is_empty() && !names.contains(&name) {
                        names.push(name);
                    }
                }
            }
            let what = match names.is_empty() {
                true => String::new(),
                false => format!(": {}", names.join(", ")),
            };
            let moment = |record: Option<&usize>| {
                let moment = time?[*record?];
                moment.is_finite().then_some(moment)
            };
            let mut points: Vec<geo::Coord<f64>> = records
                .iter()
                .map(|&record| geo::coord! { x: east[record], y: north[record] })
                .filter(|at| at.x.is_finite() && at.y.is_finite())
                .collect();
            points.dedup();
            let line = LineString::new(points).simplify(STRAIGHT_M);
            AppliedPass {
                number,
                label: format!("pass {number}{what}"),
                time_s: [moment(records.first()), moment(records.last())],
                centre: line.coords().map(|at| [at.x, at.y]).collect(),
            }
        };
        self.records_of_passes()
            .par_iter()
            .enumerate()
            .map(one)
            .collect()
    }
}

impl LiveField {
    /// The logs of what was done on the field.
    pub fn applied(&self) -> Vec<AppliedSummary> {
        let of_one = |(at, applied): (usize, &AppliedLog)| AppliedSummary {
            id: (at + 1).to_string(),
            file: applied.machine.log.first_path().to_owned(),
            operation: applied.machine.log.operation,
            by: applied.by(),
            passes: applied.pass.iter().copied().max().unwrap_or(0) as usize,
        };
        self.applied.iter().enumerate().map(of_one).collect()
    }

    fn applied_log(&self, id: &str) -> Option<&AppliedLog> {
        self.applied.get(id.parse::<usize>().ok()?.checked_sub(1)?)
    }

    /// The passes of the log called `id`; `None` when there is no such log.
    pub fn applied_passes(&self, id: &str) -> Option<Vec<AppliedPass>> {
        Some(self.applied_log(id)?.passes())
    }

    /// Outlines the ground of `passes` of the log called `id`, of all of them when none are named, as
    /// strips in the plane; `None` when there is no such log. Passes that were not named and run across the
    /// others are end rows and belong to no strip.
    ///
    /// # Errors
    /// As [`outline`](crate::outline).
    pub fn outline_applied(
        &self,
        id: &str,
        passes: Option<&[u32]>,
        by: OutlineBy,
    ) -> Result<Option<AppliedOutline>, JobError> {
        let Some(applied) = self.applied_log(id) else {
            return Ok(None);
        };
        let chosen: Option<Vec<bool>> = passes.map(|passes| {
            let is_chosen = |pass: &u32| *pass > 0 && passes.contains(pass);
            applied.pass.iter().map(is_chosen).collect()
        });
        let setup = OutlineSetup {
            by,
            keep_end_rows: passes.is_some(),
            ..applied.setup.clone()
        };
        let (outline, pieces) = outline_in(&applied.machine, &setup, chosen.as_deref())?;
        let strips = pieces.into_iter().map(|piece| {
            let rings = std::iter::once(piece.ground.exterior()).chain(piece.ground.interiors());
            let rings = rings.map(|ring| ring.coords().map(|c| [c.x, c.y]).collect());
            DrawnStrip {
                id: piece.strip_id,
                treatment: piece.treatment,
                block: None,
                from: None,
                polygons: vec![rings.collect()],
            }
        });
        let warnings = outline.warnings.into_iter();
        // Strips of another treatment are drawn here, not found between the passes.
        let warnings = warnings.filter(|warning| warning.code != "one_treatment");
        Ok(Some(AppliedOutline {
            strips: strips.collect(),
            warnings: warnings.collect(),
        }))
    }

    /// What was put on that the records of the harvest can be coloured by.
    pub(super) fn applied_quantities(&self) -> Vec<ShownQuantity> {
        let mut found = Vec::new();
        for (at, applied) in self.applied.iter().enumerate() {
            for (column, title) in QUANTITIES {
                let Some(values) = applied.machine.log.numbers(*column) else {
                    continue;
                };
                let key = format!("{APPLIED}{}.{}", at + 1, column.key());
                let title = match self.applied.len() {
                    1 => (*title).to_owned(),
                    _ => format!("{title} ({})", applied.machine.log.first_path()),
                };
                found.push(shown(key, &title, column.quantity(), values, f64::NAN));
            }
        }
        found
    }

    /// For each record of the harvest, in the order of the files, the value of `key` at the nearest record
    /// of the log it names; `NaN` where none lies within reach. `None` when there is no such column.
    pub(super) fn applied_column(&self, key: &str) -> Option<Vec<f64>> {
        let (id, column) = key.strip_prefix(APPLIED)?.split_once('.')?;
        let applied = self.applied_log(id)?;
        let values = applied.machine.log.numbers(Column::from_key(column)?)?;
        let [east, north] = applied.machine.east_north_m();
        let known: Vec<usize> = (0..values.len())
            .filter(|&record| values[record].is_finite() && applied.pass[record] > 0)
            .filter(|&record| east[record].is_finite() && north[record].is_finite())
            .collect();
        let reach_m = applied.width_m / 2.0 + BEYOND_M;
        let points = known.iter().map(|&record| [east[record], north[record]]);
        let grid = PointGrid::new(points, reach_m);
        let log = &self.first.outcome.log;
        let nearest = |record: usize| {
            if log.pass[record] == 0 {
                return f64::NAN;
            }
            let middle = log.footprint_middle(record);
            let (mut value, mut least) = (f64::NAN, f64::INFINITY);
            grid.within(middle, reach_m, |place| {
                let applied = known[place as usize];
                let away = (east[applied] - middle[0]).hypot(north[applied] - middle[1]);
                if away < least {
                    (value, least) = (values[applied], away);
                }
            });
            value
        };
        Some((0..log.len()).into_par_iter().map(nearest).collect())
    }
}
