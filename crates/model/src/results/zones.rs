//! Where the treatments paid: the zones of the trial's ground and the advantage of each treatment in
//! each of them, as `results.json` holds it.

use super::BlockDifference;
use crate::SourceFile;
use serde::Serialize;

/// The zones, where they came from, and what each treatment did in them.
#[derive(Debug, Clone, Serialize)]
pub struct Zones {
    /// `polygons`, `elevation` or `yield_history`.
    pub by: String,
    /// The file of polygons, when zones were drawn.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub polygons: Option<ZonePolygons>,
    /// The past harvests, when zones come from them, in the order given.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub harvests: Vec<PastHarvest>,
    /// Elevations or past yields within this distance of a record were taken together, m.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub radius_m: Option<f64>,
    /// Less ground than this of treatment or check in a block's zone is not compared, m².
    pub least_area_m2: f64,
    /// The zones that hold ground of the strips.
    pub zones: Vec<ZoneGround>,
    /// Kept records on the strips that lie in no zone.
    pub no_zone_records: usize,
    /// Their ground inside the inset strips, m².
    pub no_zone_area_m2: f64,
    /// Kept records on the strips that lie in polygons of several zones; the first in the file counts.
    pub several_zones_records: usize,
    /// Every treatment by zone.
    pub treatments: Vec<TreatmentByZone>,
}

/// A file of polygons that zones were read from.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ZonePolygons {
    /// The file as given.
    pub path: String,
    /// SHA-256 of its bytes.
    pub sha256: String,
    /// Its coordinate reference system.
    pub crs: String,
    /// The attribute that names the zone.
    pub name_column: String,
}

/// One harvest of an earlier year.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PastHarvest {
    /// Its files.
    pub files: Vec<SourceFile>,
    /// Records kept by the cleaning.
    pub kept: usize,
    /// Records of the trial's strips that have kept records of this harvest around them.
    pub records_covered: usize,
}

/// One zone of the trial's ground.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ZoneGround {
    /// Its name.
    pub zone: String,
    /// Lowest and highest smoothed elevation in it, m.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub elevation_m: Option<[f64; 2]>,
    /// Lowest and highest past yield in it; 1 is the mean of each harvest.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub relative_yield: Option<[f64; 2]>,
    /// Kept records on the strips.
    pub records: usize,
    /// Their ground inside the inset strips, m².
    pub area_m2: f64,
}

/// One treatment against the check, zone by zone.
#[derive(Debug, Clone, Serialize)]
pub struct TreatmentByZone {
    /// The treatment.
    pub treatment: String,
    /// What it is compared with.
    pub check: String,
    /// The zones in which some block holds enough ground of both.
    pub zones: Vec<ZoneAdvantage>,
    /// Whether the advantage differs from zone to zone; absent unless two zones have two blocks each.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub test: Option<ZoneTest>,
    /// Standard deviation of whole blocks' differences, kg/ha; absent when no block holds two zones.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub block_sd_kg_ha: Option<f64>,
    /// Standard deviation of a block's difference in a zone beyond that, at `typical_area_m2`, kg/ha.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub error_sd_kg_ha: Option<f64>,
    /// Median of 1/(1/treated + 1/check ground) over blocks and zones, m².
    #[serde(skip_serializing_if = "Option::is_none")]
    pub typical_area_m2: Option<f64>,
    /// Places (a zone in a block) that hold ground of the treatment or of its check but not enough of
    /// both.
    pub places_left_out: usize,
    /// Ground of both in these places, m².
    pub area_left_out_m2: f64,
}

/// A treatment's advantage in one zone.
#[derive(Debug, Clone, Serialize)]
pub struct ZoneAdvantage {
    /// The zone.
    pub zone: String,
    /// Blocks that hold enough ground of treatment and check in it.
    pub blocks: usize,
    /// Their ground, treatment and check together, m².
    pub area_m2: f64,
    /// Yield of the check on its part of that ground, kg/ha at market moisture.
    pub check_yield_kg_ha: f64,
    /// Treatment minus check, kg/ha at market moisture.
    pub advantage_kg_ha: f64,
    /// The same in bushels per acre.
    pub advantage_bu_ac: f64,
    /// Its standard error, kg/ha; `null` with one block.
    pub std_error_kg_ha: f64,
    /// Degrees of freedom.
    pub df: f64,
    /// 95 % interval, kg/ha.
    pub interval_95_kg_ha: [f64; 2],
    /// The same in bushels per acre.
    pub interval_95_bu_ac: [f64; 2],
    /// The difference block by block, kg/ha.
    pub block_differences: Vec<BlockDifference>,
    /// What the advantage is worth, when the treatment has a price and a cost.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub payoff: Option<ZonePayoff>,
}

/// The money side of a treatment in one zone.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ZonePayoff {
    /// Worth of the gain less the cost, per acre.
    pub net_per_ac: f64,
    /// 95 % interval of it.
    pub net_interval_95_per_ac: [f64; 2],
    /// Probability that it pays in this zone.
    pub odds_it_pays: f64,
}

/// The treatment-by-zone test: every zone has the same advantage.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct ZoneTest {
    /// F statistic.
    pub f: f64,
    /// Numerator degrees of freedom: zones tested less one.
    pub df_zones: f64,
    /// Denominator degrees of freedom.
    pub df_error: f64,
    /// Probability of an F at least this large were the advantage the same in every zone.
    pub p_value: f64,
}
