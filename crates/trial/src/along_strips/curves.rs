//! The differences of all blocks in all windows, and the largest of them over the windows judged
//! against what turned signs of whole blocks give. The soil's pattern along a strip, and the overlap
//! of windows, stay as they are in every order: only who got which strip is drawn anew.
//!
//! # Source
//! The largest statistic over all places: Westfall, P. H. and Young, S. S. (1993), *Resampling-Based
//! Multiple Testing*, Wiley. Its law is that of the draw of the strips, block by block, so the tests
//! assume nothing of how yields are distributed or related along the strip.

use crate::sign_orders::{SignOrders, SignTable, smallest_p};
use rayon::prelude::*;

/// Differences less than this share of their size apart are the same but for rounding.
const ROUNDING: f64 = 1e-9;
/// Chance that an interval for all windows misses in one or more.
const MISS: f64 = 0.05;

/// Block differences, one row a block and one column a window; `NaN` where a block has none.
#[derive(Debug, Clone)]
pub(super) struct Curves {
    blocks: usize,
    windows: usize,
    /// Row after row.
    values: Vec<f64>,
}

/// The largest statistic.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Largest {
    /// Window it stands in.
    pub(super) at: usize,
    /// Mean of the blocks there.
    pub(super) mean: f64,
    pub(super) p_value: f64,
    pub(super) smallest_p: f64,
    pub(super) orders: u64,
    pub(super) exact: bool,
}

/// What turning signs leaves as it is in a window.
#[derive(Debug, Clone, Copy)]
struct Column {
    blocks: f64,
    mean_square: f64,
}

impl Column {
    /// How far out a sum of the window's differences is: Student's t on a scale that is the same
    /// whatever the degrees of freedom, squared, so that windows with fewer blocks do not stand out
    /// for that alone. Wallace, D. L. (1959), *Bounds on normal approximations to Student's and the
    /// chi-square distributions*, Annals of Mathematical Statistics 30, 1121–1130.
    fn scale(self, sum: f64) -> f64 {
        if self.mean_square <= 0.0 {
            return 0.0;
        }
        let df = self.blocks - 1.0;
        let mean = sum / self.blocks;
        // 1 + t²/df is the mean square over what the mean leaves of it.
        let left = (1.0 - mean * mean / self.mean_square).max(1e-12);
        shrink(df).powi(2) * df * -left.ln()
    }
}

/// Mean of the values that are known; `NaN` without one.
fn mean_of_known(values: impl Iterator<Item = f64>) -> f64 {
    let (count, sum) = values
        .filter(|value| value.is_finite())
        .fold((0.0, 0.0), |(n, s), value| (n + 1.0, s + value));
    sum / count
}

fn shrink(df: f64) -> f64 {
    (8.0 * df + 1.0) / (8.0 * df + 3.0)
}

/// Student's t, not squared, for a squared value of the scale of [`Column::scale`].
pub(super) fn t_of_scale(scale: f64, df: f64) -> f64 {
    (df * ((scale / shrink(df).powi(2) / df).exp() - 1.0)).sqrt()
}

impl Curves {
    pub(super) fn new(
        windows: usize,
        blocks: &[&str],
        value: impl Fn(usize, usize) -> Option<f64>,
    ) -> Curves {
        let cells = (0..blocks.len()).flat_map(|block| (0..windows).map(move |w| (block, w)));
        Curves {
            blocks: blocks.len(),
            windows,
            values: cells
                .map(|(block, window)| value(block, window).unwrap_or(f64::NAN))
                .collect(),
        }
    }

    fn rows(&self) -> impl Iterator<Item = &[f64]> {
        (0..self.blocks).map(|block| &self.values[block * self.windows..][..self.windows])
    }

    fn columns(&self) -> Vec<Column> {
        (0..self.windows)
            .map(|window| {
                let there = self.rows().map(|row| row[window]);
                let (blocks, squares) = there
                    .filter(|value| value.is_finite())
                    .fold((0.0, 0.0), |(n, s), value| (n + 1.0, s + value * value));
                Column {
                    blocks,
                    mean_square: squares / blocks,
                }
            })
            .collect()
    }

    /// Each block's curve less its own mean. Whatever the treatment did, if it did the same all along
    /// a block's strips, it is gone from here; what is left is ground, and turns its sign with the
    /// order of the strips.
    pub(super) fn less_block_means(&self) -> Curves {
        let mut values = Vec::with_capacity(self.values.len());
        for row in self.rows() {
            let mean = mean_of_known(row.iter().copied());
            values.extend(row.iter().map(|value| value - mean));
        }
        Curves { values, ..*self }
    }

    /// Each window's differences less their mean.
    fn less_window_means(&self) -> Curves {
        let mut curves = self.clone();
        for window in 0..self.windows {
            let mean = mean_of_known(self.rows().map(|row| row[window]));
            for block in 0..self.blocks {
                curves.values[block * self.windows + window] -= mean;
            }
        }
        curves
    }

    /// The largest scale over the windows for every order, that of the field first; the window it
    /// stands in comes with it.
    fn largest_of_orders(&self, orders: SignOrders) -> Vec<(f64, usize)> {
        let columns = self.columns();
        let known: Vec<f64> = self
            .values
            .iter()
            .map(|value| if value.is_finite() { *value } else { 0.0 })
            .collect();
        let table = SignTable::of(orders);
        let largest = |sums: &mut Vec<f64>, order: usize| {
            sums.fill(0.0);
            for (row, sign) in known.chunks_exact(self.windows).zip(table.signs(order)) {
                for (sum, value) in sums.iter_mut().zip(row) {
                    *sum += sign * value;
                }
            }
            let scales = columns.iter().zip(sums.iter()).enumerate();
            scales
                .map(|(window, (column, sum))| (column.scale(*sum), window))
                .fold((f64::NEG_INFINITY, 0), |most, next| {
                    if next.0 > most.0 { next } else { most }
                })
        };
        let orders = (0..table.len()).into_par_iter().with_min_len(1024);
        orders
            .map_init(|| vec![0.0; self.windows], largest)
            .collect()
    }

    /// The largest difference over the windows and its p value; `None` without a window, and where
    /// nothing differs at all.
    pub(super) fn largest(&self) -> Option<Largest> {
        if self.windows == 0 {
            return None;
        }
        let orders = SignOrders::of(self.blocks);
        let found = self.largest_of_orders(orders);
        let (observed, at) = found[0];
        if observed.is_nan() || observed < 0.0 {
            return None;
        }
        let limit = observed * (1.0 - ROUNDING);
        let as_far = found.iter().filter(|(scale, _)| *scale >= limit).count();
        Some(Largest {
            at,
            mean: mean_of_known(self.rows().map(|row| row[at])),
            p_value: as_far as f64 / found.len() as f64,
            smallest_p: smallest_p(self.most_blocks()),
            orders: orders.tried,
            exact: orders.exact,
        })
    }

    /// Most blocks in one window: signs turned elsewhere leave its statistic as it is.
    fn most_blocks(&self) -> usize {
        let columns = self.columns();
        columns
            .iter()
            .map(|column| column.blocks as usize)
            .max()
            .unwrap_or(0)
    }

    /// How far an interval reaches that holds in all windows at once 95 % of the time, on the scale
    /// of [`t_of_scale`]; `None` where the blocks are too few for so small a chance. Signs are turned
    /// of what the window's own mean leaves, since the gains are what is not known (Davidson, R. and
    /// Flachaire, E., 2008, *The wild bootstrap, tamed at last*, Journal of Econometrics 146,
    /// 162–169): near 95 %, not exactly; `docs/along-strips.md` has the figures.
    pub(super) fn reach_at_once(&self) -> Option<f64> {
        if self.windows == 0 || smallest_p(self.most_blocks()) > MISS {
            return None;
        }
        let rest = self.less_window_means();
        let mut found = rest.largest_of_orders(SignOrders::of(self.blocks));
        let place = (MISS * found.len() as f64).floor() as usize;
        let (_, reach, _) = found.select_nth_unstable_by(place, |a, b| b.0.total_cmp(&a.0));
        Some(reach.0)
    }
}
