//! The same trial somewhere else on the field: the strips of a plan moved across it by chance, with
//! new orders. A uniformity trial lays many of these over one past harvest.

use super::error::LayoutError;
use super::lay_out::{LayoutRequest, PlannedLayout, lay_out};
use super::trial_ground::TrialGround;
use crate::random::Random;

/// The `draw`-th redraw of `layout`, which `request` made: its first strip starts anywhere from the
/// ground's left side to where the last strip would reach its right side, and the orders of the
/// treatments are drawn anew.
///
/// # Errors
/// As [`lay_out`]: on ground that is not a rectangle, fewer or no blocks may fit there.
pub fn redraw(
    ground: &TrialGround,
    request: &LayoutRequest,
    layout: &PlannedLayout,
    draw: u64,
) -> Result<PlannedLayout, LayoutError> {
    // A stream of its own for every draw of every seed.
    let mut random = Random::new(Random::new(request.seed).next() ^ draw);
    let used = layout.strips.len() as f64 * layout.strip_width_m();
    let spare = (ground.room_m() - used).max(0.0);
    let moved = LayoutRequest {
        strip_passes: Some(layout.passes),
        blocks: layout.blocks as u32,
        offset_m: Some(ground.across[0] - ground.start + random.unit() * spare),
        seed: random.next(),
        ..request.clone()
    };
    lay_out(ground, &moved)
}
