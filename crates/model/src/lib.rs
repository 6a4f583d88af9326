//! What every other crate of checkstrip talks about: units, crops, the columnar log of a machine,
//! the status each record ends up with, treatment strips, warnings and the results of a comparison.
//! It reads no file, draws nothing and computes nothing beyond unit conversion, so that readers,
//! cleaning steps, statistics and reports can share it without knowing each other.

mod applied_class;
mod clean_log;
mod column;
mod contained;
mod crop;
mod field_log;
mod operation;
mod problem;
pub mod results;
mod said;
mod scale_ticket;
mod silence;
pub mod spelling;
mod status;
mod strip;
pub mod units;
mod warning;
mod zone;

pub use applied_class::AppliedClass;
pub use clean_log::{CleanLog, rectangle_behind};
pub use column::{Column, ColumnMap, ColumnSource, Quantity};
pub use contained::contained;
pub use crop::Crop;
pub use field_log::{FieldLog, Labels, SourceFile};
pub use operation::Operation;
pub use problem::Problem;
pub use said::{SaidList, SaidText, SaidValue, SaidValues};
pub use scale_ticket::{ScaleTicket, ScaleTickets};
pub use silence::silence_that_ends_a_pass_s;
pub use status::Status;
pub use strip::{Strip, StripSet};
pub use warning::Warning;
pub use zone::{Zone, ZoneSet};
