//! Which treatment goes on which strip: in every block an order of its own, drawn by chance (Fisher,
//! R. A., 1935, *The Design of Experiments*, Oliver & Boyd, chapters III and IV). The draws are
//! independent. That all blocks get the same order can happen, and is told: a permutation test of
//! such a layout repeats one randomisation and is a computation only.

use crate::random::Random;

/// For each block the treatments, by place, in the order of its strips from the left.
pub(super) fn treatment_orders(treatments: usize, blocks: usize, seed: u64) -> Vec<Vec<usize>> {
    let mut random = Random::new(seed);
    (0..blocks).map(|_| random.order(treatments)).collect()
}

/// Whether all of two or more blocks have one order.
pub(super) fn is_one_order(orders: &[Vec<usize>]) -> bool {
    orders.len() > 1 && orders.windows(2).all(|pair| pair[0] == pair[1])
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Pearson's chi-square (1900) over 6,000 seeds: every order of three treatments is as likely,
    /// in the first block and, given that, in the second. 0.1 % points of chi-square: 20.5 on 5 and
    /// 66.6 on 35 degrees of freedom (NIST/SEMATECH e-Handbook, section 1.3.6.7.4).
    #[test]
    fn every_order_is_as_likely_and_blocks_do_not_depend() {
        const SEEDS: u64 = 6_000;
        let orders = [
            [0, 1, 2],
            [0, 2, 1],
            [1, 0, 2],
            [1, 2, 0],
            [2, 0, 1],
            [2, 1, 0],
        ];
        let place = |order: &[usize]| orders.iter().position(|o| o == order).unwrap();
        let (mut first, mut pairs) = ([0.0; 6], [0.0; 36]);
        for seed in 0..SEEDS {
            let drawn = treatment_orders(3, 2, seed);
            first[place(&drawn[0])] += 1.0;
            pairs[place(&drawn[0]) * 6 + place(&drawn[1])] += 1.0;
        }
        let chi_square = |counts: &[f64]| -> f64 {
            let expected = SEEDS as f64 / counts.len() as f64;
            counts
                .iter()
                .map(|c| (c - expected).powi(2) / expected)
                .sum()
        };
        assert!(chi_square(&first) < 20.5, "{first:?}");
        assert!(chi_square(&pairs) < 66.6, "{pairs:?}");
    }

    /// Six blocks of two have one order with probability 2 ÷ 2⁶ = 1/32; three standard errors of
    /// 6,400 draws are 0.0065.
    #[test]
    fn one_order_in_all_blocks_is_as_rare_as_it_should_be() {
        let same = (0..6_400)
            .filter(|&seed| is_one_order(&treatment_orders(2, 6, seed)))
            .count();
        assert!(
            (same as f64 / 6_400.0 - 1.0 / 32.0).abs() < 0.0065,
            "{same}"
        );
    }

    #[test]
    fn one_block_has_nothing_to_repeat() {
        assert!(!is_one_order(&treatment_orders(2, 1, 1)));
    }
}
