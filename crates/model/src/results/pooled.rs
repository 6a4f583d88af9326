//! `pooled.json`: one answer from the results of many fields or years, every figure with the files it
//! came from. Keys carry their unit; the schema's name changes when a key changes its meaning.

use super::{Field, Tool};
use crate::{SaidText, SaidValues, Warning};
use serde::Serialize;

/// Name of this schema.
pub const POOLED_SCHEMA: &str = "checkstrip-pooled/1";

/// The whole file.
#[derive(Debug, Clone, Serialize)]
pub struct Pooled {
    /// [`POOLED_SCHEMA`].
    pub schema: String,
    /// What wrote the file.
    pub tool: Tool,
    /// The crop all figures are of, and the moisture and bushel they are stated in.
    pub crop: PooledCrop,
    /// The results files given, in order of their paths.
    pub inputs: Vec<PooledInput>,
    /// One entry per treatment that at least two fields can speak on.
    pub treatments: Vec<PooledTreatment>,
    /// Treatments that could not be pooled, with the reason.
    pub not_pooled: Vec<NotPooled>,
    /// What a reader should know.
    pub warnings: Vec<Warning>,
}

/// What the figures are stated in.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PooledCrop {
    /// Crop name.
    pub name: String,
    /// Moisture all yields are stated at, percent.
    pub market_moisture_pct: f64,
    /// Weight of a bushel, kg.
    pub bushel_kg: f64,
}

impl PooledCrop {
    /// The crop as the field of a single result carries it, under `name`.
    pub fn as_field(&self, name: &str) -> Field {
        Field {
            name: name.to_owned(),
            crop: self.name.clone(),
            market_moisture_pct: self.market_moisture_pct,
            bushel_kg: self.bushel_kg,
        }
    }
}

/// One results file.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PooledInput {
    /// The file.
    pub path: String,
    /// SHA-256 of its bytes.
    pub sha256: String,
    /// Name of its field; where several files share one, with the file's folder.
    pub field: String,
    /// Its crop.
    pub crop: String,
    /// Version of the program that wrote it.
    pub tool_version: String,
    /// Why nothing of it entered; absent when it was used.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub left_out: Option<LeftOut>,
}

/// Why something did not enter.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LeftOut {
    /// Stable name, for programs: `other_crop`, `same_trial`, `no_standard_error`, `no_estimate`.
    pub code: String,
    /// For people.
    pub reason: String,
    /// What that names, so that a report in another language can say the same.
    #[serde(default, skip_serializing_if = "SaidValues::is_empty")]
    pub values: SaidValues,
}

/// A treatment that could not be pooled.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NotPooled {
    /// The treatment.
    pub treatment: String,
    /// Why.
    pub reason: String,
    /// What that names, so that a report in another language can say the same.
    #[serde(default, skip_serializing_if = "SaidValues::is_empty")]
    pub reason_values: SaidValues,
    /// The fields that have it.
    pub entries: Vec<PooledEntry>,
}

/// One treatment over all fields. Differences are treatment less check.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PooledTreatment {
    /// The treatment, as the first file spells it.
    pub treatment: String,
    /// What the fields call their check, each name once.
    pub checks: Vec<String>,
    /// `random_effects_reml`.
    pub method: String,
    /// Fields that entered.
    pub fields: usize,
    /// Mean advantage over fields, kg/ha at market moisture.
    pub advantage_kg_ha: f64,
    /// The same in bushels per acre.
    pub advantage_bu_ac: f64,
    /// Its standard error (Hartung and Knapp, their ratio not below 1), kg/ha.
    pub std_error_kg_ha: f64,
    /// The same in bushels per acre.
    pub std_error_bu_ac: f64,
    /// Degrees of freedom: fields − 1.
    pub df: f64,
    /// 95 % interval of the mean, kg/ha.
    pub interval_95_kg_ha: [f64; 2],
    /// The same in bushels per acre.
    pub interval_95_bu_ac: [f64; 2],
    /// Two-sided p value against no mean difference.
    pub p_value: f64,
    /// The interval by other rules, for comparison.
    pub other_intervals: OtherIntervals,
    /// 95 % interval for the advantage in one further field; absent with two fields.
    pub prediction: Option<PooledPrediction>,
    /// How far fields differ.
    pub heterogeneity: PooledHeterogeneity,
    /// Money, where the fields carry costs and agree on the break-even gain.
    pub payoff: Option<PooledPayoff>,
    /// The fields that entered.
    pub entries: Vec<PooledEntry>,
    /// The fields that have the treatment but did not enter, with the reason.
    pub left_out: Vec<PooledEntry>,
}

/// The mean's interval by rules that are not the headline.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OtherIntervals {
    /// Hartung and Knapp's ratio of found to expected scatter; below 1 the headline takes 1.
    pub hartung_knapp_ratio: f64,
    /// Hartung and Knapp's standard error with the ratio as it is, kg/ha.
    pub hartung_knapp_std_error_kg_ha: f64,
    /// 95 % interval with that, t with fields − 1 degrees of freedom, kg/ha.
    pub hartung_knapp_interval_95_kg_ha: [f64; 2],
    /// The same in bushels per acre.
    pub hartung_knapp_interval_95_bu_ac: [f64; 2],
    /// Standard error that takes all variances as known, kg/ha.
    pub wald_std_error_kg_ha: f64,
    /// 95 % interval with that and the normal distribution, kg/ha.
    pub wald_interval_95_kg_ha: [f64; 2],
    /// The same in bushels per acre.
    pub wald_interval_95_bu_ac: [f64; 2],
}

/// Where the advantage of one further field is to be expected.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PooledPrediction {
    /// Degrees of freedom: fields − 2.
    pub df: f64,
    /// 95 % interval, kg/ha.
    pub interval_95_kg_ha: [f64; 2],
    /// The same in bushels per acre.
    pub interval_95_bu_ac: [f64; 2],
}

/// How far fields differ beyond their own noise.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PooledHeterogeneity {
    /// Cochran's Q.
    pub q: f64,
    /// Its degrees of freedom.
    pub df: f64,
    /// Probability of such a Q or a larger one when all fields share one effect.
    pub p_value: f64,
    /// Variance of the effects between fields, (kg/ha)².
    pub tau2_kg2_ha2: f64,
    /// 95 % interval of it by the Q profile, (kg/ha)².
    pub tau2_interval_95_kg2_ha2: [f64; 2],
    /// Its root: the standard deviation of the effects between fields, kg/ha.
    pub tau_kg_ha: f64,
    /// The same in bushels per acre.
    pub tau_bu_ac: f64,
    /// 95 % interval of the standard deviation, kg/ha.
    pub tau_interval_95_kg_ha: [f64; 2],
    /// The same in bushels per acre.
    pub tau_interval_95_bu_ac: [f64; 2],
    /// Share of the scatter among fields that is not noise, percent.
    pub i2_pct: f64,
    /// 95 % interval of it, percent.
    pub i2_interval_95_pct: [f64; 2],
    /// All scatter over noise alone.
    pub h2: f64,
    /// 95 % interval of it.
    pub h2_interval_95: [f64; 2],
}

/// Money over all fields.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PooledPayoff {
    /// Yield gain that just pays, bu/ac: the same in every field with costs.
    pub break_even_bu_ac: f64,
    /// The same, kg/ha.
    pub break_even_kg_ha: f64,
    /// Fields with costs.
    pub fields: usize,
    /// Probability that the mean gain exceeds the break-even gain.
    pub odds_mean_pays: f64,
    /// Probability that the gain in one further field exceeds it; absent with two fields.
    pub odds_next_field_pays: Option<f64>,
}

/// What one field says of one treatment: the headline comparison of its results file.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PooledEntry {
    /// Place of its file in `inputs`, from 0.
    pub input: usize,
    /// The field, as in `inputs`.
    pub field: String,
    /// What the treatment was compared with.
    pub check: String,
    /// Method of the headline comparison.
    pub method: String,
    /// Blocks that hold both.
    pub blocks: usize,
    /// Treatment less check, kg/ha at the moisture of `crop`.
    pub advantage_kg_ha: Option<f64>,
    /// The same in bushels per acre, at the bushel of `crop`.
    pub advantage_bu_ac: Option<f64>,
    /// Its standard error, kg/ha.
    pub std_error_kg_ha: Option<f64>,
    /// The same in bushels per acre.
    pub std_error_bu_ac: Option<f64>,
    /// Degrees of freedom of the standard error.
    pub df: Option<f64>,
    /// The field's own 95 % interval, kg/ha.
    pub interval_95_kg_ha: Option<[f64; 2]>,
    /// The same in bushels per acre.
    pub interval_95_bu_ac: Option<[f64; 2]>,
    /// Share of the true contrast that the difference carries.
    pub dilution: Option<f64>,
    /// Yield gain that pays in this field, bu/ac, where it has costs.
    pub break_even_bu_ac: Option<f64>,
    /// Share in the pooled mean, percent; 0 when left out.
    pub weight_pct: f64,
    /// The pooled answer without this field; absent when it did not enter or one other is left.
    pub without: Option<PooledWithout>,
    /// Why it did not enter; absent when it did.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub left_out: Option<LeftOut>,
}

/// The pooled answer with one field left out.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PooledWithout {
    /// Mean advantage over the other fields, kg/ha.
    pub advantage_kg_ha: f64,
    /// The same in bushels per acre.
    pub advantage_bu_ac: f64,
    /// Its 95 % interval, kg/ha.
    pub interval_95_kg_ha: [f64; 2],
    /// The same in bushels per acre.
    pub interval_95_bu_ac: [f64; 2],
    /// Variance of the effects between the other fields, (kg/ha)².
    pub tau2_kg2_ha2: f64,
}

impl LeftOut {
    /// The reason as a text of the language files within another.
    pub fn said(&self) -> SaidText {
        SaidText::of_variant("left-out", &self.code, &self.values)
    }
}

impl NotPooled {
    /// The reason as a text of the language files within another.
    pub fn said(&self) -> SaidText {
        SaidText::of_variant("not-pooled", "", &self.reason_values)
    }
}
