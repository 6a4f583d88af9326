//! The grain delay, found from the log itself. Grain cut at one moment reaches the sensor seconds
//! later, so a log that has not been put right paints every pass's yield too far along its way. Two
//! neighbouring passes driven in opposite directions are wrong in opposite directions: the shift at
//! which they agree best is the delay.
//!
//! For every whole-record shift the squared difference between neighbours on opposite passes is
//! averaged; only records whose shifted reading stays inside their own pass for every shift take
//! part, so that all shifts are judged on the same pairs, and no shift is interpolated, because
//! interpolation smooths noise and makes false minima. The minimum is refined by the parabola
//! through it and its two neighbours. Its interval comes from resampling passes with replacement.
//!
//! The idea that a shift is right when the map is smoothest goes back to Chung, S. O., Sudduth,
//! K. A. and Drummond, S. T. (2002), *Determining yield monitoring system delay time with
//! geostatistical and data segmentation approaches*, Transactions of the ASAE 45(4), 915–926; the
//! bootstrap over passes is that of Efron, B. and Tibshirani, R. J. (1993), *An Introduction to the
//! Bootstrap*, Chapman & Hall, chapter 8 (blocks as units).

use crate::drive::Drive;
use crate::grain_smear::grain_smear;
use crate::passes::angle_between;
use crate::robust::median;
use checkstrip_model::{SaidText, SaidValues};
use checkstrip_spatial::point_grid::PointGrid;
use checkstrip_words::{english_text, said_values};
use rayon::prelude::*;

/// Where the applied delay comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DelaySource {
    /// Found from the log.
    Estimated,
    /// Given by the user.
    Given,
    /// The log is left as it is: it needs no shift, or none can be found.
    Kept,
}

impl DelaySource {
    /// The word in `results.json`.
    pub fn key(self) -> &'static str {
        match self {
            DelaySource::Estimated => "estimated",
            DelaySource::Given => "given",
            DelaySource::Kept => "kept",
        }
    }
}

/// The grain delay that was applied, and what it rests on.
#[derive(Debug, Clone, PartialEq)]
pub struct GrainDelay {
    /// Applied shift, s; positive when the sensor lags the header.
    pub delay_s: f64,
    /// 95 % interval of the estimate, s; equal to `delay_s` when it was given or not estimated.
    pub low_s: f64,
    /// Upper end of the interval, s.
    pub high_s: f64,
    /// Where the applied shift comes from.
    pub source: DelaySource,
    /// First-order smear of the grain stream, s, where the log shows it.
    pub smear_s: Option<f64>,
    /// What was found, in words.
    pub note: String,
    /// What the note names, so that it can be said in another language.
    pub values: SaidValues,
    /// Whether an estimate was wanted and could not be made.
    pub not_found: bool,
}

impl GrainDelay {
    /// A delay somebody stated.
    pub(crate) fn given(seconds: f64) -> GrainDelay {
        GrainDelay::found(
            [seconds; 3],
            DelaySource::Given,
            None,
            said_values!(variant = "given"),
        )
    }

    /// A delay with its interval; `values` are what its note names.
    fn found(
        [low_s, delay_s, high_s]: [f64; 3],
        source: DelaySource,
        smear_s: Option<f64>,
        values: SaidValues,
    ) -> GrainDelay {
        GrainDelay {
            delay_s,
            low_s,
            high_s,
            source,
            smear_s,
            note: english_text("grain-delay", "", &values),
            values,
            not_found: false,
        }
    }

    fn not_found(values: SaidValues) -> GrainDelay {
        GrainDelay {
            not_found: true,
            ..GrainDelay::found([0.0; 3], DelaySource::Kept, None, values)
        }
    }

    /// The note as a text within another.
    pub(crate) fn said(&self) -> SaidText {
        SaidText::of_variant("grain-delay", "", &self.values)
    }
}

/// Ranges of shifts that are tried, s: the second when passes are too short for the first.
const RANGES_S: [[f64; 2]; 2] = [[-12.0, 30.0], [-6.0, 20.0]];
/// Shifts are at least this far apart, s: faster logs gain nothing from finer ones.
const FINEST_SHIFT_S: f64 = 1.0;
/// Neighbours lie within this many header widths.
const NEIGHBOUR_WIDTHS: f64 = 1.6;
/// Neighbours drive in opposite directions to within this, degrees.
const OPPOSITE_DEG: f64 = 150.0;
/// Fewer pairs than this say nothing.
const FEWEST_PAIRS: usize = 150;
/// The best shift must leave less than this share of the typical shift's mismatch.
const CLEAR_MINIMUM: f64 = 0.9;
/// A remaining shift within this is left alone, s: monitors that correct do so in whole seconds, and
/// whole-strip figures do not feel it.
const NOT_WORTH_SHIFTING_S: f64 = 1.0;
/// A best shift further than this from none, whose interval holds none all the same, tells nothing, s.
const TOO_FAR_FROM_ZERO_S: f64 = 3.0;
/// Resamples for the interval.
const RESAMPLES: usize = 400;

/// Estimates the delay from opposite neighbouring passes. Never fails: where the log cannot tell,
/// it is kept as it is and the note says why.
pub(crate) fn estimate_delay(drive: &Drive, pass: &[u32], believed_flow: &[bool]) -> GrainDelay {
    let flow = bridged(&drive.flow_kg_s, believed_flow);
    let [usual, short] = RANGES_S;
    let found = match best_shift(drive, pass, &flow, usual) {
        Err(NotFound::FewPairs(_)) => best_shift(drive, pass, &flow, short),
        found => found,
    };
    match found {
        Ok(found) => conclude(drive, pass, &flow, found),
        Err(why) => GrainDelay::not_found(why.values()),
    }
}

/// What the mismatch says.
struct Found {
    shift_s: f64,
    low_s: f64,
    high_s: f64,
    pairs: usize,
    passes: usize,
    /// Mismatch at the best shift over that at no shift.
    left: f64,
}

/// Why no shift stands out.
#[derive(Debug)]
enum NotFound {
    /// So few pairs of records on opposite neighbouring passes.
    FewPairs(usize),
    /// The mismatch has no minimum in the range tried.
    NoMinimum,
    /// It has no clear minimum.
    NotClear,
}

impl NotFound {
    fn values(&self) -> SaidValues {
        match self {
            NotFound::FewPairs(pairs) => said_values!(variant = "few-pairs", pairs = *pairs),
            NotFound::NoMinimum => said_values!(variant = "no-minimum"),
            NotFound::NotClear => said_values!(variant = "not-clear"),
        }
    }
}

fn conclude(drive: &Drive, pass: &[u32], flow: &[f64], found: Found) -> GrainDelay {
    // Opposite passes agree best at the mean transit time. The shift that brings single records
    // nearest to their ground is the median one: for a first-order smear it lies ln 2 smear times
    // after the transport delay, the mean one smear time after it.
    let smear_s = grain_smear(drive, pass, flow, found.shift_s);
    let early = smear_s.map_or(0.0, |smear| smear * (1.0 - std::f64::consts::LN_2));
    let (delay, low, high) = (
        found.shift_s - early,
        found.low_s - early,
        found.high_s - early,
    );
    let evidence = |variant: &str| {
        said_values!(
            variant = variant,
            pairs = found.pairs,
            passes = found.passes,
            shift = found.shift_s,
            left = 100.0 * found.left,
            smeared = if smear_s.is_some() { "yes" } else { "no" },
            smear = smear_s.unwrap_or(0.0),
        )
    };
    let covers_zero = low <= 0.0 && 0.0 <= high;
    if covers_zero && delay.abs() > TOO_FAR_FROM_ZERO_S {
        let mut values = evidence("not-sure");
        values.extend(said_values!(low = low, high = high));
        return GrainDelay::not_found(values);
    }
    if covers_zero || delay.abs() <= NOT_WORTH_SHIFTING_S {
        return GrainDelay::found(
            [low, 0.0, high],
            DelaySource::Kept,
            smear_s,
            evidence("corrected"),
        );
    }
    GrainDelay::found(
        [low, delay, high],
        DelaySource::Estimated,
        smear_s,
        evidence("estimated"),
    )
}

fn best_shift(
    drive: &Drive,
    pass: &[u32],
    flow: &[f64],
    [low_s, high_s]: [f64; 2],
) -> Result<Found, NotFound> {
    let typical = drive.order.typical_interval_s;
    let stride = (FINEST_SHIFT_S / typical).round().max(1.0) as isize;
    let step_s = stride as f64 * typical;
    let (first, last) = (
        (low_s / step_s).floor() as isize,
        (high_s / step_s).ceil() as isize,
    );
    let shifts: Vec<isize> = (first..=last).map(|k| k * stride).collect();

    let inner = inner_records(pass, shifts[0], shifts[shifts.len() - 1]);
    let weight = weights(drive, pass, flow, &inner);
    let pairs = opposite_pairs(drive, pass, &inner, &weight);
    if pairs.len() < FEWEST_PAIRS {
        return Err(NotFound::FewPairs(pairs.len()));
    }
    // Blocks of pairs that share a pass, each with its squared differences shift by shift.
    let blocks: Vec<&[(u32, u32)]> = pairs
        .chunk_by(|a, b| pass[a.0 as usize] == pass[b.0 as usize])
        .collect();
    let sums: Vec<(f64, Vec<f64>)> = blocks
        .par_iter()
        .map(|block| {
            let mut squares = vec![0.0; shifts.len()];
            for &(a, b) in *block {
                let (wa, wb) = (weight[a as usize], weight[b as usize]);
                for (square, &shift) in squares.iter_mut().zip(&shifts) {
                    let there = |at: u32| flow[(at as isize + shift) as usize];
                    let difference = there(a) * wa - there(b) * wb;
                    *square += difference * difference;
                }
            }
            (block.len() as f64, squares)
        })
        .collect();

    let total = |picked: &mut dyn Iterator<Item = usize>| {
        let mut squares = vec![0.0; shifts.len()];
        for place in picked {
            for (sum, square) in squares.iter_mut().zip(&sums[place].1) {
                *sum += square;
            }
        }
        squares
    };
    let squares = total(&mut (0..sums.len()));
    let best = lowest(&squares);
    if best == 0 || best + 1 == squares.len() {
        return Err(NotFound::NoMinimum);
    }
    let usual = median(&mut squares.clone());
    if squares[best] > CLEAR_MINIMUM * usual {
        return Err(NotFound::NotClear);
    }
    let shift_s = vertex(&squares, best, &shifts, typical);

    // Resample blocks; the generator is fixed so that the figures repeat.
    let mut random = 0x9E37_79B9_7F4A_7C15u64;
    let mut draw = |below: usize| {
        random = random.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = random;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((z ^ (z >> 31)) % below as u64) as usize
    };
    let mut resampled: Vec<f64> = (0..RESAMPLES)
        .map(|_| {
            let squares = total(&mut (0..sums.len()).map(|_| draw(sums.len())));
            vertex(&squares, lowest(&squares), &shifts, typical)
        })
        .collect();
    resampled.sort_by(f64::total_cmp);
    let tail = RESAMPLES / 40;
    // Resampling sees how passes differ, not what the parabola through whole-record shifts and the
    // smear leave open: half a record on either side.
    let floor = 0.5 * step_s;
    let without = shifts
        .iter()
        .position(|&shift| shift == 0)
        .map_or(f64::NAN, |i| squares[i]);
    Ok(Found {
        shift_s,
        low_s: resampled[tail].min(shift_s - floor),
        high_s: resampled[RESAMPLES - 1 - tail].max(shift_s + floor),
        pairs: pairs.len(),
        passes: blocks.len(),
        left: squares[best] / without,
    })
}

fn lowest(squares: &[f64]) -> usize {
    squares
        .iter()
        .enumerate()
        .min_by(|a, b| a.1.total_cmp(b.1))
        .map_or(0, |(place, _)| place)
}

/// Where the parabola through the lowest value and its neighbours is lowest, s.
fn vertex(squares: &[f64], best: usize, shifts: &[isize], typical: f64) -> f64 {
    let at = shifts[best] as f64 * typical;
    if best == 0 || best + 1 == squares.len() {
        return at;
    }
    let (before, here, after) = (squares[best - 1], squares[best], squares[best + 1]);
    let curvature = before - 2.0 * here + after;
    let step = (shifts[best + 1] - shifts[best]) as f64 * typical;
    if curvature > 0.0 {
        at + 0.5 * step * (before - after) / curvature
    } else {
        at
    }
}

/// Flow with readings that are not believed bridged by a straight line, for the search only.
fn bridged(flow: &[f64], believed: &[bool]) -> Vec<f64> {
    let mut bridged = flow.to_vec();
    let mut last: Option<usize> = None;
    for at in 0..flow.len() {
        if !believed[at] {
            bridged[at] = last.map_or(0.0, |before| flow[before]);
            continue;
        }
        if let Some(before) = last
            && before + 1 < at
        {
            for between in before + 1..at {
                let share = (between - before) as f64 / (at - before) as f64;
                bridged[between] = flow[before] + share * (flow[at] - flow[before]);
            }
        }
        last = Some(at);
    }
    bridged
}

/// Places whose reading stays in their pass when moved by any shift from `first` to `last` records.
fn inner_records(pass: &[u32], first: isize, last: isize) -> Vec<u32> {
    let mut inner = Vec::new();
    let mut from = 0;
    while from < pass.len() {
        if pass[from] == 0 {
            from += 1;
            continue;
        }
        // Records without a position stand inside the pass they interrupt.
        let mut end = from;
        let mut at = from;
        while at < pass.len() && (pass[at] == pass[from] || pass[at] == 0) {
            if pass[at] == pass[from] {
                end = at;
            }
            at += 1;
        }
        let low = from as isize - first.min(0);
        let high = end as isize - last.max(0);
        inner.extend(
            (low..=high)
                .map(|at| at as u32)
                .filter(|&at| pass[at as usize] != 0),
        );
        from = end + 1;
    }
    inner
}

/// What turns a flow reading into a yield relative to its pass's median; 0 for records that stand
/// or crawl.
fn weights(drive: &Drive, pass: &[u32], flow: &[f64], inner: &[u32]) -> Vec<f64> {
    let mut weight = vec![0.0; pass.len()];
    let slow = 0.3 * drive.typical_distance_m;
    for group in inner.chunk_by(|&a, &b| pass[a as usize] == pass[b as usize]) {
        let area = |at: usize| drive.distance_m[at] * drive.width_m[at];
        let moving = |at: usize| drive.distance_m[at] > slow && drive.width_m[at] > 0.0;
        let mut levels: Vec<f64> = group
            .iter()
            .map(|&at| at as usize)
            .filter(|&at| moving(at))
            .map(|at| flow[at] / area(at))
            .collect();
        let level = median(&mut levels);
        if level.is_nan() || level <= 0.0 {
            continue;
        }
        for at in group.iter().map(|&at| at as usize).filter(|&at| moving(at)) {
            weight[at] = 1.0 / (area(at) * level);
        }
    }
    weight
}

/// Pairs of inner records side by side on different passes in opposite directions, grouped by the
/// pass of the first.
fn opposite_pairs(drive: &Drive, pass: &[u32], inner: &[u32], weight: &[f64]) -> Vec<(u32, u32)> {
    let place = |at: u32| [drive.east_m[at as usize], drive.north_m[at as usize]];
    let used: Vec<u32> = inner
        .iter()
        .copied()
        .filter(|&at| weight[at as usize] > 0.0)
        .collect();
    let reach = NEIGHBOUR_WIDTHS * drive.typical_width_m;
    let abreast = 0.75 * drive.typical_distance_m;
    let grid = PointGrid::new(used.iter().map(|&at| place(at)), reach);
    used.par_iter()
        .fold(Vec::new, |mut pairs, &a| {
            let one = a as usize;
            let [east, north] = place(a);
            let (sin, cos) = drive.heading_deg[one].to_radians().sin_cos();
            grid.within([east, north], reach, |found| {
                let b = used[found as usize];
                let other = b as usize;
                if b <= a || pass[one] == pass[other] {
                    return;
                }
                let [e, n] = place(b);
                let along = (e - east) * sin + (n - north) * cos;
                let opposite =
                    angle_between(drive.heading_deg[one], drive.heading_deg[other]) > OPPOSITE_DEG;
                if along.abs() <= abreast && opposite {
                    pairs.push((a, b));
                }
            });
            pairs
        })
        .reduce(Vec::new, |mut pairs, mut more| {
            pairs.append(&mut more);
            pairs
        })
}
