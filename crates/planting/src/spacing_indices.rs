//! How evenly single seeds lie: multiples, misses, quality of feed and precision from the distances
//! between neighbouring seeds of a row. For logs that hold every seed, and for stands measured by hand.
//!
//! # Source
//! ISO 7256-1:1984, *Sowing equipment – Test methods – Part 1: Single seed drills (precision drills)*,
//! and Kachman, S. D. and Smith, J. A. (1995), *Alternative measures of accuracy in plant spacing for
//! planters using single seed metering*, Transactions of the ASAE 38(2), 379–387. The limits of 0.5 and
//! 1.5 and the division of long spacings at 2.5 and 3.5 are also stated in Iowa State University's
//! article *Plant uniformity measurements*; the ISO count of seeding positions, and that precision is over
//! the nominal spacing, are from memory.

use serde::{Deserialize, Serialize};

/// What the spacings of a row say.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct SpacingIndices {
    /// Spacings that were counted.
    pub spacings: usize,
    /// The nominal spacing they were judged by, m.
    pub nominal_m: f64,
    /// Spacings by length in nominal spacings: to 0.5, to 1.5, to 2.5, to 3.5, beyond.
    pub classes: [usize; 5],
    /// Multiples index (Kachman and Smith): share of spacings of at most half the nominal, percent.
    pub multiples_pct: f64,
    /// Miss index (Kachman and Smith): share of spacings above one and a half nominal, percent.
    pub misses_pct: f64,
    /// Quality of feed index: the rest, percent.
    pub quality_of_feed_pct: f64,
    /// Precision: standard deviation of the single spacings over the nominal spacing, percent. Absent
    /// for fewer than two of them.
    pub precision_pct: Option<f64>,
    /// Positions at which a seed was due, as ISO 7256-1 counts them: a long spacing holds one, two or
    /// three empty ones.
    pub positions: usize,
    /// ISO 7256-1: multiples by position, percent.
    pub iso_multiples_pct: f64,
    /// ISO 7256-1: empty positions, percent.
    pub iso_misses_pct: f64,
    /// Mean of all spacings, m.
    pub mean_m: f64,
    /// Coefficient of variation of all spacings, percent. Absent for fewer than two.
    pub variation_pct: Option<f64>,
}

/// The indices of `spacings_m`, each the distance from one seed to the next, against the nominal spacing.
/// Spacings that are no number or negative do not count. `None` without a spacing that counts or
/// without a nominal spacing above 0.
///
/// A spacing of exactly 0.5 nominal is a multiple; one of exactly 1.5 is single.
///
/// ```
/// use checkstrip_planting::spacing_indices;
/// // Ten spacings at a nominal 20 cm: one double, one skip, eight singles.
/// let spacings = [0.20, 0.21, 0.02, 0.19, 0.20, 0.41, 0.20, 0.18, 0.22, 0.20];
/// let indices = spacing_indices(spacings, 0.20).unwrap();
/// assert_eq!(indices.classes, [1, 8, 1, 0, 0]);
/// assert_eq!((indices.multiples_pct, indices.misses_pct), (10.0, 10.0));
/// assert_eq!(indices.quality_of_feed_pct, 80.0);
/// ```
pub fn spacing_indices(
    spacings_m: impl IntoIterator<Item = f64>,
    nominal_m: f64,
) -> Option<SpacingIndices> {
    let mut tally = SpacingTally::default();
    for spacing in spacings_m {
        tally.add(spacing, nominal_m);
    }
    tally.indices(nominal_m)
}

/// Spacings counted so far, in nominal spacings, so that counts of passes can be put together and the
/// nominal spacing may differ from seed to seed.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct SpacingTally {
    classes: [usize; 5],
    all: Moments,
    single: Moments,
}

impl SpacingTally {
    /// Counts a spacing against its nominal spacing, both m.
    pub(crate) fn add(&mut self, spacing_m: f64, nominal_m: f64) {
        let ratio = spacing_m / nominal_m;
        if !(nominal_m > 0.0 && ratio >= 0.0 && ratio.is_finite()) {
            return;
        }
        let class = [0.5, 1.5, 2.5, 3.5]
            .iter()
            .position(|&limit| ratio <= limit)
            .unwrap_or(4);
        self.classes[class] += 1;
        self.all.add(ratio);
        if class == 1 {
            self.single.add(ratio);
        }
    }

    /// Adds what another pass counted.
    pub(crate) fn merge(&mut self, other: &SpacingTally) {
        for (count, more) in self.classes.iter_mut().zip(other.classes) {
            *count += more;
        }
        self.all.merge(&other.all);
        self.single.merge(&other.single);
    }

    /// The indices, lengths in a nominal spacing of `nominal_m`.
    pub(crate) fn indices(&self, nominal_m: f64) -> Option<SpacingIndices> {
        if self.all.count == 0 {
            return None;
        }
        let (classes, spacings) = (self.classes, self.all.count);
        let share = |count: usize, of: usize| 100.0 * count as f64 / of.max(1) as f64;
        let misses = classes[2] + classes[3] + classes[4];
        let empty = classes[2] + 2 * classes[3] + 3 * classes[4];
        // A multiple's extra seed fills no position of its own.
        let positions = classes[1] + misses + empty;
        Some(SpacingIndices {
            spacings,
            nominal_m,
            classes,
            multiples_pct: share(classes[0], spacings),
            misses_pct: share(misses, spacings),
            quality_of_feed_pct: share(classes[1], spacings),
            precision_pct: self.single.deviation().map(|sd| 100.0 * sd),
            positions,
            iso_multiples_pct: share(classes[0], positions),
            iso_misses_pct: share(empty, positions),
            mean_m: self.all.mean * nominal_m,
            variation_pct: self
                .all
                .deviation()
                .filter(|_| self.all.mean > 0.0)
                .map(|sd| 100.0 * sd / self.all.mean),
        })
    }
}

/// Running mean and squares: Welford, B. P. (1962), *Note on a method for calculating corrected sums of
/// squares and products*, Technometrics 4(3), 419–420.
#[derive(Debug, Clone, Copy, Default)]
struct Moments {
    count: usize,
    mean: f64,
    squares: f64,
}

impl Moments {
    fn add(&mut self, value: f64) {
        self.count += 1;
        let off = value - self.mean;
        self.mean += off / self.count as f64;
        self.squares += off * (value - self.mean);
    }

    /// Chan, T. F., Golub, G. H. and LeVeque, R. J. (1983), *Algorithms for computing the sample
    /// variance*, The American Statistician 37(3), 242–247.
    fn merge(&mut self, other: &Moments) {
        if other.count == 0 {
            return;
        }
        let (a, b) = (self.count as f64, other.count as f64);
        let off = other.mean - self.mean;
        self.mean += off * b / (a + b);
        self.squares += other.squares + off * off * a * b / (a + b);
        self.count += other.count;
    }

    fn deviation(&self) -> Option<f64> {
        (self.count > 1).then(|| (self.squares / (self.count - 1) as f64).sqrt())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Worked by hand from the definitions: 100 spacings at 0.10 m, of which 5 multiples, 4 single and 1
    /// double skip, 90 singles.
    #[test]
    fn worked_by_hand() {
        let mut spacings = vec![0.02; 5];
        spacings.extend([0.20; 4]);
        spacings.push(0.30);
        spacings.extend((0..90).map(|i| if i % 2 == 0 { 0.09 } else { 0.11 }));
        let found = spacing_indices(spacings, 0.10).unwrap();
        assert_eq!(found.classes, [5, 90, 4, 1, 0]);
        assert_eq!(found.multiples_pct, 5.0);
        assert_eq!(found.misses_pct, 5.0);
        assert_eq!(found.quality_of_feed_pct, 90.0);
        // Standard deviation of 45 × 0.09 and 45 × 0.11: 0.01 × √(90/89).
        let precision = 10.0 * (90.0f64 / 89.0).sqrt();
        assert!((found.precision_pct.unwrap() - precision).abs() < 1e-9);
        // 90 singles, 4 × (seed + empty), 1 × (seed + two empty).
        assert_eq!(found.positions, 90 + 8 + 3);
        assert!((found.iso_misses_pct - 600.0 / 101.0).abs() < 1e-12);
        assert!((found.iso_multiples_pct - 500.0 / 101.0).abs() < 1e-12);
    }

    /// Kachman and Smith's bound: singles spread evenly over 0.5 to 1.5 nominal have a precision of
    /// 1/√12, 29 %, which they name as the practical upper limit (from memory).
    #[test]
    fn evenly_spread_singles_reach_the_practical_limit_of_precision() {
        let spacings = (1..=10_000).map(|i| 0.5 + (f64::from(i) - 0.5) / 10_000.0);
        let found = spacing_indices(spacings, 1.0).unwrap();
        assert!((found.precision_pct.unwrap() - 28.87).abs() < 0.01);
    }

    /// Law: the three shares of Kachman and Smith are all there is.
    #[test]
    fn shares_add_up() {
        let spacings = (0..997).map(|i| f64::from((i * 7919) % 1009) / 250.0);
        let found = spacing_indices(spacings, 1.0).unwrap();
        let sum = found.multiples_pct + found.misses_pct + found.quality_of_feed_pct;
        assert!((sum - 100.0).abs() < 1e-9);
        assert_eq!(found.classes.iter().sum::<usize>(), 997);
    }

    /// Law: counting in parts is counting at once.
    #[test]
    fn parts_add_up() {
        let spacings: Vec<f64> = (0..500).map(|i| f64::from((i * 37) % 101) / 30.0).collect();
        let whole = spacing_indices(spacings.iter().copied(), 1.2).unwrap();
        let mut tally = SpacingTally::default();
        for part in spacings.chunks(77) {
            let mut of_part = SpacingTally::default();
            part.iter().for_each(|&spacing| of_part.add(spacing, 1.2));
            tally.merge(&of_part);
        }
        let parts = tally.indices(1.2).unwrap();
        assert_eq!(parts.classes, whole.classes);
        let near = |a: f64, b: f64| (a - b).abs() < 1e-9;
        assert!(near(parts.mean_m, whole.mean_m));
        assert!(near(
            parts.precision_pct.unwrap(),
            whole.precision_pct.unwrap()
        ));
    }

    #[test]
    fn corners() {
        assert_eq!(spacing_indices([], 0.1), None);
        assert_eq!(spacing_indices([0.1], 0.0), None);
        assert_eq!(spacing_indices([f64::NAN, -1.0], 0.1), None);
        let one = spacing_indices([0.1, f64::NAN], 0.1).unwrap();
        assert_eq!((one.spacings, one.precision_pct), (1, None));
        // The limits themselves.
        let limits = spacing_indices([0.5, 1.5, 2.5, 3.5], 1.0).unwrap();
        assert_eq!(limits.classes, [1, 1, 1, 1, 0]);
    }
}
