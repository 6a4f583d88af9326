//! Strips on the ground. Passes of the implement lie side by side from the first strip's left edge
//! on; each strip takes whole passes, each block as many strips as there are treatments, and blocks
//! follow one another. Where a block's strips would be too short, it starts one pass further, so that
//! the passes stay in step.

use super::error::LayoutError;
use super::full_width::full_width;
use super::swath_fit::{SwathFit, passes_for_sure};
use super::treatment_order::{is_one_order, treatment_orders};
use super::trial_ground::TrialGround;
use geo::{Coord, LineString, MultiPolygon, Polygon};

/// What to lay.
#[derive(Debug, Clone, PartialEq)]
pub struct LayoutRequest {
    /// Working width of the treatment's implement, m.
    pub implement_width_m: f64,
    /// Cutting width of the header, m.
    pub header_width_m: f64,
    /// Implement passes in a strip; `None`: the fewest in which a whole header swath surely lies.
    pub strip_passes: Option<u32>,
    /// The treatments, the check among them.
    pub treatments: Vec<String>,
    /// Blocks wanted.
    pub blocks: u32,
    /// From the ground's left side, or from the first line, to the first strip, m; `None`: on the
    /// first line, or, without one, as near to the left side as the first strips are long there.
    pub offset_m: Option<f64>,
    /// Names the random orders of the treatments.
    pub seed: u64,
}

/// One strip as laid.
#[derive(Debug, Clone, PartialEq)]
pub struct PlannedStrip {
    /// Its number from 1, in the order of the strips from the left.
    pub number: usize,
    /// Its block, from 1.
    pub block: usize,
    /// Place of its treatment in [`LayoutRequest::treatments`].
    pub treatment: usize,
    /// Left side across, m, in the layout's frame.
    pub left_m: f64,
    /// Stretches along it, from and to, m, in the layout's frame; each has the strip's full width.
    pub runs: Vec<[f64; 2]>,
}

impl PlannedStrip {
    /// Length of all its stretches, m.
    pub fn length_m(&self) -> f64 {
        self.runs.iter().map(|run| run[1] - run[0]).sum()
    }
}

/// Strips as laid.
#[derive(Debug, Clone, PartialEq)]
pub struct PlannedLayout {
    /// The strips from left to right.
    pub strips: Vec<PlannedStrip>,
    /// Blocks laid, at most as many as wanted.
    pub blocks: usize,
    /// Implement passes in each strip.
    pub passes: u32,
    /// Width of the implement, m.
    pub implement_width_m: f64,
    /// How header swaths fit into the strips.
    pub swaths: SwathFit,
    /// Whether all blocks happen to have their treatments in one order.
    pub one_order: bool,
    /// Ground inside the headland on which no strip lies, m².
    pub left_over_m2: f64,
    frame: super::frame::Frame,
}

/// Shorter stretches are not laid, m. At 2 m/s a grain delay of 12 s alone is 24 m of ground whose
/// yield cannot be placed. Common practice, no source.
const LEAST_RUN_M: f64 = 30.0;
/// Strips shorter than this are laid only where no others fit, m: pass ends take a large part of
/// them. 300 ft, common practice, no source.
pub const SHORT_M: f64 = 91.44;
/// More blocks than any field takes.
const MOST_BLOCKS: u32 = 200;
/// More passes than any strip takes.
const MOST_PASSES: u32 = 100;
/// Sides are compared within this, m.
const EQUAL_M: f64 = 1e-6;

/// Lays strips on `ground`; as many blocks as were asked for, or as many as fit.
///
/// # Errors
/// When a number makes no sense, a treatment is missing or repeated, or not one block fits.
///
/// ```
/// use checkstrip_trial::layout::{Direction, LayoutRequest, TrialGround, lay_out};
/// use geo::{MultiPolygon, polygon};
/// let field = MultiPolygon::new(vec![polygon![
///     (x: 0., y: 0.), (x: 400., y: 0.), (x: 400., y: 800.), (x: 0., y: 800.)
/// ]]);
/// let ground = TrialGround::new(&field, 18.0, &Direction::LongestSide)?;
/// let layout = lay_out(&ground, &LayoutRequest {
///     implement_width_m: 12.192,
///     header_width_m: 9.144,
///     strip_passes: None,
///     treatments: vec!["rolled".into(), "check".into()],
///     blocks: 6,
///     offset_m: None,
///     seed: 1,
/// })?;
/// assert_eq!((layout.strips.len(), layout.passes), (12, 2));
/// assert!((layout.strips[0].length_m() - 764.0).abs() < 1e-6);
/// # Ok::<(), checkstrip_trial::layout::LayoutError>(())
/// ```
pub fn lay_out(
    ground: &TrialGround,
    request: &LayoutRequest,
) -> Result<PlannedLayout, LayoutError> {
    check(request)?;
    let implement = request.implement_width_m;
    let passes = request
        .strip_passes
        .unwrap_or_else(|| passes_for_sure(implement, request.header_width_m));
    let width = implement * f64::from(passes);
    let treatments = request.treatments.len();
    let orders = treatment_orders(treatments, request.blocks as usize, request.seed);

    // Short strips are laid only when there is no room for as many blocks without them.
    let mut strips = blocks_of(ground, request, width, &orders, SHORT_M);
    if strips.len() < orders.len() * treatments {
        let more = blocks_of(ground, request, width, &orders, LEAST_RUN_M);
        if more.len() > strips.len() {
            strips = more;
        }
    }
    let blocks = strips.len() / treatments;
    if blocks == 0 {
        return Err(LayoutError::NoBlockFits {
            strips: treatments,
            width_m: width,
            least_m: LEAST_RUN_M,
            room_m: ground.room_m(),
        });
    }
    let sides: Vec<f64> = strips.iter().map(|strip| strip.left_m).collect();
    let strips_m2: f64 = strips.iter().map(|strip| strip.length_m() * width).sum();
    Ok(PlannedLayout {
        swaths: SwathFit::new(implement, passes, request.header_width_m, &sides),
        one_order: is_one_order(&orders[..blocks]),
        left_over_m2: (ground.ground_m2() - strips_m2).max(0.0),
        strips,
        blocks,
        passes,
        implement_width_m: implement,
        frame: ground.frame,
    })
}

/// The strips of as many blocks as there are orders, or as fit, none of them shorter than `least_m`.
fn blocks_of(
    ground: &TrialGround,
    request: &LayoutRequest,
    width: f64,
    orders: &[Vec<usize>],
    least_m: f64,
) -> Vec<PlannedStrip> {
    let treatments = request.treatments.len();
    let mut strips: Vec<PlannedStrip> = Vec::new();
    let mut blocks = 0;
    let mut left = first_edge(ground, request, width);
    while blocks < orders.len() && left + width * treatments as f64 <= ground.across[1] + EQUAL_M {
        let of_block: Vec<PlannedStrip> = (0..treatments)
            .map(|place| {
                let left_m = left + width * place as f64;
                PlannedStrip {
                    number: blocks * treatments + place + 1,
                    block: blocks + 1,
                    treatment: orders[blocks][place],
                    left_m,
                    runs: laid_runs(ground, left_m, width),
                }
            })
            .collect();
        if of_block.iter().any(|strip| strip.length_m() < least_m) {
            left += request.implement_width_m;
            continue;
        }
        strips.extend(of_block);
        blocks += 1;
        left += width * treatments as f64;
    }
    strips
}

/// The first strip's left side across: at the offset, or whole passes further where that is not yet
/// on the ground.
fn first_edge(ground: &TrialGround, request: &LayoutRequest, width: f64) -> f64 {
    let implement = request.implement_width_m;
    let wanted = match (request.offset_m, ground.has_first_line) {
        (Some(offset_m), _) => ground.start + offset_m,
        (None, true) => ground.start,
        (None, false) => return long_start(ground, implement, width),
    };
    let short = ground.across[0] - wanted;
    if short <= EQUAL_M {
        return wanted;
    }
    wanted + ((short - EQUAL_M) / implement).ceil() * implement
}

/// Steps in which the first strip is moved in from the side of the field, m.
const START_STEP_M: f64 = 0.25;
/// A first strip this near to the longest is long enough: a wavering side, or one that runs a little
/// askew, must not halve it.
const LONG_ENOUGH: f64 = 0.98;

/// The start nearest to the left side, within one pass of it, at which the first strip is about as
/// long as it can be there.
fn long_start(ground: &TrialGround, implement: f64, width: f64) -> f64 {
    let steps = (implement / START_STEP_M).ceil() as u32;
    let starts: Vec<(f64, f64)> = (0..=steps)
        .map(|step| ground.across[0] + implement * f64::from(step) / f64::from(steps))
        .map(|start| {
            let runs = laid_runs(ground, start, width);
            (start, runs.iter().map(|run| run[1] - run[0]).sum())
        })
        .collect();
    let longest = starts.iter().map(|start| start.1).fold(0.0, f64::max);
    starts
        .iter()
        .find(|start| start.1 >= longest * LONG_ENOUGH)
        .map_or(ground.across[0], |start| start.0)
}

/// The stretches of a strip that are long enough to be laid.
fn laid_runs(ground: &TrialGround, left: f64, width: f64) -> Vec<[f64; 2]> {
    let mut runs = full_width(&ground.turned, left, left + width);
    runs.retain(|run| run[1] - run[0] >= LEAST_RUN_M);
    runs
}

fn check(request: &LayoutRequest) -> Result<(), LayoutError> {
    for (what, value_m) in [
        ("implement width", request.implement_width_m),
        ("header width", request.header_width_m),
    ] {
        if !(0.1..=200.0).contains(&value_m) {
            return Err(LayoutError::Length {
                what,
                value_m,
                expected: "a width from 0.1 to 200 m",
            });
        }
    }
    if let Some(value_m) = request.offset_m.filter(|offset| !offset.is_finite()) {
        return Err(LayoutError::Length {
            what: "offset of the first strip",
            value_m,
            expected: "a length",
        });
    }
    if request.treatments.len() < 2 {
        return Err(LayoutError::FewTreatments {
            found: request.treatments.len(),
        });
    }
    for (place, name) in request.treatments.iter().enumerate() {
        if request.treatments[..place].contains(name) {
            return Err(LayoutError::RepeatedTreatment { name: name.clone() });
        }
    }
    if !(1..=MOST_BLOCKS).contains(&request.blocks) {
        return Err(LayoutError::Count {
            what: "the number of blocks",
            value: request.blocks,
            expected: "1 to 200",
        });
    }
    match request.strip_passes {
        Some(passes) if !(1..=MOST_PASSES).contains(&passes) => Err(LayoutError::Count {
            what: "the number of passes in a strip",
            value: passes,
            expected: "1 to 100",
        }),
        _ => Ok(()),
    }
}

impl PlannedLayout {
    /// Width of every strip, m.
    pub fn strip_width_m(&self) -> f64 {
        self.swaths.strip_width_m
    }

    /// A strip's ground in the local plane, m: one rectangle a stretch.
    pub fn outline(&self, strip: &PlannedStrip) -> MultiPolygon<f64> {
        let (left, right) = (strip.left_m, strip.left_m + self.strip_width_m());
        let rectangle = |run: &[f64; 2]| {
            let corners = [
                [left, run[0]],
                [right, run[0]],
                [right, run[1]],
                [left, run[1]],
            ];
            let ring = corners.map(|corner| {
                let [x, y] = self.frame.back(corner);
                Coord { x, y }
            });
            Polygon::new(LineString::from(ring.to_vec()), vec![])
        };
        MultiPolygon::new(strip.runs.iter().map(rectangle).collect())
    }

    /// The line along a strip, `from_left_m` from its left side: its two ends in the local plane, m,
    /// in the direction of the strips.
    pub fn line_along(&self, strip: &PlannedStrip, from_left_m: f64) -> [[f64; 2]; 2] {
        let across = strip.left_m + from_left_m;
        let first = strip.runs.first().map_or(0.0, |run| run[0]);
        let last = strip.runs.last().map_or(0.0, |run| run[1]);
        [[across, first], [across, last]].map(|end| self.frame.back(end))
    }

    /// The same line, one piece for every stretch of the strip.
    pub fn lines_along(&self, strip: &PlannedStrip, from_left_m: f64) -> Vec<[[f64; 2]; 2]> {
        let across = strip.left_m + from_left_m;
        strip
            .runs
            .iter()
            .map(|run| run.map(|along| self.frame.back([across, along])))
            .collect()
    }

    /// The treatments, by place, block by block from the left.
    pub fn orders(&self) -> Vec<Vec<usize>> {
        (1..=self.blocks)
            .map(|block| {
                let of_block = self.strips.iter().filter(|strip| strip.block == block);
                of_block.map(|strip| strip.treatment).collect()
            })
            .collect()
    }
}

#[cfg(test)]
mod tests;
