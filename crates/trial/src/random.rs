//! Chance that repeats: the same seed gives the same numbers on every machine and in every release.
//!
//! # Source
//! SplitMix64: Steele, G. L., Lea, D. and Flood, C. H. (2014), *Fast splittable pseudorandom number
//! generators*, OOPSLA '14, ACM SIGPLAN Notices 49(10), 453–472. Whole numbers without bias by
//! rejection; orders by Durstenfeld, R. (1964), *Algorithm 235: Random permutation*, Communications
//! of the ACM 7(7), 420.

/// A stream of random numbers.
#[derive(Debug, Clone)]
pub(crate) struct Random {
    state: u64,
}

impl Random {
    /// The stream of a seed.
    pub(crate) fn new(seed: u64) -> Random {
        Random { state: seed }
    }

    /// 64 random bits.
    pub(crate) fn next(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.state;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    /// Evenly spread over 0 (included) to 1 (excluded).
    pub(crate) fn unit(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// A whole number below `count`, each as likely; 0 when `count` is 0.
    fn below(&mut self, count: u64) -> u64 {
        if count < 2 {
            return 0;
        }
        // The topmost numbers, which would favour small remainders, are drawn again.
        let fair = u64::MAX - u64::MAX % count;
        loop {
            let drawn = self.next();
            if drawn < fair {
                return drawn % count;
            }
        }
    }

    /// The numbers below `count` in an order drawn by chance, each order as likely.
    pub(crate) fn order(&mut self, count: usize) -> Vec<usize> {
        let mut order: Vec<usize> = (0..count).collect();
        self.shuffle(&mut order);
        order
    }

    /// Puts `items` into an order drawn by chance, each order as likely.
    pub(crate) fn shuffle<T>(&mut self, items: &mut [T]) {
        for last in (1..items.len()).rev() {
            items.swap(last, self.below(last as u64 + 1) as usize);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The first outputs for seed 1234567, as published with the generator's reference code
    /// (Vigna, S., 2015, `splitmix64.c`, public domain) and used across its implementations.
    #[test]
    fn numbers_are_those_of_the_reference() {
        let mut random = Random::new(1_234_567);
        let expected = [
            6_457_827_717_110_365_317,
            3_203_168_211_198_807_973,
            9_817_491_932_198_370_423,
            4_593_380_528_125_082_431,
            16_408_922_859_458_223_821u64,
        ];
        assert_eq!([(); 5].map(|()| random.next()), expected);
    }
}
