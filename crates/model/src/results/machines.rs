//! What neighbouring swaths and scale tickets say of the machines: entries of `cleaning` in the results.

use crate::SaidValues;
use serde::{Deserialize, Serialize};

/// How the machines of one field read beside each other.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct MachineBias {
    /// Whether grain was multiplied by the factors found here.
    pub applied: bool,
    /// Why, or why not.
    pub why: String,
    /// What that names, so that a report in another language can say the same.
    #[serde(default, skip_serializing_if = "SaidValues::is_empty")]
    pub why_values: SaidValues,
    /// Records of two machines count as neighbours within this, m.
    pub neighbours_within_m: f64,
    /// Side of the squares of ground that passes are cut into, m.
    pub stretch_m: f64,
    /// One entry per machine, in the order of the log.
    pub machines: Vec<MachineFactor>,
    /// Machines that cut beside each other, two by two.
    pub pairs: Vec<MachinePair>,
    /// Groups of machines that neighbouring swaths join.
    pub groups: Vec<MachineGroup>,
    /// Which machine cut how much of each treatment; empty where no strips were laid over.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub treatments: Vec<TreatmentByMachine>,
}

/// One machine against the mean of its group.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct MachineFactor {
    /// The machine.
    pub machine: String,
    /// Its grain as logged, at market moisture, kg.
    pub logged_kg: f64,
    /// What its grain was multiplied by in the end, tickets included, before loads' own factors.
    pub factor: f64,
    /// What neighbouring swaths alone say its grain had to be multiplied by, the group's grain unchanged.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub neighbour_factor: Option<f64>,
    /// Standard error of the logarithm of `neighbour_factor`: about its relative error.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub std_error: Option<f64>,
    /// 95 % interval of `neighbour_factor`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub interval_95: Option<[f64; 2]>,
    /// Place of its group in `groups`; absent for a machine that never cut beside another.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub group: Option<usize>,
    /// Stretches in which it cut beside another machine.
    pub stretches: usize,
}

/// Two machines that cut beside each other.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct MachinePair {
    /// One machine.
    pub machine: String,
    /// The other.
    pub other: String,
    /// Yield of the one over that of the other, over all stretches they share: as found, nothing joined.
    pub ratio: f64,
    /// Pairs of passes.
    pub pass_pairs: usize,
    /// Stretches.
    pub stretches: usize,
    /// Pairs of records.
    pub record_pairs: usize,
}

/// Machines that neighbouring swaths join, directly or over others.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct MachineGroup {
    /// The machines.
    pub machines: Vec<String>,
    /// Stretches they share.
    pub stretches: usize,
    /// Pairs of passes.
    pub pass_pairs: usize,
    /// `passes` when stretches that share a pass were allowed to err together, `stretches` when there were
    /// too few passes to allow for that.
    pub unit: String,
    /// Degrees of freedom of the standard errors.
    pub df: f64,
    /// Probability of factors as far from 1 when all machines read alike.
    pub p_value: f64,
}

/// Which machine cut how much of one treatment.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct TreatmentByMachine {
    /// The treatment.
    pub treatment: String,
    /// Share of its harvested ground by machine, in the order of `machines`.
    pub shares: Vec<f64>,
}

/// The log held against scale tickets.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct TicketCalibration {
    /// The file of tickets.
    pub path: String,
    /// SHA-256 of its bytes.
    pub sha256: String,
    /// Unit that masses were read in.
    pub mass_unit: String,
    /// `load` when records were found by the log's load column, `time` by the tickets' times.
    pub found_by: String,
    /// Whether tickets tell the machines apart; `false`: one factor stands for all that have tickets.
    pub machines_told_apart: bool,
    /// One entry per machine, in the order of the log.
    pub machines: Vec<TicketMachine>,
    /// One entry per ticket, in the order of the file.
    pub loads: Vec<TicketLoad>,
    /// Loads of the log without a ticket that was used: their grain has their machine's factor.
    pub loads_without_ticket: Vec<String>,
    /// Grain of the log in no weighed load, as logged, at market moisture, kg.
    pub unweighed_kg: f64,
}

/// What tickets say of one machine.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct TicketMachine {
    /// The machine.
    pub machine: String,
    /// What its grain was multiplied by, before loads' own factors.
    pub factor: f64,
    /// `tickets`, `neighbouring_swaths` (carried over from machines with tickets) or `as_logged`.
    pub from: String,
    /// Standard error of the factor, of machines with tickets, where there are more loads than machines.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub std_error: Option<f64>,
    /// 95 % interval of the factor.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub interval_95: Option<[f64; 2]>,
    /// Weighed loads with its grain.
    pub loads: usize,
    /// Its grain in them, as logged, kg.
    pub logged_kg: f64,
}

/// One ticket.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct TicketLoad {
    /// Row in the file.
    pub row: u32,
    /// The load; empty where tickets go by time.
    pub load: String,
    /// The machine that the ticket names.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub machine: Option<String>,
    /// Weighed, kg: at market moisture when `at_market_moisture`, else wet.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub weighed_kg: Option<f64>,
    /// Logged, in the same way, of all records of the load, kg.
    pub logged_kg: f64,
    /// Whether both are at market moisture, because the ticket says its own.
    pub at_market_moisture: bool,
    /// Records of the load.
    pub records: usize,
    /// Weighed over logged: what the load's grain was multiplied by on the whole, when it was used.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub factor: Option<f64>,
    /// Weighed over what its machines' factors give, less 1.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub residual: Option<f64>,
    /// Whether it was used.
    pub used: bool,
    /// Why it was not used; empty when it was.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub why: String,
    /// What that names, so that a report in another language can say the same.
    #[serde(default, skip_serializing_if = "SaidValues::is_empty")]
    pub why_values: SaidValues,
}
