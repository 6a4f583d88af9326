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
pub(super) struct ResultsFile {
    pub(super) path: PathBuf,
    pub(super) sha256: String,
    pub(super) content: Content,
}

/// What is read of it.
#[derive(Debug, Clone, Deserialize)]
pub(super) struct Content {
    #[serde(default)]
    pub(super) tool: WrittenBy,
    pub(super) field: Field,
    #[serde(default)]
    pub(super) input: Log,
    #[serde(default)]
    pub(super) strip_source: Digest,
    pub(super) comparisons: Vec<Found>,
    #[serde(default)]
    pub(super) payoff: Vec<Money>,
}

/// What wrote it.
#[derive(Debug, Clone, Default, Deserialize)]
pub(super) struct WrittenBy {
    #[serde(default)]
    pub(super) version: String,
}

/// The log it rests on.
#[derive(Debug, Clone, Default, Deserialize)]
pub(super) struct Log {
    #[serde(default)]
    pub(super) files: Vec<Digest>,
}

/// A file it rests on.
#[derive(Debug, Clone, Default, Deserialize)]
pub(super) struct Digest {
    #[serde(default)]
    pub(super) sha256: String,
}

/// A comparison.
#[derive(Debug, Clone, Deserialize)]
pub(super) struct Found {
    pub(super) treatment: String,
    pub(super) check: String,
    #[serde(default)]
    pub(super) method: String,
    #[serde(default)]
    pub(super) blocks: usize,
    pub(super) advantage_kg_ha: Option<f64>,
    pub(super) std_error_kg_ha: Option<f64>,
    pub(super) df: Option<f64>,
    #[serde(default)]
    pub(super) interval_95_kg_ha: [Option<f64>; 2],
    pub(super) dilution: Option<f64>,
}

/// What a treatment has to gain to pay.
#[derive(Debug, Clone, Deserialize)]
pub(super) struct Money {
    pub(super) treatment: String,
    pub(super) break_even_bu_ac: Option<f64>,
}

/// Reads every file that `patterns` name, in order of their paths.
pub(super) fn read_results(patterns: &[String]) -> Result<Vec<ResultsFile>, JobError> {
    let mut paths = Vec::new();
    for pattern in patterns {
        paths.extend(results_files(pattern)?);
    }
    paths.sort();
    paths.dedup();
    paths.into_iter().map(read_file).collect()
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

fn read_file(path: PathBuf) -> Result<ResultsFile, JobError> {
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
