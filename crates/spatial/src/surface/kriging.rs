//! Ordinary block kriging: the mean of a cell, estimated from the nearest samples with the weights that make the error
//! smallest if the variogram holds, and how large that error is.
//!
//! # Source
//! Burgess, T. M. and Webster, R. (1980), *Optimal interpolation and isarithmic mapping of soil properties. II. Block
//! kriging*, Journal of Soil Science 31, 333–341. With C the covariances between samples, c their mean covariances with
//! the points that stand for the block, and μ the multiplier that makes the weights add up to 1:
//!
//! w = C⁻¹(c − μ 1), μ = (1ᵀC⁻¹c − 1) / 1ᵀC⁻¹1, value = wᵀz, variance = C(B, B) − wᵀc − μ.
//!
//! The nugget is on the diagonal of C alone: two samples do not share it, and over a block it averages out.

use super::samples::NEIGHBOURS;
use super::variogram::Variogram;
use nalgebra::{Cholesky, SMatrix};

/// Points along a side of the block that stand for it, at the middles of as many equal parts. Burgess and Webster
/// (1980) found 16 points enough.
pub const BLOCK_SIDE: usize = 4;

type Covariances = SMatrix<f64, NEIGHBOURS, NEIGHBOURS>;

/// A block's mean, and the standard error of that.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct BlockMean {
    pub(super) value: f64,
    pub(super) standard_error: f64,
}

/// What the kriging of all cells of one size has in common.
pub(super) struct BlockKriging<'a> {
    model: Variogram,
    places: &'a [[f64; 2]],
    values: &'a [f64],
    /// The block's points, from its middle.
    offsets: [[f64; 2]; BLOCK_SIDE * BLOCK_SIDE],
    /// Mean covariance of the block's points with each other.
    within: f64,
}

impl<'a> BlockKriging<'a> {
    pub(super) fn new(
        model: Variogram,
        places: &'a [[f64; 2]],
        values: &'a [f64],
        cell_m: f64,
    ) -> BlockKriging<'a> {
        let step = |at: usize| ((at as f64 + 0.5) / BLOCK_SIDE as f64 - 0.5) * cell_m;
        let offsets: [[f64; 2]; BLOCK_SIDE * BLOCK_SIDE] =
            std::array::from_fn(|at| [step(at % BLOCK_SIDE), step(at / BLOCK_SIDE)]);
        let pairs = offsets
            .iter()
            .flat_map(|a| offsets.iter().map(move |b| distance(*a, *b)));
        let within =
            pairs.map(|h| model.shared(h)).sum::<f64>() / (offsets.len() * offsets.len()) as f64;
        BlockKriging {
            model,
            places,
            values,
            offsets,
            within,
        }
    }

    /// The mean of the block around `centre`, from its neighbours (square of the distance, place); `None` when there are
    /// none, or when samples lie so near each other that their covariances cannot be told apart.
    ///
    /// The system always has [`NEIGHBOURS`] rows, so that it lives on the stack: rows without a sample are those of the
    /// unit matrix and 0 on the right, and change nothing.
    pub(super) fn at(&self, centre: [f64; 2], neighbours: &[(f64, u32)]) -> Option<BlockMean> {
        let mut covariances = Covariances::identity();
        let mut right = SMatrix::<f64, NEIGHBOURS, 2>::zeros();
        for (row, &(_, at)) in neighbours.iter().enumerate() {
            let place = self.places[at as usize];
            covariances[(row, row)] = self.model.nugget + self.model.partial_sill;
            // Of a symmetric matrix the lower half is enough for the decomposition.
            for (column, &(_, other)) in neighbours[..row].iter().enumerate() {
                let h = distance(place, self.places[other as usize]);
                covariances[(row, column)] = self.model.shared(h);
            }
            let from = [place[0] - centre[0], place[1] - centre[1]];
            let with_block = self.offsets.iter().map(|&point| distance(from, point));
            right[(row, 0)] =
                with_block.map(|h| self.model.shared(h)).sum::<f64>() / self.offsets.len() as f64;
            right[(row, 1)] = 1.0;
        }
        let mut solved = right;
        Cholesky::new(covariances)?.solve_mut(&mut solved);
        let ones = solved.column(1).sum();
        let multiplier = (solved.column(0).sum() - 1.0) / ones;
        let (mut value, mut explained) = (0.0, 0.0);
        for (row, &(_, at)) in neighbours.iter().enumerate() {
            let weight = solved[(row, 0)] - multiplier * solved[(row, 1)];
            value += weight * self.values[at as usize];
            explained += weight * right[(row, 0)];
        }
        let variance = self.within - explained - multiplier;
        value.is_finite().then(|| BlockMean {
            value,
            standard_error: variance.max(0.0).sqrt(),
        })
    }
}

fn distance(a: [f64; 2], b: [f64; 2]) -> f64 {
    let (de, dn) = (a[0] - b[0], a[1] - b[1]);
    (de * de + dn * dn).sqrt()
}

#[cfg(test)]
mod tests {
    use super::super::inverse_distance::inverse_distance;
    use super::super::reference::{self, near};
    use super::super::samples::Nearest;
    use super::super::variogram::VariogramShape;
    use super::*;
    use crate::point_grid::PointGrid;

    /// Outside reference: `gstat::krige` with a block of 4 × 4 points, and `gstat::idw`, both from the 16 nearest samples
    /// within 30 m; see `tests/oracles/surface_gstat.R`.
    #[test]
    fn blocks_are_gstats() {
        let (places, values) = reference::samples();
        let grid = PointGrid::new(places.iter().copied(), 10.0);
        let mut nearest = Nearest::new(&grid, &places, 30.0);
        let model = |shape, range_m| Variogram {
            shape,
            nugget: 15.0,
            partial_sill: 60.0,
            range_m,
        };
        let kriging = [
            model(VariogramShape::Spherical, 40.0),
            model(VariogramShape::Exponential, 15.0),
        ]
        .map(|model| BlockKriging::new(model, &places, &values, 5.0));
        let blocks = reference::blocks();
        assert_eq!(blocks.len(), 40);
        let mut fewest = usize::MAX;
        for block in blocks {
            let neighbours = nearest.of(block.centre);
            fewest = fewest.min(neighbours.len());
            for (kriging, [value, variance]) in kriging.iter().zip(block.kriged) {
                let found = kriging.at(block.centre, neighbours).unwrap();
                near(found.value, value, 1e-9);
                near(found.standard_error.powi(2), variance, 1e-9);
            }
            near(
                inverse_distance(neighbours, &values),
                block.inverse_distance,
                1e-12,
            );
        }
        assert!(fewest < NEIGHBOURS, "a block at the edge has fewer");
    }

    #[test]
    fn two_samples_at_one_place_without_a_nugget_are_refused() {
        let model = Variogram {
            shape: VariogramShape::Spherical,
            nugget: 0.0,
            partial_sill: 4.0,
            range_m: 50.0,
        };
        let places = [[1.0, 2.0], [1.0, 2.0]];
        let kriging = BlockKriging::new(model, &places, &[5.0, 6.0], 5.0);
        assert_eq!(kriging.at([0.0, 0.0], &[(5.0, 0), (5.0, 1)]), None);
        // One sample is the whole answer, with an error that tells it.
        let alone = kriging.at([1.0, 2.0], &[(0.0, 0)]).unwrap();
        assert_eq!(alone.value, 5.0);
        assert!(alone.standard_error > 0.0);
    }
}
