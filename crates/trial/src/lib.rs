//! Comparisons of treatments against the check, and what a gain is worth. Works on strip yields and
//! layouts alone: no log, no file, and no geometry but that of laying strips out.

mod along_strips;
mod blocks;
mod cell;
mod dunnett;
mod error;
mod gauss_legendre;
mod golden_section;
mod headline;
pub mod layout;
mod mixed_model;
mod paired_strips;
mod payoff;
mod permutation;
mod plot;
mod pooling;
pub mod power;
mod random;
mod randomized_blocks;
mod rate_response;
mod seed_arithmetic;
mod sign_orders;
mod spatial_reml;
mod strip_methods;
mod student;
mod swath_mixture;
mod within_block_orders;
mod zones;

pub use along_strips::{SLICES_IN_WINDOW, Slice, along_strips, slice_length_m};
pub use blocks::blocks_in_a_row;
pub use cell::FieldCell;
pub use dunnett::Dunnett;
pub use error::TrialError;
pub use headline::{Answer, compare};
pub use paired_strips::paired_strips;
pub use payoff::{
    BreakEven, COST_FIELDS, CostField, PayoffSetup, TreatmentCost, WholeField, break_even,
    field_capacity_ac_h, payoff,
};
pub use permutation::{PERMUTATION_SEED, SignFlips, permutation, permutations, sign_flips};
pub use plot::{Layout, Plot};
pub use pooling::{FieldEstimate, Heterogeneity, PooledEstimate, Prediction, Without, pool};
pub use randomized_blocks::randomized_blocks;
pub use rate_response::{Rates, number_and_unit};
pub use seed_arithmetic::{SeedArithmetic, seed_arithmetic};
pub use spatial_reml::spatial_reml;
pub use strip_methods::strip_methods;
pub use swath_mixture::swath_mixture;
pub use within_block_orders::{WithinBlockOrders, within_block_orders};
pub use zones::{ByZone, LEAST_ZONE_AREA_M2, ZoneSum, ZoneSums, by_zone};
