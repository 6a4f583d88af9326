//! What judging a planting leaves in its folder: report, tables, maps and results. `planting.json` comes last:
//! where it is, the rest is complete.

use std::path::{Path, PathBuf};

use checkstrip_formats::write_bytes_atomically;
use checkstrip_model::units::UnitSystem;
use checkstrip_report::{PlanterReport, PlantingReport, ReportMap, render_planting};

use super::maps::PlanterMap;
use super::{Planted, maps, tables};
use crate::error::JobError;
use crate::outputs::{make_folder, remove_stale, write_json};

/// Writes `planting.html`, `planting.json`, `rows.csv`, `passes.csv` and `maps/*.png`. Returns the files
/// written, the report first. Maps of an earlier run that this one does not draw are taken away.
///
/// # Errors
/// When the folder cannot be made or written, or a map cannot be drawn.
pub fn write_planting(
    planted: &Planted,
    dir: &Path,
    units: UnitSystem,
    progress: &(dyn Fn(&str) + Sync),
) -> Result<Vec<PathBuf>, JobError> {
    let planters = &planted.results.planters;
    let map_folder = dir.join("maps");
    make_folder(&map_folder)?;
    progress("drawing maps");
    let mut written = Vec::new();
    let mut drawn = Vec::new();
    for place in 0..planters.len() {
        let of_planter = maps::draw(planted, place, units)?;
        for map in &of_planter {
            let path = map_folder.join(map_name(map.key, place, planters.len()));
            write_bytes_atomically(&path, &map.png)?;
            written.push(path);
        }
        drawn.push(of_planter);
    }
    remove_other_maps(&map_folder, &written)?;
    progress("writing the report");
    let names = ["planting.html", "rows.csv", "passes.csv", "planting.json"];
    let [report, rows, passes, json] = names.map(|name| dir.join(name));
    write_bytes_atomically(&report, page(planted, &drawn, units)?.as_bytes())?;
    write_bytes_atomically(&rows, tables::rows(planters)?.as_bytes())?;
    write_bytes_atomically(&passes, tables::passes(planters)?.as_bytes())?;
    write_json(&json, &planted.results)?;
    written.splice(0..0, [report, rows, passes, json]);
    Ok(written)
}

/// The report, each planter with its maps.
fn page(
    planted: &Planted,
    drawn: &[Vec<PlanterMap>],
    units: UnitSystem,
) -> Result<String, JobError> {
    let results = &planted.results;
    let shown: Vec<(Vec<String>, &Vec<PlanterMap>)> = drawn
        .iter()
        .enumerate()
        .map(|(place, maps)| {
            // Anchors are unique over the page.
            let keys = maps.iter().map(|map| format!("{}-{}", map.key, place + 1));
            (keys.collect(), maps)
        })
        .collect();
    let maps: Vec<Vec<ReportMap>> = shown
        .iter()
        .map(|(keys, maps)| {
            let maps = keys.iter().zip(maps.iter());
            maps.map(|(key, map)| ReportMap {
                key,
                title: map.title,
                caption: &map.caption,
                png: &map.png,
            })
            .collect()
        })
        .collect();
    let planters: Vec<PlanterReport> = results
        .planters
        .iter()
        .zip(&maps)
        .map(|(planter, maps)| PlanterReport {
            machine: planter.machine.as_deref(),
            findings: &planter.findings,
            maps,
        })
        .collect();
    let report = PlantingReport {
        field: &results.field.name,
        planters: &planters,
        warnings: &results.warnings,
        files: &results.input.files,
        tool: &results.tool,
        schema: &results.schema,
    };
    Ok(render_planting(&report, units)?)
}

/// `skips.png`; `planter_2_skips.png` where there are several planters.
fn map_name(key: &str, place: usize, planters: usize) -> String {
    match planters {
        1 => format!("{key}.png"),
        _ => format!("planter_{}_{key}.png", place + 1),
    }
}

/// Takes away maps of planters that an earlier run left.
fn remove_other_maps(folder: &Path, written: &[PathBuf]) -> Result<(), JobError> {
    let is_ours = |name: &str| {
        let key = match name
            .strip_prefix("planter_")
            .and_then(|rest| rest.split_once('_'))
        {
            Some((number, key)) if number.bytes().all(|digit| digit.is_ascii_digit()) => key,
            _ => name,
        };
        maps::keys().any(|of_map| key.strip_suffix(".png") == Some(of_map))
    };
    for entry in std::fs::read_dir(folder).into_iter().flatten().flatten() {
        let is_ours = entry.file_name().to_str().is_some_and(is_ours);
        if is_ours && !written.contains(&entry.path()) {
            remove_stale(entry.path())?;
        }
    }
    Ok(())
}
