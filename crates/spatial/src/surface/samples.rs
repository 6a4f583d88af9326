//! What a surface is drawn through: the records of each raster cell taken together, at their mean place. Neighbouring
//! records of one pass share grain (the stream is smeared over several metres) and add cost, not knowledge; taken
//! together, the nearest samples of a place also come from several passes instead of one.

use super::RasterGrid;
use crate::point_grid::PointGrid;

/// Samples that a cell is estimated from, at most.
pub const NEIGHBOURS: usize = 16;

/// Mean places and values of the records of each cell that holds any.
#[derive(Debug)]
pub(super) struct Samples {
    pub(super) places: Vec<[f64; 2]>,
    pub(super) values: Vec<f64>,
}

impl Samples {
    /// The records at `points` with `values`, all finite, gathered by the cells of `grid`; in the order of the cells.
    pub(super) fn gather(points: &[[f64; 2]], values: &[f64], grid: &RasterGrid) -> Samples {
        let mut order: Vec<(usize, usize)> = points
            .iter()
            .enumerate()
            .map(|(record, &point)| (grid.cell_of(point), record))
            .collect();
        order.sort_unstable();
        let (mut places, mut means) = (Vec::new(), Vec::new());
        for of_cell in order.chunk_by(|a, b| a.0 == b.0) {
            let mean = |value: &dyn Fn(usize) -> f64| {
                of_cell
                    .iter()
                    .map(|&(_, record)| value(record))
                    .sum::<f64>()
                    / of_cell.len() as f64
            };
            places.push([0, 1].map(|axis| mean(&|record| points[record][axis])));
            means.push(mean(&|record| values[record]));
        }
        Samples {
            places,
            values: means,
        }
    }
}

/// Finds the nearest samples of one place after another, without allocating once it has met the densest.
pub(super) struct Nearest<'a> {
    grid: &'a PointGrid,
    places: &'a [[f64; 2]],
    reach_m: f64,
    found: Vec<(f64, u32)>,
}

impl<'a> Nearest<'a> {
    pub(super) fn new(grid: &'a PointGrid, places: &'a [[f64; 2]], reach_m: f64) -> Nearest<'a> {
        Nearest {
            grid,
            places,
            reach_m,
            found: Vec::new(),
        }
    }

    /// The nearest samples of `centre` within reach, [`NEIGHBOURS`] at most: square of the distance, and place. Which
    /// they are, and their order, depends on distances and places alone.
    pub(super) fn of(&mut self, centre: [f64; 2]) -> &[(f64, u32)] {
        let (found, places) = (&mut self.found, self.places);
        found.clear();
        self.grid.within(centre, self.reach_m, |at| {
            let [east, north] = places[at as usize];
            let (de, dn) = (east - centre[0], north - centre[1]);
            found.push((de * de + dn * dn, at));
        });
        let nearer = |a: &(f64, u32), b: &(f64, u32)| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1));
        if found.len() > NEIGHBOURS {
            let _ = found.select_nth_unstable_by(NEIGHBOURS - 1, nearer);
            found.truncate(NEIGHBOURS);
        }
        found.sort_unstable_by(nearer);
        found
    }
}
