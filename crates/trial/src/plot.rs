//! The plots of a trial as statistics sees them: the strips of one treatment in one block, added up.

use checkstrip_model::results::BlockDifference;

/// One strip's harvest with its place in the layout.
#[derive(Debug, Clone, PartialEq)]
pub struct Plot {
    /// Place of its treatment in [`Layout::treatments`].
    pub treatment: usize,
    /// Its block; strips without one take no part in comparisons within blocks.
    pub block: Option<String>,
    /// Harvested ground, m².
    pub area_m2: f64,
    /// Grain at market moisture, kg.
    pub mass_kg: f64,
    /// For each treatment, the share of the harvested ground that was drawn as it.
    pub treatment_shares: Vec<f64>,
}

/// All plots with the names of the treatments.
#[derive(Debug, Clone, PartialEq)]
pub struct Layout {
    /// Names of the treatments.
    pub treatments: Vec<String>,
    /// Which of them is the check.
    pub check: usize,
    /// The plots.
    pub plots: Vec<Plot>,
}

/// The strips of one treatment in one block.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Cell {
    /// Yield, kg/ha.
    pub yield_kg_ha: f64,
    /// Share of its ground drawn as the treatment asked for.
    pub share: f64,
}

/// Treatment minus check, block by block.
#[derive(Debug, Clone, Default)]
pub(crate) struct Contrast {
    /// The differences of blocks that hold both, kg/ha.
    pub differences: Vec<BlockDifference>,
    /// Mean over these blocks of the treated share of the ground under the treated strips'
    /// footprints, less that under the check's; `NaN` without a block.
    pub dilution: f64,
}

impl Layout {
    /// A layout of one figure a strip, each strip of the same weight: place of the treatment, block and figure per
    /// hectare of every strip, `None` where a strip has no figure.
    ///
    /// ```
    /// use checkstrip_trial::{Layout, paired_strips};
    /// let names = ["check", "rolled"].map(String::from);
    /// let strip = |treatment, plants| (treatment, Some("1".to_owned()), Some(plants));
    /// let layout = Layout::of_means(&names, 0, [strip(0, 70_000.0), strip(1, 68_000.0)].into_iter());
    /// assert_eq!(paired_strips(&layout, 1, 1.0).unwrap().advantage_kg_ha, -2_000.0);
    /// ```
    pub fn of_means(
        treatments: &[String],
        check: usize,
        strips: impl Iterator<Item = (usize, Option<String>, Option<f64>)>,
    ) -> Layout {
        /// Any ground does, as long as all strips have the same.
        const GROUND_M2: f64 = 1e4;
        let plots = strips.map(|(treatment, block, figure)| {
            let mut treatment_shares = vec![0.0; treatments.len()];
            treatment_shares[treatment] = 1.0;
            Plot {
                treatment,
                block,
                area_m2: figure.map_or(0.0, |_| GROUND_M2),
                mass_kg: figure.unwrap_or(0.0),
                treatment_shares,
            }
        });
        Layout {
            treatments: treatments.to_vec(),
            check,
            plots: plots.collect(),
        }
    }

    /// Every treatment but the check.
    pub(crate) fn treated(&self) -> impl Iterator<Item = usize> + '_ {
        (0..self.treatments.len()).filter(|&treatment| treatment != self.check)
    }

    /// `treatment` against the check over all blocks that hold both.
    pub(crate) fn contrast(&self, treatment: usize) -> Contrast {
        let mut contrast = Contrast::default();
        for block in self.blocks() {
            let treated = self.cell(block, treatment, treatment);
            let check = self.cell(block, self.check, treatment);
            if let (Some(treated), Some(check)) = (treated, check) {
                contrast.differences.push(BlockDifference {
                    block: block.to_owned(),
                    difference_kg_ha: treated.yield_kg_ha - check.yield_kg_ha,
                });
                contrast.dilution += treated.share - check.share;
            }
        }
        contrast.dilution /= contrast.differences.len() as f64;
        contrast
    }

    /// Names of the blocks that hold a harvested plot, in order of appearance.
    pub(crate) fn blocks(&self) -> Vec<&str> {
        let mut blocks: Vec<&str> = Vec::new();
        for plot in self.plots.iter().filter(|plot| plot.area_m2 > 0.0) {
            if let Some(block) = plot.block.as_deref()
                && !blocks.contains(&block)
            {
                blocks.push(block);
            }
        }
        blocks
    }

    /// Yield of `treatment` in `block`, all its strips added up, and the share of their ground drawn
    /// as `of`; `None` when nothing of it was harvested there.
    pub(crate) fn cell(&self, block: &str, treatment: usize, of: usize) -> Option<Cell> {
        let (mut area, mut mass, mut share) = (0.0, 0.0, 0.0);
        for plot in &self.plots {
            if plot.treatment == treatment && plot.block.as_deref() == Some(block) {
                area += plot.area_m2;
                mass += plot.mass_kg;
                share += plot.area_m2 * plot.treatment_shares[of];
            }
        }
        (area > 0.0).then(|| Cell {
            yield_kg_ha: mass / area * 1e4,
            share: share / area,
        })
    }
}
