//! `results.json`: everything the report, a batch or another program needs to know about one
//! comparison. Keys carry their unit; the schema's name changes when a key changes its meaning.

mod along_strips;
mod machines;
mod odds;
mod overall_test;
mod pooled;
mod rate_response;
mod season;
mod stand;
mod turning_points;
mod zones;

pub use along_strips::{AdvantageAlong, AlongStretch, AlongStrips, AlongTest, AlongWindow};
pub use machines::{
    MachineBias, MachineFactor, MachineGroup, MachinePair, TicketCalibration, TicketLoad,
    TicketMachine, TreatmentByMachine,
};
pub use odds::{OddsAtLeast, OddsGrid};
pub use overall_test::OverallTest;
pub use pooled::{
    LeftOut, NotPooled, OtherIntervals, POOLED_SCHEMA, Pooled, PooledCrop, PooledEntry,
    PooledHeterogeneity, PooledInput, PooledPayoff, PooledPrediction, PooledTreatment,
    PooledWithout,
};
pub use rate_response::{BestRate, RateCurve, RateResponse, RateYield};
pub use season::{
    SEASON_SCHEMA, Season, SeasonField, SeasonPooled, SeasonResults, SeasonTreatment, Sign,
};
pub use stand::{
    BlockStandDifference, LeftOutCount, Stand, StandComparison, StripStand, WhyLeftOut,
};
pub use turning_points::TurningPoints;
pub use zones::{
    PastHarvest, TreatmentByZone, ZoneAdvantage, ZoneGround, ZonePayoff, ZonePolygons, ZoneTest,
    Zones,
};

use crate::SaidValues;
use crate::units::bu_per_acre;
use crate::{Crop, SourceFile, Warning};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Name of this schema.
pub const SCHEMA: &str = "checkstrip-results/1";

/// The whole results file.
#[derive(Debug, Clone, Serialize)]
pub struct Results {
    /// [`SCHEMA`].
    pub schema: String,
    /// What wrote the file.
    pub tool: Tool,
    /// The field.
    pub field: Field,
    /// What went in.
    pub input: Input,
    /// What cleaning did.
    pub cleaning: Cleaning,
    /// Yield strip by strip.
    pub strips: Vec<StripYield>,
    /// How the strips were read: file, CRS, inset, check.
    pub strip_source: StripSource,
    /// One entry per treatment and method, the headline method first.
    pub comparisons: Vec<Comparison>,
    /// Why the first method is the headline.
    pub headline: String,
    /// What that names, so that a report in another language can say the same.
    #[serde(default, skip_serializing_if = "SaidValues::is_empty")]
    pub headline_values: SaidValues,
    /// Whether any treatment differs, when there is more than one beside the check.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub overall_test: Option<OverallTest>,
    /// What the gain is worth.
    pub payoff: Vec<Payoff>,
    /// Yield on rate, when the treatments are rates.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rate_response: Option<RateResponse>,
    /// The advantage by zone, when zones were asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub zones: Option<Zones>,
    /// The advantage in windows along the strips, when there is a check.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub along_strips: Option<AlongStrips>,
    /// Plants counted after emergence, when counts were given.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stand: Option<Stand>,
    /// What a reader should know.
    pub warnings: Vec<Warning>,
}

/// Name and version of the program.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Tool {
    /// `checkstrip`.
    pub name: String,
    /// Its version.
    pub version: String,
}

/// The field and its crop.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Field {
    /// Name in the trial file, or the log's file name.
    pub name: String,
    /// Crop name.
    pub crop: String,
    /// Moisture all yields are stated at, percent.
    pub market_moisture_pct: f64,
    /// Weight of a bushel, kg.
    pub bushel_kg: f64,
}

impl Field {
    /// The field `name` under `crop`.
    pub fn new(name: &str, crop: &Crop) -> Field {
        Field {
            name: name.to_owned(),
            crop: crop.name.clone(),
            market_moisture_pct: crop.market_moisture_pct,
            bushel_kg: crop.bushel_kg,
        }
    }
}

/// What the log held before anything was done to it.
#[derive(Debug, Clone, Serialize)]
pub struct Input {
    /// Records read.
    pub records: usize,
    /// The files.
    pub files: Vec<SourceFile>,
    /// Distance × width of records with the header down, ha.
    pub area_ha: f64,
    /// Flow × interval over all records, kg.
    pub wet_mass_kg: f64,
    /// The same at market moisture, record by record, kg.
    pub market_mass_kg: f64,
    /// `market_mass_kg` in bushels.
    pub market_bu: f64,
    /// `area_ha` in acres.
    pub area_ac: f64,
    /// Longitude and latitude of the middle of the log, degrees (WGS 84).
    pub centre: [f64; 2],
    /// Columns read: canonical name, header in the file and unit.
    pub columns: Vec<InputColumn>,
    /// Columns derived, with how.
    pub derived: BTreeMap<String, String>,
}

/// A column as a file held it.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct InputColumn {
    /// Canonical name.
    pub name: String,
    /// Header in the file.
    pub header: String,
    /// Unit it was read in.
    pub unit: String,
}

/// What cleaning found and did.
#[derive(Debug, Clone, Serialize)]
pub struct Cleaning {
    /// Shift of the grain flow that was applied, s; positive: the sensor lags the header.
    pub grain_delay_s: f64,
    /// `estimated` from the log, `given`, or `kept` as the log had it.
    pub grain_delay_source: String,
    /// Lower end of the 95 % interval, s.
    pub grain_delay_low_s: f64,
    /// Upper end of the 95 % interval, s.
    pub grain_delay_high_s: f64,
    /// First-order smear of the grain stream, s, where the log shows it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub grain_smear_s: Option<f64>,
    /// What the estimate rests on, in words.
    pub grain_delay_note: String,
    /// What that names, so that a report in another language can say the same.
    #[serde(default, skip_serializing_if = "SaidValues::is_empty")]
    pub grain_delay_values: SaidValues,
    /// Records kept.
    pub kept: usize,
    /// Records dropped, by reason; every reason is listed.
    pub removed: BTreeMap<String, usize>,
    /// Area of all footprints, ha.
    pub footprint_area_ha: f64,
    /// Ground met more than once by any footprint, ha.
    pub overlap_area_ha: f64,
    /// The part of it harvested before by another pass, ha: this is taken from the footprints.
    pub overlap_other_passes_ha: f64,
    /// Passes found.
    pub passes: usize,
    /// Machines found.
    pub machines: usize,
    /// How the machines read beside each other, when there is more than one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub machine_bias: Option<MachineBias>,
    /// The log held against scale tickets, when they were given.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub scale_tickets: Option<TicketCalibration>,
    /// Every setting used, with defaults filled in.
    pub settings: serde_json::Value,
}

/// How the strips were read.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct StripSource {
    /// The file as given.
    pub path: String,
    /// SHA-256 of its bytes.
    pub sha256: String,
    /// Its coordinate reference system.
    pub crs: String,
    /// Ground kept clear inside each strip's edge, m.
    pub inset_m: f64,
    /// The treatment that is the check; empty when there is none.
    pub check: String,
    /// `file` when the strips carry blocks, `adjacency` when they were found, `none` without a check.
    pub blocks_from: String,
}

/// The harvest of one strip.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct StripYield {
    /// Name of the strip.
    pub strip_id: String,
    /// Its treatment.
    pub treatment: String,
    /// Its block.
    pub block: String,
    /// Kept records whose footprint meets the inset strip.
    pub records: usize,
    /// Newly harvested ground of kept records inside the inset strip, m².
    pub area_m2: f64,
    /// Share of the inset strip's ground covered by kept records.
    pub covered_fraction: f64,
    /// Grain from that ground at market moisture, kg.
    pub dry_mass_kg: f64,
    /// `dry_mass_kg` over `area_m2`, kg/ha; absent when nothing was harvested.
    pub yield_kg_ha: Option<f64>,
    /// The same in bushels per acre.
    pub yield_bu_ac: Option<f64>,
    /// Mean moisture of that grain, percent.
    pub moisture_pct: Option<f64>,
    /// Share of the ground under these footprints that lay outside this strip's treatment, in
    /// another one or in no strip: 0 when every header width stayed within the treatment.
    pub mixed_fraction: f64,
    /// Whole area of the strip as drawn, m².
    pub drawn_area_m2: f64,
}

/// Headers that straddle strips so that less than this share of the contrast is left
/// ([`Comparison::dilution`]) are warned of, and allowed for where they can be.
pub const UNDILUTED: f64 = 0.95;

/// One treatment against the check by one method.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Comparison {
    /// The treatment.
    pub treatment: String,
    /// What it is compared with.
    pub check: String,
    /// `paired_strips`, `randomized_blocks`, `permutation`, `spatial_reml` or `swath_mixture`.
    pub method: String,
    /// Blocks that hold both.
    pub blocks: usize,
    /// Treatment minus check, kg/ha at market moisture.
    pub advantage_kg_ha: f64,
    /// The same in bushels per acre.
    pub advantage_bu_ac: f64,
    /// Its standard error, kg/ha.
    pub std_error_kg_ha: f64,
    /// Degrees of freedom.
    pub df: f64,
    /// 95 % interval, kg/ha.
    pub interval_95_kg_ha: [f64; 2],
    /// The same in bushels per acre.
    pub interval_95_bu_ac: [f64; 2],
    /// Two-sided p value against no difference.
    pub p_value: f64,
    /// Interval, kg/ha, that holds 95 % of the time for all treatments of the method at once.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub interval_95_family_kg_ha: Option<[f64; 2]>,
    /// The same in bushels per acre.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub interval_95_family_bu_ac: Option<[f64; 2]>,
    /// Two-sided p value that allows for all treatments having been looked at.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub p_value_family: Option<f64>,
    /// Share of the true contrast that the strip means carry: treated share of the ground under
    /// the treated strips' footprints less that under the checks'; 1 when no footprint straddles.
    pub dilution: f64,
    /// The difference block by block, kg/ha.
    pub block_differences: Vec<BlockDifference>,
    /// Smallest p value that a permutation of so many blocks can give.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub smallest_p: Option<f64>,
    /// Orders that a permutation tried.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub orders: Option<u64>,
    /// The soil's covariance as fitted, for methods that model it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub soil: Option<SoilModel>,
}

/// A fitted covariance of yields over the field.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct SoilModel {
    /// `exponential`, `spherical` or `matern_3_2`.
    pub correlation: String,
    /// Scale of the correlation, m. Often not identified: see `docs/comparison.md`.
    pub range_m: f64,
    /// Share of the variance that neighbours do not share.
    pub nugget: f64,
    /// Residual standard deviation of a cell, kg/ha.
    pub residual_sd_kg_ha: f64,
    /// Standard deviation of whole strips or passes on top, kg/ha.
    pub line_sd_kg_ha: f64,
    /// Standard deviation of whole strips on top of passes, kg/ha, where the swath mixture found one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub strip_sd_kg_ha: Option<f64>,
    /// Cells fitted.
    pub cells: usize,
    /// Restricted log-likelihood.
    pub log_likelihood: f64,
}

impl Comparison {
    /// Replaces the 95 % interval, given in kg/ha, in both units.
    pub fn set_interval(&mut self, interval_kg_ha: [f64; 2], bushel_kg: f64) {
        self.interval_95_kg_ha = interval_kg_ha;
        self.interval_95_bu_ac = interval_kg_ha.map(|end| bu_per_acre(end, bushel_kg));
    }
}

/// Treatment minus check in one block.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BlockDifference {
    /// The block.
    pub block: String,
    /// The difference, kg/ha.
    pub difference_kg_ha: f64,
}

/// The money side of one treatment.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Payoff {
    /// The treatment.
    pub treatment: String,
    /// Cost of the treatment, per acre.
    pub cost_per_ac: f64,
    /// Yield gain that just pays for it, bu/ac.
    pub break_even_bu_ac: f64,
    /// Worth of the gain less the cost, per acre.
    pub net_per_ac: f64,
    /// 95 % interval of it.
    pub net_interval_95_per_ac: [f64; 2],
    /// Probability that it pays, under the headline comparison's t distribution.
    pub odds_it_pays: f64,
    /// Price of the crop, per bushel.
    pub price_per_bu: f64,
    /// What the cost is made of, per acre.
    pub cost_parts: Vec<CostPart>,
    /// Ground worked per hour, acres, when the treatment is a machine pass.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub acres_per_hour: Option<f64>,
    /// Prices and costs at which the answer turns.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub turning_points: Option<TurningPoints>,
    /// Odds that it leaves at least so much, for several amounts.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub odds_at_least: Vec<OddsAtLeast>,
    /// Odds that it pays at other prices and costs.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub odds_grid: Option<OddsGrid>,
}

/// One part of a treatment's cost.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CostPart {
    /// Rent, fuel, labour, material.
    pub name: String,
    /// Money per acre.
    pub per_ac: f64,
}
