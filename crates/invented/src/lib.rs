//! An invented farm's season with a known truth: a field whose yield is known everywhere, treatment
//! strips on it, and the log that a combine driving over it would write, grain path, noise, turns
//! and faults included; and the log of a planter with known faults in known rows. `checkstrip demo` shows it to a person, and tests hold what checkstrip finds
//! against what was planted. Nothing here is or resembles a real farm's data.
//!
//! ```
//! use checkstrip_invented::{FieldPlan, InventedField};
//! let plan = FieldPlan { passes: 12, pass_length_m: 200.0, blocks: 2, ..FieldPlan::default() };
//! let harvest = InventedField::new(plan)?.harvest();
//! assert_eq!(harvest.strips.strips.len(), 4);
//! assert_eq!(harvest.truth.yield_kg_ha.len(), harvest.log.len());
//! # Ok::<(), checkstrip_invented::InventedError>(())
//! ```

#![forbid(unsafe_code)]

mod drive;
mod faults;
mod field;
mod grain_path;
mod harvest;
mod place;
mod plan;
mod planter;
mod random;
mod route;
mod season;
mod surface;

pub use faults::{Fault, FaultKind};
pub use field::InventedField;
pub use harvest::{Harvest, StripTruth, TreatmentTruth, Truth};
pub use plan::{Combine, FaultCounts, FieldPlan, InventedError, Treatment};
pub use planter::{PlanterFault, PlanterPlan, invented_passes, invented_planting};
pub use season::{Season, write_season};
