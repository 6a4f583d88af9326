//! The models against R 4.2.2 with nlme 3.1-162, lme4 and lmerTest, on data sets that these carry:
//! Wheat2 (Stroup, W. W. and Baenziger, P. S., 1994, *Removing spatial variation from wheat yield
//! trials*, Crop Science 34, 62–66) and Oats (Yates, F., 1935, *Complex experiments*, Journal of the
//! Royal Statistical Society Suppl. 2, 181–247). Each figure names the call that made it.

use super::*;
use nalgebra::{DMatrix, DVector};

fn table(text: &str) -> Vec<Vec<&str>> {
    text.lines()
        .skip(1)
        .map(|line| line.split(',').collect())
        .collect()
}

/// One column per distinct name, in alphabetical order.
fn indicators(names: &[&str]) -> (Vec<String>, Vec<usize>) {
    let mut levels: Vec<String> = names.iter().map(|n| (*n).to_owned()).collect();
    levels.sort();
    levels.dedup();
    let place = names
        .iter()
        .map(|n| levels.iter().position(|l| l == n).unwrap_or(usize::MAX))
        .collect();
    (levels, place)
}

fn wheat(correlation: Option<Correlation>) -> (MixedModel, Vec<String>) {
    let rows = table(include_str!("../../fixtures/wheat2.csv"));
    let number = |row: &Vec<&str>, column: usize| row[column].parse::<f64>().unwrap();
    let names: Vec<&str> = rows.iter().map(|row| row[0]).collect();
    let (levels, place) = indicators(&names);
    let places: Vec<[f64; 2]> = rows
        .iter()
        .map(|row| [number(row, 1), number(row, 2)])
        .collect();
    let mut fixed = DMatrix::zeros(rows.len(), levels.len());
    for (row, &level) in place.iter().enumerate() {
        fixed[(row, level)] = 1.0;
    }
    let model = MixedModel {
        response: DVector::from_iterator(rows.len(), rows.iter().map(|row| number(row, 3))),
        fixed,
        groupings: vec![],
        spatial: correlation.map(|correlation| Spatial::new(&places, correlation)),
        noise: vec![1.0; rows.len()],
    };
    (model, levels)
}

fn close(found: f64, wanted: f64, relative: f64) {
    assert!(
        (found / wanted - 1.0).abs() < relative,
        "found {found}, wanted {wanted}"
    );
}

fn at(range: f64, nugget: f64) -> Covariance {
    Covariance {
        group_ratios: vec![],
        range,
        nugget,
    }
}

/// `gls(yield ~ variety - 1, Wheat2)`: logLik -620.370893779.
#[test]
fn wheat_with_independent_errors() {
    let (model, _) = wheat(None);
    close(
        model.evaluate(&at(1.0, 1.0)).unwrap().log_likelihood,
        -620.370_893_779,
        1e-10,
    );
}

/// `gls(yield ~ variety - 1, Wheat2, correlation = corSpher(c(28, 0.2), form = ~ latitude +
/// longitude, nugget = TRUE, fixed = TRUE))`, and the same with `corExp(c(10, 0.2), …)`.
#[test]
fn wheat_at_given_covariance() {
    let cases = [
        (
            Correlation::Spherical,
            at(28.0, 0.2),
            [-533.953_783_291, 7.531_128_722_97],
            [
                ("ARAPAHOE", 26.639_686_056_0, 3.508_868_555_62),
                ("VONA", 24.747_489_841_7, 3.544_934_604_50),
            ],
        ),
        (
            Correlation::Exponential,
            at(10.0, 0.2),
            [-536.423_561_398, 6.910_508_839_09],
            [
                ("ARAPAHOE", 26.801_412_335_9, 3.343_929_570_98),
                ("VONA", 24.726_705_242_9, 3.382_606_811_67),
            ],
        ),
    ];
    for (correlation, covariance, [likelihood, sigma], effects) in cases {
        let (model, levels) = wheat(Some(correlation));
        let found = model.evaluate(&covariance).unwrap();
        close(found.log_likelihood, likelihood, 1e-10);
        close(found.variance.sqrt(), sigma, 1e-9);
        for (name, effect, std_error) in effects {
            let place = levels.iter().position(|level| level == name).unwrap();
            close(found.effects[place], effect, 1e-8);
            close(found.std_error(place), std_error, 1e-8);
        }
    }
}

/// A free spherical fit must reach at least what `gls` reaches (-533.93154, a local optimum).
#[test]
fn wheat_free_fit_reaches_the_reference() {
    let (model, _) = wheat(Some(Correlation::Spherical));
    let bounds = Bounds {
        range: [2.0, 200.0],
        nugget: [0.0, 0.95],
        group_ratio: 1.0,
    };
    let fitted = fit(&model, &bounds, &[&[0.5, 0.2], &[0.8, 0.2]]).unwrap();
    assert!(
        fitted.evaluation.log_likelihood > -533.931_55,
        "{:?}",
        fitted.covariance
    );
}

/// How nitrogen enters the model of Oats.
#[derive(Clone, Copy, PartialEq)]
enum Nitrogen {
    Slope,
    Factor,
    FactorByVariety,
}

/// Rows 1, 2, 3, 7, 14, 20, 31, 32, 45, 58 and 66 of Oats, from 0: without them it is unbalanced.
const DROPPED: [usize; 11] = [0, 1, 2, 6, 13, 19, 30, 31, 44, 57, 65];

/// Oats with `Block/Variety` as groupings. Columns: level; nitrogen (one, or 0.2, 0.4 and 0.6 against
/// 0); Marvellous and Victory against Golden Rain; the products of these.
fn oats(nitrogen: Nitrogen, dropped: &[usize]) -> MixedModel {
    let mut rows = table(include_str!("../../fixtures/oats.csv"));
    let mut place = 0;
    rows.retain(|_| {
        place += 1;
        !dropped.contains(&(place - 1))
    });
    let column = |at: usize| rows.iter().map(|row| row[at]).collect::<Vec<&str>>();
    let (_, block) = indicators(&column(0));
    let plots: Vec<String> = rows
        .iter()
        .map(|row| format!("{}/{}", row[0], row[1]))
        .collect();
    let (_, plot) = indicators(&plots.iter().map(String::as_str).collect::<Vec<_>>());
    let design: Vec<Vec<f64>> = rows
        .iter()
        .map(|row| {
            let is = |at: usize, name: &str| f64::from(u8::from(row[at] == name));
            let varieties = ["Marvellous", "Victory"].map(|name| is(1, name));
            let rates = match nitrogen {
                Nitrogen::Slope => vec![row[2].parse().unwrap()],
                _ => ["0.2", "0.4", "0.6"].map(|rate| is(2, rate)).to_vec(),
            };
            let mut columns = vec![1.0];
            columns.extend(&rates);
            columns.extend(varieties);
            if nitrogen == Nitrogen::FactorByVariety {
                let products = varieties
                    .iter()
                    .flat_map(|v| rates.iter().map(move |r| v * r));
                columns.extend(products);
            }
            columns
        })
        .collect();
    MixedModel {
        response: DVector::from_iterator(
            rows.len(),
            rows.iter().map(|row| row[3].parse().unwrap()),
        ),
        fixed: DMatrix::from_fn(rows.len(), design[0].len(), |row, column| {
            design[row][column]
        }),
        groupings: vec![Grouping::Whole(block), Grouping::Whole(plot)],
        spatial: None,
        noise: vec![1.0; rows.len()],
    }
}

fn fit_oats(model: &MixedModel) -> Fitted {
    let bounds = Bounds {
        range: [1.0, 2.0],
        nugget: [0.0, 1.0],
        group_ratio: 100.0,
    };
    fit(model, &bounds, &[&[0.7, 0.7]]).unwrap()
}

/// `model` at variances of Block, Block:Variety and residual that another program found.
fn at_variances(model: &MixedModel, [block, plot, residual]: [f64; 3]) -> Fitted {
    let covariance = Covariance {
        group_ratios: vec![block / residual, plot / residual],
        range: 1.0,
        nugget: 1.0,
    };
    let evaluation = model.evaluate(&covariance).unwrap();
    Fitted {
        covariance,
        evaluation,
    }
}

/// The effects from `first` on, `count` of them, each by itself.
fn effects(model: &MixedModel, first: usize, count: usize) -> DMatrix<f64> {
    DMatrix::from_fn(count, model.fixed.ncols(), |row, column| {
        f64::from(u8::from(column == first + row))
    })
}

/// `lmer(yield ~ nitro + Variety + (1 | Block/Variety), Oats)` with lmerTest: logLik -289.445893479;
/// nitro 73.66666666667, SE 6.78147751767, df 53.00002612904; VarietyMarvellous 5.29166666667, SE
/// 7.07891808264, df 9.99994683769; VarietyVictory -6.87500000000. Kenward-Roger gives 53 and 10.
#[test]
fn oats_split_plot() {
    let model = oats(Nitrogen::Slope, &[]);
    let fitted = fit_oats(&model);
    let found = &fitted.evaluation;
    close(found.log_likelihood, -289.445_893_479, 1e-7);
    close(found.effects[1], 73.666_666_666_67, 1e-8);
    close(found.effects[2], 5.291_666_666_67, 1e-7);
    close(found.effects[3], -6.875, 1e-7);
    close(found.std_error(1), 6.781_477_517_67, 1e-3);
    close(found.std_error(2), 7.078_918_082_64, 1e-3);
    close(degrees_of_freedom(&model, &fitted, 1), 53.0, 1e-3);
    close(degrees_of_freedom(&model, &fitted, 2), 10.0, 1e-2);
}

/// `lme(yield ~ factor(nitro) + Variety, random = ~ 1 | Block/Variety, Oats)`, nlme: logLik
/// -284.03437752; standard deviations 14.644870 (Block), 10.473453 (Variety in Block), 12.749864.
/// `lmer(yield ~ factor(nitro) + Variety + (1 | Block/Variety), Oats)` reaches 14.645038, 10.473440,
/// 12.749856; SE of 0.2 nitro 4.24995188, of Marvellous 7.07890401, df 51.00000083 and 9.99999951.
/// `summary(aov(yield ~ Variety + factor(nitro) + Error(Block/Variety), Oats))`: F for nitro
/// 41.052831554189 on 3 and 51, for Variety 1.48534 on 2 and 10.
#[test]
fn oats_with_nitrogen_as_a_factor() {
    let model = oats(Nitrogen::Factor, &[]);
    let fitted = fit_oats(&model);
    let found = &fitted.evaluation;
    close(found.log_likelihood, -284.034_377_52, 1e-7);
    let ratios = &fitted.covariance.group_ratios;
    // The likelihood is flat at its top: 10⁻⁷ of it is a hundredth of a standard deviation.
    close(found.variance.sqrt(), 12.749_856, 1e-2);
    close((found.variance * ratios[0]).sqrt(), 14.645_04, 1e-2);
    close((found.variance * ratios[1]).sqrt(), 10.473_44, 1e-2);
    close(found.effects[1], 19.5, 1e-8);
    close(found.std_error(1), 4.249_951_88, 1e-2);
    close(found.std_error(4), 7.078_904_01, 1e-2);
    // Balanced strata: F and degrees of freedom are those of the analysis of variance.
    let top = at_variances(
        &model,
        [214.477_130_594_67, 109.692_941_372_29, 162.558_819_003_58],
    );
    close(top.evaluation.log_likelihood, -284.034_377_522_71, 1e-12);
    let nitrogen = f_test(&model, &top, &effects(&model, 1, 3)).unwrap();
    close(nitrogen.f, 41.052_831_554_189, 1e-5);
    close(nitrogen.denominator, 51.0, 1e-3);
    let variety = f_test(&model, &top, &effects(&model, 4, 2)).unwrap();
    close(variety.f, 1.485_34, 1e-4);
    close(variety.denominator, 10.0, 1e-3);
}

/// `summary(aov(yield ~ factor(nitro) * Variety + Error(Block/Variety), Oats))`: F for nitro
/// 37.68564705882353 on 3 and 45. `lmer` of the same: logLik -264.51425350364. The F of nitro averaged
/// over varieties is asked for.
#[test]
fn oats_as_a_split_plot_with_interaction() {
    let model = oats(Nitrogen::FactorByVariety, &[]);
    let fitted = fit_oats(&model);
    close(fitted.evaluation.log_likelihood, -264.514_253_503_64, 1e-7);
    let averaged = DMatrix::from_fn(3, model.fixed.ncols(), |rate, column| match column {
        column if column == 1 + rate => 1.0,
        // Marvellous and Victory, three products each.
        column if column == 6 + rate || column == 9 + rate => 1.0 / 3.0,
        _ => 0.0,
    });
    let nitrogen = f_test(&model, &fitted, &averaged).unwrap();
    close(nitrogen.f, 37.685_647_058_823_53, 2e-3);
    close(nitrogen.denominator, 45.0, 2e-3);
}

/// Unbalanced: 11 rows dropped (`U <- Oats[-c(1, 2, 3, 7, 14, 20, 31, 32, 45, 58, 66), ]`). lmerTest
/// 3.1-3, `lmer(yield ~ nitro + Variety + (1 | Block/Variety), U)` with `lmerControl(optCtrl =
/// list(ftol_abs = 1e-14, xtol_abs = 1e-12))`: logLik -243.61660599103, variances 143.589927525541,
/// 67.913054812802, 179.067743770895, coefficients as below. Satterthwaite's degrees of freedom are
/// held to 10⁻³ at those variances.
///
/// Kenward and Roger (1997, Biometrics 53, 983–997), pbkrtest 0.5.2, `summary(…, ddf =
/// "Kenward-Roger")`, gives nitro SE 7.74191, df 44.1999; Marvellous SE 6.40790, df 9.75350; Victory SE
/// 6.58524, df 10.15541. It widens standard errors by up to 0.6 % here for the variances having been
/// estimated, and counts one or two (nitro: four) more degrees of freedom; t(0.975) × SE then is 1 to 3 %
/// smaller. Satterthwaite's, which is used here, errs on the wide side.
#[test]
fn unbalanced_oats_have_the_degrees_of_freedom_of_lmertest() {
    let model = oats(Nitrogen::Slope, &DROPPED);
    assert_eq!(model.len(), 61);
    let top = at_variances(
        &model,
        [143.589_927_525_541, 67.913_054_812_802, 179.067_743_770_895],
    );
    let found = &top.evaluation;
    close(found.log_likelihood, -243.616_605_991_03, 1e-12);
    close(found.variance, 179.067_743_770_895, 1e-6);
    let expected = [
        (
            0,
            82.607_790_498_533_0,
            6.988_854_675_623_8,
            9.593_692_641_417_2,
        ),
        (
            1,
            72.795_009_295_164_3,
            7.700_455_370_034_3,
            40.475_520_469_762_4,
        ),
        (
            2,
            6.455_116_660_758_0,
            6.397_874_657_112_6,
            8.422_966_668_420_6,
        ),
        (
            3,
            -8.929_237_920_015_5,
            6.543_802_406_842_2,
            8.781_524_807_318_4,
        ),
    ];
    for (effect, value, std_error, df) in expected {
        close(found.effects[effect], value, 1e-6);
        close(found.std_error(effect), std_error, 1e-6);
        close(degrees_of_freedom(&model, &top, effect), df, 1e-3);
    }
    let own = fit_oats(&model);
    close(own.evaluation.log_likelihood, -243.616_605_991_03, 1e-7);
    for (effect, _, std_error, df) in expected {
        close(own.evaluation.std_error(effect), std_error, 1e-2);
        close(degrees_of_freedom(&model, &own, effect), df, 3e-2);
    }
}

/// The same rows with nitrogen as a factor: `anova(lmer(yield ~ N + Variety + (1 | Block/Variety), U))`
/// with lmerTest: F for N 30.73430 on 3 and 37.4779755719, for Variety 2.73974 on 2 and 8.1683685628;
/// variances 149.984002565367, 67.839869544503, 177.693239982310. `ddf = "Kenward-Roger"`: 30.45514 on
/// 41.75 and 2.71074 on 9.74.
#[test]
fn unbalanced_oats_have_the_f_of_lmertest() {
    let model = oats(Nitrogen::Factor, &DROPPED);
    let top = at_variances(
        &model,
        [149.984_002_565_367, 67.839_869_544_503, 177.693_239_982_310],
    );
    close(top.evaluation.log_likelihood, -238.279_724_054_09, 1e-12);
    let nitrogen = f_test(&model, &top, &effects(&model, 1, 3)).unwrap();
    close(nitrogen.f, 30.734_30, 1e-5);
    close(nitrogen.denominator, 37.477_975_571_9, 1e-3);
    let variety = f_test(&model, &top, &effects(&model, 4, 2)).unwrap();
    close(variety.f, 2.739_74, 1e-5);
    close(variety.denominator, 8.168_368_562_8, 1e-3);
}

/// R's MASS::npk (Venables, W. N. and Ripley, B. D., 2002, *Modern Applied Statistics with S*, 4th ed.,
/// Springer, section 6.7), `summary(aov(yield ~ block + N*P*K, npk))`: F 12.258734213650897 for N,
/// 0.544129816860356 for P, 6.165689202317114 for K on 1 and 12. N × P × K is confounded with blocks.
#[test]
fn npk_with_fixed_blocks() {
    let (design, yields) = npk();
    let count = yields.len();
    let model = MixedModel {
        response: DVector::from_vec(yields),
        fixed: DMatrix::from_fn(count, design[0].len(), |row, column| design[row][column]),
        groupings: vec![],
        spatial: None,
        noise: vec![1.0; count],
    };
    let covariance = at(1.0, 1.0);
    let evaluation = model.evaluate(&covariance).unwrap();
    let fitted = Fitted {
        covariance,
        evaluation,
    };
    let expected = [
        12.258_734_213_650_897,
        0.544_129_816_860_356,
        6.165_689_202_317_114,
    ];
    for (place, expected) in expected.into_iter().enumerate() {
        let found = f_test(&model, &fitted, &effects(&model, 6 + place, 1)).unwrap();
        close(found.f, expected, 1e-9);
        assert_eq!(found.denominator, 12.0);
    }
}

/// Six blocks, N, P, K as -1 and 1, and their products two by two; with the yields.
fn npk() -> (Vec<Vec<f64>>, Vec<f64>) {
    let rows = [
        (1, [0, 1, 1], 49.5),
        (1, [1, 1, 0], 62.8),
        (1, [0, 0, 0], 46.8),
        (1, [1, 0, 1], 57.0),
        (2, [1, 0, 0], 59.8),
        (2, [1, 1, 1], 58.5),
        (2, [0, 0, 1], 55.5),
        (2, [0, 1, 0], 56.0),
        (3, [0, 1, 0], 62.8),
        (3, [1, 1, 1], 55.8),
        (3, [1, 0, 0], 69.5),
        (3, [0, 0, 1], 55.0),
        (4, [1, 0, 0], 62.0),
        (4, [1, 1, 1], 48.8),
        (4, [0, 0, 1], 45.5),
        (4, [0, 1, 0], 44.2),
        (5, [1, 1, 0], 52.0),
        (5, [0, 0, 0], 51.5),
        (5, [1, 0, 1], 49.8),
        (5, [0, 1, 1], 48.8),
        (6, [1, 0, 1], 57.2),
        (6, [1, 1, 0], 59.0),
        (6, [0, 1, 1], 53.2),
        (6, [0, 0, 0], 56.0),
    ];
    let design = rows.iter().map(|&(block, [n, p, k], _)| {
        let sign = |level: u8| if level == 0 { -1.0 } else { 1.0 };
        let [n, p, k] = [n, p, k].map(sign);
        let mut columns: Vec<f64> = (1..=6).map(|b| f64::from(u8::from(b == block))).collect();
        columns.extend([n, p, k, n * p, n * k, p * k]);
        columns
    });
    (design.collect(), rows.iter().map(|row| row.2).collect())
}
