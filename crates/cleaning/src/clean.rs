//! A log from end to end: driving order and derived columns, grain delay, ground, yields, statuses,
//! and the way back to the order of the files.

use crate::drive::{BackToLog, Drive};
use crate::error::CleaningError;
use crate::flow_readings::believed_flow;
use crate::grain_delay::{GrainDelay, estimate_delay};
use crate::judgement::{Evidence, pass_start_s, statuses, yields_of_ground};
use crate::limits::moisture_limits;
use crate::machine_factors::machine_factors;
use crate::overlap::ground;
use crate::passes::passes;
use crate::recipe::{DelaySetting, Recipe};
use crate::robust::median;
use crate::transport::grain_on_its_ground;
use checkstrip_model::results::{MachineBias, TicketCalibration};
use checkstrip_model::{
    CleanLog, Column, Crop, FieldLog, Labels, SaidList, SaidText, ScaleTickets, Status, Warning,
    rectangle_behind,
};
use checkstrip_spatial::local_plane::LocalPlane;
use checkstrip_words::{said_values, warning};
use rayon::prelude::*;

/// What the log held before anything was put right.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct InputTotals {
    /// Distance × width of records with the header down, m².
    pub area_m2: f64,
    /// Flow × interval of all records, kg.
    pub wet_mass_kg: f64,
    /// The same at market moisture, record by record, kg.
    pub market_mass_kg: f64,
}

/// What is known beside the records when machines are held against each other and against the scale.
#[derive(Clone, Copy, Default)]
pub struct BesideTheRecords<'a> {
    /// What loads weighed.
    pub tickets: Option<&'a ScaleTickets>,
    /// Which ground is alike, asked with the four corners of a record's footprint in the log's plane
    /// ([`plane_of`]): machines are only held against each other on ground of one class, and not on ground of
    /// none. What a class stands for, cleaning does not know; no status hangs on it but through the factors of
    /// whole machines.
    pub ground_class: Option<GroundClass<'a>>,
}

/// The class of the ground under a footprint; `None` for ground of several classes.
pub type GroundClass<'a> = &'a (dyn Fn(&[[f64; 2]; 4]) -> Option<u16> + Sync);

/// A cleaned log and what cleaning found out.
#[derive(Debug)]
pub struct CleaningOutcome {
    /// The cleaned log, record by record in the order of the files.
    pub log: CleanLog,
    /// The plane its metres are in.
    pub plane: LocalPlane,
    /// The records in driving order, machine by machine.
    pub driving_order: Vec<u32>,
    /// The grain delay and what it rests on.
    pub grain_delay: GrainDelay,
    /// How long after entering the crop records were dropped, s.
    pub pass_start_s: f64,
    /// Totals of the log as it was.
    pub input: InputTotals,
    /// Area of all footprints, m².
    pub footprint_m2: f64,
    /// Part of it that any earlier footprint had covered, m².
    pub overlap_m2: f64,
    /// Part of it that other passes had harvested, m²; taken from the footprints.
    pub harvested_m2: f64,
    /// Passes found.
    pub passes: usize,
    /// Machines found.
    pub machines: Vec<String>,
    /// For each record in the order of the files, the place of its machine in `machines`.
    pub machine: Vec<u32>,
    /// What each record's flow was multiplied by, in the order of the files; `None` where all was taken as
    /// logged.
    pub flow_factor: Option<Vec<f64>>,
    /// How the machines read beside each other, when there is more than one.
    pub machine_bias: Option<MachineBias>,
    /// The log held against scale tickets, when they were given.
    pub scale_tickets: Option<TicketCalibration>,
    /// What a reader of the results should know.
    pub warnings: Vec<Warning>,
}

/// Cleans `log`.
///
/// `header_width_m` stands in for a width that the log lacks. The log is never shortened: every
/// record of the result stands where it stood in the log.
///
/// # Errors
/// When nothing of the log can be used: no record, no position, no width, no grain; when a
/// setting makes no sense; or when tickets are given and none fits.
pub fn clean(
    log: FieldLog,
    crop: &Crop,
    header_width_m: Option<f64>,
    recipe: &Recipe,
    beside: BesideTheRecords,
) -> Result<CleaningOutcome, CleaningError> {
    recipe.check()?;
    if log.is_empty() {
        return Err(CleaningError::Empty);
    }
    let plane = plane_of(&log)?;
    let mut drive = Drive::new(&log, &plane, crop, header_width_m)?;
    let (pass, raw) = drive.passes_and_raw_yields(crop);
    let input = totals(&drive, crop);

    let flow_ok = believed_flow(&drive);
    let grain_delay = match recipe.grain_delay {
        DelaySetting::Given(seconds) => GrainDelay::given(seconds),
        DelaySetting::Auto => match drive.without_repeats() {
            None => estimate_delay(&drive, &pass, &flow_ok),
            Some(series) => estimate_delay(&series, &passes(&series), &believed_flow(&series)),
        },
    };
    let [driest, wettest] = moisture_limits(crop, recipe);
    let moisture_ok: Vec<bool> = drive
        .moisture_pct
        .iter()
        .map(|m| (driest..=wettest).contains(m))
        .collect();
    let ground = ground(&drive, &pass);
    let class = beside
        .ground_class
        .filter(|_| drive.order.machines.len() > 1);
    let class = class.map(|class| ground_classes(&drive, &pass, class));

    let mut grain = grain_on_its_ground(&drive, grain_delay.delay_s, &flow_ok, &moisture_ok);
    let mut grown = yields_of_ground(&drive, &grain, &ground, crop);
    let factors = {
        let evidence = Evidence {
            drive: &drive,
            pass: &pass,
            ground: &ground,
            grain: &grain,
            grain_delay: &grain_delay,
            flow_ok: &flow_ok,
            moisture_ok: &moisture_ok,
            yields: &grown.yield_kg_ha,
        };
        let class = class.as_deref();
        machine_factors(&evidence, &log, beside.tickets, class, crop, recipe)?
    };
    if let Some(factors) = &factors.per_record {
        // The log keeps the flow as it was logged; only the grain on its ground is put right.
        let logged = drive.flow_kg_s.clone();
        for (flow, factor) in drive.flow_kg_s.iter_mut().zip(factors) {
            *flow *= factor;
        }
        grain = grain_on_its_ground(&drive, grain_delay.delay_s, &flow_ok, &moisture_ok);
        grown = yields_of_ground(&drive, &grain, &ground, crop);
        drive.flow_kg_s = logged;
    }
    let evidence = Evidence {
        drive: &drive,
        pass: &pass,
        ground: &ground,
        grain: &grain,
        grain_delay: &grain_delay,
        flow_ok: &flow_ok,
        moisture_ok: &moisture_ok,
        yields: &grown.yield_kg_ha,
    };
    let status = statuses(&evidence, crop, recipe);

    let mut warnings = warnings(&log, &drive, &grain_delay, &status);
    warnings.extend(factors.warnings);
    let footprint_m2: f64 = ground.footprint_m2.iter().sum();
    let overlap_m2: f64 = ground.covered.iter().map(|c| c.any_m2).sum();
    let harvested_m2: f64 = ground.covered.iter().map(|c| c.harvested_m2).sum();
    let overlap: Vec<f64> = ground.covered.iter().map(|c| c.harvested_m2).collect();
    let back = drive.back_to_log();
    let flow_factor = factors.per_record.map(|factors| back.numbers(&factors));
    let machine = back.column(&drive.order.machine, 0);
    let clean_log = CleanLog {
        east_m: back.numbers(&drive.east_m),
        north_m: back.numbers(&drive.north_m),
        heading_deg: back.numbers(&drive.heading_deg),
        distance_m: back.numbers(&drive.distance_m),
        width_m: back.numbers(&drive.width_m),
        pass: back.column(&pass, 0),
        status: back.column(&status, Status::Kept),
        footprint_m2: back.numbers(&ground.footprint_m2),
        overlap_m2: back.numbers(&overlap),
        wet_mass_kg: back.numbers(&grown.wet_kg),
        moisture_pct: back.numbers(&grown.moisture_pct),
        raw_yield_kg_ha: back.numbers(&raw),
        yield_kg_ha: back.numbers(&grown.yield_kg_ha),
        log: with_derived(log, &drive, &pass, &back),
    };
    Ok(CleaningOutcome {
        log: clean_log,
        plane,
        pass_start_s: pass_start_s(recipe, &grain_delay),
        grain_delay,
        input,
        footprint_m2,
        overlap_m2,
        harvested_m2,
        passes: pass.iter().copied().max().unwrap_or(0) as usize,
        machines: drive.order.machines,
        machine,
        flow_factor,
        machine_bias: factors.bias,
        scale_tickets: factors.tickets,
        driving_order: drive.order.record,
        warnings,
    })
}

/// The plane around the median position of a log: a few wild positions must not move it away.
///
/// # Errors
/// When no record has a position.
pub fn plane_of(log: &FieldLog) -> Result<LocalPlane, CleaningError> {
    let middle = |column: Column| {
        let mut values: Vec<f64> = log
            .numbers(column)
            .unwrap_or_default()
            .iter()
            .copied()
            .filter(|v| v.is_finite())
            .collect();
        median(&mut values)
    };
    let (lon, lat) = (middle(Column::Lon), middle(Column::Lat));
    if lon.is_nan() || lat.is_nan() {
        return Err(CleaningError::NoPosition { records: log.len() });
    }
    Ok(LocalPlane::around(lon, lat)?)
}

/// The class of the ground under each cutting record, in driving order.
fn ground_classes(drive: &Drive, pass: &[u32], class: GroundClass) -> Vec<Option<u16>> {
    (0..drive.len())
        .into_par_iter()
        .map(|at| {
            let place = [drive.east_m[at], drive.north_m[at]];
            let corners = rectangle_behind(
                place,
                drive.heading_deg[at],
                drive.distance_m[at],
                drive.width_m[at],
            );
            let is_placed = corners.iter().flatten().all(|value| value.is_finite());
            (pass[at] > 0 && is_placed)
                .then(|| class(&corners))
                .flatten()
        })
        .collect()
}

fn totals(drive: &Drive, crop: &Crop) -> InputTotals {
    let mut totals = InputTotals::default();
    for at in 0..drive.len() {
        let area = drive.distance_m[at] * drive.width_m[at];
        if drive.header_down[at] && area.is_finite() {
            totals.area_m2 += area;
        }
        let mass = drive.flow_kg_s[at] * drive.interval_s[at];
        if mass.is_finite() {
            totals.wet_mass_kg += mass;
            let market = drive.at_market(crop, mass, drive.moisture_pct[at]);
            totals.market_mass_kg += if market.is_finite() { market } else { 0.0 };
        }
    }
    totals
}

/// The log with its absent columns filled in.
fn with_derived(mut log: FieldLog, drive: &Drive, pass: &[u32], back: &BackToLog) -> FieldLog {
    let numbers = [
        (Column::Distance, &drive.distance_m),
        (Column::Interval, &drive.interval_s),
        (Column::Speed, &drive.speed_m_s),
        (Column::Heading, &drive.heading_deg),
        (Column::Width, &drive.width_m),
        (Column::MassFlow, &drive.flow_kg_s),
        (Column::Moisture, &drive.moisture_pct),
    ];
    for (column, values) in numbers {
        let replaced = drive.derived.iter().any(|(derived, _)| *derived == column);
        if replaced || !log.has(column) {
            log.set_numbers(column, back.numbers(values));
        }
    }
    if !log.has(Column::Timestamp) {
        log.set_numbers(Column::Timestamp, back.numbers(&drive.order.time_s));
    }
    if !log.has(Column::HeaderDown) {
        let down: Vec<f64> = drive
            .header_down
            .iter()
            .map(|&d| f64::from(u8::from(d)))
            .collect();
        log.set_numbers(Column::HeaderDown, back.numbers(&down));
    }
    if !log.has(Column::Machine) && drive.order.machines.len() > 1 {
        log.set_labels(
            Column::Machine,
            Labels {
                names: drive.order.machines.clone(),
                index: back.column(&drive.order.machine, 0),
            },
        );
    }
    log.derived.extend(drive.derived.iter().cloned());
    if !log.has(Column::PassId) {
        let mut labels = Labels::default();
        for number in back.column(pass, 0) {
            labels.push(&number.to_string());
        }
        log.set_labels(Column::PassId, labels);
        log.derived.push((
            Column::PassId,
            "from silences, header state and turns".into(),
        ));
    }
    log
}

/// So many jumps of the clock are told with their place.
const TOLD_JUMPS: usize = 5;

fn warnings(
    log: &FieldLog,
    drive: &Drive,
    grain_delay: &GrainDelay,
    status: &[Status],
) -> Vec<Warning> {
    let mut warnings = Vec::new();
    let order = &drive.order;
    if !order.clock_jumps.is_empty() {
        let jumps = order.clock_jumps.iter().take(TOLD_JUMPS);
        let mut texts: Vec<SaidText> = jumps
            .map(|&(record, back)| {
                let (file, row) = log.place(record as usize);
                let values = said_values!(file = file, row = row.to_string(), seconds = back);
                SaidText::new("clock-place", values)
            })
            .collect();
        if order.clock_jumps.len() > TOLD_JUMPS {
            texts.push(SaidText::new("clock-more", said_values!()));
        }
        let places = SaidList {
            between: "; ".to_owned(),
            texts,
        };
        warnings.push(warning(
            "clock_backwards",
            said_values!(count = order.clock_jumps.len(), places = places),
        ));
    }
    if order.sorted_files > 0 {
        warnings.push(warning(
            "records_sorted",
            said_values!(files = order.sorted_files),
        ));
    }
    if grain_delay.not_found {
        warnings.push(warning(
            "grain_delay_not_estimated",
            said_values!(note = grain_delay.said()),
        ));
    }
    if drive.at_market_moisture {
        warnings.push(warning("yield_only_log", said_values!()));
    }
    if log.cleaned_status.is_some() {
        warnings.push(warning("already_cleaned", said_values!()));
    }
    let kept = status.iter().filter(|s| s.is_kept()).count();
    let cutting = (0..status.len())
        .filter(|&at| status[at] != Status::HeaderUp && !drive.order.repeated[at])
        .count();
    if 2 * kept < cutting {
        warnings.push(warning(
            "few_kept",
            said_values!(kept = kept, cutting = cutting),
        ));
    }
    warnings
}
