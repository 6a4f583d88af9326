//! Comparisons of treatments against the check, and what a gain is worth. Works on strip yields and
//! layouts alone: no log, no geometry, no file.

mod blocks;
mod error;
mod headline;
mod paired_strips;
mod payoff;
mod plot;
mod randomized_blocks;
mod student;

pub use blocks::{Blocks, blocks_by_nearness};
pub use error::TrialError;
pub use headline::{Answer, compare};
pub use paired_strips::paired_strips;
pub use payoff::{PayoffSetup, TreatmentCost, field_capacity_ac_h, payoff};
pub use plot::{Layout, Plot};
pub use randomized_blocks::randomized_blocks;
