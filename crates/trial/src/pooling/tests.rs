//! Pooling against metafor, a package of R, and in its corners. Each figure carries the call that
//! made it: R 4.2.2, metafor 3.8-1, metadat 1.2-0, with `library(metafor)` and
//! `control = list(threshold = 1e-9, maxiter = 10000)` in every `rma`.

use super::*;
use proptest::prelude::*;

fn close(found: f64, wanted: f64) {
    let off = (found - wanted).abs() / wanted.abs().max(1.0);
    assert!(off < 1e-6, "found {found}, expected {wanted}");
}

fn both(found: [f64; 2], wanted: [f64; 2]) {
    close(found[0], wanted[0]);
    close(found[1], wanted[1]);
}

fn fields(pairs: &[(f64, f64)]) -> Vec<FieldEstimate> {
    pairs
        .iter()
        .map(|&(advantage, std_error)| FieldEstimate {
            advantage,
            std_error,
        })
        .collect()
}

fn with_variances(pairs: &[(f64, f64)]) -> Vec<FieldEstimate> {
    let roots: Vec<(f64, f64)> = pairs.iter().map(|&(y, v)| (y, v.sqrt())).collect();
    fields(&roots)
}

/// Six invented fields, kg/ha.
fn farm() -> Vec<FieldEstimate> {
    fields(&[
        (73.9, 21.3),
        (21.5, 34.8),
        (112.4, 40.2),
        (-18.2, 28.9),
        (55.0, 52.5),
        (88.6, 25.1),
    ])
}

/// `d <- escalc(measure = "RR", ai = tpos, bi = tneg, ci = cpos, di = cneg, data = dat.bcg)`: the
/// vaccination trials of Colditz et al. (1994), as metadat has them; `d$yi`, `d$vi`.
#[test]
fn vaccination_trials() {
    let pooled = pool(&with_variances(&[
        (-0.8893113339202, 0.32558476500396),
        (-1.5853886572014, 0.19458112139814),
        (-1.3480731482997, 0.41536796536797),
        (-1.4415511900213, 0.02001003190225),
        (-0.2175473222113, 0.05121017216963),
        (-0.7861155858189, 0.00690561845591),
        (-1.6208982235984, 0.22301724757232),
        (0.0119523335238, 0.00396157929782),
        (-0.4694176487381, 0.05643421046325),
        (-1.3713448034728, 0.07302479361303),
        (-0.3393588283384, 0.01241221397156),
        (0.4459134005714, 0.53250584520015),
        (-0.0173139482169, 0.07140465968399),
    ]))
    .unwrap();
    // m <- rma(yi, vi, data = d, method = "REML"); coef(m), m$se, m$ci.lb, m$ci.ub
    close(pooled.advantage, -0.714_532_342_158);
    close(pooled.std_error_wald, 0.179_781_516_105);
    both(
        pooled.interval_95_wald,
        [-1.066_897_638_81, -0.362_167_045_506],
    );
    // k <- rma(yi, vi, data = d, method = "REML", test = "knha"); k$se, k$ci.lb, k$ci.ub, k$pval
    close(pooled.std_error, 0.180_791_744_093);
    both(pooled.interval_95, [-1.108_443_713_686, -0.320_620_970_631]);
    assert_eq!(pooled.interval_95, pooled.interval_95_hartung_knapp);
    close(pooled.p_value, 0.001_920_015_096);
    // m$tau2, m$QE, m$QEp, m$I2, m$H2
    let differ = pooled.heterogeneity;
    close(differ.tau2, 0.313_243_258_136);
    close(differ.q, 152.233_008_082);
    assert!((differ.p_value / 1.996_764_590_85e-26 - 1.0).abs() < 1e-6);
    close(differ.i2_pct, 92.221_384_521_3);
    close(differ.h2, 12.855_758_235_3);
    // confint(m, control = list(tol = 1e-12))
    both(
        differ.tau2_interval_95,
        [0.119_718_361_141, 1.111_479_084_061],
    );
    both(
        differ.i2_interval_95_pct,
        [81.920_574_558_6, 97.678_074_957_9],
    );
    both(differ.h2_interval_95, [5.531_149_223_96, 43.067_712_431_0]);
    // weights(m)
    close(100.0 * pooled.weights[0], 5.059_482_734);
    close(100.0 * pooled.weights[11], 3.821_629_063);
    // leave1out(m)$estimate, leave1out(m)$tau2
    let last = pooled.without[12].unwrap();
    close(last.advantage, -0.777_536_184_9);
    close(last.tau2, 0.303_733_366_4);
    // k$beta + c(-1, 1) * qt(0.975, 11) * sqrt(k$se^2 + k$tau2)
    let next = pooled.prediction.unwrap();
    assert_eq!(next.df, 11.0);
    let half = 2.200_985_160_082_949 * 0.345_928_912_864_f64.sqrt();
    close(next.interval_95[0], -0.714_532_342_158 - half);
}

/// `d <- escalc(measure = "MD", m1i = m1i, sd1i = sd1i, n1i = n1i, m2i = m2i, sd2i = sd2i, n2i = n2i,
/// data = dat.normand1999)`: hospital stays of Normand (1999), as metadat has them, with standard
/// errors that differ tenfold; calls as above.
#[test]
fn hospital_stays() {
    let pooled = pool(&with_variances(&[
        (-20.0, 40.508_023_159_636_06),
        (-2.0, 2.080_645_161_290_32),
        (-55.0, 15.698_403_755_868_55),
        (-71.0, 150.222_222_222_222_22),
        (-4.0, 17.307_692_307_692_31),
        (1.0, 1.167_341_430_499_33),
        (11.0, 94.589_126_559_714_8),
        (-10.0, 6.310_879_284_649_78),
        (7.0, 19.842_307_692_307_69),
    ]))
    .unwrap();
    close(pooled.advantage, -15.106_027_473_5);
    close(pooled.std_error_wald, 8.946_552_839_76);
    close(pooled.std_error, 9.198_908_746_63);
    both(pooled.interval_95, [-36.318_749_082_56, 6.106_694_135_61]);
    both(
        pooled.interval_95_wald,
        [-32.640_948_825_18, 2.428_893_878_23],
    );
    close(pooled.p_value, 0.139_184_037_26);
    let differ = pooled.heterogeneity;
    close(differ.tau2, 684.646_151_93);
    close(differ.q, 238.915_810_862);
    close(differ.i2_pct, 98.971_274_347_4);
    close(differ.h2, 97.207_646_904_1);
    both(
        differ.tau2_interval_95,
        [292.918_121_656_9, 2_889.451_349_121_6],
    );
    // k$beta + c(-1, 1) * qt(0.975, 7) * sqrt(k$se^2 + k$tau2)
    both(
        pooled.prediction.unwrap().interval_95,
        [-80.690_409_278_993, 50.478_354_332_036],
    );
    // leave1out(m)$estimate
    close(pooled.without[3].unwrap().advantage, -9.269_915_054);
}

/// `rma(c(73.9, 21.5, 112.4, -18.2, 55.0, 88.6), c(21.3, 34.8, 40.2, 28.9, 52.5, 25.1)^2, …)`.
#[test]
fn invented_farm_scatters_less_than_expected() {
    let pooled = pool(&farm()).unwrap();
    close(pooled.advantage, 55.086_374_041_4);
    // test = "adhoc"
    close(pooled.std_error, 20.133_877_193);
    both(pooled.interval_95, [3.330_595_048_2, 106.842_153_034_6]);
    close(pooled.p_value, 0.040_986_368_23);
    // test = "knha"
    close(pooled.std_error_hartung_knapp, 19.580_721_965_7);
    both(
        pooled.interval_95_hartung_knapp,
        [4.752_525_827_78, 105.420_222_255_02],
    );
    assert!(pooled.scatter_ratio < 1.0);
    let differ = pooled.heterogeneity;
    close(differ.tau2, 1_369.654_093_64);
    close(differ.p_value, 0.035_813_035_605_1);
    both(differ.tau2_interval_95, [0.0, 12_489.598_446_210_6]);
    both(differ.i2_interval_95_pct, [0.0, 93.005_870_627_4]);
    // leave1out(m)$tau2: without the one field that lost, the others do not differ.
    assert_eq!(pooled.without[3].unwrap().tau2, 0.0);
    close(pooled.without[0].unwrap().tau2, 1_904.270_224);
}

/// `rma(c(60, 66, 71, 64, 58), c(30, 25, 40, 35, 28)^2, …)`: with `test = "knha"` the interval would
/// be 57.3 to 69.0, three times surer than the fields' own standard errors allow.
#[test]
fn fields_that_agree_do_not_make_the_answer_surer_than_their_noise() {
    let pooled = pool(&fields(&[
        (60.0, 30.0),
        (66.0, 25.0),
        (71.0, 40.0),
        (64.0, 35.0),
        (58.0, 28.0),
    ]))
    .unwrap();
    // test = "adhoc"
    close(pooled.std_error, 13.573_197_453_2);
    both(pooled.interval_95, [25.481_573_510_8, 100.852_048_772_5]);
    both(
        pooled.interval_95_hartung_knapp,
        [57.299_731_459_5, 69.033_890_823_8],
    );
    assert_eq!(pooled.heterogeneity.tau2, 0.0);
    assert_eq!(pooled.heterogeneity.tau2_interval_95, [0.0, 0.0]);
    assert_eq!(
        (pooled.heterogeneity.i2_pct, pooled.heterogeneity.h2),
        (0.0, 1.0)
    );
}

/// `rma(c(30, 110), c(15, 22)^2, test = "knha", …)`.
#[test]
fn two_fields() {
    let pooled = pool(&fields(&[(30.0, 15.0), (110.0, 22.0)])).unwrap();
    close(pooled.advantage, 68.381_25);
    close(pooled.heterogeneity.tau2, 2_845.5);
    both(
        pooled.interval_95,
        [-439.450_584_866_185, 576.213_084_866_185],
    );
    close(pooled.p_value, 0.336_725_348_492);
    assert_eq!(pooled.prediction, None);
    assert_eq!(pooled.odds_next_above(0.0), None);
    assert!(pooled.without.iter().all(Option::is_none));
}

#[test]
fn one_field_is_no_pool() {
    assert_eq!(pool(&[]), None);
    assert_eq!(pool(&fields(&[(30.0, 15.0)])), None);
    for missing in [f64::NAN, f64::INFINITY, 0.0, -3.0, 1e-200, 1e200] {
        assert_eq!(pool(&fields(&[(30.0, 15.0), (40.0, missing)])), None);
    }
    assert_eq!(pool(&fields(&[(30.0, 15.0), (f64::NAN, 15.0)])), None);
}

#[test]
fn identical_estimates_keep_the_fields_own_uncertainty() {
    let pooled = pool(&fields(&[(50.0, 20.0); 4])).unwrap();
    assert_eq!(pooled.heterogeneity.tau2, 0.0);
    assert_eq!((pooled.advantage, pooled.scatter_ratio), (50.0, 0.0));
    // By hand: 20 ÷ √4.
    close(pooled.std_error, 10.0);
    assert_eq!(pooled.interval_95_hartung_knapp, [50.0, 50.0]);
    close(pooled.heterogeneity.p_value, 1.0);
    close(pooled.weights[2], 0.25);
}

#[test]
fn a_field_that_knows_nothing_moves_nothing_but_the_degrees_of_freedom() {
    let before = pool(&farm()).unwrap();
    let mut more = farm();
    more.push(FieldEstimate {
        advantage: 4e4,
        std_error: 1e9,
    });
    let after = pool(&more).unwrap();
    close(after.advantage, before.advantage);
    close(after.heterogeneity.tau2, before.heterogeneity.tau2);
    close(after.std_error_wald, before.std_error_wald);
    assert!(after.weights[6] < 1e-12);
}

#[test]
fn a_field_of_infinite_standard_error_changes_nothing() {
    let before = pool(&farm()).unwrap();
    let mut more = farm();
    more.insert(
        2,
        FieldEstimate {
            advantage: 4e4,
            std_error: f64::INFINITY,
        },
    );
    let mut after = pool(&more).unwrap();
    assert_eq!(after.weights.remove(2), 0.0);
    assert_eq!(after.without.remove(2), None);
    assert_eq!(after, before);
}

#[test]
fn odds_follow_the_intervals() {
    let pooled = pool(&farm()).unwrap();
    close(pooled.odds_above(pooled.advantage), 0.5);
    close(pooled.odds_above(pooled.interval_95[0]), 0.975);
    let next = pooled.prediction.unwrap();
    close(pooled.odds_next_above(next.interval_95[1]).unwrap(), 0.025);
}

fn some_fields() -> impl Strategy<Value = Vec<FieldEstimate>> {
    prop::collection::vec((-300.0..300.0f64, 0.5..3.0f64), 2..9).prop_map(|pairs| {
        pairs
            .into_iter()
            .map(|(advantage, decades)| FieldEstimate {
                advantage,
                std_error: 10f64.powf(decades),
            })
            .collect()
    })
}

fn alike(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-6 * a.abs().max(b.abs()).max(1.0)
}

proptest! {
    #[test]
    fn the_order_of_fields_does_not_matter(fields in some_fields(), turn in 0usize..9) {
        let mut turned = fields.clone();
        turned.reverse();
        turned.rotate_left(turn % fields.len());
        let (a, b) = (pool(&fields).unwrap(), pool(&turned).unwrap());
        prop_assert!(alike(a.advantage, b.advantage));
        prop_assert!(alike(a.std_error, b.std_error));
        prop_assert!(alike(a.heterogeneity.tau2, b.heterogeneity.tau2));
        prop_assert!(alike(a.heterogeneity.tau2_interval_95[1], b.heterogeneity.tau2_interval_95[1]));
    }

    #[test]
    fn swapping_treatment_and_check_flips_the_sign(fields in some_fields()) {
        let flipped: Vec<FieldEstimate> = fields
            .iter()
            .map(|field| FieldEstimate { advantage: -field.advantage, ..*field })
            .collect();
        let (a, b) = (pool(&fields).unwrap(), pool(&flipped).unwrap());
        prop_assert!(alike(a.advantage, -b.advantage));
        prop_assert!(alike(a.interval_95[0], -b.interval_95[1]));
        prop_assert!(alike(a.p_value, b.p_value));
        prop_assert!(alike(a.heterogeneity.tau2, b.heterogeneity.tau2));
    }

    #[test]
    fn the_unit_of_yield_does_not_matter(fields in some_fields()) {
        let other: Vec<FieldEstimate> = fields
            .iter()
            .map(|field| FieldEstimate {
                advantage: field.advantage / 67.25,
                std_error: field.std_error / 67.25,
            })
            .collect();
        let (a, b) = (pool(&fields).unwrap(), pool(&other).unwrap());
        prop_assert!(alike(a.advantage, b.advantage * 67.25));
        prop_assert!(alike(a.p_value, b.p_value));
        prop_assert!(alike(a.heterogeneity.i2_pct, b.heterogeneity.i2_pct));
    }

    #[test]
    fn weights_add_up_and_intervals_nest(fields in some_fields()) {
        let pooled = pool(&fields).unwrap();
        prop_assert!(alike(pooled.weights.iter().sum(), 1.0));
        prop_assert!(pooled.std_error >= pooled.std_error_wald);
        let [low, high] = pooled.heterogeneity.tau2_interval_95;
        prop_assert!(low <= high);
        if let Some(next) = pooled.prediction {
            prop_assert!(next.interval_95[0] <= pooled.interval_95[0]);
            prop_assert!(next.interval_95[1] >= pooled.interval_95[1]);
        }
        let least = fields.iter().map(|f| f.advantage).fold(f64::INFINITY, f64::min);
        let most = fields.iter().map(|f| f.advantage).fold(f64::NEG_INFINITY, f64::max);
        prop_assert!(pooled.advantage >= least - 1e-9 && pooled.advantage <= most + 1e-9);
    }
}
