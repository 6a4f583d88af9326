//! Orders within blocks against R: direct enumeration and coin.

use super::*;
use crate::permutation::sign_flips;
use crate::plot::Plot;
use crate::randomized_blocks::randomized_blocks;

fn layout(treatments: usize, yields: &[&[f64]]) -> Layout {
    let mut plots = Vec::new();
    for (block, row) in yields.iter().enumerate() {
        for (treatment, &yield_kg_ha) in row.iter().enumerate() {
            let mut treatment_shares = vec![0.0; treatments];
            treatment_shares[treatment] = 1.0;
            let harvested = yield_kg_ha.is_finite();
            plots.push(Plot {
                treatment,
                block: Some(block.to_string()),
                area_m2: if harvested { 1e4 } else { 0.0 },
                mass_kg: if harvested { yield_kg_ha } else { 0.0 },
                treatment_shares,
            });
        }
    }
    Layout {
        treatments: (0..treatments).map(|t| t.to_string()).collect(),
        check: 0,
        plots,
    }
}

/// An invented trial: four blocks of check, a and b.
const WHOLE: [&[f64]; 4] = [
    &[50., 53., 57.],
    &[48., 47., 55.],
    &[60., 66., 61.],
    &[55., 58., 62.],
];

/// Enumeration in R 4.2.2: `g <- expand.grid(rep(list(1:6), 4))` over the 6 permutations of each
/// block, `fit` = F and |t| of `aov(y ~ block + trt)` from sums of squares; 108 of 1,296 orders have as
/// large an F, 414 and 88 as large a largest |t| as a and b. `anova(aov(y ~ block + trt))`: F
/// 3.8210526315789 on 2 and 6, p 0.085076489705584. coin 1.4-2 draws orders: `oneway_test(y ~ trt |
/// block, distribution = approximate(nresample = 2000000))` gives 0.083499, 99 % interval 0.08300 to
/// 0.08400; 108/1,296 is 0.08333.
#[test]
fn whole_blocks_are_those_of_r() {
    let found = within_block_orders(&layout(3, &WHOLE)).unwrap();
    let overall = &found.overall;
    assert!((overall.statistic - 3.821_052_631_578_9).abs() < 1e-10);
    assert!((overall.p_value_f - 0.085_076_489_705_584).abs() < 1e-10);
    assert_eq!((overall.df_treatments, overall.df_residual), (2.0, 6.0));
    assert_eq!(
        (overall.orders, overall.all_orders, overall.seed),
        (1_296, true, None)
    );
    assert_eq!(overall.p_value_permutation, 108.0 / 1_296.0);
    assert_eq!(found.family, [(1, 414.0 / 1_296.0), (2, 88.0 / 1_296.0)]);
    assert!((overall.smallest_p - 6.0 / 1_296.0).abs() < 1e-15);
}

/// The same without b in the second block. Enumeration in R 4.2.2 of the 6 × 2 × 6 × 6 orders, F and t
/// from `X %*% solve(crossprod(X)) %*% t(X)` with `X <- model.matrix(~ block + trt)`: 92, 145 and 85 of
/// 432. `anova(lm(y ~ block + trt))`: F 2.2157190635441 on 2 and 5.
#[test]
fn a_missing_strip_is_that_of_r() {
    let mut yields = WHOLE;
    yields[1] = &[48., 47., f64::NAN];
    let found = within_block_orders(&layout(3, &yields)).unwrap();
    let overall = &found.overall;
    assert!((overall.statistic - 2.215_719_063_544_1).abs() < 1e-10);
    assert_eq!((overall.orders, overall.df_residual), (432, 5.0));
    assert_eq!(overall.p_value_permutation, 92.0 / 432.0);
    assert_eq!(found.family, [(1, 145.0 / 432.0), (2, 85.0 / 432.0)]);
    // The check and a stand in the same blocks and may change names, b may not.
    assert!((overall.smallest_p - 2.0 / 432.0).abs() < 1e-15);
}

/// R's MASS::immer, means of two years, as in `randomized_blocks`: 120⁶ orders are drawn. coin 1.4-2
/// `oneway_test(y ~ Var | Loc, distribution = approximate(nresample = 1000000))` gives 0.004935, 99 %
/// interval 0.00476 to 0.00512; `summary(aov(y ~ Var + Loc))` F 5.9891170, p 0.0024526. The family by
/// 100,000 orders in R, `apply(M, 1, sample)`: S 0.95578, V 0.84988, T 0.00501, P 0.48541. Three
/// standard errors of two such shares are 0.007 at most, and 0.001 for the small ones.
#[test]
fn barley_of_immer_is_that_of_coin() {
    let rows = crate::randomized_blocks::tests::barley_of_immer();
    let rows: Vec<&[f64]> = rows.iter().map(Vec::as_slice).collect();
    let found = within_block_orders(&layout(5, &rows)).unwrap();
    let overall = &found.overall;
    assert!((overall.statistic - 5.989_117_0).abs() < 1e-6);
    assert!((overall.p_value_f - 0.002_452_6).abs() < 1e-7);
    assert!(
        (overall.p_value_permutation - 0.004_935).abs() < 0.001,
        "{overall:?}"
    );
    assert_eq!(
        (overall.orders, overall.seed),
        (100_000, Some(PERMUTATION_SEED))
    );
    let expected = [0.955_78, 0.849_88, 0.005_01, 0.485_41];
    for ((_, p), expected) in found.family.iter().zip(expected) {
        let allowed = if expected < 0.01 { 0.001 } else { 0.007 };
        assert!((p - expected).abs() < allowed, "{p} {expected}");
    }
    assert_eq!(within_block_orders(&layout(5, &rows)).unwrap(), found);
}

/// With a third treatment that stands in no order at all (it yields the mean of the others), two are
/// left; with two alone there is no overall test, and the pair's own p stays that of sign changes.
/// Sleep data, R 4.2.2 with coin 1.4-2: `oneway_test(extra ~ group | ID, data = sleep, distribution =
/// "exact")` p 0.00390625. Without the pairs (`oneway_test(extra ~ group, …)`) it would be
/// 0.0814479638: blocks are what shows the difference.
#[test]
fn two_treatments_are_left_to_sign_changes() {
    let first = [0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0];
    let second = [1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4];
    let pairs: Vec<[f64; 2]> = first.into_iter().zip(second).map(|(a, b)| [a, b]).collect();
    let rows: Vec<&[f64]> = pairs.iter().map(<[f64; 2]>::as_slice).collect();
    let layout = layout(2, &rows);
    assert_eq!(within_block_orders(&layout), None);
    let (found, overall) = crate::permutations(&layout, 27.2155);
    assert_eq!(
        (found[0].p_value, found[0].p_value_family, overall),
        (0.003_906_25, None, None)
    );
}

/// Changing the labels of one treatment and the check in some blocks leaves that treatment's sign
/// changes what they are, whatever the third does.
#[test]
fn a_third_treatment_does_not_enter_a_pair() {
    let (found, _) = crate::permutations(&layout(3, &WHOLE), 27.2155);
    let differences: Vec<f64> = WHOLE.iter().map(|row| row[1] - row[0]).collect();
    assert_eq!(found[0].p_value, sign_flips(&differences).p_value);
    let mut yields = WHOLE;
    yields[0] = &[50., 53., 900.];
    let (other, _) = crate::permutations(&layout(3, &yields), 27.2155);
    assert_eq!(found[0].p_value, other[0].p_value);
    assert_ne!(found[0].p_value_family, other[0].p_value_family);
}

/// F and t are those of the fit of randomised blocks.
#[test]
fn statistics_are_those_of_the_fit() {
    let mut yields = WHOLE;
    yields[3] = &[55., f64::NAN, 62.];
    let layout = layout(3, &yields);
    let fit = Fit::of(&HarvestedPlots::of(&layout)).unwrap();
    let found = fit.statistics(&fit.sums_as_they_lie());
    for (comparison, t_squared) in randomized_blocks(&layout, 27.2155)
        .iter()
        .zip(&found.t_squared)
    {
        let t = comparison.advantage_kg_ha / comparison.std_error_kg_ha;
        assert!((t * t - t_squared).abs() < 1e-9);
    }
}

/// Of 2,000 fields on which nothing was tried, no more than 5 % may have an overall or a smallest
/// family p of 5 % or less (here every order is tried, so the test cannot go over): three standard
/// errors of 5 % are 1.5 %.
#[test]
fn where_nothing_was_tried_nothing_is_shown_too_often() {
    let mut random = Random::new(7);
    let (mut overall, mut family) = (0, 0);
    for _ in 0..2_000 {
        let rows: Vec<Vec<f64>> = (0..4)
            .map(|_| {
                (0..3)
                    .map(|_| random.unit() + random.unit().powi(8))
                    .collect()
            })
            .collect();
        let rows: Vec<&[f64]> = rows.iter().map(Vec::as_slice).collect();
        let found = within_block_orders(&layout(3, &rows)).unwrap();
        overall += u32::from(found.overall.p_value_permutation <= 0.05);
        family += u32::from(found.family.iter().any(|of| of.1 <= 0.05));
    }
    for shown in [overall, family] {
        let share = f64::from(shown) / 2_000.0;
        assert!((0.035..=0.065).contains(&share), "{share}");
    }
}

#[test]
fn nothing_comes_of_too_little() {
    // One block, no variation, plots that do not hang together.
    assert_eq!(within_block_orders(&layout(3, &[&[1., 2., 3.]])), None);
    assert_eq!(within_block_orders(&layout(3, &[&[1.; 3], &[2.; 3]])), None);
    let none = f64::NAN;
    let apart: [&[f64]; 4] = [
        &[1., none, 2., none],
        &[2., none, 4., none],
        &[none, 5., none, 1.],
        &[none, 4., none, 2.],
    ];
    assert_eq!(within_block_orders(&layout(4, &apart)), None);
}
