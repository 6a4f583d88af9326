//! How often a difference this large would come about if the treatment did nothing and only the
//! random order of the strips had put the better ground where it is: every order that the draw could
//! have given is tried, or a stated number of them when there are too many. Nothing is assumed about
//! how yields are distributed. Fisher, R. A. (1935), *The Design of Experiments*, section 21; Pitman,
//! E. J. G. (1937), *Significance tests which may be applied to samples from any populations*,
//! Supplement to the Journal of the Royal Statistical Society 4, 119–130.

use crate::paired_strips::{Parts, comparison};
use crate::plot::Layout;
use crate::sign_orders::{SignOrders, smallest_p};
use crate::within_block_orders::within_block_orders;
use checkstrip_model::results::{Comparison, OverallTest};

/// Up to this many orders all are tried.
pub(crate) const MOST_ORDERS: u64 = 1 << 17;
/// Otherwise this many are drawn.
pub(crate) const DRAWS: u64 = 100_000;
/// Seed of the draws; the same field gives the same figures.
pub const PERMUTATION_SEED: u64 = 20_231_103;

/// What the permutation of signs found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SignFlips {
    /// Two-sided p value.
    pub p_value: f64,
    /// Smallest p value that this many pairs can give.
    pub smallest_p: f64,
    /// Orders tried.
    pub orders: u64,
    /// Whether these were all there are.
    pub exact: bool,
}

/// Two-sided p value of the mean of `differences` among all changes of their signs.
///
/// `NaN` differences are not expected. With no difference the p value is 1. Differences within
/// rounding of the observed mean count as at least as large. Cost: pairs × orders.
///
/// ```
/// // Three pairs that all gain: only all-plus and all-minus are as far out, 2 of 8 orders.
/// let found = checkstrip_trial::sign_flips(&[3.0, 1.0, 2.0]);
/// assert_eq!((found.p_value, found.smallest_p, found.exact), (0.25, 0.25, true));
/// ```
pub fn sign_flips(differences: &[f64]) -> SignFlips {
    let orders = SignOrders::of(differences.len());
    let limit = limit(differences);
    let mut as_far = 0u64;
    orders.each(|signs| {
        let sum: f64 = signs.iter().zip(differences).map(|(s, d)| s * d).sum();
        as_far += u64::from(sum.abs() >= limit);
    });
    SignFlips {
        p_value: as_far as f64 / orders.visited() as f64,
        smallest_p: smallest_p(differences.len()),
        orders: orders.tried,
        exact: orders.exact,
    }
}

/// Every treatment against the check by [`permutation`]; with two or more beside the check also p values
/// that allow for all of them, and the overall test, by [`within_block_orders`].
pub fn permutations(layout: &Layout, bushel_kg: f64) -> (Vec<Comparison>, Option<OverallTest>) {
    let mut found: Vec<Comparison> = layout
        .treated()
        .filter_map(|treatment| permutation(layout, treatment, bushel_kg))
        .collect();
    let Some(orders) = within_block_orders(layout) else {
        return (found, None);
    };
    for &(treatment, p_value) in &orders.family {
        let name = &layout.treatments[treatment];
        if let Some(of_treatment) = found.iter_mut().find(|c| c.treatment == *name) {
            of_treatment.p_value_family = Some(p_value);
        }
    }
    (found, Some(orders.overall))
}

/// `treatment` against the check by changing the signs of the block differences.
///
/// With several treatments this stays exact. An order drawn for a block is as likely as the one in
/// which this treatment and the check have changed places and all others stand where they are. Given
/// where the others stand, and given the two strips that are left for the pair, each of the two ways
/// round therefore has probability one half, in every block by itself; and if this treatment does
/// nothing, changing places changes nothing but the difference's sign. What the other treatments do
/// does not enter.
///
/// The interval holds every gain that the same test would not refuse at 5 %; it is as wide as the
/// line (infinite, `null` in the results file) where the blocks are too few to refuse anything. There
/// are no degrees of freedom: `df` is `NaN`, the standard error that of the block differences. `None`
/// when fewer than two blocks hold both.
pub fn permutation(layout: &Layout, treatment: usize, bushel_kg: f64) -> Option<Comparison> {
    let contrast = layout.contrast(treatment);
    let differences: Vec<f64> = contrast
        .differences
        .iter()
        .map(|d| d.difference_kg_ha)
        .collect();
    if differences.len() < 2 {
        return None;
    }
    let count = differences.len() as f64;
    let mean = differences.iter().sum::<f64>() / count;
    let squares: f64 = differences.iter().map(|d| (d - mean).powi(2)).sum();
    let std_error = (squares / (count - 1.0) / count).sqrt();
    let found = sign_flips(&differences);
    let mut comparison = comparison(Parts {
        layout,
        treatment,
        method: "permutation",
        bushel_kg,
        advantage: mean,
        std_error,
        df: f64::NAN,
        dilution: contrast.dilution,
        differences: contrast.differences,
    });
    let interval = sign_flip_interval(&differences, mean, std_error);
    comparison.set_interval(interval, bushel_kg);
    comparison.p_value = found.p_value;
    comparison.smallest_p = Some(found.smallest_p);
    comparison.orders = Some(found.orders);
    Some(comparison)
}

/// The sums of differences under every order, kept apart from those of the signs: differences that are all
/// less by one gain need not be added up again.
struct SumsByOrder<'a> {
    differences: &'a [f64],
    of_differences: Vec<f64>,
    of_signs: Vec<f64>,
}

impl SumsByOrder<'_> {
    fn of(differences: &[f64]) -> SumsByOrder<'_> {
        let orders = SignOrders::of(differences.len());
        let visited = orders.visited() as usize;
        let (mut of_differences, mut of_signs) =
            (Vec::with_capacity(visited), Vec::with_capacity(visited));
        orders.each(|signs| {
            of_differences.push(signs.iter().zip(differences).map(|(s, d)| s * d).sum());
            of_signs.push(signs.iter().sum());
        });
        SumsByOrder {
            differences,
            of_differences,
            of_signs,
        }
    }

    /// The p value of [`sign_flips`] for the differences less `gain`. Where an order is so near to the limit
    /// that rounding could decide, all are added up anew.
    fn p_value(&self, gain: f64) -> f64 {
        /// Far more than rounding makes of a sum, as a share of what was added.
        const DOUBT: f64 = 1e-12;
        let shifted: Vec<f64> = self.differences.iter().map(|d| d - gain).collect();
        let limit = limit(&shifted);
        let added: f64 = self.differences.iter().map(|d| d.abs() + gain.abs()).sum();
        let (mut as_far, mut doubtful) = (0u64, 0u64);
        for (sum, signs) in self.of_differences.iter().zip(&self.of_signs) {
            let beyond = (sum - gain * signs).abs() - limit;
            as_far += u64::from(beyond >= 0.0);
            doubtful += u64::from(beyond.abs() <= DOUBT * added);
        }
        match doubtful {
            0 => as_far as f64 / self.of_signs.len() as f64,
            _ => sign_flips(&shifted).p_value,
        }
    }
}

/// From this absolute sum on, an order is at least as far out as that of the field.
fn limit(differences: &[f64]) -> f64 {
    let observed = differences.iter().sum::<f64>().abs();
    observed - 1e-9 * differences.iter().map(|d| d.abs()).sum::<f64>()
}

/// Gains that sign changes of the differences less the gain would not refuse at 5 %.
fn sign_flip_interval(differences: &[f64], mean: f64, std_error: f64) -> [f64; 2] {
    if smallest_p(differences.len()) > 0.05 {
        return [f64::NEG_INFINITY, f64::INFINITY];
    }
    let by_order = SumsByOrder::of(differences);
    let refused = |gain: f64| by_order.p_value(gain) <= 0.05;
    let end = |direction: f64| {
        let mut inside = mean;
        let mut outside = mean + direction * 3.0 * std_error.max(1e-9);
        while !refused(outside) && (outside - mean).abs() < 1e6 * std_error.max(1e-9) {
            inside = outside;
            outside = mean + 2.0 * (outside - mean);
        }
        for _ in 0..40 {
            let middle = (inside + outside) / 2.0;
            if refused(middle) {
                outside = middle
            } else {
                inside = middle
            }
        }
        (inside + outside) / 2.0
    };
    [end(-1.0), end(1.0)]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Student's sleep data (as in Student 1908), all sign flips by direct enumeration: 4 of 1,024
    /// mean differences are as far from zero, p = 0.00390625. R 4.2.2 with coin 1.4-2,
    /// `oneway_test(extra ~ group | ID, data = sleep, distribution = "exact")`, gives the same.
    #[test]
    fn students_sleep_data() {
        let differences = [1.2, 2.4, 1.3, 1.3, 0.0, 1.0, 1.8, 0.8, 4.6, 1.4];
        let found = sign_flips(&differences);
        assert_eq!(
            (found.p_value, found.orders, found.exact),
            (0.003_906_25, 1024, true)
        );
    }

    #[test]
    fn many_pairs_are_drawn_and_agree_with_all_orders() {
        let differences: Vec<f64> = (0..18).map(|i| f64::from(i * 7 % 11) - 4.0).collect();
        let drawn = sign_flips(&differences);
        assert!(!drawn.exact && drawn.orders == DRAWS);
        // All 2^18 orders, one by one.
        let observed = differences.iter().sum::<f64>().abs();
        let as_far = (0u32..1 << 18)
            .filter(|order| {
                let sum: f64 = differences
                    .iter()
                    .enumerate()
                    .map(|(i, d)| if order >> i & 1 == 0 { *d } else { -d })
                    .sum();
                sum.abs() >= observed - 1e-9
            })
            .count();
        let exact = as_far as f64 / f64::from(1 << 18);
        assert!(
            (drawn.p_value - exact).abs() < 0.005,
            "{} {exact}",
            drawn.p_value
        );
        assert_eq!(sign_flips(&differences), drawn);
    }

    #[test]
    fn the_interval_holds_what_the_test_does_not_refuse() {
        let differences = [12.0, 30.0, -4.0, 22.0, 9.0, 17.0, 25.0];
        let mean = differences.iter().sum::<f64>() / 7.0;
        let [low, high] = sign_flip_interval(&differences, mean, 4.0);
        let p = |gain: f64| sign_flips(&differences.map(|d| d - gain)).p_value;
        assert!(p(low - 0.01) <= 0.05 && p(low + 0.01) > 0.05);
        assert!(p(high + 0.01) <= 0.05 && p(high - 0.01) > 0.05);
    }

    #[test]
    fn few_pairs_can_refuse_nothing() {
        assert_eq!(
            sign_flip_interval(&[1.0, 2.0, 3.0], 2.0, 0.6),
            [f64::NEG_INFINITY, f64::INFINITY]
        );
        assert_eq!(sign_flips(&[]).p_value, 1.0);
        assert_eq!(sign_flips(&[0.0, 0.0]).p_value, 1.0);
    }
}
