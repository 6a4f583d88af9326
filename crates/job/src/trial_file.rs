//! `TRIAL.toml`: the trial file, as the contract and `docs/trial-file.md` describe it. Paths in it
//! are relative to the file itself.

use crate::error::JobError;
use crate::setup::{LanguageSetup, LogSetup, StandSetup, StripSetup, TrialSetup, ZoneSetup};
use crate::toml_file::read_toml;
use crate::zones::{CLASSES, USUAL_CLASSES};
use checkstrip_cleaning::Recipe;
use checkstrip_formats::{FormatError, StripOptions, expand_globs};
use checkstrip_model::units::{M_PER_FOOT, parse_length};
use checkstrip_model::{Column, ColumnMap, ColumnSource, Crop, Operation, Problem};
use checkstrip_trial::PayoffSetup;
use checkstrip_words::Language;
use serde::Deserialize;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// Where the keys of a trial file are explained.
const KEYS_IN: &str = "docs/trial-file.md";

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct TrialFile {
    field: FieldTable,
    crop: Option<CropTable>,
    harvest: HarvestTable,
    strips: StripsTable,
    #[serde(default)]
    cleaning: Recipe,
    payoff: Option<PayoffSetup>,
    zones: Option<ZonesTable>,
    stand: Option<StandTable>,
    report: Option<ReportTable>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct FieldTable {
    name: String,
    crop: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct CropTable {
    name: Option<String>,
    bushel_lb: f64,
    market_moisture_pct: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct HarvestTable {
    logs: OneOrMany,
    width: Option<String>,
    width_ft: Option<f64>,
    width_m: Option<f64>,
    tickets: Option<String>,
    #[serde(default)]
    columns: BTreeMap<String, ColumnSource>,
}

#[derive(Deserialize)]
#[serde(untagged)]
enum OneOrMany {
    One(String),
    Many(Vec<String>),
}

impl OneOrMany {
    fn into_vec(self) -> Vec<String> {
        match self {
            OneOrMany::One(one) => vec![one],
            OneOrMany::Many(many) => many,
        }
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct StripsTable {
    file: String,
    check: Option<String>,
    inset: Option<String>,
    inset_ft: Option<f64>,
    inset_m: Option<f64>,
    treatment_column: Option<String>,
    block_column: Option<String>,
    strip_id_column: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ZonesTable {
    file: Option<String>,
    name_column: Option<String>,
    by: Option<String>,
    logs: Option<OneOrMany>,
    classes: Option<usize>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct StandTable {
    counts: OneOrMany,
    row_length: Option<String>,
    row_spacing: Option<String>,
    #[serde(default)]
    columns: BTreeMap<String, ColumnSource>,
}

#[derive(Default, Deserialize)]
#[serde(deny_unknown_fields)]
struct ReportTable {
    language: Option<String>,
    words: Option<String>,
}

/// Reads a trial file and finds the logs it names.
///
/// # Errors
/// A file that cannot be read, is no TOML, has an unknown or missing key (all with the row), names a
/// crop or column that is not known, or a pattern that no log matches.
pub fn read_trial_file(path: &Path) -> Result<TrialSetup, JobError> {
    let file: TrialFile = read_toml(path, KEYS_IN)?;
    let shown = path.display().to_string();
    let problem = |message: String| Problem::new(shown.clone(), message);
    file.cleaning
        .check()
        .map_err(|error| problem(error.to_string()))?;
    let base = path.parent().unwrap_or(Path::new("."));

    let length = |key: &str, text: &Option<String>, feet: Option<f64>, metres: Option<f64>| {
        let given = [text.is_some(), feet.is_some(), metres.is_some()];
        if given.iter().filter(|g| **g).count() > 1 {
            return Err(problem(format!(
                "{key} is given twice: keep one of {key}, {key}_ft, {key}_m"
            )));
        }
        let value = match text {
            Some(text) => Some(parse_length(text).map_err(|m| problem(format!("{key}: {m}")))?),
            None => feet.map(|feet| feet * M_PER_FOOT).or(metres),
        };
        match value {
            Some(metres) if !metres.is_finite() || metres < 0.0 => Err(problem(format!(
                "{key} is {metres} m, expected a length of 0 or more"
            ))),
            other => Ok(other),
        }
    };
    let harvest = &file.harvest;
    let header_width_m = length("width", &harvest.width, harvest.width_ft, harvest.width_m)?;
    if header_width_m == Some(0.0) {
        return Err(problem("the header width is 0".into())
            .hint("write the width that your header cuts, such as width = \"30 ft\"")
            .into());
    }
    let strips = &file.strips;
    let inset_m = length("inset", &strips.inset, strips.inset_ft, strips.inset_m)?.unwrap_or(0.0);

    let crop = crop(file.field.crop.as_deref(), file.crop.as_ref(), &problem)?;
    let columns = columns_of(
        Operation::Harvest,
        "harvest",
        file.harvest.columns,
        &problem,
    )?;
    let stand = match file.stand {
        None => None,
        Some(table) => {
            let above_0 = |key: &str, text: &Option<String>| match length(key, text, None, None)? {
                Some(metres) if metres <= 0.0 => Err(problem(format!("{key} is 0"))
                    .hint("write a length with its unit, such as \"30 in\"")),
                metres => Ok(metres),
            };
            Some(StandSetup {
                row_length_m: above_0("row_length", &table.row_length)?,
                row_spacing_m: above_0("row_spacing", &table.row_spacing)?,
                columns: columns_of(Operation::StandCount, "stand", table.columns, &problem)?,
                files: expand_globs(&table.counts.into_vec(), base)?,
            })
        }
    };
    let zones = file
        .zones
        .map(|table| zones(table, base, &problem))
        .transpose()?;
    let language = language(file.report.unwrap_or_default(), base, &problem)?;
    let patterns = file.harvest.logs.into_vec();
    let defaults = StripOptions::default();
    Ok(TrialSetup {
        trial_file: shown.clone(),
        name: file.field.name,
        log: LogSetup {
            columns,
            header_width_m,
            recipe: file.cleaning,
            tickets: file.harvest.tickets.map(|tickets| base.join(tickets)),
            ..LogSetup::new(expand_globs(&patterns, base)?, crop)
        },
        strips: StripSetup {
            file: base.join(&file.strips.file),
            options: StripOptions {
                treatment: file.strips.treatment_column.unwrap_or(defaults.treatment),
                block: file.strips.block_column.unwrap_or(defaults.block),
                strip_id: file.strips.strip_id_column.unwrap_or(defaults.strip_id),
            },
            check: file.strips.check,
            inset_m,
        },
        money: file.payoff,
        zones,
        stand,
        language,
    })
}

/// The `[report]` table.
fn language(
    table: ReportTable,
    base: &Path,
    problem: &impl Fn(String) -> Problem,
) -> Result<LanguageSetup, Problem> {
    let named = table.language.map(|key| {
        Language::from_key(&key).ok_or_else(|| {
            let keys: Vec<&str> = Language::ALL.iter().map(|language| language.key()).collect();
            problem(format!("[report] language is {key:?}, which is not built in")).hint(format!(
                "the languages are {}; for another one write a file of words, see docs/languages.md",
                keys.join(" and ")
            ))
        })
    });
    Ok(LanguageSetup {
        language: named.transpose()?,
        words: table.words.map(|file| base.join(file)),
    })
}

/// Every name and pattern of files that a trial file gives, as it stands there; none of the files need be there.
///
/// # Errors
/// A file that cannot be read, is no TOML, or has an unknown or missing key.
pub fn names_in_trial_file(path: &Path) -> Result<Vec<String>, JobError> {
    // Written out, so that a new table is not forgotten here.
    let TrialFile {
        field: _,
        crop: _,
        harvest,
        strips,
        cleaning: _,
        payoff: _,
        zones,
        stand,
        report,
    } = read_toml(path, KEYS_IN)?;
    let mut names = harvest.logs.into_vec();
    names.extend(harvest.tickets);
    names.push(strips.file);
    names.extend(report.and_then(|report| report.words));
    if let Some(zones) = zones {
        names.extend(zones.file);
        names.extend(zones.logs.into_iter().flat_map(OneOrMany::into_vec));
    }
    names.extend(stand.into_iter().flat_map(|stand| stand.counts.into_vec()));
    Ok(names)
}

/// The columns named by hand in `[TABLE.columns]`, which are of logs of `operation`.
fn columns_of(
    operation: Operation,
    table: &str,
    named: BTreeMap<String, ColumnSource>,
    problem: &impl Fn(String) -> Problem,
) -> Result<ColumnMap, Problem> {
    let mut columns = ColumnMap::new();
    let is_of_it = |column: &Column| column.operations().contains(&operation);
    for (key, source) in named {
        let Some(column) = Column::from_key(&key).filter(is_of_it) else {
            let all = Column::ALL.iter().filter(|column| is_of_it(column));
            let keys: Vec<&str> = all.map(|column| column.key()).collect();
            let message = format!("[{table}.columns] has no column called {key:?}");
            return Err(problem(message).hint(format!("the columns are {}", keys.join(", "))));
        };
        columns.insert(column, source);
    }
    Ok(columns)
}

/// The `[zones]` table: a file of polygons, or what classes are made of.
fn zones(
    table: ZonesTable,
    base: &Path,
    problem: &impl Fn(String) -> Problem,
) -> Result<ZoneSetup, JobError> {
    let refuse = |message: &str, hint: &str| Err(problem(message.to_owned()).hint(hint).into());
    let ways = "file = \"soils.geojson\" for drawn zones, by = \"elevation\", or by = \"yield_history\" \
                with logs = [\"…\"]";
    let classes = table.classes.unwrap_or(USUAL_CLASSES);
    if !CLASSES.contains(&classes) {
        return refuse(
            &format!(
                "[zones] classes is {classes}, expected {} to {}",
                CLASSES.start(),
                CLASSES.end()
            ),
            "every class takes ground from the others: three is plenty for most trials",
        );
    }
    if let (Some(_), Some(_)) | (None, None) = (&table.file, &table.by) {
        return refuse("[zones] needs one of file and by", ways);
    }
    if table.file.is_some() && (table.classes.is_some() || table.logs.is_some()) {
        return refuse(
            "[zones] has a file, and classes or logs beside it",
            "zones of a file are the polygons in it: take the other keys out",
        );
    }
    if table.file.is_none() && table.name_column.is_some() {
        return refuse(
            "[zones] has name_column but no file",
            "name_column is the attribute of the file that names the zone",
        );
    }
    let by = table.by.as_deref().unwrap_or_default();
    if by != "yield_history" && table.logs.is_some() {
        return refuse(
            "[zones] has logs, but zones do not come from them",
            "write by = \"yield_history\", or take logs out",
        );
    }
    match (table.file, by, table.logs) {
        (Some(file), ..) => Ok(ZoneSetup::Drawn {
            file: base.join(file),
            name_column: table.name_column,
        }),
        (_, "elevation", _) => Ok(ZoneSetup::Elevation { classes }),
        (_, "yield_history", Some(logs)) => Ok(ZoneSetup::YieldHistory {
            harvests: logs_of_patterns(&logs.into_vec(), base)?,
            classes,
        }),
        (_, "yield_history", None) => refuse(
            "[zones] by = \"yield_history\" has no logs",
            "name the harvests of earlier years, one entry each: logs = [\"2024/*.csv\", \"2025/*.csv\"]",
        ),
        _ => refuse(
            &format!("[zones] by is {by:?}, expected \"elevation\" or \"yield_history\""),
            ways,
        ),
    }
}

/// The files of logs, such as past harvests: every pattern is one log.
///
/// # Errors
/// A pattern that no file matches.
pub fn logs_of_patterns(
    patterns: &[String],
    base: &Path,
) -> Result<Vec<Vec<PathBuf>>, FormatError> {
    let one = |pattern: &String| expand_globs(std::slice::from_ref(pattern), base);
    patterns.iter().map(one).collect()
}

/// What of a trial file says what things cost; the rest may be missing or not right yet.
#[derive(Deserialize)]
struct MoneyFile {
    field: Option<MoneyField>,
    crop: Option<CropTable>,
    payoff: Option<PayoffSetup>,
}

#[derive(Deserialize)]
struct MoneyField {
    crop: Option<String>,
}

/// Crop and costs of a trial file whose logs and strips need not be there yet.
///
/// # Errors
/// A file that cannot be read, is no TOML, names a crop that is not known, or has no `[payoff]` table
/// with a cost.
pub fn read_payoff(path: &Path) -> Result<(Option<Crop>, PayoffSetup), JobError> {
    let shown = path.display().to_string();
    let problem = |message: String| Problem::new(shown.clone(), message);
    let file: MoneyFile = read_toml(path, KEYS_IN)?;
    let named = file.field.and_then(|field| field.crop);
    let crop = crop(named.as_deref(), file.crop.as_ref(), &problem)?;
    match file.payoff {
        Some(money) if !money.treatments.is_empty() || money.cost_per_unit.is_some() => {
            Ok((crop, money))
        }
        _ => Err(problem("no treatment has costs".into())
            .hint("add [payoff] with price_per_bu and [payoff.treatments.NAME] with its costs")
            .into()),
    }
}

/// The crop that `[field]` names or `[crop]` describes.
fn crop(
    named: Option<&str>,
    table: Option<&CropTable>,
    problem: &impl Fn(String) -> Problem,
) -> Result<Option<Crop>, Problem> {
    if let Some(table) = table {
        if table.bushel_lb.is_nan() || table.bushel_lb <= 0.0 {
            return Err(problem(format!(
                "[crop] bushel_lb is {}, expected the pounds in a bushel, above 0",
                table.bushel_lb
            )));
        }
        if !(0.0..90.0).contains(&table.market_moisture_pct) {
            return Err(problem(format!(
                "[crop] market_moisture_pct is {}, expected percent from 0 to 90",
                table.market_moisture_pct
            )));
        }
        let name = table.name.as_deref().or(named).unwrap_or("crop");
        return Ok(Some(Crop::custom(
            name,
            table.bushel_lb,
            table.market_moisture_pct,
        )));
    }
    match named {
        None => Ok(None),
        Some(name) => Crop::known(name)
            .map(Some)
            .ok_or_else(|| unknown_crop(name, problem)),
    }
}

fn unknown_crop(name: &str, problem: &impl Fn(String) -> Problem) -> Problem {
    problem(format!("the crop {name:?} is not known")).hint(format!(
        "the crops are {}; for another one add [crop] with bushel_lb and market_moisture_pct",
        Crop::names().join(", ")
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Result<TrialSetup, String> {
        let dir = tempfile::tempdir().unwrap();
        std::fs::write(dir.path().join("log.csv"), "lon,lat\n").unwrap();
        let path = dir.path().join("trial.toml");
        std::fs::write(&path, text).unwrap();
        read_trial_file(&path).map_err(|error| {
            error
                .to_string()
                .replace(&dir.path().display().to_string(), "DIR")
        })
    }

    const LEAST: &str = "[field]\nname = \"North eighty\"\ncrop = \"soybean\"\n\
                         [harvest]\nlogs = \"log.csv\"\n[strips]\nfile = \"strips.geojson\"\n";

    #[test]
    fn the_least_file_takes_defaults() {
        let setup = read(LEAST).unwrap();
        assert_eq!(setup.name, "North eighty");
        assert_eq!(setup.log.files.len(), 1);
        assert_eq!(setup.log.recipe, Recipe::default());
        assert_eq!((setup.strips.inset_m, setup.strips.check), (0.0, None));
    }

    #[test]
    fn lengths_and_columns_in_units() {
        let setup = read(&format!(
            "{LEAST}check = \"none\"\ninset = \"10 ft\"\n[harvest.columns]\n\
             mass_flow = {{ column = \"mass\", unit = \"lb/s\" }}\n[cleaning]\ngrain_delay = 12\n"
        ))
        .unwrap();
        assert!((setup.strips.inset_m - 3.048).abs() < 1e-12);
        assert_eq!(
            setup.log.columns[&Column::MassFlow].unit.as_deref(),
            Some("lb/s")
        );
    }

    #[test]
    fn mistakes_say_where_and_what() {
        let wrong = LEAST.replace("soybean", "soy bean plant");
        assert!(read(&wrong).unwrap_err().contains("soybean, corn, wheat"));
        let error = read(&format!("{LEAST}[cleaning]\ngrain_dealy = 3\n")).unwrap_err();
        assert!(
            error.contains("row 9") && error.contains("grain_dealy"),
            "{error}"
        );
        let error = read(&format!(
            "{LEAST}[harvest.columns]\nflow = {{ column = \"x\" }}\n"
        ))
        .unwrap_err();
        assert!(error.contains("mass_flow"), "{error}");
        let error = read(&LEAST.replace("log.csv", "logs/*.csv")).unwrap_err();
        assert!(error.contains("logs/*.csv"), "{error}");
        let error = read(&LEAST.replace("[strips]", "width = \"0 ft\"\n[strips]")).unwrap_err();
        assert!(error.contains("width"), "{error}");
        assert!(read("not toml at all").unwrap_err().contains("row 1"));
    }

    #[test]
    fn zones_from_a_file_from_heights_and_from_past_harvests() {
        let zones = |table: &str| {
            read(&format!("{LEAST}[zones]\n{table}\n")).map(|setup| setup.zones.unwrap())
        };
        let drawn = zones("file = \"soils.shp\"\nname_column = \"soil\"").unwrap();
        assert!(
            matches!(drawn, ZoneSetup::Drawn { name_column: Some(name), .. } if name == "soil")
        );
        let heights = zones("by = \"elevation\"").unwrap();
        assert!(matches!(heights, ZoneSetup::Elevation { classes: 3 }));
        let past = zones("by = \"yield_history\"\nlogs = \"log*.csv\"\nclasses = 2").unwrap();
        let ZoneSetup::YieldHistory { harvests, classes } = past else {
            panic!("{past:?}")
        };
        assert_eq!((harvests.len(), harvests[0].len(), classes), (1, 1, 2));
        for (table, says) in [
            ("classes = 3", "one of file and by"),
            ("by = \"elevation\"\nclasses = 9", "2 to 5"),
            ("by = \"elevation\"\nlogs = \"log.csv\"", "yield_history"),
            ("by = \"elevation\"\nname_column = \"soil\"", "no file"),
            ("file = \"soils.shp\"\nclasses = 3", "polygons in it"),
            (
                "by = \"yield_history\"\nlogs = \"none/*.csv\"",
                "none/*.csv",
            ),
            ("from = \"elevation\"", "from"),
        ] {
            let error = zones(table).unwrap_err();
            assert!(error.contains(says), "{table}: {error}");
        }
    }

    #[test]
    fn the_language_of_the_report() {
        let language =
            |table: &str| read(&format!("{LEAST}[report]\n{table}\n")).map(|setup| setup.language);
        let spanish = language("language = \"es\"\nwords = \"own.ftl\"").unwrap();
        assert_eq!(spanish.language, Some(Language::Spanish));
        assert!(
            spanish
                .words
                .as_ref()
                .is_some_and(|file| file.ends_with("own.ftl"))
        );
        // A language named on the command line is not mixed with the trial's words.
        let asked = LanguageSetup {
            language: Some(Language::English),
            words: None,
        };
        assert!(asked.or(&spanish).words.is_none());
        assert_eq!(
            LanguageSetup::default().or(&spanish).language,
            Some(Language::Spanish)
        );
        let error = language("language = \"fr\"").unwrap_err();
        assert!(error.contains("en and es"), "{error}");
    }

    #[test]
    fn costs_are_read_before_logs_and_strips_are_there() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("trial.toml");
        let text = "[field]\nname = \"x\"\ncrop = \"corn\"\n[harvest]\nlogs = \"none/*.csv\"\n\
                    [payoff]\nprice_per_bu = 4.2\n";
        std::fs::write(&path, text).unwrap();
        let error = read_payoff(&path).unwrap_err().to_string();
        assert!(error.contains("no treatment has costs"), "{error}");
        std::fs::write(
            &path,
            format!("{text}[payoff.treatments.rolled]\nrent_per_ac = 3\n"),
        )
        .unwrap();
        let (crop, money) = read_payoff(&path).unwrap();
        assert_eq!(crop.unwrap().name, "corn");
        assert_eq!(money.treatments["rolled"].rent_per_ac, 3.0);
    }
}
