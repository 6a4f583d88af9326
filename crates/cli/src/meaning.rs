//! From what was typed to what was meant: options become the settings the job takes.

use crate::arguments::{
    AppliedArguments, CompareArguments, LogArguments, MachineLogArguments, PlanArguments,
    PlantingArguments,
};
use anyhow::{Context, bail};
use checkstrip_cleaning::DelaySetting;
use checkstrip_formats::{PlanOptions, StripOptions, expand_globs};
use checkstrip_job::{
    AppliedSetup, DirectionSetup, LanguageSetup, LogSetup, PlanSetup, PlantingSetup, StandSetup,
    StripSetup, TrialSetup, USUAL_CLASSES, USUAL_TOLERANCE, YieldAmount, ZoneSetup,
    logs_of_patterns, read_planting_settings, read_trial_file,
};
use checkstrip_model::{Column, ColumnMap, ColumnSource, Crop, Operation};
use checkstrip_planting::PlantingSettings;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// The log that the options describe.
pub(crate) fn log_setup(logs: &[String], options: &LogArguments) -> anyhow::Result<LogSetup> {
    let crop = crop(options)?;
    let mut setup = LogSetup::new(expand_globs(logs, Path::new(""))?, crop);
    setup.header_width_m = options.width;
    if options.width == Some(0.0) {
        bail!(
            "--width is 0\nhint: give the width that your header cuts, such as --width \"30 ft\""
        );
    }
    setup.columns = columns(&options.columns)?;
    if let Some(delay) = options
        .grain_delay
        .as_deref()
        .filter(|d| !d.eq_ignore_ascii_case("auto"))
    {
        let seconds = delay
            .trim()
            .trim_end_matches('s')
            .trim()
            .parse()
            .ok()
            .with_context(|| {
                format!("--grain-delay is {delay:?}, expected auto or seconds such as 12")
            })?;
        setup.recipe.grain_delay = DelaySetting::Given(seconds);
    }
    Ok(setup)
}

/// The crop that the options name.
fn crop(options: &LogArguments) -> anyhow::Result<Option<Crop>> {
    known_crop(options.crop.as_deref())
}

/// The crop called `name` with --crop, when it is given.
pub(crate) fn known_crop(name: Option<&str>) -> anyhow::Result<Option<Crop>> {
    name.map(|name| {
        Crop::known(name).with_context(|| {
            format!(
                "--crop {name:?} is not known\nhint: the crops are {}; for another one write a \
                 trial file with a [crop] table",
                Crop::names().join(", ")
            )
        })
    })
    .transpose()
}

/// `mass_flow=mass:lb/s` and the like.
pub(crate) fn columns(texts: &[String]) -> anyhow::Result<ColumnMap> {
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
        return Ok((read_trial_file(path)?, results_folder(path, &arguments.out)));
    }
    let Some(strips) = &arguments.strips else {
        bail!("--harvest needs --strips FILE");
    };
    let mut log = log_setup(&arguments.harvest, &arguments.log)?;
    log.tickets.clone_from(&arguments.tickets);
    let stand = stand(arguments, &mut log.columns)?;
    let name = arguments
        .name
        .clone()
        .unwrap_or_else(|| field_name(&log.files));
    let usual = StripOptions::default();
    let setup = TrialSetup {
        trial_file: String::new(),
        name,
        log,
        strips: StripSetup {
            file: strips.clone(),
            options: StripOptions {
                treatment: arguments
                    .treatment_column
                    .clone()
                    .unwrap_or(usual.treatment),
                block: arguments.block_column.clone().unwrap_or(usual.block),
                strip_id: arguments.strip_id_column.clone().unwrap_or(usual.strip_id),
            },
            check: arguments.check.clone(),
            inset_m: arguments.inset.unwrap_or(0.0),
        },
        money: None,
        zones: zones(arguments)?,
        stand,
        language: LanguageSetup::default(),
    };
    let out = arguments
        .out
        .clone()
        .unwrap_or_else(|| PathBuf::from("checkstrip-results"));
    Ok((setup, out))
}

/// The stand counts that the options name. Columns that only they have are taken out of `columns`.
fn stand(
    arguments: &CompareArguments,
    columns: &mut ColumnMap,
) -> anyhow::Result<Option<StandSetup>> {
    let Some(file) = &arguments.stand else {
        return Ok(None);
    };
    let mut of_counts = ColumnMap::new();
    columns.retain(|&column, source| {
        let of_harvest = column.operations().contains(&Operation::Harvest);
        if !of_harvest {
            of_counts.insert(column, source.clone());
        }
        of_harvest
    });
    Ok(Some(StandSetup {
        files: expand_globs(std::slice::from_ref(file), Path::new(""))?,
        columns: of_counts,
        row_length_m: arguments.row_length,
        row_spacing_m: arguments.row_spacing,
    }))
}

/// The folder that results of the trial file `trial` go to.
pub(crate) fn results_folder(trial: &Path, given: &Option<PathBuf>) -> PathBuf {
    given.clone().unwrap_or_else(|| {
        let stem = trial.file_stem().unwrap_or_default().to_string_lossy();
        trial.with_file_name(format!("{stem}-results"))
    })
}

/// The zones that the options ask for.
fn zones(arguments: &CompareArguments) -> anyhow::Result<Option<ZoneSetup>> {
    let Some(zones) = arguments.zones.as_deref() else {
        return Ok(None);
    };
    let is_history = zones == "yield_history";
    if is_history == arguments.past_harvests.is_empty() {
        bail!(
            "--zones yield_history and --past-harvest LOG go together\nhint: name the harvests of \
             earlier years, or take zones from elevation or from a file"
        );
    }
    let is_file = !is_history && zones != "elevation";
    if arguments.zone_column.is_some() && !is_file {
        bail!(
            "--zone-column names an attribute of a file, but --zones is {zones}\nhint: take \
             --zone-column out"
        );
    }
    Ok(Some(if is_file {
        ZoneSetup::Drawn {
            file: PathBuf::from(zones),
            name_column: arguments.zone_column.clone(),
        }
    } else if is_history {
        ZoneSetup::YieldHistory {
            harvests: logs_of_patterns(&arguments.past_harvests, Path::new(""))?,
            classes: USUAL_CLASSES,
        }
    } else {
        ZoneSetup::Elevation {
            classes: USUAL_CLASSES,
        }
    }))
}

/// The trial to plan that the options describe.
pub(crate) fn plan_setup(arguments: &PlanArguments) -> anyhow::Result<PlanSetup> {
    let crop = crop(&arguments.log)?;
    let log = if arguments.past_logs.is_empty() {
        None
    } else {
        let mut log = log_setup(&arguments.past_logs, &arguments.log)?;
        // A log that does not say how wide its header was is taken to be cut with this one.
        log.header_width_m = log.header_width_m.or(Some(arguments.header_width));
        Some(log)
    };
    let crop = crop.unwrap_or_else(|| LogSetup::new(Vec::new(), None).crop);
    let amount = |option: &str, text: &Option<String>| match text {
        None => Ok(None),
        Some(text) => YieldAmount::parse(text, &crop)
            .map(Some)
            .map_err(|message| anyhow::anyhow!("{option}: {message}")),
    };
    let expected_yield_kg_ha = match amount("--expected-yield", &arguments.expected_yield)? {
        None => None,
        Some(YieldAmount::KgHa(kg_ha)) => Some(kg_ha),
        Some(YieldAmount::Percent(_)) => {
            bail!("--expected-yield is in percent, expected a yield such as \"55 bu/ac\"")
        }
    };
    let name = arguments.name.clone().unwrap_or_else(|| {
        let files = log
            .as_ref()
            .map(|log| log.files.clone())
            .unwrap_or_default();
        match &arguments.boundary {
            Some(boundary) => field_name(std::slice::from_ref(boundary)),
            None => field_name(&files),
        }
    });
    let direction = match (&arguments.first_line, arguments.direction) {
        (Some(file), _) => DirectionSetup::FirstLine(file.clone()),
        (None, Some(degrees)) => DirectionSetup::FromNorth(degrees),
        (None, None) => DirectionSetup::Found,
    };
    Ok(PlanSetup {
        name,
        boundary: arguments.boundary.clone(),
        log,
        direction,
        implement_width_m: arguments.implement_width,
        header_width_m: arguments.header_width,
        strip_passes: arguments.strip_passes,
        treatments: arguments
            .treatments
            .iter()
            .map(|t| t.trim().to_owned())
            .collect(),
        check: arguments.check.clone(),
        blocks: arguments.blocks,
        headland_m: arguments.headland,
        offset_m: arguments.offset,
        seed: arguments.seed,
        sd: amount("--sd", &arguments.sd)?,
        gain: amount("--gain", &arguments.gain)?,
        expected_yield_kg_ha,
        price_per_bu: arguments.price,
        cost_per_ac: arguments.cost,
        crop,
    })
}

/// The planting log that the options describe.
pub(crate) fn planting_setup(arguments: &PlantingArguments) -> anyhow::Result<PlantingSetup> {
    let files = expand_globs(&arguments.logs, Path::new(""))?;
    let name = arguments.name.clone();
    let name = name.unwrap_or_else(|| field_name(&files));
    let mut settings = match &arguments.settings {
        Some(file) => read_planting_settings(file)?,
        None => PlantingSettings::default(),
    };
    settings.row_spacing_m = arguments.row_spacing.or(settings.row_spacing_m);
    settings.disc_cells = arguments.disc_cells.or(settings.disc_cells);
    settings.known_rhythms.extend(arguments.turns.clone());
    Ok(PlantingSetup {
        name,
        files,
        columns: columns(&arguments.columns)?,
        settings,
        put_aside_in: arguments.out.clone(),
    })
}

/// The log of a planter, sprayer or spreader that the options describe.
pub(crate) fn machine_log(arguments: &MachineLogArguments) -> anyhow::Result<LogSetup> {
    let mut log = LogSetup::new(expand_globs(&arguments.logs, Path::new(""))?, None);
    log.columns = columns(&arguments.columns)?;
    log.header_width_m = arguments.width;
    Ok(log)
}

/// What to hold against which plan, as the options describe it.
pub(crate) fn applied_setup(arguments: &AppliedArguments) -> anyhow::Result<AppliedSetup> {
    let log = machine_log(&arguments.machine)?;
    let name = arguments.name.clone();
    let name = name.unwrap_or_else(|| field_name(&log.files));
    let mut products = BTreeMap::new();
    for text in &arguments.products {
        let (treatment, product) = text.split_once('=').with_context(|| {
            format!("--product is {text:?}, expected TREATMENT=PRODUCT, or TREATMENT= for nothing")
        })?;
        products.insert(treatment.trim().to_owned(), product.trim().to_owned());
    }
    let rate = arguments.rate_column.as_ref().map(|text| {
        let (column, unit) = match text.rsplit_once(':') {
            Some((column, unit)) => (column, Some(unit.trim().to_owned())),
            None => (text.as_str(), None),
        };
        ColumnSource {
            column: column.trim().to_owned(),
            unit,
        }
    });
    Ok(AppliedSetup {
        name,
        log,
        row_spacing_m: arguments.machine.row_spacing,
        plan: arguments.plan.clone(),
        plan_options: PlanOptions {
            treatment: arguments.treatment_column.clone(),
            rate,
        },
        products,
        tolerance: arguments.tolerance.unwrap_or(USUAL_TOLERANCE),
        keep_end_rows: arguments.machine.keep_end_rows,
    })
}

/// A field nobody named is called after its first log.
pub(crate) fn field_name(files: &[PathBuf]) -> String {
    let stem = files.first().and_then(|file| file.file_stem());
    stem.map_or_else(
        || "field".into(),
        |stem| stem.to_string_lossy().into_owned(),
    )
}
