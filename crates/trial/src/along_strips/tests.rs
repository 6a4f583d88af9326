use super::*;
use crate::random::Random;
use std::f64::consts::TAU;

const BUSHEL_KG: f64 = 27.2155;
const SLICE_M: f64 = 20.0;

/// Check and treated strips in blocks of two, with their slices: `slice(block, treated, place)`.
fn trial(
    blocks: usize,
    count: usize,
    slice: impl Fn(usize, usize, usize) -> Slice,
) -> (Layout, Vec<Vec<Slice>>) {
    let mut plots = Vec::new();
    let mut slices = Vec::new();
    for block in 0..blocks {
        for treatment in 0..2 {
            let of_strip: Vec<Slice> = (0..count)
                .map(|place| slice(block, treatment, place))
                .collect();
            let mut treatment_shares = vec![0.0; 2];
            treatment_shares[treatment] = 1.0;
            plots.push(Plot {
                treatment,
                block: Some((block + 1).to_string()),
                area_m2: of_strip.iter().map(|slice| slice.area_m2).sum(),
                mass_kg: of_strip.iter().map(|slice| slice.mass_kg).sum(),
                treatment_shares,
            });
            slices.push(of_strip);
        }
    }
    let layout = Layout {
        treatments: vec!["check".into(), "rolled".into()],
        check: 0,
        plots,
    };
    (layout, slices)
}

fn grown(area_m2: f64, yield_kg_ha: f64) -> Slice {
    Slice {
        area_m2,
        mass_kg: area_m2 * yield_kg_ha / 1e4,
    }
}

/// Six blocks of eight slices; the check of block 6 has no ground in its first two.
fn small() -> (Layout, Vec<Vec<Slice>>) {
    trial(6, 8, |b, t, k| {
        let area = if (b, t) == (5, 0) && k < 2 {
            0.0
        } else {
            100.0 + 10.0 * ((b + k + t) % 3) as f64
        };
        let waves = (7 * b + 3 * k + 5 * t * k * k + 11 * t * b) % 13;
        let gain = if k >= 4 { 60 * t } else { 0 };
        grown(area, (3500 + 40 * b + 20 * waves + gain) as f64)
    })
}

fn run(trial: &(Layout, Vec<Vec<Slice>>)) -> AdvantageAlong {
    along_strips(&trial.0, &trial.1, SLICE_M, BUSHEL_KG).remove(0)
}

#[track_caller]
fn near(found: impl IntoIterator<Item = f64>, expected: &[f64]) {
    let found: Vec<f64> = found.into_iter().collect();
    assert_eq!(found.len(), expected.len());
    for (found, expected) in found.iter().zip(expected) {
        assert!((found - expected).abs() < 2e-6, "{found} {expected}");
    }
}

/// numpy 2.4.6 and scipy 1.17.1 on the same field: `numpy.average` of the slices weighted by ground,
/// `numpy.nanmean` and `numpy.nanstd(ddof=1)` over the blocks, `scipy.stats.t.ppf(0.975, n - 1)`; all 64
/// sign vectors by `itertools.product`, the largest over the windows by `numpy.max`.
#[test]
fn figures_are_those_of_numpy() {
    let found = run(&small());
    let windows = &found.windows;
    assert_eq!(
        windows.iter().map(|w| w.blocks).collect::<Vec<_>>(),
        [5, 6, 6, 6, 6, 6]
    );
    near(windows.iter().map(|w| w.advantage_kg_ha), &MEANS);
    near(
        windows.iter().map(|w| w.std_error_kg_ha.unwrap()),
        &STD_ERRORS,
    );
    near(
        windows.iter().map(|w| w.interval_95_kg_ha.unwrap()[0]),
        &LOWS,
    );
    near(
        windows
            .iter()
            .map(|w| w.interval_95_family_kg_ha.unwrap()[1]),
        &FAMILY_HIGHS,
    );
    let (anywhere, change) = (found.anywhere.unwrap(), found.change.unwrap());
    assert_eq!(
        (anywhere.p_value, anywhere.most_at_m),
        (ANYWHERE_P, [100.0, 160.0])
    );
    assert_eq!((change.p_value, change.most_at_m), (CHANGE_P, CHANGE_AT));
    near([change.most_kg_ha], &[CHANGE_BY]);
    assert_eq!(
        (change.smallest_p, change.orders, change.seed),
        (1.0 / 32.0, 64, None)
    );
    assert_eq!((windows[0].from_m, windows[5].to_m), (0.0, 160.0));
}

const MEANS: [f64; 6] = [
    2.787_878_79,
    3.570_487_48,
    21.313_131_31,
    30.909_090_91,
    56.666_666_67,
    60.202_020_20,
];
const STD_ERRORS: [f64; 6] = [
    23.851_853_75,
    17.629_831_44,
    35.741_964_29,
    28.630_190_13,
    24.151_724_27,
    18.385_836_28,
];
const LOWS: [f64; 6] = [
    -63.435_484,
    -41.748_437,
    -70.564_513,
    -42.687_156,
    -5.417_317,
    12.939_723,
];
const FAMILY_HIGHS: [f64; 6] = [
    97.838_205,
    65.968_812,
    147.816_819,
    132.241_648,
    142.148_319,
    125.276_118,
];
const ANYWHERE_P: f64 = 0.0625;
const CHANGE_P: f64 = 0.59375;
const CHANGE_AT: [f64; 2] = [0.0, 60.0];
const CHANGE_BY: f64 = -28.424_242_42;

/// Law: one window over the whole strip is the paired comparison.
#[test]
fn a_window_over_the_whole_strip_is_the_paired_comparison() {
    let (layout, slices) = trial(6, 3, |b, t, k| {
        grown(
            90.0 + (5 * k + b) as f64,
            (3600 + 97 * ((b * 5 + k * 3 + t * 4) % 7)) as f64,
        )
    });
    let found = run(&(layout.clone(), slices));
    let paired = paired_strips(&layout, 1, BUSHEL_KG).unwrap();
    let [window] = &found.windows[..] else {
        panic!("{found:?}")
    };
    near(
        [window.advantage_kg_ha, window.std_error_kg_ha.unwrap()],
        &[paired.advantage_kg_ha, paired.std_error_kg_ha],
    );
    near(window.interval_95_kg_ha.unwrap(), &paired.interval_95_kg_ha);
    assert_eq!((window.blocks, window.df, found.change), (6, 5.0, None));
    // With one window the test of all windows is that of the mean.
    let differences: Vec<f64> = paired
        .block_differences
        .iter()
        .map(|d| d.difference_kg_ha)
        .collect();
    let alone = crate::sign_flips(&differences);
    assert_eq!(found.anywhere.unwrap().p_value, alone.p_value);
}

#[test]
fn swapping_treatment_and_check_flips_the_sign() {
    let (mut layout, slices) = small();
    let there = run(&(layout.clone(), slices.clone()));
    layout.check = 1;
    let back = run(&(layout, slices));
    for (there, back) in there.windows.iter().zip(&back.windows) {
        near([there.advantage_kg_ha], &[-back.advantage_kg_ha]);
        let [low, high] = back.interval_95_family_kg_ha.unwrap();
        near(there.interval_95_family_kg_ha.unwrap(), &[-high, -low]);
    }
    let p = |along: &AdvantageAlong| {
        [&along.change, &along.anywhere].map(|test| test.as_ref().unwrap().p_value)
    };
    assert_eq!(p(&there), p(&back));
}

#[test]
fn from_the_other_end_all_is_mirrored() {
    let (layout, mut slices) = small();
    let there = run(&(layout.clone(), slices.clone()));
    slices.iter_mut().for_each(|slices| slices.reverse());
    let back = run(&(layout, slices));
    assert_eq!(there.windows.len(), back.windows.len());
    for (there, back) in there.windows.iter().zip(back.windows.iter().rev()) {
        near(
            [there.from_m, there.to_m],
            &[160.0 - back.to_m, 160.0 - back.from_m],
        );
        near([there.advantage_kg_ha], &[back.advantage_kg_ha]);
        near(
            there.interval_95_family_kg_ha.unwrap(),
            &back.interval_95_family_kg_ha.unwrap(),
        );
    }
    assert_eq!(there.change.unwrap().p_value, back.change.unwrap().p_value);
}

/// Law: whatever the treatment does in a block, if it does the same all along, the test of change does
/// not see it.
#[test]
fn a_gain_that_is_the_same_all_along_is_no_change() {
    let before = run(&small());
    let (layout, mut slices) = small();
    for (plot, slices) in layout.plots.iter().zip(&mut slices) {
        let block: f64 = plot.block.as_ref().unwrap().parse().unwrap();
        for slice in slices {
            slice.mass_kg += plot.treatment as f64 * slice.area_m2 / 1e4 * (200.0 + 90.0 * block);
        }
    }
    let after = run(&(layout, slices));
    let (before, after) = (before.change.unwrap(), after.change.unwrap());
    assert_eq!(
        (before.p_value, before.most_at_m),
        (after.p_value, after.most_at_m)
    );
    near([before.most_kg_ha], &[after.most_kg_ha]);
}

/// A synthetic field: each block's difference wanders along the strip as ground does (an autoregressive
/// series, correlation 0.9 from slice to slice) about a level of its own, with noise on top; which of the
/// two strips is treated falls by chance.
fn wandering(
    random: &mut Random,
    blocks: usize,
    gain: impl Fn(usize) -> f64,
) -> (Layout, Vec<Vec<Slice>>) {
    const SLICES: usize = 20;
    let mut normal = || {
        let (u, v) = (1.0 - random.unit(), random.unit());
        (-2.0 * u.ln()).sqrt() * (TAU * v).cos()
    };
    let ground: Vec<Vec<f64>> = (0..2 * blocks)
        .map(|_| {
            let level = 150.0 * normal();
            let mut wander = 200.0 * normal();
            let strip = (0..SLICES).map(|_| {
                wander = 0.9 * wander + 200.0 * (1.0f64 - 0.81).sqrt() * normal();
                3500.0 + level + wander + 100.0 * normal()
            });
            strip.collect()
        })
        .collect();
    let turned: Vec<usize> = (0..blocks).map(|_| (random.next() & 1) as usize).collect();
    trial(blocks, SLICES, |block, treatment, place| {
        let strip = &ground[2 * block + (treatment ^ turned[block])];
        grown(180.0, strip[place] + gain(place) * treatment as f64)
    })
}

/// 400 synthetic fields of eight blocks, seed 5. Both tests raise a false alarm at 5 % in no more of them
/// than chance allows (20 expected; 99.9 % of binomial counts stay under 36), and the intervals for all
/// windows hold the truth in at least as many as that leaves.
#[test]
fn false_alarms_are_as_rare_as_claimed() {
    const FIELDS: usize = 400;
    let mut random = Random::new(5);
    let half = |place: usize| if place < 10 { 500.0 } else { 0.0 };
    let (mut anywhere, mut change, mut missed) = (0, 0, 0);
    for _ in 0..FIELDS {
        let nothing = run(&wandering(&mut random, 8, |_| 0.0));
        anywhere += usize::from(nothing.anywhere.unwrap().p_value <= 0.05);
        let level = run(&wandering(&mut random, 8, |_| 300.0));
        change += usize::from(level.change.unwrap().p_value <= 0.05);
        let halved = run(&wandering(&mut random, 8, half));
        let misses = |(first, window): (usize, &AlongWindow)| {
            let truth = (first..first + 3).map(half).sum::<f64>() / 3.0;
            let [low, high] = window.interval_95_family_kg_ha.unwrap();
            truth < low || truth > high
        };
        missed += usize::from(halved.windows.iter().enumerate().any(misses));
    }
    println!("anywhere {anywhere}, change {change}, missed {missed} of {FIELDS}");
    assert!(
        anywhere < 36 && change < 36 && missed < 36,
        "{anywhere} {change} {missed}"
    );
    assert!(
        anywhere > 5 && change > 5,
        "a test that never alarms: {anywhere} {change}"
    );
}

#[test]
fn a_gain_on_half_the_length_is_found_there() {
    let mut random = Random::new(11);
    let half = |place: usize| if place < 10 { 700.0 } else { 0.0 };
    let found = run(&wandering(&mut random, 8, half));
    assert!(found.change.unwrap().p_value <= 0.05);
    assert!(found.anywhere.unwrap().p_value <= 0.05);
    assert!(!found.stretches.is_empty());
    for stretch in &found.stretches {
        assert!(
            stretch.side == "gain" && stretch.from_m < 200.0,
            "{stretch:?}"
        );
    }
}

#[test]
fn few_blocks_say_so() {
    for blocks in 1..6 {
        let found = run(&wandering(&mut Random::new(1), blocks, |_| 900.0));
        assert_eq!(found.windows.len(), 18);
        assert!(
            found
                .windows
                .iter()
                .all(|w| w.interval_95_family_kg_ha.is_none())
        );
        assert_eq!(found.windows[0].interval_95_kg_ha.is_some(), blocks > 1);
        assert!(found.stretches.is_empty());
        let smallest = found.change.map(|test| test.smallest_p);
        assert_eq!(smallest, (blocks > 2).then(|| 2f64.powi(1 - blocks as i32)));
    }
}

#[test]
fn many_blocks_are_drawn_and_repeat() {
    let field = wandering(&mut Random::new(3), 20, |_| 0.0);
    let found = run(&field);
    let test = found.anywhere.clone().unwrap();
    assert_eq!((test.orders, test.seed), (100_000, Some(PERMUTATION_SEED)));
    assert_eq!(run(&field), found);
}

#[test]
fn strips_without_common_ground_and_strips_of_one_slice_are_survived() {
    let none: Vec<AdvantageAlong> = along_strips(&small().0, &[], SLICE_M, BUSHEL_KG);
    assert!(none.is_empty());
    // Treated strips begin where the check strips end.
    let apart = trial(6, 12, |_, t, k| {
        if (k < 6) == (t == 0) {
            grown(100.0, 3500.0)
        } else {
            Slice::default()
        }
    });
    let shared = along_strips(&apart.0, &apart.1, SLICE_M, BUSHEL_KG);
    assert!(shared.is_empty(), "{shared:?}");
    // Blocks lie end to end: each window holds one.
    let in_a_row = trial(4, 24, |b, _, k| {
        if k / 6 == b {
            grown(100.0, 3500.0 + (b * k) as f64)
        } else {
            Slice::default()
        }
    });
    let found = run(&in_a_row);
    assert!(
        found
            .windows
            .iter()
            .all(|w| w.interval_95_family_kg_ha.is_none())
    );
    assert_eq!(
        (found.blocks, found.change, found.anywhere),
        (4, None, None)
    );
    // One record a strip.
    let single = trial(6, 5, |b, t, k| {
        if k == 2 {
            grown(4.0, 3500.0 + (b * t) as f64)
        } else {
            Slice::default()
        }
    });
    assert!(along_strips(&single.0, &single.1, SLICE_M, BUSHEL_KG).is_empty());
    // Nothing differs anywhere.
    let alike = run(&trial(6, 8, |_, _, _| grown(100.0, 3500.0)));
    assert_eq!(alike.change.unwrap().p_value, 1.0);
    assert!(alike.stretches.is_empty());
}
