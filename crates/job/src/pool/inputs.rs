//! Results files read back: only what pooling needs of them, figures that are not known (`null`) as
//! absent.

use crate::error::JobError;
use checkstrip_formats::{FormatError, expand_globs, sha256};
use checkstrip_model::Problem;
use checkstrip_model::results::{Field, SCHEMA};
use serde::Deserialize;
use std::path::{Path, PathBuf};

/// Name of the file that a comparison leaves in its folder.
const RESULTS: &str = "results.json";

/// One results file.
#[derive(Debug, Clone)]
pub(crate) struct ResultsFile {
    pub(crate) path: PathBuf,
    pub(crate) sha256: String,
    pub(crate) content: Content,
}

/// What is read of it.
#[derive(Debug, Clone, Deserialize)]
pub(crate) struct Content {
    #[serde(default)]
    pub(crate) tool: WrittenBy,
    pub(crate) field: Field,
    #[serde(default)]
    pub(crate) input: Log,
    #[serde(default)]
    pub(crate) strip_source: Digest,
    pub(crate) comparisons: Vec<Found>,
    #[serde(default)]
    pub(crate) payoff: Vec<Money>,
    #[serde(default)]
    pub(crate) warnings: Vec<serde::de::IgnoredAny>,
}

/// What wrote it.
#[derive(Debug, Clone, Default, Deserialize)]
pub(crate) struct WrittenBy {
    #[serde(default)]
    pub(crate) version: String,
}

/// The log it rests on.
#[derive(Debug, Clone, Default, Deserialize)]
pub(crate) struct Log {
    #[serde(default)]
    pub(crate) files: Vec<Digest>,
    pub(crate) centre: Option<[f64; 2]>,
}

/// A file it rests on.
#[derive(Debug, Clone, Default, Deserialize)]
pub(crate) struct Digest {
    #[serde(default)]
    pub(crate) sha256: String,
}

/// A comparison.
#[derive(Debug, Clone, Deserialize)]
pub(crate) struct Found {
    pub(crate) treatment: String,
    pub(crate) check: String,
    #[serde(default)]
    pub(crate) method: String,
    #[serde(default)]
    pub(crate) blocks: usize,
    pub(crate) advantage_kg_ha: Option<f64>,
    pub(crate) std_error_kg_ha: Option<f64>,
    pub(crate) df: Option<f64>,
    #[serde(default)]
    pub(crate) interval_95_kg_ha: [Option<f64>; 2],
    pub(crate) dilution: Option<f64>,
}

/// What a treatment has to gain to pay.
#[derive(Debug, Clone, Deserialize)]
pub(crate) struct Money {
    pub(crate) treatment: String,
    pub(crate) break_even_bu_ac: Option<f64>,
    pub(crate) net_per_ac: Option<f64>,
    pub(crate) odds_it_pays: Option<f64>,
}

/// Reads every file that `patterns` name, in order of their paths.
pub(crate) fn read_results(patterns: &[String]) -> Result<Vec<ResultsFile>, JobError> {
    let mut paths = Vec::new();
    for pattern in patterns {
        paths.extend(results_files(pattern)?);
    }
    paths.sort();
    paths.dedup();
    paths.into_iter().map(read_results_file).collect()
}

/// The files that one pattern names: a folder stands for the results file in it.
fn results_files(pattern: &str) -> Result<Vec<PathBuf>, JobError> {
    let whole = Path::new(pattern);
    if whole.is_dir() {
        let file = whole.join(RESULTS);
        if !file.is_file() {
            let message = format!("expected a folder that holds {RESULTS}, found none in it");
            return Err(Problem::new(pattern, message)
                .hint(
                    "give the folder that checkstrip compare wrote, or a pattern of such folders \
                     such as 'season/*'",
                )
                .into());
        }
        return Ok(vec![file]);
    }
    let nowhere = Path::new("");
    let inside = whole.join(RESULTS).to_string_lossy().into_owned();
    expand_globs(&[inside], nowhere)
        .or_else(|_| expand_globs(&[pattern.to_owned()], nowhere))
        .map_err(|_| {
            let message =
                format!("expected results files or folders that hold {RESULTS}, found none");
            Problem::new(pattern, message)
                .hint("check the spelling; a pattern has to reach them, such as 'season/*/results'")
                .into()
        })
}

/// Reads one results file.
pub(crate) fn read_results_file(path: PathBuf) -> Result<ResultsFile, JobError> {
    let bytes = std::fs::read(&path).map_err(|source| FormatError::Io {
        path: path.clone(),
        action: "read",
        source,
    })?;
    let content = parse(&bytes).map_err(|problem| Problem {
        file: path.display().to_string(),
        ..problem
    })?;
    Ok(ResultsFile {
        sha256: sha256(&bytes),
        content,
        path,
    })
}

fn parse(bytes: &[u8]) -> Result<Content, Problem> {
    let hint = "give the results.json that checkstrip compare wrote, or its folder";
    let refuse = |message: String| Problem::new("", message).hint(hint);
    let value: serde_json::Value = serde_json::from_slice(bytes)
        .map_err(|error| refuse(format!("expected a results file, found no JSON: {error}")))?;
    let schema = value.get("schema").and_then(serde_json::Value::as_str);
    if schema != Some(SCHEMA) {
        let found = schema.map_or("none".to_owned(), |schema| format!("{schema:?}"));
        return Err(refuse(format!(
            "expected the schema {SCHEMA:?}, found {found}"
        )));
    }
    let content: Content = serde_json::from_value(value)
        .map_err(|error| refuse(format!("the results cannot be read back: {error}")))?;
    let field = &content.field;
    let is_share = (0.0..100.0).contains(&field.market_moisture_pct);
    if !is_share || !field.bushel_kg.is_finite() || field.bushel_kg <= 0.0 {
        return Err(refuse(format!(
            "expected a market moisture in percent and a bushel weight above 0, found {} % and {} kg",
            field.market_moisture_pct, field.bushel_kg
        )));
    }
    Ok(content)
}
