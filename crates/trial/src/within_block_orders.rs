//! More than two treatments by the orders that chance could have given: within every block, each
//! treatment could as well have stood on any of the block's strips. One walk over these orders gives
//! the overall test, whether any treatment differs, and for each treatment a p value that allows for
//! all of them having been looked at. Fisher, R. A. (1935), *The Design of Experiments*, sections 21
//! and 24; Pitman, E. J. G. (1938), *Significance tests which may be applied to samples from any
//! populations: III. The analysis of variance test*, Biometrika 29, 322–335; Westfall, P. H. and Young,
//! S. S. (1993), *Resampling-Based Multiple Testing*, Wiley, section 2.3 (largest statistic).

use crate::permutation::{DRAWS, MOST_ORDERS, PERMUTATION_SEED};
use crate::plot::Layout;
use crate::random::Random;
use crate::randomized_blocks::HarvestedPlots;
use checkstrip_model::results::OverallTest;
use nalgebra::{DMatrix, DVector};
use statrs::distribution::{ContinuousCDF, FisherSnedecor};

/// Statistics within this share of the observed one count as equal: they differ by rounding.
const ROUNDING: f64 = 1e-9;

/// What the orders within blocks say.
#[derive(Debug, Clone, PartialEq)]
pub struct WithinBlockOrders {
    /// Whether any treatment differs.
    pub overall: OverallTest,
    /// For each treatment of the fit, by its place in the layout, the share of orders in which some
    /// treatment's |t| against the check is at least as large as this one's: a p value that allows for
    /// all treatments.
    pub family: Vec<(usize, f64)>,
}

/// Permutes treatments within blocks and sets the F of treatments, and the largest |t| against the
/// check, against those of the strips as they lie.
///
/// F and t are those of [`randomized_blocks`](crate::randomized_blocks()). Where a treatment is missing
/// in a block, the strips that are there change places among themselves. All orders are tried when
/// there are at most 2¹⁷ of them; otherwise 100,000 are drawn with [`PERMUTATION_SEED`], and the order
/// in the field counts as one more.
///
/// The overall p is exact whenever orders were drawn block by block. The p values of the family rest on
/// the same drawing and are exact when no treatment does anything; when some do, they are close, not
/// exact, because the strips of those that do change places as well.
///
/// `None` for fewer than two treatments beside the check, when the plots do not tell blocks and
/// treatments apart, leave no degree of freedom, or do not vary within blocks. Cost: orders × strips.
pub fn within_block_orders(layout: &Layout) -> Option<WithinBlockOrders> {
    let plots = HarvestedPlots::of(layout);
    if plots.others.len() < 2 {
        return None;
    }
    let fit = Fit::of(&plots)?;
    let observed = fit.statistics(&fit.sums_as_they_lie());
    let walk = fit.walk(observed.between, &observed.t_squared);
    let (df_treatments, df_residual) = (fit.others as f64, fit.df);
    let statistic = observed.between / df_treatments / fit.residual_variance(observed.between);
    let p_value_f = if statistic.is_finite() {
        FisherSnedecor::new(df_treatments, df_residual)
            .ok()?
            .sf(statistic)
    } else {
        0.0
    };
    let (tried, own) = if walk.all {
        (walk.orders, 0)
    } else {
        (walk.orders + 1, 1)
    };
    let share = |as_far: u64| (as_far + own) as f64 / tried as f64;
    let smallest_p = fit.smallest_p();
    Some(WithinBlockOrders {
        overall: OverallTest {
            statistic,
            df_treatments,
            df_residual,
            p_value_f,
            p_value_permutation: share(walk.as_far),
            orders: walk.orders,
            all_orders: walk.all,
            seed: (!walk.all).then_some(PERMUTATION_SEED),
            smallest_p: if walk.all {
                smallest_p
            } else {
                smallest_p.max(1.0 / tried as f64)
            },
            treatments: fit.others + 1,
            blocks: fit.blocks.len(),
        },
        family: plots
            .others
            .iter()
            .zip(&walk.as_far_family)
            .map(|(&treatment, &as_far)| (treatment, share(as_far)))
            .collect(),
    })
}

/// The strips of one block.
struct Block {
    /// Which treatments stand there: 0 for the check, others from 1.
    treatments: Vec<usize>,
    /// Their yields less the block's mean, kg/ha.
    deviations: Vec<f64>,
}

/// The parts of the least-squares fit of blocks and treatments that no order changes. Taking the
/// block's mean off leaves the fit to the sums of deviations by treatment alone.
struct Fit {
    blocks: Vec<Block>,
    /// Treatments beside the check.
    others: usize,
    /// Inverse of the information of the treatments' differences from the check.
    inverse: DMatrix<f64>,
    /// Squares within blocks, (kg/ha)².
    within: f64,
    df: f64,
}

/// What one order gives.
struct Statistics {
    /// Squares between treatments, (kg/ha)²; F rises with it.
    between: f64,
    /// t² of each treatment against the check.
    t_squared: DVector<f64>,
}

/// Orders gone through and how many were as far out as the strips as they lie.
struct Walk {
    orders: u64,
    all: bool,
    as_far: u64,
    as_far_family: Vec<u64>,
}

impl Fit {
    fn of(plots: &HarvestedPlots) -> Option<Fit> {
        let others = plots.others.len();
        let mut blocks: Vec<Block> = (0..plots.blocks)
            .map(|_| Block {
                treatments: Vec::new(),
                deviations: Vec::new(),
            })
            .collect();
        for &(block, column, yield_kg_ha) in &plots.rows {
            blocks[block].treatments.push(column);
            blocks[block].deviations.push(yield_kg_ha);
        }
        let mut information = DMatrix::<f64>::zeros(others, others);
        let mut within = 0.0;
        for block in &mut blocks {
            let strips = block.deviations.len() as f64;
            let mean = block.deviations.iter().sum::<f64>() / strips;
            for deviation in &mut block.deviations {
                *deviation -= mean;
                within += *deviation * *deviation;
            }
            let present = block.treatments.iter().filter(|&&t| t > 0).map(|t| t - 1);
            for row in present.clone() {
                information[(row, row)] += 1.0;
                for column in present.clone() {
                    information[(row, column)] -= 1.0 / strips;
                }
            }
        }
        let df = plots.rows.len() as f64 - (plots.blocks + others) as f64;
        let factor = information.cholesky()?;
        // Plots that do not hang together leave a pivot of nothing but rounding.
        let connected = factor
            .l_dirty()
            .diagonal()
            .iter()
            .all(|pivot| *pivot > 1e-6);
        (connected && df > 0.0 && within > 0.0).then(|| Fit {
            blocks,
            others,
            inverse: factor.inverse(),
            within,
            df,
        })
    }

    /// Sums of deviations by treatment, without the check.
    fn sums_as_they_lie(&self) -> DVector<f64> {
        let mut sums = DVector::zeros(self.others);
        for block in &self.blocks {
            add(&mut sums, &block.treatments, &block.deviations);
        }
        sums
    }

    /// Variance of the noise when `between` of the squares is between treatments; 0 when only rounding
    /// is left.
    fn residual_variance(&self, between: f64) -> f64 {
        let left = self.within - between;
        if left > 1e-12 * self.within {
            left / self.df
        } else {
            0.0
        }
    }

    fn statistics(&self, sums: &DVector<f64>) -> Statistics {
        let effects = &self.inverse * sums;
        let between = effects.dot(sums);
        let variance = self.residual_variance(between);
        let nothing = 1e-18 * self.within;
        let t_squared = DVector::from_fn(self.others, |place, _| {
            let square = effects[place] * effects[place];
            if square <= nothing {
                0.0
            } else {
                square / (variance * self.inverse[(place, place)])
            }
        });
        Statistics { between, t_squared }
    }

    /// Goes through all orders, or many drawn ones.
    fn walk(&self, between: f64, t_squared: &DVector<f64>) -> Walk {
        let limit = between - ROUNDING * self.within;
        let limits = t_squared.map(|t| t * (1.0 - ROUNDING));
        let mut walk = Walk {
            orders: 0,
            all: true,
            as_far: 0,
            as_far_family: vec![0; self.others],
        };
        let count = |walk: &mut Walk, sums: &DVector<f64>| {
            let found = self.statistics(sums);
            walk.orders += 1;
            walk.as_far += u64::from(found.between >= limit);
            let largest = found.t_squared.max();
            for (as_far, limit) in walk.as_far_family.iter_mut().zip(&limits) {
                *as_far += u64::from(largest >= *limit);
            }
        };
        if self.orders() <= MOST_ORDERS as f64 {
            let orders: Vec<Vec<DVector<f64>>> = self
                .blocks
                .iter()
                .map(|block| self.block_sums(block))
                .collect();
            every_order(&orders, &DVector::zeros(self.others), &mut |sums| {
                count(&mut walk, sums);
            });
            return walk;
        }
        walk.all = false;
        let mut random = Random::new(PERMUTATION_SEED);
        let mut deviations: Vec<Vec<f64>> = self
            .blocks
            .iter()
            .map(|block| block.deviations.clone())
            .collect();
        let mut sums = DVector::zeros(self.others);
        for _ in 0..DRAWS {
            sums.fill(0.0);
            for (block, deviations) in self.blocks.iter().zip(&mut deviations) {
                random.shuffle(deviations);
                add(&mut sums, &block.treatments, deviations);
            }
            count(&mut walk, &sums);
        }
        walk
    }

    /// Orders there are.
    fn orders(&self) -> f64 {
        let strips = self.blocks.iter().map(|block| block.deviations.len());
        strips.map(factorial).product()
    }

    /// The sums that each order of one block adds.
    fn block_sums(&self, block: &Block) -> Vec<DVector<f64>> {
        let mut found = Vec::new();
        let mut deviations = block.deviations.clone();
        permute(&mut deviations, 0, &mut |deviations| {
            let mut sums = DVector::zeros(self.others);
            add(&mut sums, &block.treatments, deviations);
            found.push(sums);
        });
        found
    }

    /// Treatments that stand in the same blocks can change names without changing F, so that no order
    /// stands alone.
    fn smallest_p(&self) -> f64 {
        let stands = |treatment: usize| -> Vec<bool> {
            self.blocks
                .iter()
                .map(|block| block.treatments.contains(&treatment))
                .collect()
        };
        let mut alike: Vec<(Vec<bool>, usize)> = Vec::new();
        for treatment in 0..=self.others {
            let blocks = stands(treatment);
            match alike.iter_mut().find(|(known, _)| *known == blocks) {
                Some((_, count)) => *count += 1,
                None => alike.push((blocks, 1)),
            }
        }
        let names: f64 = alike.iter().map(|(_, count)| factorial(*count)).product();
        names / self.orders()
    }
}

fn factorial(count: usize) -> f64 {
    (1..=count).map(|k| k as f64).product()
}

fn add(sums: &mut DVector<f64>, treatments: &[usize], deviations: &[f64]) {
    for (&treatment, deviation) in treatments.iter().zip(deviations) {
        if treatment > 0 {
            sums[treatment - 1] += deviation;
        }
    }
}

/// Calls `seen` with every order of `items`; they end as they began.
fn permute(items: &mut [f64], first: usize, seen: &mut impl FnMut(&[f64])) {
    if first + 1 >= items.len() {
        seen(items);
        return;
    }
    for next in first..items.len() {
        items.swap(first, next);
        permute(items, first + 1, seen);
        items.swap(first, next);
    }
}

/// Calls `seen` with the sums of every order of all blocks.
fn every_order(
    blocks: &[Vec<DVector<f64>>],
    so_far: &DVector<f64>,
    seen: &mut impl FnMut(&DVector<f64>),
) {
    let Some((block, rest)) = blocks.split_first() else {
        seen(so_far);
        return;
    };
    for sums in block {
        every_order(rest, &(so_far + sums), seen);
    }
}

#[cfg(test)]
mod tests;
