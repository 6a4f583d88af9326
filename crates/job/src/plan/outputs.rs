//! What a plan leaves in its folder: strips as GeoJSON and Shapefile, a task for the machine's
//! terminal, the sheet for the cab, a trial file for after harvest and `plan.json`. Each file is
//! written under a temporary name and renamed; `plan.json` comes last: where it is, the rest is
//! complete.

use super::Planned;
use super::trial_stub::trial_stub;
use crate::error::JobError;
use crate::ground::{rings, to_lon_lat};
use crate::outputs::{make_folder, write_json};
use checkstrip_formats::{
    GuidanceGroup, GuidanceLine, TaskData, TreatmentZone, write_bytes_atomically,
    write_strips_geojson, write_strips_shapefile, write_task_data,
};
use checkstrip_model::units::{M2_PER_HA, UnitSystem};
use checkstrip_spatial::maps::{PlanMap, StripOutline, plan_map};
use checkstrip_trial::layout::PlannedStrip;
use std::path::{Path, PathBuf};

/// Writes everything a plan leaves into `dir`, which is made when absent. Returns the files written,
/// the sheet for the cab first.
///
/// # Errors
/// When the folder cannot be made or written, or the sheet cannot be drawn.
pub fn write_plan(
    planned: &Planned,
    dir: &Path,
    units: UnitSystem,
) -> Result<Vec<PathBuf>, JobError> {
    make_folder(dir)?;
    let path = |name: &str| dir.join(name);
    write_strips_geojson(&path("strips.geojson"), &planned.strips)?;
    write_strips_shapefile(&path("strips.shp"), &planned.strips)?;
    write_task_data(&path("TASKDATA.XML"), &task(planned)?)?;
    write_bytes_atomically(&path("plan.png"), &sheet(planned, units)?)?;
    let stub = trial_stub(&planned.plan);
    write_bytes_atomically(&path("trial.toml"), stub.as_bytes())?;
    write_json(&path("plan.json"), &planned.plan)?;
    let names = [
        "plan.png",
        "strips.geojson",
        "strips.shp",
        "TASKDATA.XML",
        "trial.toml",
        "plan.json",
    ];
    Ok(names.map(path).to_vec())
}

/// Guidance for the treatment starts on the middle of each strip's first pass, for the combine on
/// the middle of the first swath from the strip's edge; further passes follow to the right.
fn task(planned: &Planned) -> Result<TaskData, JobError> {
    let plan = &planned.plan;
    let implement = plan.parameters.implement_width_m;
    let header = plan.parameters.header_width_m;
    let named = |strip: &PlannedStrip| {
        let treatment = &plan.parameters.treatments[strip.treatment];
        format!("{} {treatment}", strip.number)
    };
    let group = |name: &str, width_m: f64, passes: u32| -> Result<GuidanceGroup, JobError> {
        let mut lines = Vec::new();
        for strip in &planned.layout.strips {
            let mut ends = planned.layout.line_along(strip, width_m / 2.0);
            planned.plane.points_to_lon_lat(&mut ends)?;
            lines.push(GuidanceLine {
                name: named(strip),
                ends,
                heading_deg: plan.ground.direction_deg,
                width_m,
                more_to_the_right: passes - 1,
            });
        }
        Ok(GuidanceGroup {
            name: name.to_owned(),
            lines,
        })
    };
    let mut guidance = vec![group("Treatment passes", implement, plan.strip_passes)?];
    if plan.swaths.from_strip_edge > 0 {
        guidance.push(group(
            "Harvest swaths",
            header,
            plan.swaths.from_strip_edge,
        )?);
    }
    let zones = planned.layout.strips.iter().zip(&planned.strips);
    Ok(TaskData {
        field: plan.name.clone(),
        boundary: to_lon_lat(&planned.boundary, &planned.plane)?,
        area_m2: plan.ground.field_ha * M2_PER_HA,
        task: format!("Strip trial {}", plan.name),
        guidance,
        zones: zones
            .map(|(strip, drawn)| TreatmentZone {
                name: named(strip),
                ground: drawn.ground.clone(),
                area_m2: strip.length_m() * planned.layout.strip_width_m(),
            })
            .collect(),
    })
}

fn sheet(planned: &Planned, units: UnitSystem) -> Result<Vec<u8>, JobError> {
    let (plan, layout) = (&planned.plan, &planned.layout);
    let outlines: Vec<StripOutline> = layout
        .strips
        .iter()
        .zip(&plan.strips)
        .map(|(strip, record)| StripOutline {
            strip_id: record.strip_id.clone(),
            treatment: record.treatment.clone(),
            block: record.block.clone(),
            rings: rings(&layout.outline(strip)),
            yield_kg_ha: None,
            is_check: record.treatment == plan.parameters.check,
        })
        .collect();
    let lengths: Vec<f64> = plan.strips.iter().map(|strip| strip.length_m).collect();
    let between: Vec<[[f64; 2]; 2]> = layout
        .strips
        .iter()
        .flat_map(|strip| {
            (1..layout.passes).flat_map(move |pass| {
                layout.lines_along(strip, layout.implement_width_m * f64::from(pass))
            })
        })
        .collect();
    Ok(plan_map(&PlanMap {
        name: &plan.name,
        units,
        boundary: &rings(&planned.boundary),
        ground: &rings(&planned.ground),
        strips: &outlines,
        lengths_m: &lengths,
        pass_lines: &between,
        implement_width_m: layout.implement_width_m,
        passes: layout.passes,
        direction_deg: plan.ground.direction_deg,
    })?)
}
