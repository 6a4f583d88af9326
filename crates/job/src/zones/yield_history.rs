//! What the ground yielded in earlier years: past harvests of the same field, each cleaned like the
//! harvest itself and set in relation to its own mean, averaged over the ground around each record.
//!
//! The trial's own harvest must never be among them. Ground on which a treated strip happened to yield
//! well would become good ground, and the treatment would seem to pay on good ground.

use crate::compare::{cleaned, read};
use crate::error::JobError;
use crate::setup::{LogSetup, TrialSetup};
use checkstrip_cleaning::{BesideTheRecords, CleaningOutcome, restore};
use checkstrip_model::results::PastHarvest;
use checkstrip_model::{CleanLog, Column, Crop, FieldLog, Problem, SourceFile, Warning};
use checkstrip_spatial::local_plane::LocalPlane;
use checkstrip_spatial::zones::local_mean;
use checkstrip_words::{said_values, said_warning, warning};
use std::path::PathBuf;

/// Records of a past harvest that a place needs around it.
const FEWEST_RECORDS: usize = 5;

/// Past yields under the records of the trial.
pub(super) struct YieldHistory {
    /// For each record the mean over the past harvests around it of their yields; 1 is the mean of each
    /// harvest. `NaN` where no harvest has enough records.
    pub(super) relative_yield: Vec<f64>,
    pub(super) harvests: Vec<PastHarvest>,
    pub(super) warnings: Vec<Warning>,
}

/// Refuses past harvests that are files of the harvest itself.
///
/// # Errors
/// The first of them.
pub(super) fn check_not_the_harvest(
    own: &[PathBuf],
    harvests: &[Vec<PathBuf>],
) -> Result<(), Problem> {
    let real = |path: &PathBuf| path.canonicalize().unwrap_or_else(|_| path.clone());
    let own: Vec<PathBuf> = own.iter().map(real).collect();
    match harvests
        .iter()
        .flatten()
        .find(|file| own.contains(&real(file)))
    {
        Some(file) => Err(own_harvest(
            &file.display().to_string(),
            "this is the harvest that is being judged",
        )),
        None => Ok(()),
    }
}

fn own_harvest(file: &str, why: &str) -> Problem {
    Problem::new(file, format!("{why}: it cannot say where the ground yields well")).hint(
        "zones made of the yields that are judged find a gain wherever luck was good: give harvests of \
         earlier years only",
    )
}

/// What one past harvest says of the ground under the records of the trial.
#[derive(Debug)]
pub(crate) struct PastYield {
    /// The first of its files as given.
    shown: String,
    files: Vec<SourceFile>,
    kept: usize,
    /// For each record of the trial the mean of the harvest's yields around it, over the harvest's mean;
    /// `NaN` where it has too few records.
    around: Vec<f64>,
    warnings: Vec<Warning>,
}

/// Reads, cleans and averages the past `harvests` over the records of `outcome`.
///
/// A past harvest is read by the headers its files have, with the usual cleaning settings, whatever the
/// crop: relative to its own mean, neither bushel weight nor market moisture matters. A cleaned export is
/// taken as it is.
///
/// # Errors
/// A log that cannot be used, or that is the harvest itself: by its bytes, or because it was written at
/// the same time.
pub(super) fn past_yields(
    setup: &TrialSetup,
    harvests: &[Vec<PathBuf>],
    outcome: &CleaningOutcome,
    radius_m: f64,
) -> Result<Vec<PastYield>, JobError> {
    let trial = &outcome.log;
    let targets: Vec<[f64; 2]> = (0..trial.len())
        .map(|record| {
            if trial.pass[record] > 0 {
                trial.footprint_middle(record)
            } else {
                [f64::NAN; 2]
            }
        })
        .collect();
    let one = |files: &Vec<PathBuf>| {
        let past = past_harvest(files, setup, &trial.log)?;
        let (points, values) = relative_yields(&past.log, &past.plane, &outcome.plane)?;
        let shown = files.first().map(|file| file.display().to_string());
        Ok(PastYield {
            shown: shown.unwrap_or_default(),
            around: local_mean(&points, &values, &targets, radius_m, FEWEST_RECORDS),
            kept: past.log.status.iter().filter(|s| s.is_kept()).count(),
            files: past.log.log.files,
            warnings: past.warnings,
        })
    };
    harvests.iter().map(one).collect()
}

/// Averages past harvests; `ground_m2` is each record's ground on the strips.
pub(super) fn yield_history(past: &[PastYield], ground_m2: &[f64]) -> YieldHistory {
    let mut sum = vec![0.0; ground_m2.len()];
    let mut count = vec![0u32; ground_m2.len()];
    let mut found = YieldHistory {
        relative_yield: vec![],
        harvests: vec![],
        warnings: vec![],
    };
    let all_m2: f64 = ground_m2.iter().sum();
    for past in past {
        let (mut covered, mut covered_m2) = (0, 0.0);
        for (record, value) in past.around.iter().enumerate() {
            if !value.is_finite() {
                continue;
            }
            sum[record] += value;
            count[record] += 1;
            if ground_m2[record] > 0.0 {
                covered += 1;
                covered_m2 += ground_m2[record];
            }
        }
        let shown = &past.shown;
        if covered_m2 < (1.0 - super::WORTH_A_WARNING) * all_m2 {
            found.warnings.push(warning(
                "past_harvest_gaps",
                said_values!(file = shown, share = 100.0 * covered_m2 / all_m2),
            ));
        }
        let doubts = past.warnings.iter().map(|doubt| {
            warning(
                "past_harvest",
                said_values!(file = shown, said = said_warning(doubt)),
            )
        });
        found.warnings.extend(doubts);
        found.harvests.push(PastHarvest {
            files: past.files.clone(),
            kept: past.kept,
            records_covered: covered,
        });
    }
    found.relative_yield = sum
        .iter()
        .zip(&count)
        .map(|(sum, &count)| sum / f64::from(count))
        .collect();
    found
}

struct Past {
    log: CleanLog,
    plane: LocalPlane,
    warnings: Vec<Warning>,
}

fn past_harvest(files: &[PathBuf], setup: &TrialSetup, own: &FieldLog) -> Result<Past, JobError> {
    // Neither bushels nor market moisture change a yield relative to the log's mean; limits are wide,
    // because the field may have borne another crop.
    let crop = Crop::custom("past harvest", 60.0, 13.0);
    let past = LogSetup {
        header_width_m: setup.log.header_width_m,
        ..LogSetup::new(files.to_vec(), Some(crop))
    };
    let log = read(&past)?;
    let twin = log
        .files
        .iter()
        .find(|file| own.files.iter().any(|own| own.sha256 == file.sha256));
    if let Some(twin) = twin {
        return Err(own_harvest(
            &twin.path,
            "this file holds the harvest that is being judged",
        )
        .into());
    }
    if let (Some(a), Some(b)) = (time_span(&log), time_span(own))
        && a[0] <= b[1]
        && b[0] <= a[1]
    {
        let file = log.first_path();
        let why = "this log was written at the same time as the harvest that is being judged";
        return Err(own_harvest(file, why).into());
    }
    if log.cleaned_status.is_some() {
        let file = log.first_path().to_owned();
        let (log, plane) =
            restore(log, &past.crop).map_err(|source| JobError::Cleaning { file, source })?;
        return Ok(Past {
            log,
            plane,
            warnings: vec![],
        });
    }
    let outcome = cleaned(log, &past, BesideTheRecords::default())?;
    Ok(Past {
        log: outcome.log,
        plane: outcome.plane,
        warnings: outcome.warnings,
    })
}

/// First and last moment of a log whose clock tells the date, Unix time in seconds.
fn time_span(log: &FieldLog) -> Option<[f64; 2]> {
    /// 1 January 1990: earlier than any yield log.
    const OLDEST: f64 = 631_152_000.0;
    let moments = log.numbers(Column::Timestamp)?.iter().copied();
    let dated = moments.filter(|moment| *moment > OLDEST && moment.is_finite());
    let [first, last] = dated.fold(
        [f64::INFINITY, f64::NEG_INFINITY],
        |[first, last], moment| [first.min(moment), last.max(moment)],
    );
    (first <= last).then_some([first, last])
}

/// Kept records in the trial's plane, and their yields over the mean of all of them by ground.
fn relative_yields(
    log: &CleanLog,
    plane: &LocalPlane,
    trial: &LocalPlane,
) -> Result<(Vec<[f64; 2]>, Vec<f64>), JobError> {
    let kept: Vec<usize> = (0..log.len())
        .filter(|&record| log.status[record].is_kept() && log.yield_kg_ha[record].is_finite())
        .collect();
    let ground = |record: usize| log.new_area_m2(record);
    let area: f64 = kept.iter().map(|&record| ground(record)).sum();
    let grain: f64 = kept
        .iter()
        .map(|&record| ground(record) * log.yield_kg_ha[record])
        .sum();
    let mean = grain / area;
    let mut points: Vec<[f64; 2]> = kept
        .iter()
        .map(|&record| log.footprint_middle(record))
        .collect();
    plane.points_to_lon_lat(&mut points)?;
    trial.points_to_plane(&mut points)?;
    let values = kept.iter().map(|&record| log.yield_kg_ha[record] / mean);
    Ok((points, values.collect()))
}
