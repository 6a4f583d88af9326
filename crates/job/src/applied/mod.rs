//! As applied against plan: what a planter, sprayer or spreader logged, laid over what was asked for. Ground by class,
//! and the ground where the plan was achieved, as strips to compare.

mod asked;
mod by_class;
mod judged;
mod outputs;
mod rate_kind;
mod record;

pub use outputs::write_applied;
pub use rate_kind::RateKind;
pub use record::{
    APPLIED_SCHEMA, AchievedStrip, Applied, AppliedInput, AppliedSettings, Area, AskedGround,
    GroundByClass, PlanSource,
};

use crate::compare::{input_columns, unreadable_cells};
use crate::error::JobError;
use crate::ground::to_lon_lat;
use crate::machine_log::{
    CLOSED_M, END_ROWS_DEG, LabelledBand, MachineLog, MachineWidth, SMALLEST_M2, is_at_work,
    is_end_row, labelled_bands, place_across, straightened,
};
use crate::outputs::this_tool;
use crate::setup::LogSetup;
use crate::strips::elsewhere;
use asked::Plan;
use by_class::{ByClass, Ground, Piece, SMALLEST_PIECE_M2};
use checkstrip_formats::{PlanFile, PlanOptions, read_plan};
use checkstrip_model::{Column, FieldLog, Strip, Warning};
use checkstrip_spatial::local_plane::LocalPlane;
use checkstrip_spatial::worked_ground::{Band, worked_ground};
use geo::{Area as _, BooleanOps, BoundingRect, MultiPolygon, Polygon};
use judged::{Done, JUDGED_OVER_M, Limits, judged_rates, product_of};
use std::collections::BTreeMap;
use std::path::PathBuf;

/// A rate counts as asked when it is off by no more than this share, unless another is given. Common practice, no
/// source.
pub const USUAL_TOLERANCE: f64 = 0.1;

/// What to compare.
#[derive(Debug, Clone)]
pub struct AppliedSetup {
    /// Name of the field.
    pub name: String,
    /// The log, of a planting or an application; its header width is that of the machine where the log has none.
    pub log: LogSetup,
    /// Distance from row to row where the log does not say, m.
    pub row_spacing_m: Option<f64>,
    /// The plan; `None`: the log's own rates asked for.
    pub plan: Option<PathBuf>,
    /// Which of its attributes say what.
    pub plan_options: PlanOptions,
    /// What the log calls treatments of the plan; no name: nothing was to be put on.
    pub products: BTreeMap<String, String>,
    /// A rate counts as asked when it is off by no more than this share.
    pub tolerance: f64,
    /// Whether passes across the main direction belong to the strips.
    pub keep_end_rows: bool,
}

/// A finished comparison with a plan, ready to be written.
pub struct AppliedAgainstPlan {
    /// What was found.
    pub record: Applied,
    /// What rates count, where they were compared.
    pub kind: Option<RateKind>,
    strips: Vec<Strip>,
    pieces: Vec<Piece>,
    plan: Plan,
    /// Names of the log's products.
    products: Vec<String>,
    plane: LocalPlane,
}

/// Compares a log with its plan in memory: nothing is written. `progress` is told what is being done.
///
/// # Errors
/// When a file cannot be read, the log is of a harvest or does not hold what is compared, the plan asks for something
/// that the log does not know, or lies somewhere else.
pub fn applied(
    setup: &AppliedSetup,
    progress: &(dyn Fn(&str) + Sync),
) -> Result<AppliedAgainstPlan, JobError> {
    // A mistake in the small plan should not wait for the large log.
    let file = match &setup.plan {
        Some(path) => Some(read_plan(path, &setup.plan_options)?),
        None => None,
    };
    progress("reading the log");
    let machine = MachineLog::read(&setup.log)?;
    let log = &machine.log;
    progress("comparing with the plan");
    let (plan, asked_of) = match &file {
        Some(file) => (asked::from_file(file, &machine, setup)?, None),
        None => {
            let (plan, asked_of) = asked::from_log(&machine)?;
            (plan, Some(asked_of))
        }
    };
    let rates = plan.asked.iter().filter_map(|asked| asked.rate);
    let limits = Limits::new(rates, setup.tolerance);
    let judging = Judging {
        log,
        limits: &limits,
        asked_of: asked_of.as_deref(),
        rates: plan.kind.map(|kind| {
            (
                log.numbers(kind.put_on()).unwrap_or_default(),
                judged_rates(&machine, kind),
            )
        }),
    };
    let mut done: Vec<Done> = Vec::new();
    let width = MachineWidth {
        width_m: setup.log.header_width_m,
        row_spacing_m: setup.row_spacing_m,
    };
    let found = labelled_bands(log, machine.east_north_m(), width, &mut |record| {
        let (of_record, rate) = judging.record(record)?;
        let known = done.iter().position(|known| *known == of_record);
        let label = known.unwrap_or_else(|| {
            done.push(of_record);
            done.len() - 1
        });
        Some((label, rate))
    })?;
    let direction_deg = machine.direction_deg(&found.bands)?;
    if let Some(file) = &file {
        check_place(file, &plan, &found.bands, &machine)?;
    }
    let ground = Ground {
        plan: &plan,
        done: &done,
        bands: &found.bands,
        limits: &limits,
        tolerance: setup.tolerance,
    };
    let by_class = ground.by_class();
    progress("outlining strips");
    let across = found.bands.iter();
    let across: Vec<Band> = across
        .filter(|labelled| is_end_row(labelled, direction_deg) && !done[labelled.label].is_idle)
        .map(|labelled| labelled.band)
        .collect();
    let end_rows = worked_ground(&across, CLOSED_M);
    let none = MultiPolygon::new(vec![]);
    let left_out = if setup.keep_end_rows {
        &none
    } else {
        &end_rows
    };
    let mut warnings: Vec<Warning> = unreadable_cells(&log.problems).into_iter().collect();
    warnings.extend(plan.warnings.iter().cloned());
    let achieved = achieved_strips(&plan, &by_class, left_out, direction_deg, &mut warnings);
    let mut strips = Vec::with_capacity(achieved.len());
    for (at, (record, ground)) in achieved.iter().enumerate() {
        strips.push(Strip {
            strip_id: record.strip_id.clone(),
            treatment: record.treatment.clone(),
            block: record.block.clone(),
            ground: to_lon_lat(ground, &machine.plane)?,
            row: at as u32 + 1,
        });
    }
    let products = log.labels(Column::Product);
    let products = products.map_or(Vec::new(), |products| products.names.clone());
    let asked: Vec<AskedGround> = plan
        .asked
        .iter()
        .zip(&by_class.asked)
        .map(|(asked, result)| AskedGround {
            treatment: asked.name.clone(),
            product: asked.product.map(|place| products[place].clone()),
            rate: asked.rate,
            nothing: asked.nothing,
            ground: result.ground,
            mean_rate: result.mean_rate,
            mean_over_asked: match (result.mean_rate, asked.rate) {
                (Some(mean), Some(rate)) if rate > 0.0 => Some(mean / rate),
                _ => None,
            },
        })
        .collect();
    let mut total = GroundByClass::default();
    asked.iter().for_each(|asked| total.add(&asked.ground));
    let record = Applied {
        schema: APPLIED_SCHEMA.to_owned(),
        tool: this_tool(),
        name: setup.name.clone(),
        operation: log.operation,
        input: AppliedInput {
            records: log.len(),
            files: log.files.clone(),
            columns: input_columns(log),
        },
        plan: match file {
            None => PlanSource::Log,
            Some(file) => PlanSource::File {
                polygons: file.grounds.len(),
                path: file.path,
                sha256: file.sha256,
                crs: file.crs,
                treatment_column: file.treatment_column,
                rate_column: file.rate_column,
            },
        },
        settings: AppliedSettings {
            tolerance: setup.tolerance,
            judged_over_m: JUDGED_OVER_M,
            products: setup.products.clone(),
            width_m: found.width_m,
            closed_m: CLOSED_M,
            smallest_piece_m2: SMALLEST_PIECE_M2,
            smallest_strip_m2: SMALLEST_M2,
            end_rows_deg: END_ROWS_DEG,
            keep_end_rows: setup.keep_end_rows,
        },
        moments: found.moments,
        idle_moments: found.idle,
        direction_deg,
        end_rows: Area::of_m2(end_rows.unsigned_area()),
        rate_unit: plan.kind.map(|kind| kind.unit().to_owned()),
        asked,
        total,
        not_planned: Area::of_m2(by_class.not_planned_m2),
        not_planned_noise: Area::of_m2(by_class.not_planned_noise_m2),
        strips: achieved.into_iter().map(|(record, _)| record).collect(),
        pieces: by_class.pieces.len(),
        warnings,
    };
    Ok(AppliedAgainstPlan {
        record,
        kind: plan.kind,
        strips,
        pieces: by_class.pieces,
        plan,
        products,
        plane: machine.plane,
    })
}

/// What tells what a record did.
struct Judging<'a> {
    log: &'a FieldLog,
    limits: &'a Limits,
    /// For each record what it was asked, where the plan is the log's.
    asked_of: Option<&'a [Option<usize>]>,
    /// The rates as logged and as judged, where rates are compared.
    rates: Option<(&'a [f64], Vec<f64>)>,
}

impl Judging<'_> {
    /// What a record did, and its rate; `None` where it was not at work and nothing was asked of it.
    fn record(&self, record: usize) -> Option<(Done, f64)> {
        let asked = self.asked_of.and_then(|asked_of| asked_of[record]);
        let (logged, judged) = match &self.rates {
            Some((logged, judged)) => (logged[record], judged[record]),
            None => (f64::NAN, f64::NAN),
        };
        let mut done = Done {
            product: product_of(self.log, record),
            above: judged.is_finite().then(|| self.limits.below(judged)),
            asked,
            is_idle: false,
        };
        if !is_at_work(self.log, record) {
            let is_down = self
                .log
                .numbers(Column::HeaderDown)
                .is_none_or(|down| down[record] != 0.0);
            if asked.is_none() || !is_down || logged != 0.0 {
                return None;
            }
            (done.is_idle, done.product, done.above) = (true, None, None);
        }
        Some((done, logged))
    }
}

/// Refuses a plan that lies somewhere else than the log.
fn check_place(
    file: &PlanFile,
    plan: &Plan,
    bands: &[LabelledBand],
    machine: &MachineLog,
) -> Result<(), JobError> {
    let mut driven = [
        f64::INFINITY,
        f64::INFINITY,
        f64::NEG_INFINITY,
        f64::NEG_INFINITY,
    ];
    for [east, north] in bands.iter().flat_map(|labelled| labelled.band.corners()) {
        driven = [
            driven[0].min(east),
            driven[1].min(north),
            driven[2].max(east),
            driven[3].max(north),
        ];
    }
    // Boxes that do not meet are apart.
    let gap = |ground: &MultiPolygon<f64>| {
        ground.bounding_rect().map_or(f64::INFINITY, |rect| {
            let east = (rect.min().x - driven[2])
                .max(driven[0] - rect.max().x)
                .max(0.0);
            let north = (rect.min().y - driven[3])
                .max(driven[1] - rect.max().y)
                .max(0.0);
            east.hypot(north)
        })
    };
    let strips = plan.asked.iter().flat_map(|asked| &asked.strips);
    let nearest_m = strips
        .map(|strip| gap(&strip.ground))
        .fold(f64::INFINITY, f64::min);
    if nearest_m == 0.0 {
        return Ok(());
    }
    Err(elsewhere(
        &file.path,
        [
            "no ground of the plan",
            "the planned grounds",
            "the plan’s file",
        ],
        file.grounds.first().map(|planned| &planned.ground),
        machine.plane.origin(),
        nearest_m,
    )
    .into())
}

/// Ground where the plan was achieved, without `left_out`: a strip for each polygon of the plan, or, where the plan is
/// the log's, for each piece of ground.
fn achieved_strips(
    plan: &Plan,
    by_class: &ByClass,
    left_out: &MultiPolygon<f64>,
    direction_deg: f64,
    warnings: &mut Vec<Warning>,
) -> Vec<(AchievedStrip, MultiPolygon<f64>)> {
    let large = |ground: MultiPolygon<f64>| -> Vec<Polygon<f64>> {
        let pieces = ground.difference(left_out).into_iter();
        let pieces = pieces.filter(|piece| piece.unsigned_area() >= SMALLEST_M2);
        pieces.map(|piece| straightened(&piece)).collect()
    };
    let mut strips: Vec<(AchievedStrip, MultiPolygon<f64>)> = Vec::new();
    let mut lost: Vec<&str> = Vec::new();
    for (asked, result) in plan.asked.iter().zip(&by_class.asked) {
        for planned in &asked.strips {
            let ground = large(result.as_asked.intersection(&planned.ground));
            if ground.is_empty() {
                lost.push(&planned.strip_id);
                continue;
            }
            let ground = MultiPolygon::new(ground);
            let achieved_m2 = ground.unsigned_area();
            let record = AchievedStrip {
                strip_id: planned.strip_id.clone(),
                treatment: asked.name.clone(),
                block: planned.block.clone(),
                achieved: Area::of_m2(achieved_m2),
                share: Some((achieved_m2 / planned.ground.unsigned_area()).min(1.0)),
            };
            strips.push((record, ground));
        }
        if asked.strips.is_empty() {
            strips.extend(large(result.as_asked.clone()).into_iter().map(|piece| {
                let record = AchievedStrip {
                    strip_id: String::new(),
                    treatment: asked.name.clone(),
                    block: None,
                    achieved: Area::of_m2(piece.unsigned_area()),
                    share: None,
                };
                (record, MultiPolygon::new(vec![piece]))
            }));
        }
    }
    if !lost.is_empty() {
        warnings.push(Warning::new(
            "plan_not_achieved",
            format!(
                "Nowhere on the planned ground {} was the plan achieved on 0.05 ha (0.12 ac) or more: no strip was \
                 made of it.",
                lost.join(", ")
            ),
        ));
    }
    if strips.iter().all(|(record, _)| record.strip_id.is_empty()) {
        let place = |strip: &(AchievedStrip, MultiPolygon<f64>)| {
            strip
                .1
                .0
                .first()
                .map_or(0.0, |piece| place_across(piece, direction_deg))
        };
        strips.sort_by(|a, b| place(a).total_cmp(&place(b)));
        for (at, (record, _)) in strips.iter_mut().enumerate() {
            record.strip_id = (at + 1).to_string();
        }
    }
    strips
}
