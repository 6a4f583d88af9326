//! Planning a trial: boundary or past log in, strips laid, variation from strip to strip found, and
//! with it the smallest gain that they can show. `plan` does it in memory, `write_plan` leaves the
//! files; method and sources are in `docs/planning.md`.

mod advice;
mod amounts;
mod outputs;
mod record;
mod trial_stub;
mod variation;

pub use amounts::{Amounts, YieldAmount};
pub use outputs::write_plan;
pub use record::{
    BreakEvenGain, GroundRecord, PLAN_SCHEMA, Parameters, Plan, PowerRecord, Randomisation,
    StripRecord, WantedGain,
};

use crate::compare::clean_log;
use crate::error::JobError;
use crate::ground::{to_lon_lat, to_plane};
use crate::outputs::this_tool;
use crate::setup::LogSetup;
use crate::strips::check_among;
use checkstrip_cleaning::CleaningOutcome;
use checkstrip_formats::{MOST_ZONES, read_boundary, read_line};
use checkstrip_model::units::{M2_PER_HA, kg_per_ha};
use checkstrip_model::{Crop, Problem, Strip};
use checkstrip_spatial::local_plane::LocalPlane;
use checkstrip_spatial::log_outline::log_outline;
use checkstrip_spatial::overlay::MOST_TREATMENTS;
use checkstrip_spatial::pass_direction::pass_direction;
use checkstrip_trial::layout::{
    Direction, LayoutError, LayoutRequest, PlannedLayout, TrialGround, lay_out,
};
use checkstrip_trial::power::{Sides, TrialSize};
use geo::{BoundingRect, MultiPolygon};
use std::path::PathBuf;
use variation::Variation;

/// Which way strips run.
#[derive(Debug, Clone, PartialEq)]
pub enum DirectionSetup {
    /// Along the passes of the log; without one, along the longest side of the boundary.
    Found,
    /// Degrees clockwise from true north.
    FromNorth(f64),
    /// Along the line in this GeoJSON file, which the first strip touches.
    FirstLine(PathBuf),
}

/// What to plan.
#[derive(Debug, Clone)]
pub struct PlanSetup {
    /// Name of the field.
    pub name: String,
    /// File of the field's boundary; `None`: the outline of the log.
    pub boundary: Option<PathBuf>,
    /// Harvest of a past year on this field.
    pub log: Option<LogSetup>,
    /// The crop to come.
    pub crop: Crop,
    /// Which way strips run.
    pub direction: DirectionSetup,
    /// Working width of the treatment's implement, m.
    pub implement_width_m: f64,
    /// Cutting width of the header, m.
    pub header_width_m: f64,
    /// Implement passes in a strip; `None`: the fewest in which a whole header swath surely lies.
    pub strip_passes: Option<u32>,
    /// The treatments, the check among them.
    pub treatments: Vec<String>,
    /// The treatment that is the check; `None`: the one called check, control or untreated.
    pub check: Option<String>,
    /// Blocks wanted.
    pub blocks: u32,
    /// Width of the headland on all sides, m.
    pub headland_m: f64,
    /// From the ground's left side, or the first line, to the first strip, m; `None`: on the first
    /// line, or where the first strips are long.
    pub offset_m: Option<f64>,
    /// Names the random orders.
    pub seed: u64,
    /// Standard deviation from strip to strip within blocks, when it is known.
    pub sd: Option<YieldAmount>,
    /// The gain to be shown.
    pub gain: Option<YieldAmount>,
    /// Yield to expect, kg/ha; with a log its mean when absent.
    pub expected_yield_kg_ha: Option<f64>,
    /// Price of a bushel.
    pub price_per_bu: Option<f64>,
    /// What the treatment costs more than the check, per acre.
    pub cost_per_ac: Option<f64>,
}

/// A finished plan, ready to be written.
#[derive(Debug)]
pub struct Planned {
    /// The plan as recorded.
    pub plan: Plan,
    /// The strips, WGS 84.
    pub strips: Vec<Strip>,
    layout: PlannedLayout,
    plane: LocalPlane,
    boundary: MultiPolygon<f64>,
    ground: MultiPolygon<f64>,
}

/// Plans a trial in memory: nothing is written. `progress` is told what is being done.
///
/// # Errors
/// When a file cannot be read, the log cannot be used, a number makes no sense or not one block of
/// strips fits.
pub fn plan(setup: &PlanSetup, progress: &(dyn Fn(&str) + Sync)) -> Result<Planned, JobError> {
    let check = check_request(setup)?;
    let drawn = match &setup.boundary {
        Some(path) => Some(read_boundary(path)?),
        None => None,
    };
    let line = match &setup.direction {
        DirectionSetup::FirstLine(path) => Some(read_line(path)?),
        _ => None,
    };
    let harvest = match &setup.log {
        Some(log) => Some(clean_log(log, progress)?),
        None => None,
    };
    progress("laying strips");
    let (plane, boundary) = match (&drawn, &harvest) {
        (Some(drawn), harvest) => {
            let plane = plane_of(&drawn.ground, harvest.as_ref())?;
            let boundary = to_plane(&drawn.ground, &plane)?;
            (plane, boundary)
        }
        (None, Some(harvest)) => (harvest.plane.clone(), log_outline(&harvest.log)),
        (None, None) => {
            return Err(Problem::new("", "there is no field to lay strips on")
                .hint("give its outline with --boundary, or a past harvest with --log")
                .into());
        }
    };
    let passes = harvest.as_ref().and_then(|h| pass_direction(&h.log));
    let (direction, direction_from) = match (&setup.direction, line, passes) {
        (DirectionSetup::FromNorth(degrees), ..) => (Direction::FromNorth(*degrees), "given"),
        (_, Some(mut ends), _) => {
            plane.points_to_plane(&mut ends)?;
            (Direction::FirstLine(ends), "first_line")
        }
        (_, None, Some(passes)) => (Direction::FromNorth(passes.direction_deg), "passes_of_log"),
        (_, None, None) => (Direction::LongestSide, "longest_side"),
    };
    let share_cut_along = passes
        .filter(|_| direction_from == "passes_of_log")
        .map(|passes| passes.share);
    let request = LayoutRequest {
        implement_width_m: setup.implement_width_m,
        header_width_m: setup.header_width_m,
        strip_passes: setup.strip_passes,
        treatments: setup.treatments.clone(),
        blocks: setup.blocks,
        offset_m: setup.offset_m,
        seed: setup.seed,
    };
    let ground = TrialGround::new(&boundary, setup.headland_m, &direction)?;
    let layout = lay_out(&ground, &request)?;
    let strips = strips(&layout, &setup.treatments, &plane)?;

    let most = LayoutRequest {
        blocks: (MOST_ZONES / setup.treatments.len()) as u32,
        ..request.clone()
    };
    let blocks_that_fit = lay_out(&ground, &most)?.blocks;

    progress("measuring the variation");
    let variation = Variation::find(setup, harvest.as_ref(), &ground, &request, &layout, check)?;
    let power = power(setup, &layout, blocks_that_fit, &variation)?;
    let mut warnings = harvest
        .as_ref()
        .map_or(Vec::new(), |harvest| harvest.warnings.clone());
    warnings.extend(advice::warnings(
        setup,
        &layout,
        &power,
        &variation,
        drawn.is_none(),
        share_cut_along,
    ));

    let hectares = |m2: f64| m2 / M2_PER_HA;
    let strips_m2: f64 =
        layout.strips.iter().map(|s| s.length_m()).sum::<f64>() * layout.strip_width_m();
    let plan = Plan {
        schema: PLAN_SCHEMA.into(),
        tool: this_tool(),
        name: setup.name.clone(),
        crop: setup.crop.name.clone(),
        bushel_kg: setup.crop.bushel_kg,
        parameters: Parameters {
            boundary: drawn.as_ref().map(|drawn| drawn.path.clone()),
            boundary_sha256: drawn.as_ref().map(|drawn| drawn.sha256.clone()),
            boundary_crs: drawn.as_ref().map(|drawn| drawn.crs.clone()),
            logs: harvest
                .as_ref()
                .map_or(Vec::new(), |h| h.log.log.files.clone()),
            implement_width_m: setup.implement_width_m,
            header_width_m: setup.header_width_m,
            strip_passes: setup.strip_passes,
            treatments: setup.treatments.clone(),
            check: setup.treatments[check].clone(),
            blocks: setup.blocks,
            headland_m: setup.headland_m,
            offset_m: setup.offset_m,
            seed: setup.seed,
        },
        ground: GroundRecord {
            direction_deg: ground.direction_deg(),
            direction_from: direction_from.into(),
            share_cut_along,
            room_m: ground.room_m(),
            blocks_that_fit,
            field_ha: hectares(ground.field_m2()),
            headland_ha: hectares(ground.field_m2() - ground.ground_m2()),
            strips_ha: hectares(strips_m2),
            left_over_ha: hectares(layout.left_over_m2),
        },
        blocks: layout.blocks,
        strip_passes: layout.passes,
        swaths: layout.swaths.clone(),
        strips: strip_records(&layout, &setup.treatments),
        randomisation: randomisation(&layout, setup),
        power,
        warnings,
    };
    Ok(Planned {
        plan,
        strips,
        boundary: boundary.clone(),
        ground: ground.ground().clone(),
        layout,
        plane,
    })
}

/// Refuses what the layout cannot judge, and finds the check.
fn check_request(setup: &PlanSetup) -> Result<usize, JobError> {
    let treatments = &setup.treatments;
    let refuse = |message: String, hint: &str| Err(Problem::new("", message).hint(hint).into());
    if treatments.len() > MOST_TREATMENTS {
        return refuse(
            format!(
                "expected at most {MOST_TREATMENTS} treatments, found {}",
                treatments.len()
            ),
            "try fewer things at once: each costs a strip in every block",
        );
    }
    if let Some(name) = treatments
        .iter()
        .find(|name| name.is_empty() || name.len() > 100)
    {
        return refuse(
            format!("{name:?} is no name of a treatment: expected 1 to 100 characters"),
            "give names like --treatments rolled,check",
        );
    }
    let strips = treatments.len() * setup.blocks as usize;
    if strips > MOST_ZONES {
        return refuse(
            format!("{strips} strips were asked for, expected at most {MOST_ZONES}"),
            "ask for fewer --blocks",
        );
    }
    let amounts = [
        ("price", setup.price_per_bu),
        ("cost", setup.cost_per_ac),
        ("expected yield", setup.expected_yield_kg_ha),
    ];
    for (what, value) in amounts {
        if value.is_some_and(|value| !value.is_finite() || value <= 0.0) {
            return refuse(
                format!(
                    "the {what} is {}, expected more than 0",
                    value.unwrap_or(f64::NAN)
                ),
                "leave it out when it is not known",
            );
        }
    }
    let Some(check) = check_among(treatments, setup.check.as_deref()) else {
        return refuse(
            match &setup.check {
                Some(name) => format!("the check {name:?} is not among the treatments"),
                None => "no treatment is called check, control or untreated".to_owned(),
            },
            "name the one that the others are compared with: --check NAME",
        );
    };
    Ok(check)
}

/// The log's own plane when there is a log, so that nothing is projected twice; otherwise one around
/// the middle of the field.
fn plane_of(
    ground: &MultiPolygon<f64>,
    harvest: Option<&CleaningOutcome>,
) -> Result<LocalPlane, JobError> {
    if let Some(harvest) = harvest {
        return Ok(harvest.plane.clone());
    }
    let bounds = ground.bounding_rect().ok_or(LayoutError::NoGround)?;
    let middle = bounds.center();
    Ok(LocalPlane::around(middle.x, middle.y)?)
}

/// The strips of a layout as the strips file holds them.
fn strips(
    layout: &PlannedLayout,
    treatments: &[String],
    plane: &LocalPlane,
) -> Result<Vec<Strip>, JobError> {
    layout
        .strips
        .iter()
        .map(|strip| {
            Ok(Strip {
                strip_id: strip.number.to_string(),
                treatment: treatments[strip.treatment].clone(),
                block: Some(strip.block.to_string()),
                ground: to_lon_lat(&layout.outline(strip), plane)?,
                row: strip.number as u32,
            })
        })
        .collect()
}

fn strip_records(layout: &PlannedLayout, treatments: &[String]) -> Vec<StripRecord> {
    let width_m = layout.strip_width_m();
    layout
        .strips
        .iter()
        .map(|strip| StripRecord {
            strip_id: strip.number.to_string(),
            treatment: treatments[strip.treatment].clone(),
            block: strip.block.to_string(),
            width_m,
            length_m: strip.length_m(),
            area_ha: strip.length_m() * width_m / M2_PER_HA,
            pieces: strip.runs.len(),
        })
        .collect()
}

fn randomisation(layout: &PlannedLayout, setup: &PlanSetup) -> Randomisation {
    let names = |order: Vec<usize>| -> Vec<String> {
        order
            .into_iter()
            .map(|t| setup.treatments[t].clone())
            .collect()
    };
    Randomisation {
        generator: "SplitMix64, one stream, orders by Durstenfeld's shuffle".into(),
        seed: setup.seed,
        orders: layout.orders().into_iter().map(names).collect(),
        all_blocks_one_order: layout.one_order,
    }
}

fn power(
    setup: &PlanSetup,
    layout: &PlannedLayout,
    blocks_that_fit: usize,
    variation: &Variation,
) -> Result<PowerRecord, JobError> {
    let size = TrialSize {
        treatments: setup.treatments.len(),
        blocks: layout.blocks,
    };
    let bushel_kg = setup.crop.bushel_kg;
    let amounts = |in_sd: f64| variation.amounts(in_sd, bushel_kg);
    let needed = |gain: f64| TrialSize::blocks_for(gain, size.treatments, Sides::Two);
    let wanted = match setup.gain {
        None => None,
        Some(gain) => {
            let in_sd = variation.in_sd(gain, "--gain")?;
            Some(WantedGain {
                gain: amounts(in_sd),
                blocks_needed: needed(in_sd),
                power: Some(size.power(in_sd, Sides::Two)).filter(|p| p.is_finite()),
            })
        }
    };
    let break_even = match (setup.price_per_bu, setup.cost_per_ac) {
        (Some(price), Some(cost)) => {
            let bu_ac = cost / price;
            let gain = YieldAmount::KgHa(kg_per_ha(bu_ac, bushel_kg));
            // Without a yield, bushels and percent do not meet: the break-even stands alone.
            let in_sd = variation.in_sd(gain, "--cost").ok();
            Some(BreakEvenGain {
                bu_ac,
                kg_ha: kg_per_ha(bu_ac, bushel_kg),
                shown: in_sd.map(|gain| size.smallest_gain(Sides::Two) <= gain),
                blocks_needed: in_sd.and_then(needed),
            })
        }
        _ => None,
    };
    Ok(PowerRecord {
        method: if size.treatments == 2 {
            "paired_strips"
        } else {
            "randomized_blocks"
        }
        .into(),
        blocks: size.blocks,
        df: size.df(),
        level: 0.05,
        power: checkstrip_trial::power::POWER,
        sd: amounts(1.0),
        sd_source: variation.source.key().into(),
        measured: variation.measured,
        expected_yield_kg_ha: variation.expected_yield_kg_ha,
        smallest_gain: amounts(size.smallest_gain(Sides::Two)),
        smallest_gain_on_all_ground: amounts(
            TrialSize {
                blocks: blocks_that_fit,
                ..size
            }
            .smallest_gain(Sides::Two),
        ),
        smallest_gain_one_sided: amounts(size.smallest_gain(Sides::One)),
        wanted,
        break_even,
    })
}

#[cfg(test)]
mod tests;
