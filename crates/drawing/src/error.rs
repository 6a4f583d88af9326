//! Why a picture could not be drawn.

/// Why a picture could not be drawn.
#[derive(Debug, thiserror::Error)]
pub enum DrawingError {
    /// The embedded lettering cannot be read.
    #[error("the embedded lettering cannot be read: {0}")]
    Lettering(#[from] ab_glyph::InvalidFont),
    /// The picture could not be turned into a PNG file.
    #[error("the picture could not be written as PNG: {0}")]
    Encoding(#[from] image::ImageError),
}
