//! The window through which a map looks at the ground: which metres lie under which pixels.

use super::canvas::PixelRect;
use super::extent::Extent;

/// Maps the local plane (m, north up) to pixels (down), inside one rectangle of the sheet.
#[derive(Debug, Clone, Copy)]
pub(super) struct Ground {
    /// The pixels that show ground.
    pub(super) window: PixelRect,
    /// Pixels per metre.
    pub(super) scale: f64,
    left_east_m: f64,
    top_north_m: f64,
}

impl Ground {
    /// Centres `extent` in `window` at `scale` pixels per metre.
    pub(super) fn new(extent: Extent, window: PixelRect, scale: f64) -> Ground {
        let (east, north) = extent.centre();
        Ground {
            window,
            scale,
            left_east_m: east - f64::from(window.width()) / 2.0 / scale,
            top_north_m: north + f64::from(window.height()) / 2.0 / scale,
        }
    }

    /// The pixel position, fractions included, of a point in the local plane.
    #[inline]
    pub(super) fn pixel(&self, [east_m, north_m]: [f64; 2]) -> [f64; 2] {
        [
            f64::from(self.window.left) + (east_m - self.left_east_m) * self.scale,
            f64::from(self.window.top) + (self.top_north_m - north_m) * self.scale,
        ]
    }

    /// The point in the local plane under a pixel position.
    #[inline]
    pub(super) fn place(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        [
            self.left_east_m + (x - f64::from(self.window.left)) / self.scale,
            self.top_north_m - (y - f64::from(self.window.top)) / self.scale,
        ]
    }

    /// Whether a pixel position lies in the window.
    #[inline]
    pub(super) fn shows(&self, [x, y]: [f64; 2]) -> bool {
        x >= f64::from(self.window.left)
            && x < f64::from(self.window.right)
            && y >= f64::from(self.window.top)
            && y < f64::from(self.window.bottom)
    }
}
