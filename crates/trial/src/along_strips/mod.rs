//! Where along the strips a treatment gained: the difference of treatment and check in windows that
//! move along the strips, block by block, with what luck alone would give. The job calls
//! [`along_strips`] with grain and ground in short slices; formulas, defaults and limits are in
//! `docs/along-strips.md`.

mod curves;
mod stretches;
#[cfg(test)]
mod tests;

use crate::paired_strips::paired_strips;
use crate::permutation::PERMUTATION_SEED;
use crate::plot::{Layout, Plot};
use checkstrip_model::results::{AdvantageAlong, AlongTest, AlongWindow, Comparison};
use checkstrip_model::units::bu_per_acre;
use curves::{Curves, Largest};
use stretches::stretches;

/// Slices in one window; windows move on by one slice.
pub const SLICES_IN_WINDOW: usize = 3;
/// Longest window, m: half a minute of a combine at 2 m/s, thirty records of a log of one a second,
/// and several times what grain delay and smear leave uncertain. Our own choice.
const LONGEST_WINDOW_M: f64 = 60.0;
/// Shortest window, m: on less, what is left of the grain smear (a few seconds of driving, see
/// `docs/cleaning.md`) runs through the whole window. Our own choice.
const SHORTEST_WINDOW_M: f64 = 30.0;
/// Strips hold at least so many windows side by side, or there is no "along".
const LEAST_WINDOWS: f64 = 3.0;
/// A strip takes part in a window with at least this share of the ground that it usually has in one:
/// over half, or a treatment in one half would be held against a check in the other.
const LEAST_GROUND: f64 = 0.6;
/// Windows enter tests and intervals over all windows with at least so many blocks, and with at least
/// half of the treatment's.
const LEAST_BLOCKS: usize = 3;

/// Grain and ground of one slice of a strip.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Slice {
    /// Harvested ground, m².
    pub area_m2: f64,
    /// Grain at market moisture, kg.
    pub mass_kg: f64,
}

/// Length of a slice, m, for strips of this length; `None` for strips too short for windows, and for
/// `NaN`. A window of [`SLICES_IN_WINDOW`] slices is 60 m long, on strips under 180 m a third of them,
/// never under 30 m.
///
/// ```
/// use checkstrip_trial::slice_length_m;
/// assert_eq!(slice_length_m(700.0), Some(20.0));
/// assert_eq!(slice_length_m(120.0), Some(40.0 / 3.0));
/// assert_eq!(slice_length_m(80.0), None);
/// ```
pub fn slice_length_m(strip_length_m: f64) -> Option<f64> {
    let window = (strip_length_m / LEAST_WINDOWS).min(LONGEST_WINDOW_M);
    (window >= SHORTEST_WINDOW_M).then_some(window / SLICES_IN_WINDOW as f64)
}

/// Every treatment against the check in windows along the strips.
///
/// `slices` holds, for each plot of `layout`, its slices from the beginning on, as many for every
/// plot, each `slice_m` long; distances in the answer count from the first slice's beginning. Windows
/// without a block that holds treatment and check are left out, and so are treatments without a
/// window. Cost: blocks × windows × orders of the blocks, of which there are at most 131,072.
pub fn along_strips(
    layout: &Layout,
    slices: &[Vec<Slice>],
    slice_m: f64,
    bushel_kg: f64,
) -> Vec<AdvantageAlong> {
    let windows = windows_of(layout, slices);
    layout
        .treated()
        .filter_map(|treatment| of_treatment(&windows, treatment, slice_m, bushel_kg))
        .collect()
}

/// The layout as harvested within each window.
fn windows_of(layout: &Layout, slices: &[Vec<Slice>]) -> Vec<Layout> {
    let count = slices.iter().map(Vec::len).min().unwrap_or(0);
    let usual: Vec<f64> = slices.iter().map(|slices| usual_area(slices)).collect();
    (0..(count + 1).saturating_sub(SLICES_IN_WINDOW))
        .map(|first| {
            let plots = layout.plots.iter().zip(slices).zip(&usual);
            let within = plots.map(|((plot, slices), usual)| {
                let window = &slices[first..first + SLICES_IN_WINDOW];
                let area_m2: f64 = window.iter().map(|slice| slice.area_m2).sum();
                let enough = area_m2 >= LEAST_GROUND * usual * SLICES_IN_WINDOW as f64;
                Plot {
                    area_m2: if enough { area_m2 } else { 0.0 },
                    mass_kg: window.iter().map(|slice| slice.mass_kg).sum(),
                    ..plot.clone()
                }
            });
            Layout {
                plots: within.collect(),
                ..layout.clone()
            }
        })
        .collect()
}

/// Median ground of the slices that hold any; 0 without one.
fn usual_area(slices: &[Slice]) -> f64 {
    let areas = slices.iter().map(|slice| slice.area_m2);
    let mut areas: Vec<f64> = areas.filter(|area| *area > 0.0).collect();
    areas.sort_unstable_by(f64::total_cmp);
    areas.get(areas.len() / 2).copied().unwrap_or(0.0)
}

fn of_treatment(
    windows: &[Layout],
    treatment: usize,
    slice_m: f64,
    bushel_kg: f64,
) -> Option<AdvantageAlong> {
    let found: Vec<(usize, Comparison)> = windows
        .iter()
        .enumerate()
        .filter_map(|(first, layout)| Some((first, paired_strips(layout, treatment, bushel_kg)?)))
        .collect();
    let (_, any) = found.first()?;
    let mut blocks: Vec<&str> = Vec::new();
    for difference in found.iter().flat_map(|(_, c)| &c.block_differences) {
        if !blocks.contains(&difference.block.as_str()) {
            blocks.push(&difference.block);
        }
    }
    // Windows that are judged together, by place in `found`.
    let family: Vec<usize> = (0..found.len())
        .filter(|&place| found[place].1.blocks >= LEAST_BLOCKS.max(blocks.len().div_ceil(2)))
        .collect();
    let curves = Curves::new(family.len(), &blocks, |block, column| {
        let differences = &found[family[column]].1.block_differences;
        let of_block = differences.iter().find(|d| d.block == blocks[block]);
        of_block.map(|d| d.difference_kg_ha)
    });
    let place_m = |first: usize| {
        let from = first as f64 * slice_m;
        [from, from + SLICES_IN_WINDOW as f64 * slice_m]
    };
    let test = |curves: &Curves| {
        let largest = curves.largest()?;
        let (first, _) = found[family[largest.at]];
        Some(along_test(&largest, place_m(first)))
    };
    let anywhere = test(&curves);
    let change = if family.len() > 1 {
        test(&curves.less_block_means())
    } else {
        None
    };
    let reach = curves.reach_at_once();
    let along: Vec<AlongWindow> = found
        .iter()
        .enumerate()
        .map(|(place, (first, comparison))| {
            let t = reach.filter(|_| family.contains(&place));
            window(comparison, place_m(*first), t, bushel_kg)
        })
        .collect();
    Some(AdvantageAlong {
        treatment: any.treatment.clone(),
        check: any.check.clone(),
        blocks: blocks.len(),
        stretches: stretches(&along, slice_m),
        windows: along,
        change,
        anywhere,
    })
}

fn along_test(largest: &Largest, most_at_m: [f64; 2]) -> AlongTest {
    AlongTest {
        p_value: largest.p_value,
        smallest_p: largest.smallest_p,
        orders: largest.orders,
        seed: (!largest.exact).then_some(PERMUTATION_SEED),
        most_at_m,
        most_kg_ha: largest.mean,
    }
}

fn window(
    comparison: &Comparison,
    [from_m, to_m]: [f64; 2],
    reach: Option<f64>,
    bushel_kg: f64,
) -> AlongWindow {
    let finite = |ends: [f64; 2]| ends.iter().all(|end| end.is_finite()).then_some(ends);
    let family = reach.and_then(|reach| {
        let half = curves::t_of_scale(reach, comparison.df) * comparison.std_error_kg_ha;
        finite([
            comparison.advantage_kg_ha - half,
            comparison.advantage_kg_ha + half,
        ])
    });
    AlongWindow {
        from_m,
        to_m,
        blocks: comparison.blocks,
        advantage_kg_ha: comparison.advantage_kg_ha,
        advantage_bu_ac: comparison.advantage_bu_ac,
        std_error_kg_ha: Some(comparison.std_error_kg_ha).filter(|error| error.is_finite()),
        df: comparison.df,
        interval_95_kg_ha: finite(comparison.interval_95_kg_ha),
        interval_95_bu_ac: finite(comparison.interval_95_bu_ac),
        interval_95_family_kg_ha: family,
        interval_95_family_bu_ac: family.map(|ends| ends.map(|end| bu_per_acre(end, bushel_kg))),
        block_differences: comparison.block_differences.clone(),
    }
}
