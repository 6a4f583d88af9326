//! The invented ground: what it yields, how moist its grain is and how high it lies, and the strips
//! drawn on it.

use crate::harvest::Harvest;
use crate::plan::{FieldPlan, InventedError};
use crate::random::Random;
use crate::surface::Surface;

/// Yield never falls below this share of the mean: ground that grows nothing is not invented.
const LOWEST_YIELD_SHARE: f64 = 0.25;

/// Standard deviation of the moisture over the field, percent, and its range, m.
const MOISTURE: (f64, f64) = (0.7, 180.0);

/// Mean height, its standard deviation and its range, m.
const HEIGHT: (f64, f64, f64) = (300.0, 4.0, 900.0);

/// Distance between the points over which a strip's true mean is taken, m.
const TRUTH_STEP_M: f64 = 1.0;

/// One strip, a rectangle in the field's frame.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct StripPlan {
    /// Place of its treatment in the plan.
    pub(crate) treatment: usize,
    /// From 1.
    pub(crate) block: usize,
    /// Across the passes, m.
    pub(crate) x: [f64; 2],
    /// Along the passes, m.
    pub(crate) y: [f64; 2],
    /// What it yields more than its ground and treatment give, kg/ha.
    pub(crate) luck_kg_ha: f64,
}

/// A field with its ground and strips, ready to be harvested.
#[derive(Debug, Clone)]
pub struct InventedField {
    pub(crate) plan: FieldPlan,
    pub(crate) ground_yield: Surface,
    pub(crate) moisture: Surface,
    pub(crate) height: Surface,
    pub(crate) strips: Vec<StripPlan>,
}

impl InventedField {
    /// Invents the field of a plan.
    ///
    /// # Errors
    /// [`InventedError::Plan`] when the plan cannot be.
    pub fn new(plan: FieldPlan) -> Result<InventedField, InventedError> {
        plan.check()?;
        let size = plan.size_m();
        let stream = |purpose| Random::new(plan.seed, purpose);
        let ground_yield = Surface::new(
            size,
            plan.mean_yield_kg_ha,
            plan.mean_yield_kg_ha * plan.yield_variation,
            plan.yield_range_m,
            plan.mean_yield_kg_ha * LOWEST_YIELD_SHARE,
            &mut stream("yield"),
        );
        let moisture = Surface::new(
            size,
            plan.mean_moisture_pct,
            MOISTURE.0,
            MOISTURE.1,
            1.0,
            &mut stream("moisture"),
        );
        let height = Surface::new(
            size,
            HEIGHT.0,
            HEIGHT.1,
            HEIGHT.2,
            f64::MIN,
            &mut stream("height"),
        );
        let mut strips = lay_out(&plan, &mut stream("strips"));
        let mut luck = stream("luck");
        for strip in &mut strips {
            strip.luck_kg_ha = plan.strip_luck_kg_ha * luck.normal();
        }
        Ok(InventedField {
            plan,
            ground_yield,
            moisture,
            height,
            strips,
        })
    }

    /// The plan it was made from.
    pub fn plan(&self) -> &FieldPlan {
        &self.plan
    }

    /// Drives a combine over the field: the log, the strips and the truth.
    pub fn harvest(&self) -> Harvest {
        crate::harvest::harvest(self)
    }

    /// Mean true yield of a strip, kg/ha at market moisture: the ground's, its treatment's gain and its
    /// luck.
    pub(crate) fn strip_mean_kg_ha(&self, strip: &StripPlan) -> f64 {
        let yields =
            |place| self.ground_yield.at(place) + self.gain_by_height_kg_ha(strip.treatment, place);
        mean_over(strip.x, strip.y, yields)
            + self.plan.treatments[strip.treatment].gain_kg_ha
            + strip.luck_kg_ha
    }

    /// Mean true yield of a rectangle of ground without any treatment, kg/ha at market moisture, over a
    /// grid of points: `x` across the passes and `y` along them, m from the field's corner.
    pub fn ground_mean_kg_ha(&self, x: [f64; 2], y: [f64; 2]) -> f64 {
        mean_over(x, y, |place| self.ground_yield.at(place))
    }

    /// What a treatment's gain at a place differs from its gain at the field's mean height, kg/ha.
    pub(crate) fn gain_by_height_kg_ha(&self, treatment: usize, place: [f64; 2]) -> f64 {
        match self.plan.treatments[treatment].gain_per_m_kg_ha {
            0.0 => 0.0,
            per_m => per_m * (self.height.at(place) - HEIGHT.0),
        }
    }
}

/// Mean of `value` over a grid of points on a rectangle.
fn mean_over(x: [f64; 2], y: [f64; 2], value: impl Fn([f64; 2]) -> f64) -> f64 {
    let count = |span: [f64; 2]| ((span[1] - span[0]) / TRUTH_STEP_M).ceil() as usize;
    let (columns, rows) = (count(x), count(y));
    let point = |span: [f64; 2], at: usize, of: usize| {
        span[0] + (span[1] - span[0]) * (at as f64 + 0.5) / of as f64
    };
    let sum: f64 = (0..rows)
        .flat_map(|row| (0..columns).map(move |column| (column, row)))
        .map(|(column, row)| value([point(x, column, columns), point(y, row, rows)]))
        .sum();
    sum / (columns * rows) as f64
}

/// Strips side by side from a pass's edge near the middle, each block in random order.
fn lay_out(plan: &FieldPlan, random: &mut Random) -> Vec<StripPlan> {
    let count = plan.blocks * plan.treatments.len();
    let room = plan.passes as f64 * plan.swath_step_m()
        - plan.header_width_m
        - count as f64 * plan.strip_width_m;
    let first_pass = (room / 2.0 / plan.swath_step_m()).floor().max(0.0);
    let west = (plan.headland_m() + first_pass * plan.swath_step_m() + plan.strip_offset_m)
        .max(plan.headland_m());
    let y = [plan.headland_m(), plan.headland_m() + plan.pass_length_m];
    let mut strips = Vec::with_capacity(count);
    for block in 1..=plan.blocks {
        let mut order: Vec<usize> = (0..plan.treatments.len()).collect();
        random.shuffle(&mut order);
        for treatment in order {
            let edge = |number: usize| west + number as f64 * plan.strip_width_m;
            let x = [edge(strips.len()), edge(strips.len() + 1)];
            strips.push(StripPlan {
                treatment,
                block,
                x,
                y,
                luck_kg_ha: 0.0,
            });
        }
    }
    strips
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_block_holds_every_treatment_once_and_strips_touch() {
        let field = InventedField::new(FieldPlan::default()).unwrap();
        assert_eq!(field.strips.len(), 16);
        for pair in field.strips.windows(2) {
            assert_eq!(pair[0].x[1], pair[1].x[0]);
        }
        for block in 1..=8 {
            let mut treatments: Vec<usize> = field
                .strips
                .iter()
                .filter(|s| s.block == block)
                .map(|s| s.treatment)
                .collect();
            treatments.sort_unstable();
            assert_eq!(treatments, [0, 1]);
        }
    }

    #[test]
    fn impossible_plans_say_why() {
        let crowded = FieldPlan {
            blocks: 40,
            ..FieldPlan::default()
        };
        let error = InventedField::new(crowded).unwrap_err().to_string();
        assert!(
            error.contains("plan more passes or fewer blocks"),
            "{error}"
        );
        let wrong = FieldPlan {
            header_width_m: f64::NAN,
            ..FieldPlan::default()
        };
        assert!(InventedField::new(wrong).is_err());
    }
}
