//! Pixels, smooth lines, filled outlines, lettering: what the maps of `spatial` and the charts of
//! `report` are drawn with. Knows nothing of fields or yields. The fonts travel inside the binary.

pub mod canvas;
mod error;
pub mod lettering;
pub mod paper;
pub mod polygon_fill;
pub mod stroke;

pub use error::DrawingError;
pub use lettering::FONTS;
