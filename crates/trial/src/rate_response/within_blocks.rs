//! Least squares with every block at a level of its own. Taking each block's mean from yields and
//! from what is fitted to them leaves the same fit as one column per block (Frisch, R. and Waugh,
//! F. V., 1933, *Partial time regressions as compared with individual trends*, Econometrica 1,
//! 387–401), with one or two columns instead of many.

/// One strip: its block, its rate as a share of the way from the lowest rate to the highest, and its
/// yield.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Observation {
    pub block: usize,
    pub share: f64,
    pub yield_kg_ha: f64,
}

/// Strips with the level of their block taken off.
#[derive(Debug, Clone)]
pub(super) struct WithinBlocks<'a> {
    pub observations: &'a [Observation],
    pub blocks: usize,
    yields: Vec<f64>,
}

/// A curve b × share + c × share², or part of it, fitted within blocks. Its two columns stand at
/// right angles: `first` multiplies the share, `second` what the squared share has beyond it.
#[derive(Debug, Clone, Copy)]
pub(super) struct TwoColumns {
    pub first: f64,
    pub first_squares: f64,
    pub second: f64,
    pub second_squares: f64,
    /// How much of the share the squared share holds: b = first − `slant` × second.
    pub slant: f64,
    pub residual_squares: f64,
}

/// One column fitted within blocks.
#[derive(Debug, Clone, Copy)]
pub(super) struct OneColumn {
    pub coefficient: f64,
    /// Sum of squares of the column; 0 when it does not vary within blocks.
    pub squares: f64,
    pub residual_squares: f64,
}

impl<'a> WithinBlocks<'a> {
    /// `blocks` counts them; every observation's block is below it.
    pub(super) fn new(observations: &'a [Observation], blocks: usize) -> WithinBlocks<'a> {
        let mut within = WithinBlocks {
            observations,
            blocks,
            yields: Vec::new(),
        };
        within.yields = within.centred(|o| o.yield_kg_ha);
        within
    }

    /// Degrees of freedom left after `columns` columns.
    pub(super) fn df(&self, columns: usize) -> f64 {
        self.observations.len() as f64 - (self.blocks + columns) as f64
    }

    /// Squares of the yields about their blocks' means.
    pub(super) fn squares(&self) -> f64 {
        dot(&self.yields, &self.yields)
    }

    /// Fits one column.
    pub(super) fn one(&self, column: impl Fn(f64) -> f64) -> OneColumn {
        let column = self.centred(|o| column(o.share));
        let squares = dot(&column, &column);
        let coefficient = if squares > 0.0 {
            dot(&column, &self.yields) / squares
        } else {
            0.0
        };
        OneColumn {
            coefficient,
            squares,
            residual_squares: squares_of(
                self.yields
                    .iter()
                    .zip(&column)
                    .map(|(y, x)| y - coefficient * x),
            ),
        }
    }

    /// Fits share and squared share; `None` when the two cannot be told apart.
    pub(super) fn two(&self) -> Option<TwoColumns> {
        let share = self.centred(|o| o.share);
        let squared = self.centred(|o| o.share * o.share);
        let first_squares = dot(&share, &share);
        let slant = dot(&share, &squared) / first_squares;
        let beyond: Vec<f64> = squared
            .iter()
            .zip(&share)
            .map(|(s, x)| s - slant * x)
            .collect();
        let second_squares = dot(&beyond, &beyond);
        // What rounding alone leaves of a column that says nothing new.
        if first_squares.is_nan()
            || second_squares.is_nan()
            || second_squares < 1e-12 * first_squares
        {
            return None;
        }
        let first = dot(&share, &self.yields) / first_squares;
        let second = dot(&beyond, &self.yields) / second_squares;
        let rest = self.yields.iter().zip(&share).zip(&beyond);
        Some(TwoColumns {
            first,
            first_squares,
            second,
            second_squares,
            slant,
            residual_squares: squares_of(rest.map(|((y, x), s)| y - first * x - second * s)),
        })
    }

    /// A column less its blocks' means, the means taken twice: the second time takes off what
    /// rounding left of a large level.
    fn centred(&self, column: impl Fn(&Observation) -> f64) -> Vec<f64> {
        let mut values: Vec<f64> = self.observations.iter().map(column).collect();
        for _ in 0..2 {
            let mut sums = vec![(0.0, 0.0); self.blocks];
            for (o, value) in self.observations.iter().zip(&values) {
                sums[o.block].0 += value;
                sums[o.block].1 += 1.0;
            }
            for (o, value) in self.observations.iter().zip(&mut values) {
                *value -= sums[o.block].0 / sums[o.block].1;
            }
        }
        values
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

fn squares_of(values: impl Iterator<Item = f64>) -> f64 {
    values.map(|value| value * value).sum()
}
