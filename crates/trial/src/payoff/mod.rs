//! What a gain is worth: the cost of a treatment per acre, the gain that pays for it, the worth of
//! the measured gain less the cost, the odds that the true gain pays, and what would turn the answer.
//! Each has its file; [`payoff`] puts them together for one comparison, [`break_even`] needs no
//! harvest at all.

mod break_even;
mod field_capacity;
mod odds;
mod setup;
mod treatment_cost;
mod turning_points;
mod worth;

pub(crate) use break_even::check_price;
pub use break_even::{BreakEven, WholeField, break_even};
pub use field_capacity::field_capacity_ac_h;
pub use setup::PayoffSetup;
pub use treatment_cost::{COST_FIELDS, CostField, TreatmentCost};
pub use worth::payoff;
