//! Where machines cut beside each other: stretches of ground on which a pass of one machine lies beside a
//! pass of another, with what either read there. `machine_bias` is fitted to them.

use crate::drive::Drive;
use checkstrip_spatial::point_grid::PointGrid;
use rayon::prelude::*;
use std::collections::BTreeMap;

/// Records of two machines are neighbours within this many usual header widths: the swath beside, and not
/// the one behind it.
pub(crate) const NEIGHBOUR_HEADER_WIDTHS: f64 = 1.5;
/// Passes are cut into stretches by squares of ground with this side, m: over so much ground yields lose most
/// of their likeness, so that stretches are news (common practice, no source).
pub(crate) const STRETCH_M: f64 = 60.0;
/// A stretch with fewer pairs of records than this is a corner that says nothing.
const FEWEST_RECORD_PAIRS: usize = 10;

/// Ground on which passes of two machines lie beside each other.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Stretch {
    /// The machines, the lower number first.
    pub machines: [u32; 2],
    /// Their passes.
    pub passes: [u32; 2],
    /// Logarithm of the first's mean yield over the second's.
    pub log_ratio: f64,
    /// Pairs of records it rests on.
    pub record_pairs: usize,
}

/// Sums over the pairs of records of a stretch: yields of either machine, and how many.
type Sums = ([f64; 2], usize);
/// Passes and square of ground.
type Place = ([u32; 2], [i32; 2]);

/// The stretches of `drive`. `yields` are positive where `counts` is true; pairs of records with different
/// entries in `ground_class`, or with none, are left out.
///
/// Every pair of neighbours adds both yields, so that either mean is over the same ground, and no logarithm
/// of a single noisy record is taken. The cost grows with the pairs; the order of sums is that of the records.
pub(crate) fn stretches(
    drive: &Drive,
    pass: &[u32],
    counts: &[bool],
    yields: &[f64],
    ground_class: Option<&[Option<u16>]>,
) -> Vec<Stretch> {
    const CHUNK: usize = 4096;
    let used: Vec<u32> = (0..drive.len() as u32)
        .filter(|&at| {
            let at = at as usize;
            counts[at] && yields[at] > 0.0 && ground_class.is_none_or(|of| of[at].is_some())
        })
        .collect();
    let place = |&at: &u32| [drive.east_m[at as usize], drive.north_m[at as usize]];
    let within_m = NEIGHBOUR_HEADER_WIDTHS * drive.typical_width_m;
    let grid = PointGrid::new(used.iter().map(place), within_m / 2.0);
    let machine = &drive.order.machine;
    let square = |a: [f64; 2], b: [f64; 2]| {
        [0, 1].map(|axis| ((a[axis] + b[axis]) / 2.0 / STRETCH_M).floor() as i32)
    };
    let chunks: Vec<BTreeMap<Place, Sums>> = used
        .par_chunks(CHUNK)
        .map(|chunk| {
            let mut sums: BTreeMap<Place, Sums> = BTreeMap::new();
            for one in chunk {
                let here = place(one);
                let at = *one as usize;
                grid.within(here, within_m, |found| {
                    let other = used[found as usize] as usize;
                    // Every pair once, from the machine with the lower number.
                    if machine[other] <= machine[at]
                        || ground_class.is_some_and(|of| of[at] != of[other])
                    {
                        return;
                    }
                    let key = (
                        [pass[at], pass[other]],
                        square(here, place(&(other as u32))),
                    );
                    let (sum, count) = sums.entry(key).or_default();
                    sum[0] += yields[at];
                    sum[1] += yields[other];
                    *count += 1;
                });
            }
            sums
        })
        .collect();
    let mut all: BTreeMap<Place, Sums> = BTreeMap::new();
    for chunk in chunks {
        for (key, (sum, count)) in chunk {
            let whole = all.entry(key).or_default();
            whole.0[0] += sum[0];
            whole.0[1] += sum[1];
            whole.1 += count;
        }
    }
    let mut machine_of_pass: BTreeMap<u32, u32> = BTreeMap::new();
    for &at in &used {
        machine_of_pass.insert(pass[at as usize], machine[at as usize]);
    }
    all.into_iter()
        .filter(|(_, (_, count))| *count >= FEWEST_RECORD_PAIRS)
        .map(|((passes, _), (sum, record_pairs))| Stretch {
            machines: passes.map(|pass| machine_of_pass[&pass]),
            passes,
            log_ratio: (sum[0] / sum[1]).ln(),
            record_pairs,
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::order::Order;

    /// Two passes 9 m apart, one record every 2 m; the second machine reads 1.1 times as much.
    fn two_passes() -> (Drive, Vec<u32>, Vec<f64>) {
        let along = 100;
        let n = 2 * along;
        let drive = Drive {
            order: Order {
                record: (0..n as u32).collect(),
                machine: (0..n).map(|at| u32::from(at >= along)).collect(),
                machines: vec!["A".into(), "B".into()],
                ..Order::default()
            },
            east_m: (0..n)
                .map(|at| if at < along { 0.0 } else { 9.0 })
                .collect(),
            north_m: (0..n).map(|at| 2.0 * (at % along) as f64).collect(),
            typical_width_m: 9.0,
            ..Drive::default()
        };
        let pass = (0..n).map(|at| 1 + u32::from(at >= along)).collect();
        let yields = (0..n)
            .map(|at| if at < along { 4000.0 } else { 4400.0 })
            .collect();
        (drive, pass, yields)
    }

    #[test]
    fn the_ratio_of_two_passes_is_found_in_every_stretch() {
        let (drive, pass, yields) = two_passes();
        let found = stretches(&drive, &pass, &[true; 200], &yields, None);
        assert_eq!(found.len(), 4);
        for stretch in &found {
            assert_eq!((stretch.machines, stretch.passes), ([0, 1], [1, 2]));
            assert!((stretch.log_ratio - (1.0f64 / 1.1).ln()).abs() < 1e-12);
        }
    }

    #[test]
    fn pairs_across_classes_of_ground_are_left_out() {
        let (drive, pass, yields) = two_passes();
        let classes: Vec<Option<u16>> = (0..200)
            .map(|at| match (at < 100, at % 100) {
                (true, _) => Some(1),
                (false, 0..40) => Some(1),
                (false, 40..60) => None,
                (false, _) => Some(2),
            })
            .collect();
        let all: usize = stretches(&drive, &pass, &[true; 200], &yields, None)
            .iter()
            .map(|stretch| stretch.record_pairs)
            .sum();
        let alike: usize = stretches(&drive, &pass, &[true; 200], &yields, Some(&classes))
            .iter()
            .map(|stretch| stretch.record_pairs)
            .sum();
        assert!(alike > all / 4 && alike < all / 2, "{alike} of {all}");
    }

    #[test]
    fn dropped_records_and_unknown_yields_do_not_count() {
        let (drive, pass, mut yields) = two_passes();
        let mut counts = vec![true; 200];
        for at in 0..100 {
            counts[at] = at % 2 == 0;
            if !counts[at] {
                yields[at] = 99_999.0;
            }
        }
        yields[150] = f64::NAN;
        let found = stretches(&drive, &pass, &counts, &yields, None);
        for stretch in &found {
            assert!((stretch.log_ratio - (1.0f64 / 1.1).ln()).abs() < 1e-12);
        }
        assert!(stretches(&drive, &pass, &[false; 200], &yields, None).is_empty());
    }
}
