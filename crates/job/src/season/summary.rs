//! What a season says when its fields are done: every field with its answer, one pooled answer per crop, the
//! report, and the fields that failed. It is put together anew at the end of every run from the fields' own
//! results files, which takes next to nothing beside the fields themselves.

use super::SeasonOptions;
use super::ledger::{FieldEntry, Ledger};
use super::season_folder::SeasonFolder;
use crate::error::JobError;
use crate::outputs::{quoted, remove_stale, this_tool, write_json};
use crate::pool::{
    PoolSetup, ResultsFile, crop_key, pool_results, read_results_file, same_name, write_pooled,
};
use crate::report_files::write_report;
use checkstrip_formats::{FormatError, sha256_of_file, write_bytes_atomically};
use checkstrip_model::results::{
    Pooled, SEASON_SCHEMA, Season, SeasonField, SeasonPooled, SeasonResults, SeasonTreatment,
};
use checkstrip_model::units::bu_per_acre;
use checkstrip_report::{SeasonReport, forest_plot, render_season};
use checkstrip_spatial::maps::{FieldsMap, MappedField, fields_map};
use checkstrip_words::{Reader, said_values, warning};
use std::path::Path;

/// Folder of the pooled answers, one folder in it for each crop.
pub(super) const POOLED: &str = "pooled";

/// Writes `season.json`, `season.csv`, `fields.png`, `report.html`, `report.pdf` and `pooled/CROP/` into the season's folder.
///
/// # Errors
/// When a file cannot be read or written, or a picture or the report cannot be made.
pub(super) fn write_summary(
    folder: &SeasonFolder,
    ledger: &Ledger,
    options: &SeasonOptions,
) -> Result<Season, JobError> {
    let mut fields = Vec::with_capacity(ledger.fields.len());
    for entry in &ledger.fields {
        fields.push(field(folder, entry)?);
    }
    let words = options.language.read()?;
    let reader = Reader {
        units: options.units,
        words: &words,
        paper: options.paper,
    };
    let pooled = pool_crops(folder, &fields, reader)?;
    let without = fields.iter().filter(|field| field.results.is_none());
    let without = without.count();
    let mut warnings = Vec::new();
    if without > 0 {
        let values = said_values!(count = without);
        warnings.push(warning("fields_without_results", values));
    }
    let season = Season {
        schema: SEASON_SCHEMA.into(),
        tool: this_tool(),
        name: ledger.season.clone(),
        fields,
        pooled: pooled.iter().map(|crop| crop.summary.clone()).collect(),
        warnings,
    };
    let dir = folder.path();
    let maps = write_maps(&season, dir, reader)?;
    write_bytes_atomically(&dir.join("season.csv"), table(&season).as_bytes())?;
    let report = SeasonReport {
        season: &season,
        pooled: pooled
            .iter()
            .filter_map(|crop| Some((crop.answer.as_ref()?, crop.forest.as_slice())))
            .collect(),
        maps: &maps,
    };
    write_report(dir, &render_season(&report, reader)?, reader)?;
    write_json(&dir.join("season.json"), &season)?;
    Ok(season)
}

/// One field, as the ledger and its results tell.
fn field(folder: &SeasonFolder, entry: &FieldEntry) -> Result<SeasonField, JobError> {
    let name = if entry.name.is_empty() {
        &entry.folder
    } else {
        &entry.name
    };
    let mut field = SeasonField {
        folder: entry.folder.clone(),
        field: name.clone(),
        reason: entry.reason.clone(),
        results: None,
    };
    if entry.results_sha256.is_some() {
        let file = read_results_file(folder.results_of(&entry.folder))?;
        field.results = Some(results(&file));
    }
    Ok(field)
}

fn results(file: &ResultsFile) -> SeasonResults {
    let content = &file.content;
    let bushel_kg = content.field.bushel_kg;
    let bushels = |kg_ha: f64| bu_per_acre(kg_ha, bushel_kg);
    let mut treatments: Vec<SeasonTreatment> = Vec::new();
    for found in &content.comparisons {
        // The first comparison of a treatment is its headline.
        if treatments
            .iter()
            .any(|earlier| earlier.treatment == found.treatment)
        {
            continue;
        }
        let money = content
            .payoff
            .iter()
            .find(|money| money.treatment == found.treatment);
        let interval = match found.interval_95_kg_ha {
            [Some(low), Some(high)] => Some([low, high]),
            _ => None,
        };
        treatments.push(SeasonTreatment {
            treatment: found.treatment.clone(),
            check: found.check.clone(),
            method: found.method.clone(),
            blocks: found.blocks,
            advantage_kg_ha: found.advantage_kg_ha,
            advantage_bu_ac: found.advantage_kg_ha.map(bushels),
            interval_95_kg_ha: interval,
            interval_95_bu_ac: interval.map(|ends| ends.map(bushels)),
            break_even_bu_ac: money.and_then(|money| money.break_even_bu_ac),
            net_per_ac: money.and_then(|money| money.net_per_ac),
            odds_it_pays: money.and_then(|money| money.odds_it_pays),
        });
    }
    SeasonResults {
        sha256: file.sha256.clone(),
        crop: content.field.crop.clone(),
        bushel_kg,
        market_moisture_pct: content.field.market_moisture_pct,
        centre: content.input.centre,
        warnings: content.warnings.len(),
        treatments,
    }
}

/// The pooled answer of one crop.
struct PooledCropAnswer {
    summary: SeasonPooled,
    answer: Option<Pooled>,
    forest: Vec<u8>,
}

/// Pools the fields crop by crop; a folder of a crop that the season has no more is taken away.
fn pool_crops(
    folder: &SeasonFolder,
    fields: &[SeasonField],
    reader: Reader,
) -> Result<Vec<PooledCropAnswer>, JobError> {
    let mut crops: Vec<String> = fields
        .iter()
        .filter_map(|field| Some(crop_key(&field.results.as_ref()?.crop)))
        .collect();
    crops.sort_unstable();
    crops.dedup();
    let parent = folder.path().join(POOLED);
    let mut answers = Vec::with_capacity(crops.len());
    for crop in crops {
        let of_crop = |field: &&SeasonField| {
            let results = field.results.as_ref();
            results.is_some_and(|results| crop_key(&results.crop) == crop)
        };
        let files = fields.iter().filter(of_crop).map(|field| {
            let file = folder.results_of(&field.folder);
            file.display().to_string()
        });
        let setup = PoolSetup {
            results: files.collect(),
            crop: Some(crop.clone()),
            treatments: Vec::new(),
            base: folder.path().to_owned(),
        };
        let mut summary = SeasonPooled {
            crop: crop.clone(),
            folder: None,
            sha256: None,
            reason: None,
        };
        let (mut answer, mut forest) = (None, Vec::new());
        match pool_results(&setup) {
            Ok(pooled) => {
                let name = format!("{POOLED}/{}", folder_of_crop(&crop));
                let dir = folder.path().join(&name);
                write_pooled(&pooled, &dir, reader)?;
                forest = forest_plot(&pooled, reader)?;
                summary.sha256 = Some(sha256_of_file(&dir.join("pooled.json"))?);
                summary.folder = Some(name);
                answer = Some(pooled);
            }
            Err(error) => summary.reason = Some(error.to_string()),
        }
        answers.push(PooledCropAnswer {
            summary,
            answer,
            forest,
        });
    }
    let kept: Vec<&str> = answers
        .iter()
        .filter_map(|answer| answer.summary.folder.as_deref())
        .collect();
    remove_other_crops(&parent, &kept)?;
    Ok(answers)
}

/// A crop's name as a folder can have it.
fn folder_of_crop(crop: &str) -> String {
    crop.chars()
        .map(|letter| {
            if letter.is_alphanumeric() {
                letter
            } else {
                '-'
            }
        })
        .collect()
}

fn remove_other_crops(parent: &Path, kept: &[&str]) -> Result<(), JobError> {
    for entry in std::fs::read_dir(parent).into_iter().flatten().flatten() {
        let name = format!("{POOLED}/{}", entry.file_name().to_string_lossy());
        if kept.contains(&name.as_str()) {
            continue;
        }
        let path = entry.path();
        std::fs::remove_dir_all(&path).map_err(|source| FormatError::Io {
            path,
            action: "removed",
            source,
        })?;
    }
    Ok(())
}

/// Maps of the fields, one per treatment: `fields.png`, numbered where there are several. Takes away those of an
/// earlier run. Returns each treatment with its map.
fn write_maps(
    season: &Season,
    dir: &Path,
    reader: Reader,
) -> Result<Vec<(String, Vec<u8>)>, JobError> {
    let mut maps: Vec<(String, Vec<u8>)> = Vec::new();
    for treatment in treatments(season) {
        let fields = season.fields.iter().filter_map(|field| {
            let results = field.results.as_ref()?;
            let mut says = results.treatments.iter();
            Some(MappedField {
                name: &field.field,
                centre: results.centre?,
                says: says.find(|says| same_name(&says.treatment, treatment))?,
            })
        });
        let map = FieldsMap {
            season: &season.name,
            treatment,
            fields: fields.collect(),
            reader,
        };
        maps.push((treatment.to_owned(), fields_map(&map)?));
    }
    let file = |place: usize| match place {
        0 => dir.join("fields.png"),
        _ => dir.join(format!("fields_{}.png", place + 1)),
    };
    for (place, (_, map)) in maps.iter().enumerate() {
        write_bytes_atomically(&file(place), map)?;
    }
    let stale = (maps.len()..).map(file).take_while(|file| file.exists());
    stale.map(remove_stale).collect::<Result<Vec<()>, _>>()?;
    Ok(maps)
}

/// Every treatment compared, as the first field spells it.
fn treatments(season: &Season) -> Vec<&str> {
    let mut names: Vec<&str> = Vec::new();
    let all = season
        .fields
        .iter()
        .filter_map(|field| field.results.as_ref());
    for says in all.flat_map(|results| &results.treatments) {
        if !names.iter().any(|name| same_name(name, &says.treatment)) {
            names.push(says.treatment.trim());
        }
    }
    names
}

/// `season.csv`: a row for each treatment of each field, and one for each field without results.
fn table(season: &Season) -> String {
    let mut table = String::from(
        "folder,field,crop,treatment,check,method,blocks,advantage_kg_ha,low_95_kg_ha,high_95_kg_ha,\
         advantage_bu_ac,low_95_bu_ac,high_95_bu_ac,break_even_bu_ac,net_per_ac,odds_it_pays,warnings,lon,lat,\
         results_sha256,reason\n",
    );
    let number = |value: Option<f64>, decimals: usize| {
        let value = value.filter(|value| value.is_finite());
        value.map_or(String::new(), |value| format!("{value:.decimals$}"))
    };
    let none = SeasonTreatment::default();
    for field in &season.fields {
        let results = field.results.as_ref();
        let treatments = results.map_or(&[][..], |results| &results.treatments);
        let rows = if treatments.is_empty() {
            std::slice::from_ref(&none)
        } else {
            treatments
        };
        for row in rows {
            let end = |ends: Option<[f64; 2]>, at: usize| ends.map(|ends| ends[at]);
            let centre = results.and_then(|results| results.centre);
            let reason = field.reason.as_deref().unwrap_or_default();
            let reason = reason.replace('\n', " ");
            let cells = [
                quoted(&field.folder),
                quoted(&field.field),
                quoted(results.map_or("", |results| &results.crop)),
                quoted(&row.treatment),
                quoted(&row.check),
                quoted(&row.method),
                match row.treatment.is_empty() {
                    true => String::new(),
                    false => row.blocks.to_string(),
                },
                number(row.advantage_kg_ha, 3),
                number(end(row.interval_95_kg_ha, 0), 3),
                number(end(row.interval_95_kg_ha, 1), 3),
                number(row.advantage_bu_ac, 4),
                number(end(row.interval_95_bu_ac, 0), 4),
                number(end(row.interval_95_bu_ac, 1), 4),
                number(row.break_even_bu_ac, 4),
                number(row.net_per_ac, 4),
                number(row.odds_it_pays, 4),
                results.map_or(String::new(), |results| results.warnings.to_string()),
                number(end(centre, 0), 6),
                number(end(centre, 1), 6),
                quoted(results.map_or("", |results| &results.sha256)),
                quoted(&reason),
            ];
            table.push_str(&cells.join(","));
            table.push('\n');
        }
    }
    table
}
