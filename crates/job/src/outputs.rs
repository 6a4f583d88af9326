//! What a job leaves in its folder: results, strip table, cleaned log, maps, report and what is asked for beside them for
//! other programs, each written
//! under a temporary name and renamed, so that a killed run leaves no half file. `results.json` comes
//! last: where it is, the rest is complete.

use crate::compare::{CleanedField, Compared, cleaning, input};
use crate::error::JobError;
use crate::report_files::write_report;
use crate::setup::LogSetup;
use crate::strip_results::{StripsForm, write_strip_results};
use crate::surface::write_field_surface;
use checkstrip_cleaning::CleaningOutcome;
use checkstrip_formats::{
    FormatError, write_atomically, write_bytes_atomically, write_cleaned_csv,
    write_cleaned_geojson, write_cleaned_geopackage, write_cleaned_parquet,
};
use checkstrip_model::results::{Field, Results, Tool};
use checkstrip_model::{CleanLog, Warning};
use checkstrip_report::{ReportMap, render};
use checkstrip_spatial::maps::{MapKind, MapRequest, ZonesMap, advantage_along, draw, zones_map};
use checkstrip_spatial::surface::SurfaceMethod;
use checkstrip_words::{Reader, say};
use rayon::prelude::*;
use serde_json::json;
use std::path::{Path, PathBuf};

/// The form the cleaned log is written in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Export {
    /// GeoJSON up to 200,000 records, GeoParquet above.
    #[default]
    Auto,
    /// `cleaned.geojson`.
    GeoJson,
    /// `cleaned.parquet` (GeoParquet).
    Parquet,
    /// `cleaned.csv`.
    Csv,
    /// `cleaned.gpkg` (GeoPackage).
    GeoPackage,
    /// No cleaned log.
    None,
}

/// Above this many records a GeoJSON file is too heavy for most programs that open one.
const GEOJSON_RECORDS: usize = 200_000;

impl Export {
    fn file_name(self, records: usize) -> Option<&'static str> {
        match self {
            Export::Auto if records > GEOJSON_RECORDS => Some("cleaned.parquet"),
            Export::Auto | Export::GeoJson => Some("cleaned.geojson"),
            Export::Parquet => Some("cleaned.parquet"),
            Export::Csv => Some("cleaned.csv"),
            Export::GeoPackage => Some("cleaned.gpkg"),
            Export::None => None,
        }
    }
}

/// What a comparison writes that is chosen, beside what it always writes.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct WantedFiles {
    /// Form of the cleaned log.
    pub cleaned: Export,
    /// Forms of the strips with their results.
    strips: Vec<StripsForm>,
    /// Whether a yield surface is made, and how.
    pub surface: Option<SurfaceMethod>,
}

impl WantedFiles {
    /// A cleaned log, strips in these forms, each once, and a surface.
    pub fn new(
        cleaned: Export,
        strips: impl IntoIterator<Item = StripsForm>,
        surface: Option<SurfaceMethod>,
    ) -> WantedFiles {
        // In one order, so that the same wish is the same to a season.
        let mut strips: Vec<StripsForm> = strips.into_iter().collect();
        strips.sort_unstable();
        strips.dedup();
        WantedFiles {
            cleaned,
            strips,
            surface,
        }
    }
}

/// What a comparison left.
#[derive(Debug)]
pub struct ComparisonWritten {
    /// The files, the report first.
    pub files: Vec<PathBuf>,
    /// What was met while they were written that the results do not know of.
    pub warnings: Vec<Warning>,
}

/// Writes everything a comparison leaves: `results.json`, `strips.csv`, the cleaned log, `maps/*.png`,
/// `report.html`, `report.pdf`, and what else is `wanted`. Forms that are not wanted are taken away where an earlier run left them.
///
/// # Errors
/// When the folder cannot be made or written, or a map, the surface or the report cannot be made.
pub fn write_comparison(
    cleaned: &CleanedField,
    compared: &Compared,
    dir: &Path,
    wanted: &WantedFiles,
    reader: Reader,
    progress: &(dyn Fn(&str) + Sync),
) -> Result<ComparisonWritten, JobError> {
    let results = &compared.results;
    make_folder(&dir.join("maps"))?;
    progress("drawing maps and writing the cleaned log");
    let request = MapRequest {
        field: &results.field,
        reader,
        strips: &compared.outlines,
    };
    let (exported, maps) = rayon::join(
        || write_export(&cleaned.outcome, dir, wanted.cleaned),
        || write_maps(&cleaned.outcome, dir, &request, MapKind::ALL),
    );
    let (exported, mut maps) = (exported?, maps?);
    let of_strips = write_strip_results(compared, dir, &wanted.strips)?;
    if wanted.surface.is_some() {
        progress("drawing the yield surface");
    }
    let (of_surface, warnings) =
        write_field_surface(cleaned, results, dir, wanted.surface, reader.units)?;
    // Beside the strips' yields, which come first.
    let log = &cleaned.outcome.log;
    let along = write_maps_along(log, compared, dir, &request)?;
    maps.splice(1..1, along);
    maps.splice(1..1, write_zones_map(log, compared, dir, &request)?);

    progress("writing the report");
    let table = dir.join("strips.csv");
    write_bytes_atomically(&table, strip_table(results).as_bytes())?;
    let shown: Vec<ReportMap> = maps
        .iter()
        .map(|map| ReportMap {
            key: &map.key,
            title: &map.title,
            caption: &map.caption,
            png: &map.png,
        })
        .collect();
    let [report, paper] = write_report(dir, &render(results, &shown, reader)?, reader)?;
    let json = dir.join("results.json");
    write_json(&json, results)?;

    let mut written = vec![report, paper, json, table];
    written.extend(exported);
    written.extend(of_strips);
    written.extend(of_surface);
    written.extend(maps.into_iter().map(|map| map.path));
    Ok(ComparisonWritten {
        files: written,
        warnings,
    })
}

/// Writes what the cleaning alone leaves: `cleaning.json`, the cleaned log and maps of it. Returns
/// the files written.
///
/// # Errors
/// When the folder cannot be made or written, or a map cannot be made.
pub fn write_cleaning(
    outcome: &CleaningOutcome,
    setup: &LogSetup,
    field: &Field,
    dir: &Path,
    export: Export,
    reader: Reader,
) -> Result<(Vec<PathBuf>, serde_json::Value), JobError> {
    make_folder(&dir.join("maps"))?;
    let request = MapRequest {
        field,
        reader,
        strips: &[],
    };
    let kinds = [
        MapKind::YieldBefore,
        MapKind::YieldAfter,
        MapKind::RemovedRecords,
    ];
    let (exported, maps) = rayon::join(
        || write_export(outcome, dir, export),
        || write_maps(outcome, dir, &request, &kinds),
    );
    let mut written: Vec<PathBuf> = exported?.into_iter().collect();
    written.extend(maps?.into_iter().map(|map| map.path));
    let summary = json!({
        "schema": "checkstrip-cleaning/1",
        "tool": { "name": "checkstrip", "version": env!("CARGO_PKG_VERSION") },
        "field": field,
        "input": input(outcome, &setup.crop),
        "cleaning": cleaning(outcome, setup)?,
        "warnings": outcome.warnings,
    });
    let json = dir.join("cleaning.json");
    write_json(&json, &summary)?;
    written.push(json);
    Ok((written, summary))
}

pub(crate) fn make_folder(dir: &Path) -> Result<(), FormatError> {
    std::fs::create_dir_all(dir).map_err(|source| FormatError::Io {
        path: dir.to_owned(),
        action: "created",
        source,
    })
}

/// Writes the cleaned log and takes away one that an earlier run left in another form.
fn write_export(
    outcome: &CleaningOutcome,
    dir: &Path,
    export: Export,
) -> Result<Option<PathBuf>, JobError> {
    let log = &outcome.log;
    let name = export.file_name(log.len());
    for other in [
        "cleaned.geojson",
        "cleaned.parquet",
        "cleaned.csv",
        "cleaned.gpkg",
    ] {
        if Some(other) != name {
            let stale = dir.join(other);
            remove_stale(stale)?;
        }
    }
    let Some(name) = name else { return Ok(None) };
    let path = dir.join(name);
    match name {
        "cleaned.parquet" => write_cleaned_parquet(&path, log)?,
        "cleaned.csv" => write_cleaned_csv(&path, log)?,
        "cleaned.gpkg" => write_cleaned_geopackage(&path, log)?,
        _ => write_cleaned_geojson(&path, log)?,
    }
    Ok(Some(path))
}

/// Takes away a file that an earlier run left and this one does not write.
pub(crate) fn remove_stale(path: PathBuf) -> Result<(), FormatError> {
    if !path.exists() {
        return Ok(());
    }
    std::fs::remove_file(&path).map_err(|source| FormatError::Io {
        path,
        action: "removed",
        source,
    })
}

/// A map that was written.
struct DrawnMap {
    key: String,
    title: String,
    caption: String,
    path: PathBuf,
    png: Vec<u8>,
}

impl DrawnMap {
    /// Writes a map into `dir` as its key says.
    fn write(
        dir: &Path,
        key: String,
        title: String,
        caption: String,
        png: Vec<u8>,
    ) -> Result<DrawnMap, FormatError> {
        let path = dir.join("maps").join(format!("{key}.png"));
        write_bytes_atomically(&path, &png)?;
        Ok(DrawnMap {
            key,
            title,
            caption,
            path,
            png,
        })
    }
}

fn write_maps(
    outcome: &CleaningOutcome,
    dir: &Path,
    request: &MapRequest,
    kinds: &[MapKind],
) -> Result<Vec<DrawnMap>, JobError> {
    kinds
        .par_iter()
        .map(|&kind| {
            let png = draw(kind, &outcome.log, request)?;
            let words = request.reader.words;
            let (key, title) = (kind.key().to_owned(), kind.title(words));
            Ok(DrawnMap::write(dir, key, title, kind.caption(words), png)?)
        })
        .collect()
}

/// Maps of the advantage along the strips, one per treatment: `advantage_along.png`, numbered where
/// there are several. Takes away those of an earlier run.
fn write_maps_along(
    log: &CleanLog,
    compared: &Compared,
    dir: &Path,
    request: &MapRequest,
) -> Result<Vec<DrawnMap>, JobError> {
    let (along, axis) = (&compared.results.along_strips, compared.axis);
    let maps = match (along, axis) {
        (Some(along), Some(axis)) => {
            let several = along.treatments.len() > 1;
            let numbered = along.treatments.par_iter().enumerate();
            let drawn = numbered.map(|(place, shown)| {
                let png = advantage_along(log, request, along, shown, axis)?;
                let number = if several {
                    format!("_{}", place + 1)
                } else {
                    String::new()
                };
                let key = format!("{ALONG_MAP}{number}");
                let words = request.reader.words;
                let title = say!(
                    words,
                    "map-advantage-along-of",
                    treatment = &shown.treatment
                );
                let caption = say!(words, "map-advantage-along-caption");
                Ok(DrawnMap::write(dir, key, title, caption, png)?)
            });
            drawn.collect::<Result<Vec<DrawnMap>, JobError>>()?
        }
        _ => Vec::new(),
    };
    let of_this_run = |path: &Path| maps.iter().any(|map| map.path == path);
    for entry in std::fs::read_dir(dir.join("maps"))
        .into_iter()
        .flatten()
        .flatten()
    {
        let name = entry.file_name();
        let number = name
            .to_str()
            .and_then(|name| name.strip_prefix(ALONG_MAP)?.strip_suffix(".png"));
        let is_ours = number.is_some_and(|number| {
            let digits = number.strip_prefix('_').unwrap_or("x");
            number.is_empty() || digits.bytes().all(|digit| digit.is_ascii_digit())
        });
        if is_ours && !of_this_run(&entry.path()) {
            remove_stale(entry.path())?;
        }
    }
    Ok(maps)
}

/// The map of zones, when there are any; one that an earlier run left is taken away.
fn write_zones_map(
    log: &CleanLog,
    compared: &Compared,
    dir: &Path,
    request: &MapRequest,
) -> Result<Option<DrawnMap>, JobError> {
    let words = request.reader.words;
    let (key, title) = (ZonesMap::KEY.to_owned(), ZonesMap::title(words));
    let (Some(zones), Some(column)) = (&compared.results.zones, &compared.zones) else {
        remove_stale(dir.join("maps").join(format!("{key}.png")))?;
        return Ok(None);
    };
    let map = ZonesMap {
        request: *request,
        column,
        zones,
    };
    let png = zones_map(log, &map)?;
    let drawn = DrawnMap::write(dir, key, title, ZonesMap::caption(words), png)?;
    Ok(Some(drawn))
}

/// Name of the maps along the strips, before a number.
const ALONG_MAP: &str = "advantage_along";

/// Name and version of this program, for what it writes.
pub(crate) fn this_tool() -> Tool {
    Tool {
        name: "checkstrip".into(),
        version: env!("CARGO_PKG_VERSION").into(),
    }
}

pub(crate) fn write_json(path: &Path, value: &impl serde::Serialize) -> Result<(), JobError> {
    let text = serde_json::to_vec_pretty(value)?;
    Ok(write_atomically(path, |file| {
        file.write_all(&text)?;
        file.write_all(b"\n")
    })?)
}

/// `strips.csv`: one row a strip, the keys of the results file as headers.
fn strip_table(results: &Results) -> String {
    let mut table = String::from(
        "strip_id,treatment,block,records,area_m2,drawn_area_m2,covered_fraction,dry_mass_kg,\
         yield_kg_ha,yield_bu_ac,moisture_pct,mixed_fraction",
    );
    if results.stand.is_some() {
        table.push_str(",counts,plants_ha,plants_ac,sd_plants_ha,emergence_pct");
    }
    table.push('\n');
    let number = |value: Option<f64>, decimals: usize| {
        value.map_or(String::new(), |value| format!("{value:.decimals$}"))
    };
    for (at, strip) in results.strips.iter().enumerate() {
        table.push_str(&format!(
            "{},{},{},{},{:.2},{:.2},{:.4},{:.2},{},{},{},{:.4}",
            quoted(&strip.strip_id),
            quoted(&strip.treatment),
            quoted(&strip.block),
            strip.records,
            strip.area_m2,
            strip.drawn_area_m2,
            strip.covered_fraction,
            strip.dry_mass_kg,
            number(strip.yield_kg_ha, 2),
            number(strip.yield_bu_ac, 3),
            number(strip.moisture_pct, 2),
            strip.mixed_fraction,
        ));
        if let Some(stand) = results.stand.as_ref().map(|stand| &stand.strips[at]) {
            table.push_str(&format!(
                ",{},{},{},{},{}",
                stand.counts,
                number(stand.plants_ha, 0),
                number(stand.plants_ac, 0),
                number(stand.sd_plants_ha, 0),
                number(stand.emergence_pct, 1),
            ));
        }
        table.push('\n');
    }
    table
}

/// A CSV cell: quoted where RFC 4180 asks for it.
pub(crate) fn quoted(cell: &str) -> String {
    if cell.contains([',', '"', '\n', '\r']) {
        format!("\"{}\"", cell.replace('"', "\"\""))
    } else {
        cell.to_owned()
    }
}
