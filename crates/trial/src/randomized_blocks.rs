//! More than two treatments: every plot's yield is a block's level plus a treatment's, and the noise
//! is pooled over all treatments, which leaves more degrees of freedom than pair by pair. Fisher,
//! R. A. (1935), *The Design of Experiments*, Oliver & Boyd, chapter IV; least squares handles blocks
//! in which a treatment is missing.

use crate::dunnett::allow_for_all;
use crate::paired_strips::{Parts, comparison};
use crate::plot::Layout;
use checkstrip_model::results::Comparison;
use nalgebra::{DMatrix, DVector};

/// What a fit of blocks and treatments rests on.
pub(crate) struct HarvestedPlots {
    /// Blocks.
    pub blocks: usize,
    /// Treatments harvested somewhere, without the check, by place in the layout.
    pub others: Vec<usize>,
    /// For each treatment in each block where it was harvested: the block; 0 for the check, otherwise
    /// 1 more than the place in `others`; and the yield, kg/ha.
    pub rows: Vec<(usize, usize, f64)>,
}

impl HarvestedPlots {
    /// Those of `layout`, all strips of a treatment in a block added up.
    pub(crate) fn of(layout: &Layout) -> HarvestedPlots {
        let blocks = layout.blocks();
        let yield_of = |block: &str, treatment: usize| {
            let cell = layout.cell(block, treatment, treatment);
            cell.map(|cell| cell.yield_kg_ha)
        };
        let others: Vec<usize> = layout
            .treated()
            .filter(|&t| blocks.iter().any(|block| yield_of(block, t).is_some()))
            .collect();
        let mut rows = Vec::new();
        for (b, block) in blocks.iter().enumerate() {
            let all = std::iter::once(&layout.check).chain(&others);
            for (column, &treatment) in all.enumerate() {
                rows.extend(yield_of(block, treatment).map(|found| (b, column, found)));
            }
        }
        HarvestedPlots {
            blocks: blocks.len(),
            others,
            rows,
        }
    }
}

/// Every treatment against the check from one fit of blocks and treatments.
///
/// One entry per treatment, in the layout's order without the check. Empty when the plots do not
/// tell blocks and treatments apart (too few, or not connected) or leave no degree of freedom.
/// With more than one treatment, intervals and p values that hold for all of them at once stand beside
/// those that hold for each by itself.
pub fn randomized_blocks(layout: &Layout, bushel_kg: f64) -> Vec<Comparison> {
    let Some((mut found, covariance)) = each_by_itself(layout, bushel_kg) else {
        return Vec::new();
    };
    let df = found.first().map_or(f64::NAN, |first| first.df);
    allow_for_all(&mut found, &covariance, df, bushel_kg);
    found
}

/// [`randomized_blocks`] without what holds for all at once, whose quadrature takes far longer than the
/// fit; with the covariance of the differences relative to the noise's variance.
pub(crate) fn each_by_itself(
    layout: &Layout,
    bushel_kg: f64,
) -> Option<(Vec<Comparison>, DMatrix<f64>)> {
    let HarvestedPlots {
        blocks,
        others,
        rows,
    } = HarvestedPlots::of(layout);
    let columns = blocks + others.len();
    if rows.len() <= columns {
        return None;
    }
    // Yields relative to their mean, so that nothing is lost to a large common level.
    let level = rows.iter().map(|row| row.2).sum::<f64>() / rows.len() as f64;
    let mut design = DMatrix::zeros(rows.len(), columns);
    for (row, &(block, treatment, _)) in rows.iter().enumerate() {
        design[(row, block)] = 1.0;
        if treatment > 0 {
            design[(row, blocks + treatment - 1)] = 1.0;
        }
    }
    let yields = DVector::from_iterator(rows.len(), rows.iter().map(|row| row.2 - level));
    let inverse = (design.transpose() * &design).cholesky()?.inverse();
    let fit = &inverse * design.transpose() * &yields;
    let residual = &yields - &design * &fit;
    let df = (rows.len() - columns) as f64;
    let variance = residual.norm_squared() / df;

    let found: Vec<Comparison> = others
        .iter()
        .enumerate()
        .map(|(place, &treatment)| {
            let column = blocks + place;
            let contrast = layout.contrast(treatment);
            comparison(Parts {
                layout,
                treatment,
                method: "randomized_blocks",
                bushel_kg,
                advantage: fit[column],
                std_error: (variance * inverse[(column, column)]).sqrt(),
                df,
                dilution: contrast.dilution,
                differences: contrast.differences,
            })
        })
        .collect();
    let (first, count) = (blocks, others.len());
    let covariance = inverse.view((first, first), (count, count)).into_owned();
    Some((found, covariance))
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use crate::paired_strips::paired_strips;
    use crate::plot::Plot;

    fn layout(treatments: &[&str], yields: &[&[f64]]) -> Layout {
        let mut plots = Vec::new();
        for (block, row) in yields.iter().enumerate() {
            for (treatment, &yield_kg_ha) in row.iter().enumerate() {
                let mut treatment_shares = vec![0.0; treatments.len()];
                treatment_shares[treatment] = 1.0;
                plots.push(Plot {
                    treatment,
                    block: Some(block.to_string()),
                    area_m2: if yield_kg_ha.is_nan() { 0.0 } else { 1e4 },
                    mass_kg: if yield_kg_ha.is_nan() {
                        0.0
                    } else {
                        yield_kg_ha
                    },
                    treatment_shares,
                });
            }
        }
        Layout {
            treatments: treatments.iter().map(|t| (*t).to_owned()).collect(),
            check: 0,
            plots,
        }
    }

    /// Means of the two years; rows are places, columns the varieties M, S, V, T, P.
    pub(crate) fn barley_of_immer() -> Vec<Vec<f64>> {
        let year1 = [
            [81.0, 105.4, 119.7, 109.7, 98.3],
            [146.6, 142.0, 150.7, 191.5, 145.7],
            [82.3, 77.3, 78.4, 131.3, 89.6],
            [119.8, 121.4, 124.0, 140.8, 124.8],
            [98.9, 89.0, 69.1, 89.3, 104.1],
            [86.9, 77.1, 78.9, 101.8, 96.0],
        ];
        let year2 = [
            [80.7, 82.3, 80.4, 87.2, 84.2],
            [100.4, 115.5, 112.2, 147.7, 108.1],
            [103.1, 105.1, 116.5, 139.9, 129.6],
            [98.9, 61.9, 96.2, 125.5, 75.7],
            [66.4, 49.9, 96.7, 61.9, 80.3],
            [67.7, 66.7, 67.4, 91.8, 94.1],
        ];
        year1
            .iter()
            .zip(&year2)
            .map(|(a, b)| a.iter().zip(b).map(|(a, b)| (a + b) / 2.0).collect())
            .collect()
    }

    /// Immer, Hayes and Powers (1934) barley, as in Venables and Ripley (2002), *Modern Applied
    /// Statistics with S*, data set immer of R's MASS. R 4.2.2 `aov((Y1 + Y2)/2 ~ Var + Loc)`: the
    /// least significant difference at 5 % is 12.678439, on 20 degrees of freedom.
    #[test]
    fn barley_of_immer_least_significant_difference() {
        let means = barley_of_immer();
        let rows: Vec<&[f64]> = means.iter().map(Vec::as_slice).collect();
        let found = randomized_blocks(&layout(&["M", "S", "V", "T", "P"], &rows), 27.2155);
        // F for Var 5.9891170 is held in `within_block_orders`.
        assert_eq!(found.len(), 4);
        for comparison in &found {
            assert_eq!(comparison.df, 20.0);
            let half = comparison.interval_95_kg_ha[1] - comparison.advantage_kg_ha;
            assert!((half - 12.678_439).abs() < 1e-5, "{half}");
        }
    }

    /// The same barley, Manchuria as the check. R 4.2.2, multcomp 1.4.22: `summary(glht(aov(y ~ Loc +
    /// Var), linfct = mcp(Var = "Dunnett")))` gives single-step p 0.0030604 for Trebi and 0.488054 for
    /// Peatland. The critical value is 2.6510296 by `uniroot` over two nested `integrate`, 2.65093 by
    /// mvtnorm 1.1.3 `qmvt(.95, df = 20, tail = "both.tails", corr = R)`, whose points are random.
    #[test]
    fn barley_of_immer_all_against_the_check() {
        let means = barley_of_immer();
        let rows: Vec<&[f64]> = means.iter().map(Vec::as_slice).collect();
        let found = randomized_blocks(&layout(&["M", "S", "V", "T", "P"], &rows), 27.2155);
        let trebi = &found[2];
        assert!((trebi.p_value_family.unwrap() - 0.003_060_4).abs() < 1e-5);
        assert!((found[3].p_value_family.unwrap() - 0.488_054).abs() < 1e-5);
        let half = trebi.interval_95_family_kg_ha.unwrap()[1] - trebi.advantage_kg_ha;
        assert!((half / trebi.std_error_kg_ha - 2.651_029_6).abs() < 1e-6);
        assert!(trebi.p_value_family.unwrap() > trebi.p_value);
    }

    /// Six seeding rates of rice, kg/ha, in four replications: Gomez, K. A. and Gomez, A. A. (1984),
    /// *Statistical Procedures for Agricultural Research*, 2nd ed., Wiley, section 2.2, table 2.5
    /// (yields from memory; their analysis of variance, error mean square 110,558 and F 2.17, comes out
    /// as printed). R 4.2.2 `anova(aov(y ~ rep + rate))`: error mean square 110558.411111 on 15, F
    /// 2.16778, p 0.1128094.
    #[test]
    fn rice_of_gomez_and_gomez() {
        let rates: [[f64; 4]; 6] = [
            [5113., 5398., 5307., 4678.],
            [5346., 5952., 4719., 4264.],
            [5272., 5713., 5483., 4749.],
            [5164., 4831., 4986., 4410.],
            [4804., 4848., 4432., 4748.],
            [5254., 4542., 4919., 4098.],
        ];
        let blocks: Vec<Vec<f64>> = (0..4)
            .map(|rep| rates.map(|rate| rate[rep]).to_vec())
            .collect();
        let rows: Vec<&[f64]> = blocks.iter().map(Vec::as_slice).collect();
        let rice = layout(&["25", "50", "75", "100", "125", "150"], &rows);
        let found = randomized_blocks(&rice, 27.2155);
        for comparison in &found {
            assert_eq!(comparison.df, 15.0);
            let mean_square = comparison.std_error_kg_ha.powi(2) * 2.0;
            assert!(
                (mean_square - 110_558.411_111).abs() < 1e-5,
                "{mean_square}"
            );
        }
        let overall = crate::within_block_orders(&rice).unwrap().overall;
        assert!((overall.statistic - 2.167_78).abs() < 5e-6);
        assert!((overall.p_value_f - 0.112_809_4).abs() < 5e-8);
    }

    /// With two treatments and whole blocks the fit is the paired comparison.
    #[test]
    fn two_treatments_are_the_paired_comparison() {
        let layout = layout(
            &["check", "rolled"],
            &[&[50., 53.], &[48., 47.], &[60., 66.], &[55., 58.]],
        );
        let [found] = &randomized_blocks(&layout, 27.2155)[..] else {
            panic!("one comparison")
        };
        let paired = paired_strips(&layout, 1, 27.2155).unwrap();
        assert!((found.advantage_kg_ha - paired.advantage_kg_ha).abs() < 1e-9);
        assert!((found.std_error_kg_ha - paired.std_error_kg_ha).abs() < 1e-9);
        assert!((found.p_value - paired.p_value).abs() < 1e-9);
    }

    #[test]
    fn a_missing_plot_is_bridged_and_too_few_plots_give_nothing() {
        let whole = layout(
            &["c", "a", "b"],
            &[&[1., 2., 3.], &[2., 3., f64::NAN], &[3., 5., 5.]],
        );
        let found = randomized_blocks(&whole, 27.2155);
        assert_eq!((found.len(), found[0].df, found[1].blocks), (2, 3.0, 2));
        assert!(randomized_blocks(&layout(&["c", "a", "b"], &[&[1., 2., 3.]]), 27.2155).is_empty());
    }
}
