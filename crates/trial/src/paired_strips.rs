//! Treatment minus check block by block, judged against how much these differences vary among
//! themselves: the paired t test of Student (1908), *The probable error of a mean*, Biometrika 6,
//! 1–25. The strip pair is the unit, because that is what was laid out; thousands of records within
//! a strip are one look at one piece of soil and add no repeats.

use crate::plot::{Contrast, Layout};
use crate::student::{quantile_975, two_sided};
use checkstrip_model::results::{BlockDifference, Comparison};
use checkstrip_model::units::bu_per_acre;

/// Compares `treatment` with the layout's check over all blocks that hold both; `None` when there is
/// no such block. Every block counts the same.
///
/// With one block there is a difference but nothing to judge it by: standard error, interval and p
/// are then `NaN` (`null` in the results file) and the degrees of freedom 0.
///
/// `dilution` is the mean over blocks of the treated share of the ground under the treated strips'
/// footprints, less that under the check's: headers that straddle two treatments shrink the
/// difference by about this factor.
pub fn paired_strips(layout: &Layout, treatment: usize, bushel_kg: f64) -> Option<Comparison> {
    let Contrast {
        differences,
        dilution,
    } = layout.contrast(treatment);
    let blocks = differences.len();
    if blocks == 0 {
        return None;
    }
    let count = blocks as f64;
    let df = count - 1.0;
    let mean = differences.iter().map(|d| d.difference_kg_ha).sum::<f64>() / count;
    let squares: f64 = differences
        .iter()
        .map(|d| (d.difference_kg_ha - mean).powi(2))
        .sum();
    let std_error = (squares / df / count).sqrt();
    Some(comparison(Parts {
        layout,
        treatment,
        method: "paired_strips",
        bushel_kg,
        advantage: mean,
        std_error,
        df,
        dilution,
        differences,
    }))
}

/// What a method found, before it is written out in both units.
pub(crate) struct Parts<'a> {
    pub layout: &'a Layout,
    pub treatment: usize,
    pub method: &'static str,
    pub bushel_kg: f64,
    /// kg/ha.
    pub advantage: f64,
    /// kg/ha.
    pub std_error: f64,
    pub df: f64,
    pub dilution: f64,
    pub differences: Vec<BlockDifference>,
}

/// The entry of the results file: t interval and p value from the parts.
pub(crate) fn comparison(parts: Parts) -> Comparison {
    let half = parts.std_error * quantile_975(parts.df);
    let interval = [parts.advantage - half, parts.advantage + half];
    let names = &parts.layout.treatments;
    Comparison {
        treatment: names[parts.treatment].clone(),
        check: names[parts.layout.check].clone(),
        method: parts.method.to_owned(),
        blocks: parts.differences.len(),
        advantage_kg_ha: parts.advantage,
        advantage_bu_ac: bu_per_acre(parts.advantage, parts.bushel_kg),
        std_error_kg_ha: parts.std_error,
        df: parts.df,
        interval_95_kg_ha: interval,
        interval_95_bu_ac: interval.map(|end| bu_per_acre(end, parts.bushel_kg)),
        p_value: two_sided(parts.advantage / parts.std_error, parts.df),
        interval_95_family_kg_ha: None,
        interval_95_family_bu_ac: None,
        p_value_family: None,
        dilution: parts.dilution,
        block_differences: parts.differences,
        smallest_p: None,
        orders: None,
        soil: None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plot::Plot;

    fn layout(pairs: &[(f64, f64)]) -> Layout {
        let plot = |treatment, block: usize, yield_kg_ha: f64| Plot {
            treatment,
            block: Some(block.to_string()),
            area_m2: 1e4,
            mass_kg: yield_kg_ha,
            treatment_shares: if treatment == 0 {
                vec![1.0, 0.0]
            } else {
                vec![0.0, 1.0]
            },
        };
        let plots = pairs.iter().enumerate();
        Layout {
            treatments: vec!["check".into(), "rolled".into()],
            check: 0,
            plots: plots
                .flat_map(|(b, &(c, t))| [plot(0, b, c), plot(1, b, t)])
                .collect(),
        }
    }

    /// Student's sleep data (Cushny and Peebles 1905, as in Student 1908), R 4.2.2 `t.test(extra ~
    /// group, data = sleep, paired = TRUE)`: t = 4.062128, df = 9, p = 0.0028328902, mean 1.58,
    /// interval 0.7001142 to 2.4598858.
    #[test]
    fn students_sleep_data() {
        let first = [0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0];
        let second = [1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4];
        let pairs: Vec<_> = first.into_iter().zip(second).collect();
        let found = paired_strips(&layout(&pairs), 1, 27.2155).unwrap();
        assert_eq!((found.blocks, found.df), (10, 9.0));
        assert!((found.advantage_kg_ha - 1.58).abs() < 1e-9);
        assert!(
            (found.p_value - 0.002_832_890_2).abs() < 1e-9,
            "{}",
            found.p_value
        );
        assert!((found.interval_95_kg_ha[0] - 0.700_114_2).abs() < 1e-6);
        assert!((found.interval_95_kg_ha[1] - 2.459_885_8).abs() < 1e-6);
        assert_eq!(found.dilution, 1.0);
    }

    #[test]
    fn one_pair_has_no_interval() {
        let found = paired_strips(&layout(&[(4000.0, 4080.0)]), 1, 27.2155).unwrap();
        assert_eq!((found.blocks, found.df), (1, 0.0));
        assert!((found.advantage_kg_ha - 80.0).abs() < 1e-9);
        assert!(found.std_error_kg_ha.is_nan() && found.p_value.is_nan());
    }

    #[test]
    fn swapping_treatment_and_check_flips_the_sign() {
        let mut layout = layout(&[(4000.0, 4080.0), (4100.0, 4110.0), (3900.0, 4010.0)]);
        let there = paired_strips(&layout, 1, 27.2155).unwrap();
        layout.check = 1;
        let back = paired_strips(&layout, 0, 27.2155).unwrap();
        assert!((there.advantage_kg_ha + back.advantage_kg_ha).abs() < 1e-9);
        assert!((there.p_value - back.p_value).abs() < 1e-12);
    }

    #[test]
    fn blocks_without_a_harvested_pair_do_not_count() {
        let mut layout = layout(&[(4000.0, 4080.0), (4100.0, 4110.0), (3900.0, 4010.0)]);
        layout.plots[0].area_m2 = 0.0;
        assert_eq!(paired_strips(&layout, 1, 27.2155).unwrap().blocks, 2);
    }
}
