//! Ground with its edge moved out or in, corners kept pointed: out and in again closes gaps, in and out again takes off
//! what is narrow.

use geo::buffer::{BufferStyle, LineJoin};
use geo::{Buffer, MultiPolygon};

/// Corners sharper than this, radians, are cut off rather than kept pointed.
const MITRE_ANGLE: f64 = 0.5;

/// `ground` with its edge moved outwards by `outward_m`, or inwards where that is negative, m.
pub fn edge_moved(ground: &MultiPolygon<f64>, outward_m: f64) -> MultiPolygon<f64> {
    let pointed = BufferStyle::new(outward_m).line_join(LineJoin::Miter(MITRE_ANGLE));
    ground.buffer_with_style(pointed)
}
