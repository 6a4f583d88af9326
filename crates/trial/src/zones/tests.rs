//! Zones against R 4.2.2 with lme4, lmerTest and nlme on an invented layout, and the laws that must hold.

use super::*;
use crate::plot::Plot;
use crate::random::Random;
use crate::{TreatmentCost, paired_strips};
use proptest::prelude::*;

const SOYBEAN: f64 = 27.2155;

/// Blocks of a treated and a check strip; each row is block, zone, treated and check ground (m²) and the
/// difference (kg/ha) over a check that yields 4000 kg/ha.
fn trial(rows: &[(usize, usize, f64, f64, f64)]) -> (Layout, ZoneSums) {
    let blocks = 1 + rows.iter().map(|row| row.0).max().unwrap();
    let zones = 1 + rows.iter().map(|row| row.1).max().unwrap();
    let mut sums = Vec::new();
    for &(block, zone, treated, check, difference) in rows {
        for (side, area_m2, yield_kg_ha) in [(0, check, 4000.0), (1, treated, 4000.0 + difference)]
        {
            sums.push(ZoneSum {
                plot: 2 * block + side,
                zone,
                area_m2,
                mass_kg: area_m2 * yield_kg_ha / 1e4,
            });
        }
    }
    let plots = (0..2 * blocks).map(|plot| {
        let of_plot = sums.iter().filter(|sum: &&ZoneSum| sum.plot == plot);
        Plot {
            treatment: plot % 2,
            block: Some((plot / 2 + 1).to_string()),
            area_m2: of_plot.clone().map(|sum| sum.area_m2).sum(),
            mass_kg: of_plot.map(|sum| sum.mass_kg).sum(),
            treatment_shares: vec![1.0 - (plot % 2) as f64, (plot % 2) as f64],
        }
    });
    let layout = Layout {
        treatments: vec!["check".into(), "rolled".into()],
        check: 0,
        plots: plots.collect(),
    };
    let names = ["low", "mid", "high"];
    let zones = ZoneSums {
        zones: names[..zones].iter().map(|n| (*n).to_owned()).collect(),
        sums,
    };
    (layout, zones)
}

fn only(layout: &Layout, zones: &ZoneSums) -> TreatmentByZone {
    let found = by_zone(layout, zones, SOYBEAN, None).unwrap();
    found.treatments.into_iter().next().unwrap()
}

fn close(found: f64, wanted: f64, relative: f64) {
    assert!(
        (found / wanted - 1.0).abs() < relative,
        "found {found}, wanted {wanted}"
    );
}

const UNEQUAL: [(usize, usize, f64, f64, f64); 16] = [
    (0, 0, 4000., 3800., 120.),
    (0, 1, 2500., 2700., 60.),
    (0, 2, 3000., 2900., 10.),
    (1, 0, 3500., 3600., 85.),
    (1, 1, 2000., 1500., 95.),
    (1, 2, 4200., 4400., -30.),
    (2, 0, 5000., 5200., 150.),
    (2, 1, 1800., 1700., 20.),
    (3, 0, 2600., 2500., 40.),
    (3, 1, 3900., 4100., 25.),
    (3, 2, 900., 1000., -60.),
    (4, 1, 4100., 4000., 105.),
    (4, 2, 3300., 3500., 48.),
    (5, 0, 2900., 700., 160.),
    (5, 1, 3100., 3000., 88.),
    (5, 2, 2400., 2600., 12.),
];

/// R 4.2.2, lme4 1.1-31, lmerTest 3.1-3, with the rows above as `d` and `w = 1/(1/treated + 1/check)`:
/// `m <- lmer(d ~ zone - 1 + (1 | block), weights = w)`, `coef(summary(m))`, `VarCorr(m)`, and
/// `contest(m, rbind(c(1, -1, 0)/sqrt(2), c(1, 1, -2)/sqrt(6)))`. nlme's
/// `lme(d ~ zone - 1, random = ~ 1 | block, weights = varFixed(~ iv))`, `iv = 1/w`, gives the same
/// estimates to 2e-7 (118.113088, 66.771434, -0.677405) and standard errors (17.339391, 16.760366,
/// 17.819526).
#[test]
fn unequal_ground_and_missing_places_as_in_r() {
    let (layout, zones) = trial(&UNEQUAL);
    let found = only(&layout, &zones);
    let wanted = [
        (118.113_091_055_54, 17.339_394_296_3, 9.140_352_348_05, 5),
        (66.771_434_290_94, 16.760_369_660_5, 8.586_524_700_41, 6),
        (-0.677_406_958_42, 17.819_529_561_2, 9.847_958_234_74, 5),
    ];
    for (zone, (advantage, std_error, df, blocks)) in found.zones.iter().zip(wanted) {
        assert!((zone.advantage_kg_ha - advantage).abs() < 1e-4, "{zone:?}");
        close(zone.std_error_kg_ha, std_error, 1e-5);
        close(zone.df, df, 1e-3);
        assert_eq!(zone.blocks, blocks);
    }
    close(found.block_sd_kg_ha.unwrap(), 30.785_131_78, 1e-5);
    let residual = found.error_sd_kg_ha.unwrap() * found.typical_area_m2.unwrap().sqrt();
    close(residual, 1_009.309_767_44, 1e-5);
    let test = found.test.unwrap();
    close(test.f, 22.303_565_672_2, 1e-5);
    assert_eq!(test.df_zones, 2.0);
    close(test.df_error, 8.606_667_004_21, 1e-3);
    close(test.p_value, 0.000_393_775_556_503, 2e-3);
}

/// Blocks with the same ground in two zones, whose differences are these.
fn of_equal_ground(differences: &[(f64, f64)]) -> TreatmentByZone {
    let rows: Vec<_> = differences
        .iter()
        .enumerate()
        .flat_map(|(b, &(low, mid))| [(b, 0, 3000., 3000., low), (b, 1, 3000., 3000., mid)])
        .collect();
    let (layout, zones) = trial(&rows);
    only(&layout, &zones)
}

/// Equal ground: by hand, the test is the paired t test of the two zones. R 4.2.2 `t.test(a, b,
/// paired = TRUE)`: t = 5.554920599, df = 3, p = 0.0115068177; lmerTest's `anova` of `lmer(d ~ zone +
/// (1 | block))` gives F 30.857143 on 1 and 3, `coef(summary())` of the model without a constant SE
/// 20.4124145694 on 3.44906872124 degrees of freedom.
#[test]
fn equal_ground_by_hand() {
    let d = [(100., 40.), (150., 110.), (60., 10.), (130., 40.)];
    let found = of_equal_ground(&d);
    assert!((found.zones[0].advantage_kg_ha - 110.0).abs() < 1e-9);
    assert!((found.zones[1].advantage_kg_ha - 50.0).abs() < 1e-9);
    for zone in &found.zones {
        close(zone.std_error_kg_ha, 20.412_414_569_4, 1e-6);
        close(zone.df, 3.449_068_721_24, 1e-3);
    }
    let test = found.test.unwrap();
    close(test.f, 5.554_920_599f64.powi(2), 1e-6);
    close(test.df_error, 3.0, 1e-3);
    close(test.p_value, 0.011_506_817_7, 1e-3);
}

/// Differences within blocks farther apart than those between blocks: the variance of blocks is nothing.
/// R 4.2.2, lmerTest (which says "boundary (singular) fit"): SE 19.3110503771 on 6 degrees of freedom; F
/// 0.0335195530726 on 1 and 6.
#[test]
fn no_variance_between_blocks() {
    let d = [(100., 10.), (20., 110.), (60., 50.), (30., 60.)];
    let found = of_equal_ground(&d);
    assert_eq!(found.block_sd_kg_ha, Some(0.0));
    close(found.zones[0].std_error_kg_ha, 19.311_050_377_1, 1e-9);
    close(found.zones[0].df, 6.0, 1e-6);
    close(found.test.unwrap().f, 0.033_519_553_072_6, 1e-6);
}

#[test]
fn one_block_in_a_zone_claims_nothing() {
    let mut rows = UNEQUAL.to_vec();
    rows.retain(|row| row.1 != 2 || row.0 == 1);
    let (layout, zones) = trial(&rows);
    let found = by_zone(&layout, &zones, SOYBEAN, None).unwrap();
    let high = &found.treatments[0].zones[2];
    assert_eq!((high.blocks, high.df), (1, 0.0));
    assert!((high.advantage_kg_ha + 30.0).abs() < 1e-9 && high.std_error_kg_ha.is_nan());
    assert_eq!(found.treatments[0].test.unwrap().df_zones, 1.0);
    let [warning] = &found.warnings[..] else {
        panic!("one warning: {:?}", found.warnings)
    };
    assert_eq!(warning.code, "few_blocks_in_zone");
    assert!(
        warning.message.contains("\"high\" in 1 block"),
        "{warning:?}"
    );
}

#[test]
fn slivers_of_ground_are_counted_and_left_out() {
    let mut rows = UNEQUAL.to_vec();
    rows[2].2 = 150.0;
    let (layout, zones) = trial(&rows);
    let found = only(&layout, &zones);
    assert_eq!((found.places_left_out, found.zones[2].blocks), (1, 4));
    assert!((found.area_left_out_m2 - 3050.0).abs() < 1e-9);
    let total: f64 = found.zones.iter().map(|zone| zone.area_m2).sum();
    let all: f64 = zones.sums.iter().map(|sum| sum.area_m2).sum();
    assert!((total + found.area_left_out_m2 - all).abs() < 1e-6);
}

#[test]
fn money_by_zone_is_the_gain_at_its_price() {
    let (layout, zones) = trial(&UNEQUAL);
    let cost = TreatmentCost {
        other_per_ac: 5.0,
        ..TreatmentCost::default()
    };
    let money = PayoffSetup {
        price_per_bu: 10.0,
        treatments: [("rolled".to_owned(), cost)].into(),
        ..PayoffSetup::default()
    };
    let found = by_zone(&layout, &zones, SOYBEAN, Some(&money)).unwrap();
    for zone in &found.treatments[0].zones {
        let worth = zone.payoff.as_ref().unwrap();
        assert!((worth.net_per_ac - (10.0 * zone.advantage_bu_ac - 5.0)).abs() < 1e-9);
    }
    let odds: Vec<f64> = found.treatments[0]
        .zones
        .iter()
        .map(|zone| zone.payoff.as_ref().unwrap().odds_it_pays)
        .collect();
    assert!(odds[0] > 0.99 && odds[2] < 0.1, "{odds:?}");
}

proptest! {
    /// Law: with all ground in one zone the answer is that of paired strips, whatever the areas.
    #[test]
    fn one_zone_is_paired_strips(
        rows in prop::collection::vec((300.0..9e3f64, 300.0..9e3f64, -400.0..400.0f64), 2..9)
    ) {
        let rows: Vec<_> = rows
            .into_iter()
            .enumerate()
            .map(|(block, (treated, check, d))| (block, 0, treated, check, d))
            .collect();
        // Differences that do not vary at all have a likelihood without end.
        prop_assume!(rows.iter().any(|row| (row.4 - rows[0].4).abs() > 1e-3));
        let (layout, zones) = trial(&rows);
        let paired = paired_strips(&layout, 1, SOYBEAN).unwrap();
        let found = only(&layout, &zones);
        let zone = &found.zones[0];
        prop_assert!((zone.advantage_kg_ha - paired.advantage_kg_ha).abs() < 1e-8);
        prop_assert!((zone.std_error_kg_ha - paired.std_error_kg_ha).abs() < 1e-8);
        prop_assert!((zone.df - paired.df).abs() < 1e-6);
        prop_assert!(found.test.is_none());
    }

    /// Law: swapping treatment and check flips the sign and leaves everything else.
    #[test]
    fn swapping_labels_flips_the_sign(moved in prop::collection::vec(-80.0..80.0f64, 16)) {
        let rows: Vec<_> = UNEQUAL
            .iter()
            .zip(moved)
            .map(|(row, by)| (row.0, row.1, row.2, row.3, row.4 + by))
            .collect();
        let (mut layout, zones) = trial(&rows);
        let there = only(&layout, &zones);
        layout.check = 1;
        let back = only(&layout, &zones);
        for (a, b) in there.zones.iter().zip(&back.zones) {
            prop_assert!((a.advantage_kg_ha + b.advantage_kg_ha).abs() < 1e-5);
            prop_assert!((a.std_error_kg_ha / b.std_error_kg_ha - 1.0).abs() < 1e-6);
        }
        let (f, g) = (there.test.unwrap(), back.test.unwrap());
        prop_assert!((f.f - g.f).abs() < 1e-5 * f.f.max(1.0) && (f.df_error - g.df_error).abs() < 1e-2);
    }
}

/// How often intervals hold the truth and how often the test calls alike zones unlike, over 600 invented
/// trials of each kind. The layouts are balanced, so that what is asked of the intervals is known: at
/// least 93 of 100 (the standard error of a count of 1,800 intervals is about half a percent), and false
/// alarms in at most 7 of 100.
#[test]
fn intervals_hold_the_truth_as_often_as_they_say() {
    // (blocks, sd of blocks, sd of the error), kg/ha.
    for (blocks, block_sd, error_sd) in [(4, 0.0, 100.0), (4, 100.0, 100.0), (8, 30.0, 100.0)] {
        let mut random = Random::new(7);
        let mut normal = || {
            let radius = (-2.0 * (1.0 - random.unit()).ln()).sqrt();
            radius * (std::f64::consts::TAU * random.unit()).cos()
        };
        const TRIALS: usize = 600;
        let (mut held, mut alarms) = (0, 0);
        for _ in 0..TRIALS {
            let mut rows = Vec::new();
            for block in 0..blocks {
                let shared = 60.0 + block_sd * normal();
                for zone in 0..3 {
                    rows.push((block, zone, 3e3, 3e3, shared + error_sd * normal()));
                }
            }
            let (layout, zones) = trial(&rows);
            let found = only(&layout, &zones);
            let holds = |zone: &&ZoneAdvantage| {
                let [low, high] = zone.interval_95_kg_ha;
                (low..=high).contains(&60.0)
            };
            held += found.zones.iter().filter(holds).count();
            alarms += usize::from(found.test.unwrap().p_value < 0.05);
        }
        let coverage = held as f64 / (3 * TRIALS) as f64;
        let false_alarms = alarms as f64 / TRIALS as f64;
        println!("{blocks} blocks, {block_sd} and {error_sd}: {coverage:.3}, {false_alarms:.3}");
        assert!(coverage > 0.93, "{blocks} blocks: {coverage}");
        assert!(false_alarms < 0.07, "{blocks} blocks: {false_alarms}");
    }
}
