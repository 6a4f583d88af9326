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

fn oats() -> MixedModel {
    let rows = table(include_str!("../../fixtures/oats.csv"));
    let column = |at: usize| rows.iter().map(|row| row[at]).collect::<Vec<&str>>();
    let (_, block) = indicators(&column(0));
    let variety = column(1);
    let plots: Vec<String> = rows
        .iter()
        .map(|row| format!("{}/{}", row[0], row[1]))
        .collect();
    let (_, plot) = indicators(&plots.iter().map(String::as_str).collect::<Vec<_>>());
    let mut fixed = DMatrix::zeros(rows.len(), 4);
    for (row, variety) in variety.iter().enumerate() {
        fixed[(row, 0)] = 1.0;
        fixed[(row, 1)] = rows[row][2].parse().unwrap();
        fixed[(row, 2)] = f64::from(u8::from(*variety == "Marvellous"));
        fixed[(row, 3)] = f64::from(u8::from(*variety == "Victory"));
    }
    MixedModel {
        response: DVector::from_iterator(
            rows.len(),
            rows.iter().map(|row| row[3].parse().unwrap()),
        ),
        fixed,
        groupings: vec![block, plot],
        spatial: None,
        noise: vec![1.0; rows.len()],
    }
}

/// `lmer(yield ~ nitro + Variety + (1 | Block/Variety), Oats)` with lmerTest: logLik -289.445893479;
/// nitro 73.66666666667, SE 6.78147751767, df 53.00002612904; VarietyMarvellous 5.29166666667, SE
/// 7.07891808264, df 9.99994683769; VarietyVictory -6.87500000000. Kenward-Roger gives 53 and 10.
#[test]
fn oats_split_plot() {
    let model = oats();
    let bounds = Bounds {
        range: [1.0, 2.0],
        nugget: [0.0, 1.0],
        group_ratio: 100.0,
    };
    let fitted = fit(&model, &bounds, &[&[0.7, 0.7]]).unwrap();
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
