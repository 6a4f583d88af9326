//! `plan.json`: everything a plan was made from and what came out, lengths in m, areas in ha.

use super::amounts::Amounts;
use checkstrip_model::results::Tool;
use checkstrip_model::{SourceFile, Warning};
use checkstrip_trial::layout::SwathFit;
use checkstrip_trial::power::MeasuredVariation;
use serde::Serialize;

/// Name of the form of `plan.json`; changes when a key changes its meaning.
pub const PLAN_SCHEMA: &str = "checkstrip-plan/1";

/// A plan.
#[derive(Debug, Clone, Serialize)]
pub struct Plan {
    /// [`PLAN_SCHEMA`].
    pub schema: String,
    /// What made it.
    pub tool: Tool,
    /// Name of the field.
    pub name: String,
    /// The crop.
    pub crop: String,
    /// Weight of its bushel, kg.
    pub bushel_kg: f64,
    /// What was asked for.
    pub parameters: Parameters,
    /// The ground.
    pub ground: GroundRecord,
    /// Blocks laid.
    pub blocks: usize,
    /// Implement passes in each strip.
    pub strip_passes: u32,
    /// How header swaths fit.
    pub swaths: SwathFit,
    /// The strips in driving order.
    pub strips: Vec<StripRecord>,
    /// How treatments were put on them.
    pub randomisation: Randomisation,
    /// What the strips can show.
    pub power: PowerRecord,
    /// What should be known.
    pub warnings: Vec<Warning>,
}

/// What was asked for.
#[derive(Debug, Clone, Serialize)]
pub struct Parameters {
    /// The boundary's file; absent when the outline of the log was taken.
    pub boundary: Option<String>,
    /// SHA-256 of that file.
    pub boundary_sha256: Option<String>,
    /// The reference system it was in.
    pub boundary_crs: Option<String>,
    /// The past harvest.
    pub logs: Vec<SourceFile>,
    /// Working width of the implement, m.
    pub implement_width_m: f64,
    /// Cutting width of the header, m.
    pub header_width_m: f64,
    /// Passes in a strip, when they were asked for.
    pub strip_passes: Option<u32>,
    /// The treatments.
    pub treatments: Vec<String>,
    /// Which of them is the check.
    pub check: String,
    /// Blocks asked for.
    pub blocks: u32,
    /// Headland, m.
    pub headland_m: f64,
    /// Offset of the first strip, m, when it was asked for.
    pub offset_m: Option<f64>,
    /// Seed of the random orders.
    pub seed: u64,
}

/// The ground.
#[derive(Debug, Clone, Serialize)]
pub struct GroundRecord {
    /// Which way strips run, degrees clockwise from true north; numbers rise to the right.
    pub direction_deg: f64,
    /// Where the direction came from: `given`, `first_line`, `passes_of_log` or `longest_side`.
    pub direction_from: String,
    /// With `passes_of_log`, the share of the log's ground that was cut within 10° of it.
    pub share_cut_along: Option<f64>,
    /// Width across the strips inside the headland, m.
    pub room_m: f64,
    /// Blocks that would fit on it.
    pub blocks_that_fit: usize,
    /// The field, ha.
    pub field_ha: f64,
    /// Its headland, ha.
    pub headland_ha: f64,
    /// Ground under strips, ha.
    pub strips_ha: f64,
    /// Ground inside the headland without a strip, ha.
    pub left_over_ha: f64,
}

/// One strip.
#[derive(Debug, Clone, Serialize)]
pub struct StripRecord {
    /// Its number in driving order.
    pub strip_id: String,
    /// What is done on it.
    pub treatment: String,
    /// Its block.
    pub block: String,
    /// Width, m.
    pub width_m: f64,
    /// Length, m.
    pub length_m: f64,
    /// Area, ha.
    pub area_ha: f64,
    /// Pieces it consists of: more than one where a pond or a bay of the boundary parts it.
    pub pieces: usize,
}

/// How treatments were put on strips.
#[derive(Debug, Clone, Serialize)]
pub struct Randomisation {
    /// The generator.
    pub generator: String,
    /// Its seed.
    pub seed: u64,
    /// The treatments block by block, strips from left to right.
    pub orders: Vec<Vec<String>>,
    /// Whether by chance all blocks have one order: a permutation test is then a computation only.
    pub all_blocks_one_order: bool,
}

/// What the strips can show.
#[derive(Debug, Clone, Serialize)]
pub struct PowerRecord {
    /// The comparison: `paired_strips` or `randomized_blocks`.
    pub method: String,
    /// Blocks laid.
    pub blocks: usize,
    /// Degrees of freedom.
    pub df: f64,
    /// Share of trials that show a difference where there is none, two-sided.
    pub level: f64,
    /// Share of trials that show the smallest gain.
    pub power: f64,
    /// Standard deviation from strip to strip within blocks.
    pub sd: Amounts,
    /// `given`, `measured` or `assumed`.
    pub sd_source: String,
    /// What a past harvest showed.
    pub measured: Option<MeasuredVariation>,
    /// Yield expected, kg/ha.
    pub expected_yield_kg_ha: Option<f64>,
    /// Smallest gain, two-sided test.
    pub smallest_gain: Amounts,
    /// Smallest gain, two-sided test, with all blocks that would fit.
    pub smallest_gain_on_all_ground: Amounts,
    /// Smallest gain, one-sided test.
    pub smallest_gain_one_sided: Amounts,
    /// The gain that was asked about.
    pub wanted: Option<WantedGain>,
    /// The gain that pays.
    pub break_even: Option<BreakEvenGain>,
}

/// A gain that was asked about.
#[derive(Debug, Clone, Serialize)]
pub struct WantedGain {
    /// The gain.
    pub gain: Amounts,
    /// Fewest blocks that show it; absent when 500 do not.
    pub blocks_needed: Option<usize>,
    /// Share of trials laid like this one that show it.
    pub power: Option<f64>,
}

/// The gain that pays for the treatment.
#[derive(Debug, Clone, Serialize)]
pub struct BreakEvenGain {
    /// bu/ac.
    pub bu_ac: f64,
    /// kg/ha.
    pub kg_ha: f64,
    /// Whether the smallest gain is no larger; absent when it is known in percent only.
    pub shown: Option<bool>,
    /// Fewest blocks that show it; absent when 500 do not, or as above.
    pub blocks_needed: Option<usize>,
}
