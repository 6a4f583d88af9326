//! How long it takes to find ground that was harvested before, and neighbours within a distance: the
//! cell grid the cleaning uses beside an R-tree that answers the same question; and to draw a yield surface.

use checkstrip_model::rectangle_behind;
use checkstrip_spatial::harvested_ground::{Footprint, harvested_before};
use checkstrip_spatial::point_grid::PointGrid;
use checkstrip_spatial::surface::{SurfaceMethod, SurfaceSettings, USUAL_CELL_M, surface};
use rstar::RTree;
use rstar::primitives::GeomWithData;

const RECORDS: &[usize] = &[10_000, 100_000, 1_000_000];

/// Neighbours within one and a half 30 ft headers, as the local outlier step asks.
const NEAR_M: f64 = 13.7;

fn main() {
    divan::main();
}

/// Passes of 30 ft up and down a square, each half a foot over the one before, two metres a record.
fn passes(records: usize) -> Vec<Footprint> {
    let (width, step) = (9.144, 2.0);
    let per_pass = ((records as f64 * width / step).sqrt()) as usize;
    (0..records)
        .map(|record| {
            let (pass, place) = (record / per_pass, record % per_pass);
            let up = pass.is_multiple_of(2);
            let along = if up { place } else { per_pass - place } as f64 * step;
            let noise = 0.01 * ((record * 7919) % 13) as f64;
            let centre = [pass as f64 * (width - 0.15) + noise, along];
            let heading = if up { 0.0 } else { 180.0 };
            Footprint {
                corners: rectangle_behind(centre, heading + noise, step, width),
                pass: pass as u32,
                path_m: record as f64 * step,
            }
        })
        .collect()
}

fn points(records: usize) -> Vec<[f64; 2]> {
    passes(records)
        .iter()
        .map(|footprint| footprint.corners[1])
        .collect()
}

#[divan::bench(args = RECORDS, sample_count = 5)]
fn harvested_ground(bencher: divan::Bencher, records: usize) {
    let drive = passes(records);
    bencher.bench(|| harvested_before(&drive, 9.144));
}

#[divan::bench(args = &RECORDS[..2], sample_count = 5)]
fn neighbours_by_grid(bencher: divan::Bencher, records: usize) {
    let points = points(records);
    bencher.bench(|| {
        let grid = PointGrid::new(points.iter().copied(), NEAR_M / 2.0);
        let mut sum = 0u64;
        for &point in &points {
            grid.within(point, NEAR_M, |found| sum += u64::from(found));
        }
        sum
    });
}

#[divan::bench(args = &RECORDS[..2], sample_count = 5)]
fn neighbours_by_tree(bencher: divan::Bencher, records: usize) {
    let points = points(records);
    bencher.bench(|| {
        let placed = points
            .iter()
            .enumerate()
            .map(|(i, &p)| GeomWithData::new(p, i as u32));
        let tree = RTree::bulk_load(placed.collect());
        let mut sum = 0u64;
        for &point in &points {
            for found in tree.locate_within_distance(point, NEAR_M * NEAR_M) {
                sum += u64::from(found.data);
            }
        }
        sum
    });
}

/// A yield for each point: soil that rises and falls, and scatter.
fn yields(points: &[[f64; 2]]) -> Vec<f64> {
    let points = points.iter().enumerate();
    let yields = points.map(|(at, [east, north])| {
        let soil = (east / 60.0).sin() + (north / 90.0).cos();
        3500.0 + 300.0 * soil + ((at * 7919) % 601) as f64
    });
    yields.collect()
}

fn surface_by(bencher: divan::Bencher, records: usize, method: SurfaceMethod) {
    let points = points(records);
    let yields = yields(&points);
    let cell_m = USUAL_CELL_M;
    let settings = SurfaceSettings { method, cell_m };
    bencher.bench(|| surface(&points, &yields, 9.144, settings).map(|made| made.values));
}

#[divan::bench(args = &RECORDS[..2], sample_count = 5)]
fn surface_by_block_kriging(bencher: divan::Bencher, records: usize) {
    surface_by(bencher, records, SurfaceMethod::BlockKriging);
}

#[divan::bench(args = &RECORDS[..2], sample_count = 5)]
fn surface_by_inverse_distance(bencher: divan::Bencher, records: usize) {
    surface_by(bencher, records, SurfaceMethod::InverseDistance);
}
