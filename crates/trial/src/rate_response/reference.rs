//! The curves held to outside figures: NIST's reference data sets and R.

use super::curve::Kind;
use super::within_blocks::{Observation, WithinBlocks};
use super::{RateMoney, Rates, curves, rate_response};
use crate::plot::{Layout, Plot};
use checkstrip_model::results::{RateCurve, RateResponse};
use checkstrip_model::units::KG_PER_LB;

/// Digits that agree: NIST's log relative error.
fn digits(found: f64, certified: f64) -> f64 {
    -((found - certified) / certified).abs().log10()
}

fn observed(pairs: &[(f64, f64)], group: impl Fn(usize) -> usize) -> Vec<Observation> {
    pairs
        .iter()
        .enumerate()
        .map(|(place, &(yield_kg_ha, share))| Observation {
            block: group(place),
            share,
            yield_kg_ha,
        })
        .collect()
}

/// NIST/ITL Statistical Reference Datasets, linear regression, Norris: y on x.
#[rustfmt::skip]
const NORRIS: [(f64, f64); 36] = [
    (0.1, 0.2), (338.8, 337.4), (118.1, 118.2), (888.0, 884.6), (9.2, 10.1), (228.1, 226.5),
    (668.5, 666.3), (998.5, 996.3), (449.1, 448.6), (778.9, 777.0), (559.2, 558.2), (0.3, 0.4),
    (0.1, 0.6), (778.1, 775.5), (668.8, 666.9), (339.3, 338.0), (448.9, 447.5), (10.8, 11.6),
    (557.7, 556.0), (228.3, 228.1), (998.0, 995.8), (888.8, 887.6), (119.6, 120.2), (0.3, 0.3),
    (0.6, 0.3), (557.6, 556.8), (339.3, 339.1), (888.0, 887.2), (998.5, 999.0), (778.9, 779.0),
    (10.2, 11.1), (117.6, 118.3), (228.9, 229.2), (668.4, 669.1), (449.2, 448.9), (0.2, 0.5),
];

/// Certified: slope 1.00211681802045, residual sum of squares 26.6173985294224 on 34 degrees of
/// freedom, F 5436385.54079785.
#[test]
fn nist_norris_straight_line() {
    let observations = observed(&NORRIS, |_| 0);
    let within = WithinBlocks::new(&observations, 1);
    let line = within.one(|x| x);
    assert!(digits(line.coefficient, 1.002_116_818_020_45) > 13.0);
    assert!(digits(line.residual_squares, 26.617_398_529_422_4) > 12.0);
    assert_eq!(within.df(1), 34.0);
    let f = (within.squares() - line.residual_squares) / (line.residual_squares / within.df(1));
    assert!(digits(f, 5_436_385.540_797_85) > 12.0, "{f}");
}

/// NIST/ITL Statistical Reference Datasets, linear regression, Pontius: y at 150,000 to 3,000,000 in
/// steps of 150,000, twice.
#[rustfmt::skip]
const PONTIUS: [f64; 40] = [
    0.11019, 0.21956, 0.32949, 0.43899, 0.54803, 0.65694, 0.76562, 0.87487, 0.98292, 1.09146,
    1.20001, 1.30822, 1.41599, 1.52399, 1.63194, 1.73947, 1.84646, 1.95392, 2.06128, 2.16844,
    0.11052, 0.22018, 0.32939, 0.43886, 0.54798, 0.65739, 0.76596, 0.87474, 0.98300, 1.09150,
    1.20004, 1.30818, 1.41613, 1.52408, 1.63159, 1.73965, 1.84696, 1.95445, 2.06177, 2.16829,
];

/// Certified: B1 0.732059160401003e-6, B2 -0.316081871345029e-14, residual sum of squares
/// 0.155761768796992e-5 on 37 degrees of freedom.
#[test]
fn nist_pontius_quadratic() {
    let pairs: Vec<(f64, f64)> = PONTIUS
        .iter()
        .enumerate()
        .map(|(place, &y)| (y, (place % 20) as f64 / 19.0))
        .collect();
    let observations = observed(&pairs, |_| 0);
    let within = WithinBlocks::new(&observations, 1);
    let fit = within.two().unwrap();
    let (lowest, width) = (150_000.0, 2_850_000.0);
    let bend = fit.second / (width * width);
    let slope = (fit.first - fit.slant * fit.second) / width - 2.0 * bend * lowest;
    assert!(digits(bend, -0.316_081_871_345_029e-14) > 11.0, "{bend}");
    assert!(digits(slope, 0.732_059_160_401_003e-6) > 12.0, "{slope}");
    assert!(digits(fit.residual_squares, 0.155_761_768_796_992e-5) > 9.0);
    assert_eq!(within.df(2), 37.0);
}

/// F of a one-way analysis of variance: the flat line with one level for all against the flat line
/// with a level per group.
fn one_way_f(groups: &[Vec<f64>]) -> f64 {
    let sizes: Vec<usize> = groups.iter().map(Vec::len).collect();
    let group_of: Vec<usize> = (0..groups.len()).flat_map(|g| vec![g; sizes[g]]).collect();
    let pairs: Vec<(f64, f64)> = groups.iter().flatten().map(|&y| (y, 0.0)).collect();
    let (alike, apart) = (observed(&pairs, |_| 0), observed(&pairs, |p| group_of[p]));
    let total = WithinBlocks::new(&alike, 1).squares();
    let within = WithinBlocks::new(&apart, groups.len());
    let between = (total - within.squares()) / (groups.len() as f64 - 1.0);
    between / (within.squares() / within.df(0))
}

/// NIST/ITL Statistical Reference Datasets, analysis of variance, SiRstv: certified F
/// 1.18046237440255.
#[test]
fn nist_sirstv_levels() {
    let groups = [
        vec![196.3052, 196.1240, 196.1890, 196.2569, 196.3403],
        vec![196.3042, 196.3825, 196.1669, 196.3257, 196.0422],
        vec![196.1303, 196.2005, 196.2889, 196.0343, 196.1811],
        vec![196.2795, 196.1748, 196.1494, 196.1485, 195.9885],
        vec![196.2119, 196.1051, 196.1850, 196.0052, 196.2090],
    ];
    assert!(digits(one_way_f(&groups), 1.180_462_374_402_55) > 10.0);
}

/// NIST/ITL Statistical Reference Datasets, analysis of variance, SmLs01, SmLs04 and SmLs07, made as
/// Simon, S. D. and Lesage, J. P. (1989), *Assessing the accuracy of ANOVA calculations in statistical
/// software*, Computational Statistics & Data Analysis 8, 325–332, make them: nine groups of 21, each
/// its centre once and ten times a tenth below and above, on a level of 1, 10⁶ and 10¹² (pattern from
/// memory; it has the certified sums of squares 1.68 and 1.80). Certified F 21. The data themselves
/// hold that many digits of it in double precision only.
#[test]
fn nist_small_and_large_levels() {
    let centres = [0.4, 0.3, 0.5, 0.3, 0.5, 0.3, 0.5, 0.3, 0.5];
    for (level, agree) in [(1.0, 12.0), (1e6, 7.5), (1e12, 2.0)] {
        let groups: Vec<Vec<f64>> = centres
            .iter()
            .map(|centre| {
                let off = (1..21).map(|k| if k % 2 == 1 { -0.1 } else { 0.1 });
                std::iter::once(0.0)
                    .chain(off)
                    .map(|off| level + (centre + off))
                    .collect()
            })
            .collect();
        let f = one_way_f(&groups);
        assert!(digits(f, 21.0) > agree, "level {level}: {f}");
    }
}

/// An invented trial: five rates of nitrogen, lb/ac, in four blocks of corn, kg/ha.
fn corn() -> (Layout, Rates) {
    let yields = [
        [7010.0, 8480.0, 9350.0, 9720.0, 9690.0],
        [6650.0, 8230.0, 9240.0, 9350.0, 9480.0],
        [7320.0, 8730.0, 9480.0, 9960.0, 9830.0],
        [6890.0, 8150.0, 9210.0, 9470.0, 9640.0],
    ];
    let treatments = ["0", "40 lb", "80 lb", "120 lb", "160 lb"].map(String::from);
    let mut plots = Vec::new();
    for (block, row) in yields.iter().enumerate() {
        for (treatment, &mass_kg) in row.iter().enumerate() {
            plots.push(Plot {
                treatment,
                block: Some(block.to_string()),
                area_m2: 1e4,
                mass_kg,
                treatment_shares: vec![0.0; 5],
            });
        }
    }
    let rates = Rates::read(&treatments).unwrap();
    let layout = Layout {
        treatments: treatments.to_vec(),
        check: 0,
        plots,
    };
    (layout, rates)
}

/// $4.20 a bushel of 56 lb, $0.60 a pound.
const MONEY: RateMoney = RateMoney {
    price_per_bu: 4.2,
    cost_per_unit: 0.6,
};

fn fitted(layout: &Layout, rates: &Rates) -> RateResponse {
    rate_response(layout, rates, 56.0 * KG_PER_LB, Some(MONEY)).unwrap()
}

fn curve<'a>(found: &'a RateResponse, key: &str) -> &'a RateCurve {
    found
        .curves
        .iter()
        .find(|curve| curve.curve == key)
        .unwrap()
}

#[track_caller]
fn near(found: f64, expected: f64, tolerance: f64) {
    assert!(
        (found - expected).abs() < tolerance,
        "{found} is not {expected}"
    );
}

/// R 4.2.2, on `d` with columns x, b (factor) and y: `lm(y ~ b)`, `lm(y ~ b + x)`, `lm(y ~ b + x +
/// I(x^2))` and `nls(y ~ a[b] + ifelse(x < j, c * (x^2 - 2*j*x), -c * j^2), start = list(a = c(7000,
/// 6800, 7200, 6900), c = -.13, j = 130))`. AICc from `logLik`, less the constant n (1 + log 2π) that
/// is common to all.
#[test]
fn r_curves_and_aicc() {
    let (layout, rates) = corn();
    let found = fitted(&layout, &rates);
    for (key, squares, df, aicc) in [
        ("flat", 20_947_400.0, 16.0, 291.521_570_647),
        ("linear", 3_457_337.5, 15.0, 259.667_079_833),
        ("quadratic", 139_892.857_143, 14.0, 200.391_329_912),
        ("quadratic_plateau", 109_190.180_669, 14.0, 195.435_616_215),
    ] {
        let curve = curve(&found, key);
        near(curve.residual_squares / squares, 1.0, 1e-9);
        assert_eq!(curve.df, df);
        near(curve.aicc.unwrap(), aicc, 1e-6);
    }
    near(curve(&found, "linear").slope_kg_ha, 16.531_25, 1e-9);
    near(
        curve(&found, "quadratic").slope_kg_ha,
        40.870_535_714_285_74,
        1e-9,
    );
    near(
        curve(&found, "quadratic").bend_kg_ha,
        -0.152_120_535_714_29,
        1e-12,
    );
    near(
        curve(&found, "quadratic_plateau").bend_kg_ha,
        -0.173_134_362,
        1e-6,
    );
    assert_eq!(found.curves[0].curve, "quadratic_plateau");
    assert_eq!((found.blocks, found.plots), (4, 20));
    near(found.rates[4].yield_kg_ha, 9660.0, 1e-6);
}

/// R 4.2.2 on the same fits. Quadratic: (r - b) / (2 c) and the roots of Fieller's equation from
/// `vcov`, by `uniroot`. Plateau: join from `nls`; its profile interval, and that of the best rate
/// join + r / (2 c), from `deviance(lm(y ~ b + h))` at fixed join or best rate, by `uniroot` where it
/// exceeds the least by qt(.975, 14)^2 s^2. r = 8.96680924956 kg/ha per lb.
#[test]
fn r_best_rates_and_profile_intervals() {
    let (layout, rates) = corn();
    let found = fitted(&layout, &rates);
    let quadratic = curve(&found, "quadratic").best_rate.clone().unwrap();
    near(quadratic.rate, 104.863_312_2, 1e-6);
    near(quadratic.interval_95[0], 101.129_014_5, 1e-3);
    near(quadratic.interval_95[1], 109.296_293_6, 1e-3);

    let plateau = curve(&found, "quadratic_plateau");
    near(plateau.join_rate.unwrap(), 124.512_350, 1e-3);
    let join = plateau.join_interval_95.unwrap();
    near(join[0], 115.524_6, 0.05);
    near(join[1], 134.831_7, 0.05);
    let best = plateau.best_rate.clone().unwrap();
    near(best.rate, 98.616_829, 1e-3);
    near(best.interval_95[0], 93.050_4, 0.05);
    near(best.interval_95[1], 104.774_3, 0.05);
    near(best.net_over_lowest_per_ac, 112.667_499, 1e-3);
    assert_eq!(best.at_end, None);
}

/// A rate that still pays at the end of those tried is not followed beyond them.
#[test]
fn nothing_beyond_the_rates_tried() {
    let (mut layout, rates) = corn();
    for plot in &mut layout.plots {
        plot.mass_kg = 7000.0
            + 20.0 * rates.values[plot.treatment]
            + if plot.block.as_deref() == Some("1") && plot.treatment == 2 {
                30.0
            } else {
                0.0
            };
    }
    let found = fitted(&layout, &rates);
    assert_eq!(found.curves[0].curve, "linear");
    let best = found.curves[0].best_rate.clone().unwrap();
    assert_eq!(
        (best.rate, best.at_end.as_deref()),
        (160.0, Some("highest"))
    );
    assert_eq!(best.interval_95, [160.0, 160.0]);
    assert!(
        found
            .course
            .iter()
            .all(|point| (0.0..=160.0).contains(&point[0]))
    );
}

/// Yields without a trend call no rate the best.
#[test]
fn no_response_is_said_to_be_none() {
    let (mut layout, rates) = corn();
    let noise = [3.0, -5.0, 8.0, -2.0, -4.0, 6.0, 1.0, -7.0];
    for (place, plot) in layout.plots.iter_mut().enumerate() {
        plot.mass_kg = 7000.0 + noise[(place * 3) % noise.len()];
    }
    let found = fitted(&layout, &rates);
    assert_eq!(found.curves[0].curve, Kind::Flat.key());
    assert!(found.curves[0].best_rate.is_none() && found.why.contains("do not show"));
}

/// A block more or less on all strips changes nothing; rates in another unit stretch the answer.
#[test]
fn levels_of_blocks_and_the_unit_of_the_rate_do_not_matter() {
    let (layout, rates) = corn();
    let before = fitted(&layout, &rates);
    let mut moved = layout.clone();
    for plot in &mut moved.plots {
        if plot.block.as_deref() == Some("2") {
            plot.mass_kg += 500.0;
        }
    }
    let after = fitted(&moved, &rates);
    near(
        after.curves[0].best_rate.as_ref().unwrap().rate,
        before.curves[0].best_rate.as_ref().unwrap().rate,
        1e-4,
    );
    let tenths = Rates {
        unit: "tenth".into(),
        values: rates.values.iter().map(|rate| rate * 10.0).collect(),
    };
    let money = RateMoney {
        cost_per_unit: 0.06,
        ..MONEY
    };
    let stretched = rate_response(&layout, &tenths, 56.0 * KG_PER_LB, Some(money)).unwrap();
    near(
        stretched.curves[0].best_rate.as_ref().unwrap().rate,
        10.0 * before.curves[0].best_rate.as_ref().unwrap().rate,
        1e-3,
    );
}

#[test]
fn missing_strips_are_bridged_and_too_few_give_nothing() {
    let (mut layout, rates) = corn();
    layout.plots[3].area_m2 = 0.0;
    layout.plots[11].area_m2 = 0.0;
    assert_eq!(fitted(&layout, &rates).plots, 18);
    layout
        .plots
        .retain(|plot| plot.block.as_deref() == Some("0"));
    assert!(rate_response(&layout, &rates, 25.4, None).is_none());
    layout.plots.clear();
    assert!(rate_response(&layout, &rates, 25.4, None).is_none());
}

/// A yield that jumps at the first rate and stays: the join lies at or before the second rate, and
/// the interval says that it may lie anywhere below.
#[test]
fn a_plateau_from_the_second_rate_on() {
    let (mut layout, rates) = corn();
    let noise = [3.0, -5.0, 8.0, -2.0, -4.0, 6.0, 1.0, -7.0];
    for (place, plot) in layout.plots.iter_mut().enumerate() {
        let jump = if plot.treatment > 0 { 900.0 } else { 0.0 };
        plot.mass_kg = 7000.0 + jump + noise[(place * 3) % noise.len()];
    }
    let found = fitted(&layout, &rates);
    assert_eq!(found.curves[0].curve, "quadratic_plateau");
    near(found.curves[0].join_rate.unwrap(), 40.0, 1.0);
    assert_eq!(found.curves[0].join_interval_95.unwrap()[0], 0.0);
}

/// With a level of its own for every strip there is nothing to fit.
#[test]
fn curves_need_degrees_of_freedom() {
    let observations = observed(&[(1.0, 0.0), (2.0, 0.5), (3.0, 1.0)], |place| place);
    assert!(curves(&WithinBlocks::new(&observations, 3), &[0.0, 0.5, 1.0]).is_empty());
}
