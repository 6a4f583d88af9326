//! Laying out strips for a trial: parallel strips of whole implement passes, side by side in blocks,
//! on the ground inside the headland, each block's treatments in an order drawn by chance. The plan
//! job calls [`TrialGround::new`] and [`lay_out`]; formulas and sources are in `docs/planning.md`.

mod direction;
mod error;
mod frame;
mod full_width;
mod lay_out;
mod redraw;
mod swath_fit;
mod treatment_order;
mod trial_ground;

pub use direction::Direction;
pub use error::LayoutError;
pub use lay_out::{LayoutRequest, PlannedLayout, PlannedStrip, SHORT_M, lay_out};
pub use redraw::redraw;
pub use swath_fit::SwathFit;
pub use trial_ground::TrialGround;
