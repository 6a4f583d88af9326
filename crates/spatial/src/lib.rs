//! Projection, header footprints, harvested ground, strips on the ground and maps.

pub mod cells;
pub mod compass;
pub mod convex;
pub mod crs;
pub mod crs_description;
pub mod harvested_ground;
pub mod local_plane;
pub mod log_outline;
pub mod maps;
pub mod moved_edge;
pub mod overlay;
pub mod pass_direction;
pub mod point_grid;
mod projection;
pub mod strip_ground;
pub mod strip_slices;
pub mod strip_sums;
pub mod surface;
pub mod utm;
pub mod worked_ground;
pub mod zones;
