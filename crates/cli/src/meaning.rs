//! From what was typed to what was meant: options become the settings the job takes.

use crate::arguments::{CompareArguments, LogArguments};
use anyhow::{Context, bail};
use checkstrip_cleaning::DelaySetting;
use checkstrip_formats::{StripOptions, expand_globs};
use checkstrip_job::{LogSetup, StripSetup, TrialSetup, read_trial_file};
use checkstrip_model::{Column, ColumnMap, ColumnSource, Crop};
use std::path::{Path, PathBuf};

/// The log that the options describe.
pub(crate) fn log_setup(logs: &[String], options: &LogArguments) -> anyhow::Result<LogSetup> {
    let crop = match &options.crop {
        None => None,
        Some(name) => Some(Crop::known(name).with_context(|| {
            format!(
                "--crop {name:?} is not known\nhint: the crops are {}; for another one write a \
                 trial file with a [crop] table",
                Crop::names().join(", ")
            )
        })?),
    };
    let mut setup = LogSetup::new(expand_globs(logs, Path::new(""))?, crop);
    setup.header_width_m = options.width;
    if options.width == Some(0.0) {
        bail!(
            "--width is 0\nhint: give the width that your header cuts, such as --width \"30 ft\""
        );
    }
    setup.columns = columns(&options.columns)?;
    if !options.grain_delay.eq_ignore_ascii_case("auto") {
        let seconds = options.grain_delay.trim().trim_end_matches('s').trim();
        let seconds = seconds.parse().ok().with_context(|| {
            format!(
                "--grain-delay is {:?}, expected auto or seconds such as 12",
                options.grain_delay
            )
        })?;
        setup.recipe.grain_delay = DelaySetting::Given(seconds);
    }
    Ok(setup)
}

/// `mass_flow=mass:lb/s` and the like.
fn columns(texts: &[String]) -> anyhow::Result<ColumnMap> {
    let mut columns = ColumnMap::new();
    for text in texts {
        let (key, rest) = text.split_once('=').with_context(|| {
            format!("--column is {text:?}, expected KEY=HEADER or KEY=HEADER:UNIT")
        })?;
        let column = Column::from_key(key.trim()).with_context(|| {
            let keys: Vec<&str> = Column::ALL.iter().map(|column| column.key()).collect();
            format!(
                "--column names {key:?}\nhint: the columns are {}",
                keys.join(", ")
            )
        })?;
        let (header, unit) = match rest.rsplit_once(':') {
            Some((header, unit)) => (header, Some(unit.trim().to_owned())),
            None => (rest, None),
        };
        columns.insert(
            column,
            ColumnSource {
                column: header.trim().to_owned(),
                unit,
            },
        );
    }
    Ok(columns)
}

/// The trial and the folder its results go to.
pub(crate) fn trial(arguments: &CompareArguments) -> anyhow::Result<(TrialSetup, PathBuf)> {
    if let Some(path) = &arguments.trial {
        let setup = read_trial_file(path)?;
        let out = arguments.out.clone().unwrap_or_else(|| {
            let stem = path.file_stem().unwrap_or_default().to_string_lossy();
            path.with_file_name(format!("{stem}-results"))
        });
        return Ok((setup, out));
    }
    let Some(strips) = &arguments.strips else {
        bail!("--harvest needs --strips FILE");
    };
    let log = log_setup(&arguments.harvest, &arguments.log)?;
    let name = arguments
        .name
        .clone()
        .unwrap_or_else(|| field_name(&log.files));
    let setup = TrialSetup {
        name,
        log,
        strips: StripSetup {
            file: strips.clone(),
            options: StripOptions {
                treatment: arguments.treatment_column.clone(),
                block: arguments.block_column.clone(),
                strip_id: arguments.strip_id_column.clone(),
            },
            check: arguments.check.clone(),
            inset_m: arguments.inset.unwrap_or(0.0),
        },
        money: None,
    };
    let out = arguments
        .out
        .clone()
        .unwrap_or_else(|| PathBuf::from("checkstrip-results"));
    Ok((setup, out))
}

/// A field nobody named is called after its first log.
pub(crate) fn field_name(files: &[PathBuf]) -> String {
    let stem = files.first().and_then(|file| file.file_stem());
    stem.map_or_else(
        || "field".into(),
        |stem| stem.to_string_lossy().into_owned(),
    )
}
