//! A gridded surface of yield: the mean of every cell of a raster, by block kriging or by inverse distance, from the
//! kept records. It shows ground, smoothed, to look at and to lay beside other maps; treatments are compared from
//! strips. `checkstrip surface` and `compare --surface` ask for it through `job`.

mod grid;
mod inverse_distance;
mod kriging;
#[cfg(test)]
mod reference;
mod samples;
mod variogram;

pub use grid::RasterGrid;
pub use kriging::BLOCK_SIDE;
pub use samples::NEIGHBOURS;
pub use variogram::{
    FittedVariogram, LAGS, LONGEST_LAG_M, Lag, Variogram, VariogramShape, empirical_variogram,
    fit_variogram,
};

use crate::point_grid::PointGrid;
use checkstrip_model::Warning;
use inverse_distance::inverse_distance;
use kriging::BlockKriging;
use rayon::prelude::*;
use samples::{Nearest, Samples};

/// Side of a cell when nobody asks for another, m: about half a header, so that the passes side by side fall into cells of
/// their own. Along a pass grain is smeared over more than that: smaller cells show no more. Common practice, no source.
pub const USUAL_CELL_M: f64 = 5.0;
/// Cells that can be asked for, m.
const CELL_BOUNDS_M: [f64; 2] = [0.5, 100.0];
/// Cells of a raster, at most.
const MOST_CELLS: usize = 25_000_000;
/// A cell whose middle is farther than this many header widths from every record is outside the harvested ground: a
/// missed swath is bridged, and the edge of the field lies half a header farther out than the last pass's edge at most.
/// Our own choice.
const EDGE_WIDTHS: f64 = 1.0;
/// Samples farther than this many header widths, or cells where those are larger, say nothing of a cell. Our own choice.
const REACH_WIDTHS: f64 = 4.0;
/// Fewer samples say too little of a variogram: Webster, R. and Oliver, M. A. (1992), *Sample adequately to estimate
/// variograms of soil properties*, Journal of Soil Science 43, 177–192.
const FEWEST_SAMPLES: usize = 50;
/// A variogram whose distance adds less than this share of the sill is flat. Our own choice.
const FLAT_SHARE: f64 = 0.05;
/// A longest lag of this share of the samples' diagonal: common practice, no source.
const LONGEST_LAG_SHARE: f64 = 1.0 / 3.0;

/// How cells are estimated.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SurfaceMethod {
    /// Ordinary kriging of the cell's mean.
    BlockKriging,
    /// Inverse distance squared, at the cell's middle.
    InverseDistance,
}

impl SurfaceMethod {
    /// Its name in files.
    pub fn key(self) -> &'static str {
        match self {
            SurfaceMethod::BlockKriging => "block_kriging",
            SurfaceMethod::InverseDistance => "inverse_distance",
        }
    }

    /// Its name in sentences.
    pub fn words(self) -> &'static str {
        match self {
            SurfaceMethod::BlockKriging => "block kriging",
            SurfaceMethod::InverseDistance => "inverse distance squared",
        }
    }
}

/// What surface to make.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SurfaceSettings {
    /// How cells are estimated.
    pub method: SurfaceMethod,
    /// Side of a cell, m.
    pub cell_m: f64,
}

/// A surface, row by row from the north-west.
#[derive(Debug, Clone)]
pub struct Surface {
    /// Where its cells lie.
    pub grid: RasterGrid,
    /// The mean of each cell, in the unit of the records; `NaN` outside the harvested ground.
    pub values: Vec<f32>,
    /// Kriging standard error of each, for kriging.
    pub standard_errors: Option<Vec<f32>>,
    /// How it was made, which may not be how it was asked for.
    pub method: SurfaceMethod,
    /// The variogram, for kriging.
    pub variogram: Option<FittedVariogram>,
    /// Records it rests on.
    pub records: usize,
    /// Samples they were gathered to.
    pub samples: usize,
    /// Samples farther from a cell's middle do not count, m.
    pub reach_m: f64,
    /// Cells whose middle is farther from every record are outside, m.
    pub edge_m: f64,
    /// Cells inside that could not be estimated.
    pub unsolved: usize,
    /// What to know of it.
    pub warnings: Vec<Warning>,
}

/// Why there is no surface.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SurfaceError {
    /// Nothing to draw it through.
    #[error(
        "no kept record has a position and a yield: there is no surface to draw\n\
         hint: see with checkstrip inspect what the log holds, and in the cleaned log why records were dropped"
    )]
    NoRecord,
    /// A cell that cannot be.
    #[error(
        "a cell of {cell_m} m was asked for, expected {} to {} m\nhint: 5 m suits most headers",
        CELL_BOUNDS_M[0],
        CELL_BOUNDS_M[1]
    )]
    Cell {
        /// What was asked for, m.
        cell_m: f64,
    },
    /// More cells than a raster should have.
    #[error(
        "the records lie over {east_km:.1} by {north_km:.1} km: too many cells of {cell_m} m\n\
         hint: give one field at a time, or larger cells"
    )]
    TooLarge {
        /// From west to east, km.
        east_km: f64,
        /// From south to north, km.
        north_km: f64,
        /// The cell, m.
        cell_m: f64,
    },
}

/// The surface of `values` at `points` (east, north in m; records with anything that is not finite do not count), cut with
/// a header of `header_m`.
///
/// Kriging falls back on inverse distance, with the warning `surface_by_inverse_distance`, where the records bear no
/// variogram: fewer than 50 samples, too few pairs, yields that are all alike, or that differ as much beside each other as
/// far apart.
///
/// The same records give the same bytes whatever the number of threads. Complexity: cells × samples within reach, and
/// samples × samples within the longest lag.
///
/// # Errors
/// See [`SurfaceError`].
pub fn surface(
    points: &[[f64; 2]],
    values: &[f64],
    header_m: f64,
    settings: SurfaceSettings,
) -> Result<Surface, SurfaceError> {
    let cell_m = settings.cell_m;
    if !(CELL_BOUNDS_M[0]..=CELL_BOUNDS_M[1]).contains(&cell_m) {
        return Err(SurfaceError::Cell { cell_m });
    }
    let known = points.iter().zip(values);
    let known = known
        .filter(|(point, value)| point[0].is_finite() && point[1].is_finite() && value.is_finite());
    let (points, values): (Vec<[f64; 2]>, Vec<f64>) = known.unzip();
    if points.is_empty() || header_m.is_nan() || header_m <= 0.0 {
        return Err(SurfaceError::NoRecord);
    }
    let edge_m = EDGE_WIDTHS * header_m;
    let extent_m = extent(&points);
    let grid = RasterGrid::around(&points, edge_m, cell_m);
    let grid = grid.filter(|grid| grid.cells() <= MOST_CELLS);
    let grid = grid.ok_or(SurfaceError::TooLarge {
        east_km: extent_m[0] / 1e3,
        north_km: extent_m[1] / 1e3,
        cell_m,
    })?;
    let samples = Samples::gather(&points, &values, &grid);
    let mut surface = Surface {
        grid,
        values: vec![f32::NAN; grid.cells()],
        standard_errors: None,
        method: settings.method,
        variogram: None,
        records: points.len(),
        samples: samples.places.len(),
        reach_m: REACH_WIDTHS * header_m.max(cell_m),
        edge_m,
        unsolved: 0,
        warnings: Vec::new(),
    };
    if settings.method == SurfaceMethod::BlockKriging {
        match variogram_of(&samples) {
            Ok(variogram) => surface.variogram = Some(variogram),
            Err(why) => {
                surface.method = SurfaceMethod::InverseDistance;
                surface.warnings.push(Warning::new(
                    "surface_by_inverse_distance",
                    format!(
                        "The yield surface was made by inverse distance instead of kriging: {why}. It has no \
                         standard error."
                    ),
                ));
            }
        }
    }
    surface.fill(&points, &samples);
    Ok(surface)
}

/// Width and height of the ground that points lie on.
fn extent(points: &[[f64; 2]]) -> [f64; 2] {
    [0, 1].map(|axis| {
        let along = points.iter().map(|point| point[axis]);
        let (low, high) = along.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), at| {
            (low.min(at), high.max(at))
        });
        high - low
    })
}

/// The variogram that kriging rests on, or why the samples bear none.
fn variogram_of(samples: &Samples) -> Result<FittedVariogram, String> {
    let count = samples.places.len();
    if count < FEWEST_SAMPLES {
        return Err(format!(
            "{count} samples are too few for a variogram, which takes {FEWEST_SAMPLES}"
        ));
    }
    let [east_m, north_m] = extent(&samples.places);
    let longest_m = (LONGEST_LAG_SHARE * east_m.hypot(north_m)).min(LONGEST_LAG_M);
    let lags = empirical_variogram(&samples.places, &samples.values, longest_m);
    let fitted = fit_variogram(&lags, longest_m)
        .ok_or_else(|| "too few pairs of samples differ to fit a variogram".to_owned())?;
    let Variogram {
        nugget,
        partial_sill,
        ..
    } = fitted.model;
    if partial_sill < FLAT_SHARE * (nugget + partial_sill) {
        return Err(
            "neighbours differ as much as places far apart, so that the variogram is flat"
                .to_owned(),
        );
    }
    Ok(fitted)
}

impl Surface {
    /// Estimates every cell within the edge of a record.
    fn fill(&mut self, points: &[[f64; 2]], samples: &Samples) {
        let (grid, reach_m, edge_m) = (self.grid, self.reach_m, self.edge_m);
        let records = PointGrid::new(points.iter().copied(), edge_m / 2.0);
        let index = PointGrid::new(samples.places.iter().copied(), reach_m / 4.0);
        let kriging = self.variogram.as_ref().map(|variogram| {
            BlockKriging::new(
                variogram.model,
                &samples.places,
                &samples.values,
                grid.cell_m,
            )
        });
        let rows_of = grid.columns;
        let mut errors = match kriging {
            Some(_) => vec![f32::NAN; grid.cells()],
            None => Vec::new(),
        };
        // Without kriging every row still has a row of errors to skip.
        let mut no_errors: Vec<&mut [f32]> = match kriging {
            Some(_) => errors.chunks_mut(rows_of).collect(),
            None => (0..grid.rows).map(|_| &mut [][..]).collect(),
        };
        let rows = self.values.par_chunks_mut(rows_of);
        let unsolved = rows
            .zip(no_errors.par_iter_mut())
            .enumerate()
            .map_init(
                || Nearest::new(&index, &samples.places, reach_m),
                |nearest, (row, (values, errors))| {
                    let mut unsolved = 0;
                    for (column, value) in values.iter_mut().enumerate() {
                        let centre = grid.centre(column, row);
                        let mut is_inside = false;
                        records.within(centre, edge_m, |_| is_inside = true);
                        if !is_inside {
                            continue;
                        }
                        let neighbours = nearest.of(centre);
                        match &kriging {
                            None => *value = inverse_distance(neighbours, &samples.values) as f32,
                            Some(kriging) => match kriging.at(centre, neighbours) {
                                Some(mean) => {
                                    *value = mean.value as f32;
                                    errors[column] = mean.standard_error as f32;
                                }
                                None => unsolved += 1,
                            },
                        }
                    }
                    unsolved
                },
            )
            .sum();
        drop(no_errors);
        self.unsolved = unsolved;
        if unsolved > 0 {
            self.warnings.push(Warning::new(
                "surface_holes",
                format!(
                    "{unsolved} cells of the yield surface are empty: samples there lie on one another, and kriging \
                     cannot tell them apart."
                ),
            ));
        }
        self.standard_errors = kriging.is_some().then_some(errors);
    }
}

#[cfg(test)]
mod tests {
    use super::reference::near;
    use super::*;

    /// Records of passes 9 m apart, one each 2 m, whose yield rises from west to east and scatters.
    fn passes(yields: impl Fn([f64; 2], usize) -> f64) -> (Vec<[f64; 2]>, Vec<f64>) {
        let mut points = Vec::new();
        for pass in 0..30 {
            for step in 0..150 {
                points.push([
                    500_000.0 + 9.0 * f64::from(pass),
                    4_700_000.0 + 2.0 * f64::from(step),
                ]);
            }
        }
        let values = points.iter().enumerate();
        let values = values.map(|(at, point)| yields(*point, at)).collect();
        (points, values)
    }

    fn scatter(at: usize) -> f64 {
        ((at * 7919) % 101) as f64 - 50.0
    }

    fn settings(method: SurfaceMethod) -> SurfaceSettings {
        SurfaceSettings {
            method,
            cell_m: USUAL_CELL_M,
        }
    }

    fn rising([east, _]: [f64; 2], at: usize) -> f64 {
        3000.0 + 400.0 * ((east - 500_000.0) / 60.0).sin() + scatter(at)
    }

    #[test]
    fn both_methods_follow_the_ground_and_stop_at_its_edge() {
        let (points, values) = passes(rising);
        for method in [SurfaceMethod::BlockKriging, SurfaceMethod::InverseDistance] {
            let found = surface(&points, &values, 9.0, settings(method)).unwrap();
            assert_eq!((found.method, found.unsolved), (method, 0));
            assert_eq!(found.warnings, []);
            assert_eq!(
                found.standard_errors.is_some(),
                method == SurfaceMethod::BlockKriging
            );
            let grid = found.grid;
            // Corners on multiples of the cell.
            assert_eq!((grid.west_m % 5.0, grid.north_m % 5.0), (0.0, 0.0));
            let (mut inside, mut worst, mut squares) = (0, 0.0f64, 0.0);
            for row in 0..grid.rows {
                for column in 0..grid.columns {
                    let value = f64::from(found.values[row * grid.columns + column]);
                    let [east, north] = grid.centre(column, row);
                    let nearest = points.iter().map(|p| (p[0] - east).hypot(p[1] - north));
                    let nearest = nearest.fold(f64::INFINITY, f64::min);
                    assert_eq!(value.is_finite(), nearest <= 9.0, "{nearest}");
                    if value.is_finite() {
                        inside += 1;
                        let truth = rising([east, north], 0) - scatter(0);
                        worst = worst.max((value - truth).abs());
                        squares += (value - truth).powi(2);
                    }
                }
            }
            // A record is off by 29 kg/ha in the mean square; beyond the last pass the ground goes on rising.
            let rms = (squares / f64::from(inside)).sqrt();
            assert!(
                inside > 3000 && rms < 20.0 && worst < 100.0,
                "{inside} {rms} {worst}"
            );
        }
    }

    /// Law: turned upside down, or with records in another order, the surface is the same.
    #[test]
    fn the_order_of_the_records_does_not_matter() {
        let (points, values) = passes(rising);
        let method = settings(SurfaceMethod::BlockKriging);
        let first = surface(&points, &values, 9.0, method).unwrap();
        let turned = |column: &[f64]| column.iter().rev().copied().collect::<Vec<f64>>();
        let back: Vec<[f64; 2]> = points.iter().rev().copied().collect();
        let second = surface(&back, &turned(&values), 9.0, method).unwrap();
        for (a, b) in first.values.iter().zip(&second.values) {
            assert!(a.is_nan() && b.is_nan() || (a - b).abs() < 0.01, "{a} {b}");
        }
    }

    /// Law: the unit of the yields changes the figures by its factor and nothing else.
    #[test]
    fn units_only_scale() {
        let (points, values) = passes(rising);
        let method = settings(SurfaceMethod::BlockKriging);
        let first = surface(&points, &values, 9.0, method).unwrap();
        let larger: Vec<f64> = values.iter().map(|value| value * 64.0).collect();
        let second = surface(&points, &larger, 9.0, method).unwrap();
        for (a, b) in first.values.iter().zip(&second.values) {
            assert!(
                a.is_nan() && b.is_nan() || (a * 64.0 - b).abs() < 0.5,
                "{a} {b}"
            );
        }
        let sills = [&first, &second].map(|s| s.variogram.as_ref().unwrap().model.partial_sill);
        near(sills[1], sills[0] * 4096.0, 1e-6);
    }

    #[test]
    fn what_bears_no_variogram_falls_back_on_inverse_distance() {
        let method = settings(SurfaceMethod::BlockKriging);
        let reason = |points: &[[f64; 2]], values: &[f64]| {
            let found = surface(points, values, 9.0, method).unwrap();
            assert_eq!(found.method, SurfaceMethod::InverseDistance);
            assert!(found.standard_errors.is_none() && found.variogram.is_none());
            assert_eq!(found.warnings[0].code, "surface_by_inverse_distance");
            assert!(found.values.iter().any(|value| value.is_finite()));
            found.warnings[0].message.clone()
        };
        let (points, alike) = passes(|_, _| 3000.0);
        assert!(reason(&points, &alike).contains("too few pairs of samples differ"));
        assert!(reason(&points[..40], &alike[..40]).contains("are too few for a variogram"));
        // One draw a sample, so that neighbours differ as places far apart do.
        let mut state = 1u64;
        let noise: Vec<f64> = points
            .iter()
            .map(|_| {
                state = state
                    .wrapping_mul(6_364_136_223_846_793_005)
                    .wrapping_add(1);
                (state >> 33) as f64 / 1e6
            })
            .collect();
        assert!(reason(&points, &noise).contains("is flat"));
    }

    #[test]
    fn what_cannot_be_is_refused() {
        let of = |points: &[[f64; 2]], cell_m: f64| {
            let values = vec![1.0; points.len()];
            let method = SurfaceMethod::InverseDistance;
            surface(points, &values, 9.0, SurfaceSettings { method, cell_m }).map(|_| ())
        };
        assert_eq!(of(&[], 5.0), Err(SurfaceError::NoRecord));
        assert_eq!(of(&[[f64::NAN, 0.0]], 5.0), Err(SurfaceError::NoRecord));
        for cell_m in [0.0, 0.1, f64::NAN, 1e6] {
            assert!(matches!(
                of(&[[0.0, 0.0]], cell_m),
                Err(SurfaceError::Cell { .. })
            ));
        }
        let far = [[0.0, 0.0], [90e3, 40e3]];
        let said = of(&far, 1.0).unwrap_err().to_string();
        assert!(
            said.contains("90.0 by 40.0 km") && said.contains("hint:"),
            "{said}"
        );
        assert_eq!(of(&[[3.0, 4.0]], 5.0), Ok(()));
    }
}
