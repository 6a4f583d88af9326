//! The reference figures of gstat, read for the tests; how they were made is in `tests/oracles/surface_gstat.R`.

use super::variogram::Lag;

fn rows(text: &str) -> Vec<Vec<&str>> {
    let lines = text.lines().skip(1);
    lines.map(|line| line.split(',').collect()).collect()
}

fn number(cell: &str) -> f64 {
    cell.parse().expect("a number")
}

/// Asks for `found` to be `expected` but for this share.
#[track_caller]
pub(super) fn near(found: f64, expected: f64, share: f64) {
    let differs = (found - expected).abs();
    assert!(
        differs <= share * expected.abs(),
        "{found} against {expected}"
    );
}

pub(super) fn samples() -> (Vec<[f64; 2]>, Vec<f64>) {
    let text = include_str!("../../../../fixtures/surface/samples.csv");
    let sample = |row: Vec<&str>| ([number(row[0]), number(row[1])], number(row[2]));
    rows(text).into_iter().map(sample).unzip()
}

pub(super) fn lags() -> Vec<Lag> {
    let text = include_str!("../../../../fixtures/surface/lags.csv");
    let lag = |row: Vec<&str>| Lag {
        pairs: row[0].parse().expect("a count"),
        distance_m: number(row[1]),
        semivariance: number(row[2]),
    };
    rows(text).into_iter().map(lag).collect()
}

/// Nugget, partial sill and range, by R's `optim` and by gstat.
pub(super) struct Fit {
    pub(super) model: String,
    pub(super) least: [f64; 3],
    pub(super) criterion: f64,
    pub(super) gstat: [f64; 3],
}

pub(super) fn fits() -> Vec<Fit> {
    let text = include_str!("../../../../fixtures/surface/fits.csv");
    let fit = |row: Vec<&str>| Fit {
        model: row[0].to_owned(),
        least: [1, 2, 3].map(|at| number(row[at])),
        criterion: number(row[4]),
        gstat: [5, 6, 7].map(|at| number(row[at])),
    };
    rows(text).into_iter().map(fit).collect()
}

/// Value and variance by the spherical and the exponential model, and the value by inverse distance.
pub(super) struct Block {
    pub(super) centre: [f64; 2],
    pub(super) kriged: [[f64; 2]; 2],
    pub(super) inverse_distance: f64,
}

pub(super) fn blocks() -> Vec<Block> {
    let text = include_str!("../../../../fixtures/surface/blocks.csv");
    let block = |row: Vec<&str>| Block {
        centre: [number(row[0]), number(row[1])],
        kriged: [2, 4].map(|at| [number(row[at]), number(row[at + 1])]),
        inverse_distance: number(row[6]),
    };
    rows(text).into_iter().map(block).collect()
}
