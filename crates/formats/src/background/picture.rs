//! A picture drawn in the plane from pixels that lie elsewhere: which pixel of the source is under each
//! pixel drawn, and the picture as PNG.

use checkstrip_model::Problem;
use checkstrip_spatial::crs::CrsError;
use checkstrip_spatial::local_plane::LocalPlane;
use image::{ImageEncoder, RgbaImage};

/// Most pixels a side.
pub(super) const MOST_PIXELS: u32 = 2048;
/// Places are converted at every so many pixels, and taken to lie evenly between: over so little ground any
/// projection is straight.
const STEP: u32 = 16;

/// Where the pixels of a picture in the plane lie.
pub(super) struct Grid {
    /// West, south, east and north end, m.
    pub(super) extent: [f64; 4],
    pub(super) width: u32,
    pub(super) height: u32,
}

impl Grid {
    /// A grid over `extent` with pixels of about `pixel_m`, larger where there would be too many.
    pub(super) fn new(extent: [f64; 4], pixel_m: f64) -> Grid {
        let [west, south, east, north] = extent;
        let (across, up) = (east - west, north - south);
        let pixel_m = pixel_m.max(across.max(up) / f64::from(MOST_PIXELS));
        let count =
            |metres: f64| (metres / pixel_m).ceil().clamp(1.0, f64::from(MOST_PIXELS)) as u32;
        Grid {
            extent,
            width: count(across),
            height: count(up),
        }
    }

    /// For each pixel, row by row from the north, its place in a source: `convert` takes points from
    /// longitude and latitude, degrees, to it.
    pub(super) fn places(
        &self,
        plane: &LocalPlane,
        convert: impl Fn(&mut [[f64; 2]]) -> Result<(), CrsError>,
    ) -> Result<Vec<[f64; 2]>, CrsError> {
        let [west, south, east, north] = self.extent;
        let steps = [self.width, self.height].map(|pixels| pixels.div_ceil(STEP) + 1);
        let pixel = [
            (east - west) / f64::from(self.width),
            (north - south) / f64::from(self.height),
        ];
        let mut knots = Vec::with_capacity((steps[0] * steps[1]) as usize);
        for row in 0..steps[1] {
            for column in 0..steps[0] {
                knots.push([
                    west + pixel[0] * (f64::from(column * STEP) + 0.5),
                    north - pixel[1] * (f64::from(row * STEP) + 0.5),
                ]);
            }
        }
        plane.points_to_lon_lat(&mut knots)?;
        convert(&mut knots)?;
        let mut places = Vec::with_capacity((self.width * self.height) as usize);
        for row in 0..self.height {
            for column in 0..self.width {
                let (right, down) = (column / STEP, row / STEP);
                let [x, y] = [column % STEP, row % STEP].map(|at| f64::from(at) / f64::from(STEP));
                let knot = |right: u32, down: u32| knots[(down * steps[0] + right) as usize];
                let [a, b] = [knot(right, down), knot(right + 1, down)];
                let [c, d] = [knot(right, down + 1), knot(right + 1, down + 1)];
                places.push([0, 1].map(|axis| {
                    let above = a[axis] + x * (b[axis] - a[axis]);
                    let below = c[axis] + x * (d[axis] - c[axis]);
                    above + y * (below - above)
                }));
            }
        }
        Ok(places)
    }

    /// The picture of `pixels`, in the order of [`places`](Self::places), as PNG.
    pub(super) fn png(&self, file: &str, pixels: Vec<[u8; 4]>) -> Result<Vec<u8>, Problem> {
        let failed = || Problem::new(file, "cannot be drawn as a picture");
        let picture = RgbaImage::from_raw(self.width, self.height, pixels.concat());
        let picture = picture.ok_or_else(failed)?;
        let mut png = Vec::new();
        image::codecs::png::PngEncoder::new(&mut png)
            .write_image(
                picture.as_raw(),
                self.width,
                self.height,
                image::ExtendedColorType::Rgba8,
            )
            .map_err(|_| failed())?;
        Ok(png)
    }
}

/// The box around `points`; `None` without one that is finite.
pub(super) fn bounds(points: &[[f64; 2]]) -> Option<[f64; 4]> {
    let mut bounds = None;
    for point in points
        .iter()
        .filter(|p| p[0].is_finite() && p[1].is_finite())
    {
        crate::export::feature_source::widen(&mut bounds, *point);
    }
    bounds
}

/// What two boxes share; `None` when it is nothing.
pub(super) fn shared(a: [f64; 4], b: [f64; 4]) -> Option<[f64; 4]> {
    let both = [
        a[0].max(b[0]),
        a[1].max(b[1]),
        a[2].min(b[2]),
        a[3].min(b[3]),
    ];
    (both[0] < both[2] && both[1] < both[3]).then_some(both)
}
