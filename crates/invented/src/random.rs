//! Random numbers that are the same on every machine and in every release, so that a seed names a
//! field for good.
//!
//! # Source
//! xoshiro256++, seeded through splitmix64: Blackman, D. and Vigna, S. (2021), *Scrambled linear
//! pseudorandom number generators*, ACM Transactions on Mathematical Software 47(4), article 36.
//! Normal numbers: Box, G. E. P. and Muller, M. E. (1958), *A note on the generation of random
//! normal deviates*, Annals of Mathematical Statistics 29(2), 610–611.

/// A stream of random numbers.
#[derive(Debug, Clone)]
pub(crate) struct Random {
    state: [u64; 4],
    spare: Option<f64>,
}

impl Random {
    /// The stream called `purpose` of a seed: streams of one seed are independent, so that one more
    /// number drawn for one purpose leaves the others as they were.
    pub(crate) fn new(seed: u64, purpose: &str) -> Random {
        let mut mixed = purpose.bytes().fold(seed, |at, byte| {
            split_mix(
                at.wrapping_add(u64::from(byte))
                    .wrapping_add(0x9e37_79b9_7f4a_7c15),
            )
        });
        let mut next = || {
            mixed = mixed.wrapping_add(0x9e37_79b9_7f4a_7c15);
            split_mix(mixed)
        };
        Random {
            state: [next(), next(), next(), next()],
            spare: None,
        }
    }

    fn next(&mut self) -> u64 {
        let s = &mut self.state;
        let drawn = s[0].wrapping_add(s[3]).rotate_left(23).wrapping_add(s[0]);
        let shifted = s[1] << 17;
        s[2] ^= s[0];
        s[3] ^= s[1];
        s[1] ^= s[2];
        s[0] ^= s[3];
        s[2] ^= shifted;
        s[3] = s[3].rotate_left(45);
        drawn
    }

    /// Evenly spread over 0 (included) to 1 (excluded).
    pub(crate) fn unit(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Evenly spread over `from` to `to`.
    pub(crate) fn between(&mut self, from: f64, to: f64) -> f64 {
        from + (to - from) * self.unit()
    }

    /// A whole number below `count`, which is at least 1.
    pub(crate) fn below(&mut self, count: usize) -> usize {
        ((self.unit() * count as f64) as usize).min(count - 1)
    }

    /// Normal with mean 0 and standard deviation 1.
    pub(crate) fn normal(&mut self) -> f64 {
        if let Some(spare) = self.spare.take() {
            return spare;
        }
        let radius = (-2.0 * (1.0 - self.unit()).ln()).sqrt();
        let (sin, cos) = (std::f64::consts::TAU * self.unit()).sin_cos();
        self.spare = Some(radius * sin);
        radius * cos
    }

    /// Puts a list in random order.
    pub(crate) fn shuffle<T>(&mut self, list: &mut [T]) {
        for at in (1..list.len()).rev() {
            list.swap(at, self.below(at + 1));
        }
    }
}

fn split_mix(mut z: u64) -> u64 {
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn moments_are_those_of_the_distributions() {
        let mut random = Random::new(1, "test");
        let n = 200_000;
        let (mut sum, mut squares, mut units) = (0.0, 0.0, 0.0);
        for _ in 0..n {
            let z = random.normal();
            sum += z;
            squares += z * z;
            units += random.unit();
        }
        let n = f64::from(n);
        // Five standard errors of each.
        assert!((sum / n).abs() < 5.0 / n.sqrt());
        assert!((squares / n - 1.0).abs() < 5.0 * (2.0 / n).sqrt());
        assert!((units / n - 0.5).abs() < 5.0 * (1.0 / 12.0 / n).sqrt());
    }

    #[test]
    fn streams_differ_and_repeat() {
        let draw = |seed, purpose| Random::new(seed, purpose).unit();
        assert_eq!(draw(1, "a"), draw(1, "a"));
        assert_ne!(draw(1, "a"), draw(2, "a"));
        assert_ne!(draw(1, "a"), draw(1, "b"));
    }
}
