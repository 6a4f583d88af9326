//! `season.json`: what all fields of a season say, each with the file it was taken from, and the pooled answers.
//! Keys carry their unit; the schema's name changes when a key changes its meaning.

use super::Tool;
use crate::Warning;
use serde::Serialize;

/// Name of this schema.
pub const SEASON_SCHEMA: &str = "checkstrip-season/1";

/// The whole file.
#[derive(Debug, Clone, Serialize)]
pub struct Season {
    /// [`SEASON_SCHEMA`].
    pub schema: String,
    /// What wrote the file.
    pub tool: Tool,
    /// Name of the season.
    pub name: String,
    /// The fields, by the names of their folders.
    pub fields: Vec<SeasonField>,
    /// One entry per crop: its pooled answer, or why there is none.
    pub pooled: Vec<SeasonPooled>,
    /// What a reader should know.
    pub warnings: Vec<Warning>,
}

/// One field of a season.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SeasonField {
    /// The name of its folder.
    pub folder: String,
    /// Its name in its trial; that of the folder when the trial cannot be read.
    pub field: String,
    /// Why it has no results; absent when it has.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reason: Option<String>,
    /// What its results say.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub results: Option<SeasonResults>,
}

/// What the results of one field say.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SeasonResults {
    /// SHA-256 of its `results.json`.
    pub sha256: String,
    /// Its crop.
    pub crop: String,
    /// Weight of a bushel, kg.
    pub bushel_kg: f64,
    /// Moisture its yields are stated at, percent.
    pub market_moisture_pct: f64,
    /// Where it lies: longitude and latitude of the middle of its log, degrees (WGS 84).
    #[serde(skip_serializing_if = "Option::is_none")]
    pub centre: Option<[f64; 2]>,
    /// How many warnings it holds.
    pub warnings: usize,
    /// One entry per treatment: its headline comparison and the money.
    pub treatments: Vec<SeasonTreatment>,
}

/// One treatment of one field: the headline comparison of its results.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct SeasonTreatment {
    /// The treatment.
    pub treatment: String,
    /// What it is compared with.
    pub check: String,
    /// The method of the headline.
    pub method: String,
    /// Blocks that hold both.
    pub blocks: usize,
    /// Treatment minus check, kg/ha at market moisture.
    pub advantage_kg_ha: Option<f64>,
    /// The same in bushels per acre.
    pub advantage_bu_ac: Option<f64>,
    /// 95 % interval, kg/ha; absent where the strips give none.
    pub interval_95_kg_ha: Option<[f64; 2]>,
    /// The same in bushels per acre.
    pub interval_95_bu_ac: Option<[f64; 2]>,
    /// Gain that pays, bushels per acre; absent without price and cost.
    pub break_even_bu_ac: Option<f64>,
    /// What it left, money per acre.
    pub net_per_ac: Option<f64>,
    /// Odds that it paid.
    pub odds_it_pays: Option<f64>,
}

impl SeasonTreatment {
    /// What the strips say of the sign of the difference.
    pub fn sign(&self) -> Sign {
        match self.interval_95_kg_ha {
            Some([low, _]) if low > 0.0 => Sign::More,
            Some([_, high]) if high < 0.0 => Sign::Less,
            Some(_) => Sign::Unclear,
            None => Sign::Unknown,
        }
    }
}

/// Whether a difference lies on one side of zero.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sign {
    /// The whole interval lies above zero.
    More,
    /// The whole interval lies below zero.
    Less,
    /// The interval holds zero.
    Unclear,
    /// There is no interval.
    Unknown,
}

/// The pooled answer of one crop.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SeasonPooled {
    /// The crop.
    pub crop: String,
    /// The folder of its pooled answer; absent when there is none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub folder: Option<String>,
    /// SHA-256 of the `pooled.json` in it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sha256: Option<String>,
    /// Why there is none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reason: Option<String>,
}
