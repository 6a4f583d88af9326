//! Plants counted after emergence, strip by strip, and how the treatments' stands compare, as `results.json` holds it.

use super::{Comparison, InputColumn, OverallTest};
use crate::SourceFile;
use serde::Serialize;

/// The stand of the strips.
#[derive(Debug, Clone, Serialize)]
pub struct Stand {
    /// The files of counts.
    pub files: Vec<SourceFile>,
    /// For each column that was read: its header and unit.
    pub columns: Vec<InputColumn>,
    /// Length of counted row where the files do not say it, m.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub row_length_m: Option<f64>,
    /// Distance from row to row where the files do not say it, m.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub row_spacing_m: Option<f64>,
    /// Counts in the files.
    pub counts: usize,
    /// Counts that stand for a strip. `used` and `left_out` add up to `counts`.
    pub used: usize,
    /// The others, each with why.
    pub left_out: Vec<LeftOutCount>,
    /// Strip by strip, in the order of the strips file.
    pub strips: Vec<StripStand>,
    /// One entry per treatment and method, the headline method first.
    pub comparisons: Vec<StandComparison>,
    /// Whether any treatment differs, when there is more than one beside the check.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub overall_test: Option<OverallTest>,
}

/// A count that stands for no strip.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct LeftOutCount {
    /// Its file.
    pub file: String,
    /// Its row there.
    pub row: u32,
    /// Why.
    pub why: WhyLeftOut,
}

/// Why a count stands for no strip.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum WhyLeftOut {
    /// It lies in no strip.
    Outside,
    /// It lies within the inset at a strip's edge, or on ground that two strips claim.
    Edge,
    /// It names a strip that there is not.
    UnknownStrip,
    /// It has neither a position nor a strip.
    NoPlace,
    /// It has no number of plants.
    NoCount,
    /// It does not say in how much row they were counted.
    NoRow,
}

impl WhyLeftOut {
    /// Every reason.
    pub const ALL: [WhyLeftOut; 6] = [
        WhyLeftOut::Outside,
        WhyLeftOut::Edge,
        WhyLeftOut::UnknownStrip,
        WhyLeftOut::NoPlace,
        WhyLeftOut::NoCount,
        WhyLeftOut::NoRow,
    ];

    /// The id of its words in the language files.
    pub fn text(self) -> &'static str {
        match self {
            WhyLeftOut::Outside => "stand-outside",
            WhyLeftOut::Edge => "stand-edge",
            WhyLeftOut::UnknownStrip => "stand-unknown-strip",
            WhyLeftOut::NoPlace => "stand-no-place",
            WhyLeftOut::NoCount => "stand-no-count",
            WhyLeftOut::NoRow => "stand-no-row",
        }
    }
}

/// The counts of one strip.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StripStand {
    /// Name of the strip.
    pub strip_id: String,
    /// Its treatment.
    pub treatment: String,
    /// Its block.
    pub block: String,
    /// Counts in it.
    pub counts: usize,
    /// Their mean, plants/ha; absent without a count.
    pub plants_ha: Option<f64>,
    /// The same, plants/ac.
    pub plants_ac: Option<f64>,
    /// Standard deviation of single counts, plants/ha; absent with fewer than two.
    pub sd_plants_ha: Option<f64>,
    /// Plants per seed sown, percent, of the counts that say how many seeds were.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub emergence_pct: Option<f64>,
}

/// The stand of one treatment against the check's by one method.
#[derive(Debug, Clone, Serialize)]
pub struct StandComparison {
    /// The treatment.
    pub treatment: String,
    /// What it is compared with.
    pub check: String,
    /// `paired_strips`, `randomized_blocks` or `permutation`.
    pub method: String,
    /// Blocks that hold counts of both.
    pub blocks: usize,
    /// Treatment minus check, plants/ha.
    pub difference_plants_ha: f64,
    /// The same, plants/ac.
    pub difference_plants_ac: f64,
    /// Its standard error, plants/ha.
    pub std_error_plants_ha: f64,
    /// Degrees of freedom.
    pub df: f64,
    /// 95 % interval, plants/ha.
    pub interval_95_plants_ha: [f64; 2],
    /// The same, plants/ac.
    pub interval_95_plants_ac: [f64; 2],
    /// Two-sided p value against no difference.
    pub p_value: f64,
    /// Interval, plants/ha, that holds 95 % of the time for all treatments of the method at once.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub interval_95_family_plants_ha: Option<[f64; 2]>,
    /// Two-sided p value that allows for all treatments having been looked at.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub p_value_family: Option<f64>,
    /// Smallest p value that a permutation of so many blocks can give.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub smallest_p: Option<f64>,
    /// The difference block by block.
    pub block_differences: Vec<BlockStandDifference>,
}

/// Treatment minus check in one block.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BlockStandDifference {
    /// The block.
    pub block: String,
    /// The difference, plants/ha.
    pub difference_plants_ha: f64,
}

impl StandComparison {
    /// The weight of a "bushel" of which plants per hectare become plants per acre: comparisons take whatever they are
    /// given for kilograms.
    pub const ONE_PLANT: f64 = 1.0;
}

impl From<Comparison> for StandComparison {
    /// A comparison of plants counted, made with [`StandComparison::ONE_PLANT`] for the bushel.
    fn from(found: Comparison) -> StandComparison {
        StandComparison {
            treatment: found.treatment,
            check: found.check,
            method: found.method,
            blocks: found.blocks,
            difference_plants_ha: found.advantage_kg_ha,
            difference_plants_ac: found.advantage_bu_ac,
            std_error_plants_ha: found.std_error_kg_ha,
            df: found.df,
            interval_95_plants_ha: found.interval_95_kg_ha,
            interval_95_plants_ac: found.interval_95_bu_ac,
            p_value: found.p_value,
            interval_95_family_plants_ha: found.interval_95_family_kg_ha,
            p_value_family: found.p_value_family,
            smallest_p: found.smallest_p,
            block_differences: found
                .block_differences
                .into_iter()
                .map(|block| BlockStandDifference {
                    block: block.block,
                    difference_plants_ha: block.difference_kg_ha,
                })
                .collect(),
        }
    }
}
