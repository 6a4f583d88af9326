//! The advantage in windows along the strips: where in the field a treatment gained, and whether that
//! is more than luck.

use crate::SaidValues;
use serde::{Deserialize, Serialize};

/// The windows, and what each treatment did in them.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct AlongStrips {
    /// Direction in which distances grow, degrees clockwise from north of the field's plane.
    pub direction_deg: f64,
    /// The end of the field at which the distance is 0: `south`, `west`, …
    pub from_end: String,
    /// Median length of the strips as harvested, m; absent when nothing was.
    pub strip_length_m: Option<f64>,
    /// Strips that run more than 20° off this direction and take no part.
    pub strips_left_out: usize,
    /// Length of a window, m; absent when there is none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub window_m: Option<f64>,
    /// From one window to the next, m.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub step_m: Option<f64>,
    /// Why there is no window, in words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub why_none: Option<String>,
    /// What that names, so that a report in another language can say the same.
    #[serde(default, skip_serializing_if = "SaidValues::is_empty")]
    pub why_none_values: SaidValues,
    /// One entry per treatment that shares a window with the check.
    pub treatments: Vec<AdvantageAlong>,
}

/// One treatment along the strips.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct AdvantageAlong {
    /// The treatment.
    pub treatment: String,
    /// What it is compared with.
    pub check: String,
    /// Blocks that hold both in at least one window.
    pub blocks: usize,
    /// The windows in which at least one block holds both, from the beginning on.
    pub windows: Vec<AlongWindow>,
    /// Whether the advantage changes along the strips; absent with fewer than three blocks or two
    /// windows.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub change: Option<AlongTest>,
    /// Whether the treatment differs from the check anywhere; absent as `change` is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub anywhere: Option<AlongTest>,
    /// Stretches whose interval for all windows at once leaves zero out.
    pub stretches: Vec<AlongStretch>,
}

/// One window.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct AlongWindow {
    /// Its beginning, m from the beginning of the strips.
    pub from_m: f64,
    /// Its end, m.
    pub to_m: f64,
    /// Blocks in which both were harvested over enough of the window.
    pub blocks: usize,
    /// Treatment minus check, mean of the blocks, kg/ha at market moisture.
    pub advantage_kg_ha: f64,
    /// The same in bushels per acre.
    pub advantage_bu_ac: f64,
    /// Its standard error, kg/ha; absent with one block.
    pub std_error_kg_ha: Option<f64>,
    /// Degrees of freedom.
    pub df: f64,
    /// 95 % interval of this window by itself, kg/ha; absent with one block.
    pub interval_95_kg_ha: Option<[f64; 2]>,
    /// The same in bushels per acre.
    pub interval_95_bu_ac: Option<[f64; 2]>,
    /// Interval, kg/ha, that holds for all windows of the treatment at once 95 % of the time; absent
    /// where blocks are too few for one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub interval_95_family_kg_ha: Option<[f64; 2]>,
    /// The same in bushels per acre.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub interval_95_family_bu_ac: Option<[f64; 2]>,
    /// The difference block by block, kg/ha.
    pub block_differences: Vec<super::BlockDifference>,
}

/// A test over all windows of a treatment at once.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct AlongTest {
    /// Share of the orders tried whose largest difference over all windows is as large.
    pub p_value: f64,
    /// Smallest p value that so many blocks can give.
    pub smallest_p: f64,
    /// Orders tried.
    pub orders: u64,
    /// Seed of the orders when not all were tried.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub seed: Option<u64>,
    /// Beginning and end of the window that stands out most, m.
    pub most_at_m: [f64; 2],
    /// By how much, mean of the blocks, kg/ha: the advantage there (`anywhere`), or what it is there
    /// over its mean along the strips (`change`).
    pub most_kg_ha: f64,
}

/// Neighbouring windows that lie on the same side of zero.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct AlongStretch {
    /// Its beginning, m.
    pub from_m: f64,
    /// Its end, m.
    pub to_m: f64,
    /// `gain` or `loss`.
    pub side: String,
}
