//! Every change of the signs of block differences that the random order of the strips could have
//! given: all of them, or a stated number drawn with a fixed seed when there are too many. The
//! permutation test and the tests along the strips walk these.

use crate::permutation::{DRAWS, MOST_ORDERS, PERMUTATION_SEED};
use crate::random::Random;

/// The orders of so many pairs.
#[derive(Debug, Clone, Copy)]
pub(crate) struct SignOrders {
    pairs: usize,
    /// Orders tried.
    pub(crate) tried: u64,
    /// Whether these are all there are.
    pub(crate) exact: bool,
}

/// Smallest p value, two-sided, that so many pairs can give: only all signs as they are and all
/// turned are as far out.
pub(crate) fn smallest_p(pairs: usize) -> f64 {
    2f64.powi(1 - pairs.min(1_000) as i32).min(1.0)
}

impl SignOrders {
    pub(crate) fn of(pairs: usize) -> SignOrders {
        let exact = pairs < 64 && 1u64 << pairs <= MOST_ORDERS;
        SignOrders {
            pairs,
            tried: if exact { 1 << pairs } else { DRAWS },
            exact,
        }
    }

    /// Orders that [`each`](Self::each) shows. The order that was drawn in the field is one of those
    /// that could have been: it is shown beside drawn ones.
    pub(crate) fn visited(&self) -> u64 {
        self.tried + u64::from(!self.exact)
    }

    /// Shows the signs, 1 or −1, of every order, first those of the field: all 1.
    pub(crate) fn each(&self, mut visit: impl FnMut(&[f64])) {
        let mut signs = vec![1.0; self.pairs];
        visit(&signs);
        if self.exact {
            // Gray code: one sign changes at a time.
            for order in 1..self.tried {
                let flipped = order.trailing_zeros() as usize;
                signs[flipped] = -signs[flipped];
                visit(&signs);
            }
            return;
        }
        let mut random = Random::new(PERMUTATION_SEED);
        for _ in 0..self.tried {
            let mut bits = 0;
            for (place, sign) in signs.iter_mut().enumerate() {
                if place % 64 == 0 {
                    bits = random.next();
                }
                *sign = if bits & 1 == 0 { 1.0 } else { -1.0 };
                bits >>= 1;
            }
            visit(&signs);
        }
    }
}

/// Every order that [`SignOrders::each`] shows, kept as bits, so that they can be walked side by side.
#[derive(Debug)]
pub(crate) struct SignTable {
    pairs: usize,
    /// Bits of each order, set where a sign is minus; so many words an order.
    bits: Vec<u64>,
    words: usize,
}

impl SignTable {
    pub(crate) fn of(orders: SignOrders) -> SignTable {
        let words = orders.pairs.div_ceil(64).max(1);
        let mut bits = Vec::with_capacity(words * orders.visited() as usize);
        orders.each(|signs| {
            let from = bits.len();
            bits.resize(from + words, 0);
            for (place, sign) in signs.iter().enumerate() {
                bits[from + place / 64] |= u64::from(*sign < 0.0) << (place % 64);
            }
        });
        SignTable {
            pairs: orders.pairs,
            bits,
            words,
        }
    }

    /// How many orders there are.
    pub(crate) fn len(&self) -> usize {
        self.bits.len() / self.words
    }

    /// The signs of one of them, 1 or −1.
    pub(crate) fn signs(&self, order: usize) -> impl Iterator<Item = f64> + '_ {
        let bits = &self.bits[order * self.words..(order + 1) * self.words];
        (0..self.pairs).map(|place| match bits[place / 64] >> (place % 64) & 1 {
            0 => 1.0,
            _ => -1.0,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_order_is_shown_once_and_that_of_the_field_first() {
        let mut seen = Vec::new();
        SignOrders::of(4).each(|signs| seen.push(signs.to_vec()));
        assert_eq!(seen.len(), 16);
        assert_eq!(seen[0], [1.0; 4]);
        for (place, signs) in seen.iter().enumerate() {
            assert!(!seen[..place].contains(signs));
        }
    }

    #[test]
    fn a_table_holds_the_orders_that_are_shown() {
        for pairs in [0, 1, 5, 70] {
            let orders = SignOrders::of(pairs);
            let table = SignTable::of(orders);
            let mut order = 0;
            orders.each(|signs| {
                assert!(table.signs(order).eq(signs.iter().copied()));
                order += 1;
            });
            assert_eq!((order, order as u64), (table.len(), orders.visited()));
        }
    }

    #[test]
    fn many_pairs_are_drawn_beside_the_field_s_own_order() {
        let orders = SignOrders::of(70);
        let (mut shown, mut minus) = (0u64, 0u64);
        orders.each(|signs| {
            shown += 1;
            minus += signs.iter().filter(|sign| **sign < 0.0).count() as u64;
        });
        assert_eq!((shown, orders.exact), (orders.visited(), false));
        assert!((minus as f64 / (70 * DRAWS) as f64 - 0.5).abs() < 1e-3);
    }
}
