//! Bias between machines from neighbouring swaths: what each reads more or less than the others it cut
//! beside, joined over all of them. Cleaning takes it out of the grain (`machine_factors`).
//!
//! # Method
//! Every stretch of `neighbouring_swaths` gives the logarithm of one machine's yield over another's. With
//! `b` for a machine's bias, a stretch of machines i and j has the expectation b(i) − b(j): paired comparisons
//! of differing precision on a graph of machines, fitted by least squares weighted with the pairs of records.
//! Least squares on differences is that of Mosteller, F. (1951), *Remarks on the method of paired comparisons*,
//! Psychometrika 16, 3–9; that ground beside ground bears alike is the reasoning of nearest-neighbour
//! trials: Papadakis, J. S. (1937), *Méthode statistique pour des expériences sur champ*, Bulletin 23, Institut
//! d'Amélioration des Plantes à Salonique.
//!
//! Stretches that share a pass err together: whatever was wrong with that pass is in all of them. Their
//! covariance is the sandwich that allows for it: Aronow, P. M., Samii, C. and Assenova, V. A. (2015),
//! *Cluster-robust variance estimation for dyadic data*, Political Analysis 23, 564–577 (passes are the nodes,
//! pairs of passes the dyads), with the usual small-sample factor n ÷ (n − p). With too few pairs of passes for
//! that, each stretch stands for itself, in the form that holds for few of them: MacKinnon, J. G. and White, H.
//! (1985), *Some heteroskedasticity-consistent covariance matrix estimators with improved finite sample properties*,
//! Journal of Econometrics 29, 305–325 (residuals over 1 − leverage), with the degrees of freedom of as many
//! stretches of equal weight. The larger of the two is taken. The joining of the parts to one method is our own.

use crate::neighbouring_swaths::Stretch;
use nalgebra::{DMatrix, DVector};
use statrs::distribution::{ContinuousCDF, FisherSnedecor, StudentsT};
use std::collections::{BTreeMap, BTreeSet};

/// A group needs this many stretches more than it has factors to find.
const FEWEST_STRETCHES: usize = 8;
/// And so many pairs of passes before these, rather than stretches, are what errs independently.
const FEWEST_PASS_PAIRS: usize = 10;

/// Machines joined by neighbouring swaths.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Group {
    /// Numbers of the machines, rising.
    pub machines: Vec<usize>,
    /// What each reads more than the first, as a logarithm.
    pub log_bias: Vec<f64>,
    /// Covariance of `log_bias`; row and column of the first are zero.
    pub covariance: DMatrix<f64>,
    /// Degrees of freedom of it.
    pub df: f64,
    /// Stretches.
    pub stretches: usize,
    /// Pairs of passes.
    pub pass_pairs: usize,
    /// Whether stretches that share a pass were allowed to err together.
    pub by_passes: bool,
    /// Probability of such a bias when there is none.
    pub p_value: f64,
}

impl Group {
    /// For each machine, the logarithm of what its grain must be multiplied by so that all read alike and the
    /// grain of the group stays: with each one's `grain`, and its standard error.
    pub(crate) fn log_factors(&self, grain: &[f64]) -> Vec<(f64, f64)> {
        let own: Vec<f64> = self.machines.iter().map(|&m| grain[m].max(0.0)).collect();
        let put_right: Vec<f64> = own
            .iter()
            .zip(&self.log_bias)
            .map(|(kg, bias)| kg * (-bias).exp())
            .collect();
        let (sum, right) = (own.iter().sum::<f64>(), put_right.iter().sum::<f64>());
        let level = if right > 0.0 { (sum / right).ln() } else { 0.0 };
        let shares = DVector::from_iterator(
            own.len(),
            put_right
                .iter()
                .map(|kg| if right > 0.0 { kg / right } else { 0.0 }),
        );
        (0..own.len())
            .map(|place| {
                let mut slope = shares.clone();
                slope[place] -= 1.0;
                let variance = (slope.transpose() * &self.covariance * &slope)[(0, 0)];
                (level - self.log_bias[place], variance.max(0.0).sqrt())
            })
            .collect()
    }

    /// Half width of a 95 % interval in standard errors.
    pub(crate) fn quantile_975(&self) -> f64 {
        StudentsT::new(0.0, 1.0, self.df).map_or(f64::NAN, |t| t.inverse_cdf(0.975))
    }
}

/// The groups that `stretches` join among `machines` machines, in the order of their first machines; groups
/// with too few stretches for a standard error are none.
pub(crate) fn machine_groups(stretches: &[Stretch], machines: usize) -> Vec<Group> {
    let mut root: Vec<usize> = (0..machines).collect();
    fn top(root: &mut [usize], mut of: usize) -> usize {
        while root[of] != of {
            root[of] = root[root[of]];
            of = root[of];
        }
        of
    }
    for stretch in stretches {
        let [a, b] = stretch.machines.map(|m| top(&mut root, m as usize));
        root[a.max(b)] = a.min(b);
    }
    let mut members: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for machine in 0..machines {
        let group = top(&mut root, machine);
        members.entry(group).or_default().push(machine);
    }
    members
        .into_values()
        .filter(|group| group.len() > 1)
        .filter_map(|group| {
            let own: Vec<&Stretch> = stretches
                .iter()
                .filter(|stretch| group.contains(&(stretch.machines[0] as usize)))
                .collect();
            fit(group, &own)
        })
        .collect()
}

fn fit(machines: Vec<usize>, stretches: &[&Stretch]) -> Option<Group> {
    let (n, p) = (stretches.len(), machines.len() - 1);
    if n < FEWEST_STRETCHES + p {
        return None;
    }
    // The first machine is the origin: it has no column.
    let column = |machine: u32| {
        let place = machines.iter().position(|&m| m == machine as usize)?;
        place.checked_sub(1)
    };
    let row = |stretch: &Stretch| {
        let mut row = DVector::<f64>::zeros(p);
        let [plus, minus] = stretch.machines.map(column);
        if let Some(at) = plus {
            row[at] += 1.0;
        }
        if let Some(at) = minus {
            row[at] -= 1.0;
        }
        row
    };
    let rows: Vec<DVector<f64>> = stretches.iter().map(|stretch| row(stretch)).collect();
    let weight = |stretch: &Stretch| stretch.record_pairs as f64;
    let mut normal = DMatrix::<f64>::zeros(p, p);
    let mut right = DVector::<f64>::zeros(p);
    for (stretch, x) in stretches.iter().zip(&rows) {
        normal += x * x.transpose() * weight(stretch);
        right += x * (weight(stretch) * stretch.log_ratio);
    }
    let inverse = normal.cholesky()?.inverse();
    let bias = &inverse * right;

    let scores: Vec<DVector<f64>> = stretches
        .iter()
        .zip(&rows)
        .map(|(stretch, x)| x * (weight(stretch) * (stretch.log_ratio - x.dot(&bias))))
        .collect();
    // Residuals over 1 − leverage: the jackknife's, which holds with few stretches of unequal weight.
    let mut alone = DMatrix::<f64>::zeros(p, p);
    let (mut sum, mut squares) = (0.0, 0.0);
    for ((stretch, x), score) in stretches.iter().zip(&rows).zip(&scores) {
        let leverage = weight(stretch) * (x.transpose() * &inverse * x)[(0, 0)];
        let left_out = score / (1.0 - leverage).max(1e-6);
        alone += &left_out * left_out.transpose();
        sum += weight(stretch);
        squares += weight(stretch).powi(2);
    }
    let mut by_pass: BTreeMap<u32, DVector<f64>> = BTreeMap::new();
    let mut by_pair: BTreeMap<[u32; 2], DVector<f64>> = BTreeMap::new();
    for (stretch, score) in stretches.iter().zip(&scores) {
        for pass in stretch.passes {
            *by_pass.entry(pass).or_insert_with(|| DVector::zeros(p)) += score;
        }
        *by_pair
            .entry(stretch.passes)
            .or_insert_with(|| DVector::zeros(p)) += score;
    }
    let sandwich = |middle: DMatrix<f64>| &inverse * middle * &inverse;
    let mut covariance = sandwich(alone);
    // As many stretches of equal weight would tell as much.
    let mut df = (sum * sum / squares - p as f64).max(1.0);
    let mut by_passes = false;
    let pairs = by_pair.len();
    if pairs >= FEWEST_PASS_PAIRS + p {
        // Two stretches of the same two passes share both: they are counted once for each, and taken off once.
        let outer = |sums: &mut dyn Iterator<Item = &DVector<f64>>| {
            sums.fold(DMatrix::<f64>::zeros(p, p), |sum, s| {
                sum + s * s.transpose()
            })
        };
        let together = outer(&mut by_pass.values()) - outer(&mut by_pair.values());
        let together = sandwich(together) * (pairs as f64 / (pairs - p) as f64);
        if together.trace() > covariance.trace() && together.clone().cholesky().is_some() {
            covariance = together;
        }
        (df, by_passes) = ((pairs - p) as f64, true);
    }
    let p_value = wald(&bias, &covariance, df)?;
    let mut whole = DMatrix::<f64>::zeros(p + 1, p + 1);
    whole.view_mut((1, 1), (p, p)).copy_from(&covariance);
    Some(Group {
        log_bias: std::iter::once(0.0).chain(bias.iter().copied()).collect(),
        machines,
        covariance: whole,
        df,
        stretches: n,
        pass_pairs: pairs,
        by_passes,
        p_value,
    })
}

/// Probability of a bias as far from none, by the F distribution; `None` without a spread.
fn wald(bias: &DVector<f64>, covariance: &DMatrix<f64>, df: f64) -> Option<f64> {
    let p = bias.len() as f64;
    let solved = covariance.clone().cholesky().map(|c| c.solve(bias));
    match solved {
        Some(solved) => {
            let statistic = bias.dot(&solved) / p;
            FisherSnedecor::new(p, df).ok().map(|f| f.sf(statistic))
        }
        // Machines that agree to the last digit have no spread.
        None => Some(if bias.amax() > 1e-12 { 0.0 } else { 1.0 }),
    }
}

/// Which machines cut beside each other at all, for warnings: for each, whether any stretch has it.
pub(crate) fn has_neighbours(stretches: &[Stretch], machines: usize) -> Vec<bool> {
    let met: BTreeSet<u32> = stretches.iter().flat_map(|s| s.machines).collect();
    (0..machines).map(|m| met.contains(&(m as u32))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn stretch(machines: [u32; 2], passes: [u32; 2], log_ratio: f64, pairs: usize) -> Stretch {
        Stretch {
            machines,
            passes,
            log_ratio,
            record_pairs: pairs,
        }
    }

    /// Worked by hand: the weighted mean of ratios is the bias of two machines; the standard error is that of
    /// a weighted mean whose residuals are over 1 − leverage.
    #[test]
    fn two_machines_are_a_weighted_mean() {
        let values = [0.04, 0.02, 0.03, 0.05, 0.01, 0.03, 0.04, 0.02, 0.03, 0.03];
        let weights = [10, 20, 30, 10, 20, 30, 10, 20, 30, 20];
        let stretches: Vec<Stretch> = values
            .iter()
            .zip(weights)
            .map(|(&value, weight)| stretch([0, 1], [1, 2], value, weight))
            .collect();
        let group = &machine_groups(&stretches, 2)[0];
        // Σ w v = 5.6 and Σ w = 200: the first reads 2.8 % more, the second 2.8 % less.
        assert!((group.log_bias[1] + 0.028).abs() < 1e-12);
        let sum: f64 = values
            .iter()
            .zip(weights)
            .map(|(v, w)| {
                let w = w as f64;
                (w * (v - 0.028) / (1.0 - w / 200.0)).powi(2)
            })
            .sum();
        let wanted = sum.sqrt() / 200.0;
        assert!((group.covariance[(1, 1)].sqrt() - wanted).abs() < 1e-12);
        // (Σ w)² ÷ Σ w² = 40,000 ÷ 4,600 stretches of equal weight.
        assert!((group.df - (40_000.0 / 4_600.0 - 1.0)).abs() < 1e-12);
        assert_eq!((group.by_passes, group.pass_pairs), (false, 1));
    }

    #[test]
    fn machines_are_joined_over_others_and_strangers_left_alone() {
        // 0 beside 1, 1 beside 2; 3 beside nobody; truth 0, 0.05, -0.02.
        let truth = [0.0, 0.05, -0.02, 0.0];
        let stretches: Vec<Stretch> = (0..40)
            .map(|k| {
                let machines = if k % 2 == 0 { [0, 1] } else { [1, 2] };
                let noise = 0.01 * (f64::from(k) * 2.4).sin();
                let ratio = truth[machines[0] as usize] - truth[machines[1] as usize] + noise;
                stretch(machines, [k, k + 100], ratio, 50)
            })
            .collect();
        let groups = machine_groups(&stretches, 4);
        assert_eq!(groups.len(), 1);
        assert_eq!(groups[0].machines, [0, 1, 2]);
        assert!((groups[0].log_bias[1] - 0.05).abs() < 0.01);
        assert!((groups[0].log_bias[2] + 0.02).abs() < 0.01);
        assert!(groups[0].by_passes && groups[0].p_value < 1e-6);
        // Grain of the group stays.
        let grain = [1000.0, 2000.0, 500.0, 700.0];
        let factors = groups[0].log_factors(&grain);
        let after: f64 = (0..3).map(|m| grain[m] * factors[m].0.exp()).sum();
        assert!((after - 3500.0).abs() < 1e-9);
    }

    /// Law: which machine is the origin does not matter.
    #[test]
    fn numbering_machines_otherwise_changes_nothing() {
        let one: Vec<Stretch> = (0..30)
            .map(|k| stretch([0, 1], [k, k + 1], 0.03 + 0.02 * f64::from(k).cos(), 40))
            .collect();
        let other: Vec<Stretch> = one
            .iter()
            .map(|s| stretch([0, 1], [s.passes[1], s.passes[0]], -s.log_ratio, 40))
            .collect();
        let (a, b) = (&machine_groups(&one, 2)[0], &machine_groups(&other, 2)[0]);
        let (fa, fb) = (a.log_factors(&[3.0, 5.0]), b.log_factors(&[5.0, 3.0]));
        assert!((fa[0].0 - fb[1].0).abs() < 1e-12 && (fa[1].1 - fb[0].1).abs() < 1e-12);
        assert!((a.p_value - b.p_value).abs() < 1e-12);
    }

    #[test]
    fn a_shared_pass_makes_stretches_less_sure() {
        // Twelve passes of one machine, each beside one of the other; stretches of a pass agree.
        let luck = |pass: u32| 0.03 * (f64::from(pass) * 1.7).sin();
        let stretches: Vec<Stretch> = (0..12u32)
            .flat_map(|pass| {
                (0..10).map(move |k| {
                    let noise = 0.002 * f64::from(k * 7 % 5);
                    stretch([0, 1], [pass, pass + 50], luck(pass) + noise, 30)
                })
            })
            .collect();
        let group = &machine_groups(&stretches, 2)[0];
        let mean: f64 = (0..12).map(luck).sum::<f64>() / 12.0;
        let spread: f64 = (0..12).map(|p| (luck(p) - mean).powi(2)).sum::<f64>() / 11.0;
        let wanted = (spread / 12.0).sqrt();
        assert!(group.by_passes);
        assert!((group.covariance[(1, 1)].sqrt() / wanted - 1.0).abs() < 0.05);
    }

    #[test]
    fn too_little_is_no_group() {
        let few: Vec<Stretch> = (0..8).map(|k| stretch([0, 1], [k, 9], 0.0, 20)).collect();
        assert!(machine_groups(&few, 2).is_empty());
        assert_eq!(has_neighbours(&few, 3), [true, true, false]);
        assert!(machine_groups(&[], 3).is_empty());
    }

    #[test]
    fn machines_that_agree_to_the_last_digit_have_no_bias() {
        let same: Vec<Stretch> = (0..20)
            .map(|k| stretch([0, 1], [k, k + 50], 0.0, 20))
            .collect();
        let group = &machine_groups(&same, 2)[0];
        assert_eq!((group.log_bias[1], group.p_value), (0.0, 1.0));
    }
}
