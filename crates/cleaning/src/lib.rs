//! Cleaning of a harvest log: from columns as the machines wrote them to the yield of the ground
//! under each record, with the reason beside every record that does not count.
//!
//! One module per step, each a function from columns to statuses or columns; [`clean`](clean())
//! orders them. `docs/cleaning.md` states every step's formula, default and source. Nothing here
//! knows of strips or treatments, so that no setting can favour one of them.

mod clean;
mod drive;
mod error;
mod flow_readings;
mod grain_delay;
mod grain_smear;
mod judgement;
mod limits;
mod local_outliers;
mod machine_bias;
mod machine_factors;
mod motion;
mod neighbouring_swaths;
mod order;
mod overlap;
mod pass_ends;
mod passes;
mod position;
mod recipe;
mod restore;
mod robust;
mod scale_tickets;
mod settings;
mod speed;
mod transport;

pub use clean::{BesideTheRecords, CleaningOutcome, GroundClass, InputTotals, clean, plane_of};
pub use error::CleaningError;
pub use grain_delay::{DelaySource, GrainDelay};
pub use recipe::{BiasSetting, DelaySetting, Recipe};
pub use restore::restore;
pub use settings::{SETTINGS, Setting, SettingKind};
