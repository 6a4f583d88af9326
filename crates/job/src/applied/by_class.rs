//! Grounds by class: what was done laid over what was asked. Pieces narrower than the receiver's noise, or smaller than
//! a turn of the wheel or two, are told from neither and counted by themselves, so that the classes add up.

use super::asked::Plan;
use super::judged::{Done, Limits};
use super::record::{Area, GroundByClass};
use crate::machine_log::{CLOSED_M, LabelledBand, SMALLEST_M2};
use checkstrip_model::AppliedClass;
use checkstrip_spatial::convex::ClipScratch;
use checkstrip_spatial::moved_edge::edge_moved;
use checkstrip_spatial::strip_ground::PreparedGround;
use checkstrip_spatial::worked_ground::{Band, worked_ground};
use geo::{Area as _, BooleanOps, MultiPolygon, Polygon, unary_union};
use rayon::prelude::*;

/// Smaller pieces that are not as asked are taken for noise: a tenth of the smallest strip, some 4 m of a 12 m machine.
/// Common practice, no source.
pub(super) const SMALLEST_PIECE_M2: f64 = SMALLEST_M2 / 10.0;

/// A piece of ground of one class.
#[derive(Debug, Clone)]
pub(super) struct Piece {
    /// Place of what was asked there; `None`: nothing was planned.
    pub(super) asked: Option<usize>,
    pub(super) class: AppliedClass,
    /// Place of the product put on, where it is not the one planned.
    pub(super) product: Option<usize>,
    pub(super) ground: Polygon<f64>,
    /// Mean of the rates put on.
    pub(super) mean_rate: Option<f64>,
}

/// What became of one thing that was asked for.
#[derive(Debug, Clone)]
pub(super) struct AskedResult {
    pub(super) ground: GroundByClass,
    pub(super) as_asked: MultiPolygon<f64>,
    pub(super) mean_rate: Option<f64>,
}

/// Everything by class.
#[derive(Debug, Default)]
pub(super) struct ByClass {
    pub(super) asked: Vec<AskedResult>,
    pub(super) pieces: Vec<Piece>,
    pub(super) not_planned_m2: f64,
    pub(super) not_planned_noise_m2: f64,
}

/// The ground of all that was done of which a question is true.
type Joined<'a> = dyn Fn(&dyn Fn(&Done) -> bool) -> MultiPolygon<f64> + Sync + 'a;

/// What grounds are told apart by.
pub(super) struct Ground<'a> {
    pub(super) plan: &'a Plan,
    /// What was done, by the labels of the bands.
    pub(super) done: &'a [Done],
    pub(super) bands: &'a [LabelledBand],
    pub(super) limits: &'a Limits,
    pub(super) tolerance: f64,
}

impl Ground<'_> {
    /// How `done` compares with what was asked at place `at`; `None` where the log asked for something else there.
    fn class(&self, done: &Done, at: usize) -> Option<AppliedClass> {
        let asked = &self.plan.asked[at];
        if asked.strips.is_empty() && done.asked != Some(at) {
            return None;
        }
        let known = |is: bool| {
            if is {
                AppliedClass::AsAsked
            } else {
                AppliedClass::OtherProduct
            }
        };
        Some(if done.is_idle {
            AppliedClass::NotWorked
        } else if asked.nothing {
            AppliedClass::NotPlanned
        } else {
            let product = match (asked.product, done.product) {
                (None, _) => AppliedClass::AsAsked,
                (Some(_), None) => AppliedClass::NotLogged,
                (Some(wanted), Some(found)) => known(wanted == found),
            };
            match (product, asked.rate, done.above) {
                (AppliedClass::AsAsked, Some(_), None) => AppliedClass::NotLogged,
                (AppliedClass::AsAsked, Some(rate), Some(above)) => {
                    match self.limits.side(above, rate, self.tolerance) {
                        -1 => AppliedClass::Less,
                        1 => AppliedClass::More,
                        _ => AppliedClass::AsAsked,
                    }
                }
                (product, ..) => product,
            }
        })
    }

    /// Everything by class.
    pub(super) fn by_class(&self) -> ByClass {
        let of_done: Vec<MultiPolygon<f64>> = (0..self.done.len())
            .into_par_iter()
            .map(|label| {
                let bands = self.bands.iter().filter(|labelled| labelled.label == label);
                let bands: Vec<Band> = bands.map(|labelled| labelled.band).collect();
                worked_ground(&bands, CLOSED_M)
            })
            .collect();
        let joined = |wanted: &dyn Fn(&Done) -> bool| -> MultiPolygon<f64> {
            let chosen = self
                .done
                .iter()
                .zip(&of_done)
                .filter(|(done, _)| wanted(done));
            let grounds: Vec<&MultiPolygon<f64>> = chosen.map(|(_, ground)| ground).collect();
            unary_union(grounds)
        };
        let worked = closed(&joined(&|done| !done.is_idle));
        let asked: Vec<(AskedResult, Vec<Piece>)> = (0..self.plan.asked.len())
            .into_par_iter()
            .map(|at| self.one(at, &joined, &worked))
            .collect();
        let (asked, pieces): (Vec<AskedResult>, Vec<Vec<Piece>>) = asked.into_iter().unzip();
        let mut found = ByClass {
            asked,
            pieces: pieces.into_iter().flatten().collect(),
            ..ByClass::default()
        };
        let strips = self.plan.asked.iter().flat_map(|asked| &asked.strips);
        let planned = unary_union(strips.map(|strip| &strip.ground));
        let outside = match planned.0.is_empty() {
            true => joined(&|done| !done.is_idle && done.asked.is_none()),
            false => worked.difference(&planned),
        };
        let mut kept_m2 = 0.0;
        let products = self.products(|done| !done.is_idle);
        for &product in &products {
            let ground = match products.len() {
                1 => outside.clone(),
                _ => {
                    outside.intersection(&joined(&|done| !done.is_idle && done.product == product))
                }
            };
            for ground in told(&ground) {
                kept_m2 += ground.unsigned_area();
                found.pieces.push(Piece {
                    asked: None,
                    class: AppliedClass::NotPlanned,
                    product,
                    ground,
                    mean_rate: None,
                });
            }
        }
        found.not_planned_m2 = kept_m2;
        found.not_planned_noise_m2 = (outside.unsigned_area() - kept_m2).max(0.0);
        self.rate_pieces(&mut found.pieces);
        found
    }

    /// The products of what was done, each once.
    fn products(&self, wanted: impl Fn(&Done) -> bool) -> Vec<Option<usize>> {
        let done = self.done.iter().filter(|done| wanted(done));
        let mut products: Vec<Option<usize>> = done.map(|done| done.product).collect();
        products.sort_unstable();
        products.dedup();
        products
    }

    /// What became of what was asked at place `at`.
    fn one(
        &self,
        at: usize,
        joined: &Joined,
        worked: &MultiPolygon<f64>,
    ) -> (AskedResult, Vec<Piece>) {
        let asked = &self.plan.asked[at];
        let is_of_log = asked.strips.is_empty();
        let is = |class: AppliedClass| move |done: &Done| self.class(done, at) == Some(class);
        // A log says where it was asked by where it drove.
        let (planned, worked_here, idle) = if is_of_log {
            let worked_here = joined(&|done| !done.is_idle && done.asked == Some(at));
            let idle = joined(&is(AppliedClass::NotWorked)).difference(worked);
            (worked_here.union(&idle), worked_here, idle)
        } else {
            let planned = unary_union(asked.strips.iter().map(|strip| &strip.ground));
            let worked_here = worked.intersection(&planned);
            let idle = planned.difference(&worked_here);
            (planned, worked_here, idle)
        };
        let mut ground = GroundByClass {
            planned: Area::of_m2(planned.unsigned_area()),
            worked: Area::of_m2(worked_here.unsigned_area()),
            ..GroundByClass::default()
        };
        let mut pieces = Vec::new();
        let mut taken = MultiPolygon::new(vec![]);
        let mut counted_m2 = 0.0;
        let mut keep = |class: AppliedClass, product: Option<usize>, kept: Vec<Polygon<f64>>| {
            let area_m2: f64 = kept.iter().map(|piece| piece.unsigned_area()).sum();
            counted_m2 += area_m2;
            let of_class = ground.of_class(class);
            of_class.add(Area::of_m2(area_m2));
            pieces.extend(kept.into_iter().map(|ground| Piece {
                asked: Some(at),
                class,
                product,
                ground,
                mean_rate: None,
            }));
        };
        for class in [
            AppliedClass::NotPlanned,
            AppliedClass::OtherProduct,
            AppliedClass::NotLogged,
            AppliedClass::Less,
            AppliedClass::More,
        ] {
            let by_product = match class {
                AppliedClass::NotPlanned | AppliedClass::OtherProduct => self.products(is(class)),
                _ => vec![asked.product],
            };
            for product in by_product {
                let any = !matches!(class, AppliedClass::NotPlanned | AppliedClass::OtherProduct);
                let whole = joined(&|done| is(class)(done) && (any || done.product == product));
                if whole.0.is_empty() {
                    continue;
                }
                let found = whole.intersection(&planned).difference(&taken);
                let kept = told(&found);
                taken = taken.union(&MultiPolygon::new(kept.clone()));
                keep(class, product, kept);
            }
        }
        let as_asked = match asked.nothing {
            true => idle.clone(),
            false => closed(&joined(&is(AppliedClass::AsAsked)))
                .intersection(&planned)
                .difference(&taken),
        };
        keep(AppliedClass::AsAsked, asked.product, as_asked.0.clone());
        if !asked.nothing {
            keep(AppliedClass::NotWorked, None, told(&idle));
        }
        ground.noise = Area::of_m2((planned.unsigned_area() - counted_m2).max(0.0));
        let result = AskedResult {
            mean_rate: self.mean_rate(&self.planned(at), |done| {
                !done.is_idle && self.class(done, at).is_some()
            }),
            ground,
            as_asked,
        };
        (result, pieces)
    }

    /// Mean rate of the bands of which `counts` is true, over their ground inside `grounds`; all of it where there are
    /// none.
    fn mean_rate(&self, grounds: &[PreparedGround], counts: impl Fn(&Done) -> bool) -> Option<f64> {
        self.plan.kind?;
        let mut scratch = ClipScratch::default();
        let (mut amount, mut area) = (0.0, 0.0);
        for labelled in self.bands {
            let band = &labelled.band;
            let has_ground = band.length_m() > 0.0 && band.width_m > 0.0;
            if !has_ground || labelled.value.is_nan() || !counts(&self.done[labelled.label]) {
                continue;
            }
            let corners = band.corners();
            let shared_m2: f64 = match grounds {
                [] => band.length_m() * band.width_m,
                grounds => grounds
                    .iter()
                    .map(|ground| ground.area_under(&corners, &mut scratch))
                    .sum(),
            };
            amount += labelled.value * shared_m2;
            area += shared_m2;
        }
        (area > 0.0).then(|| amount / area)
    }

    /// Where something was asked, when a file says so.
    fn planned(&self, at: usize) -> Vec<PreparedGround> {
        let strips = self.plan.asked[at].strips.iter();
        strips
            .map(|strip| PreparedGround::new(strip.ground.clone()))
            .collect()
    }

    /// Gives every piece the mean of the rates put on there; pieces as asked, which are large and alike, that of all of
    /// them together.
    fn rate_pieces(&self, pieces: &mut [Piece]) {
        let as_asked: Vec<Option<f64>> = (0..self.plan.asked.len())
            .into_par_iter()
            .map(|at| {
                let counts = |done: &Done| self.class(done, at) == Some(AppliedClass::AsAsked);
                self.mean_rate(&self.planned(at), counts)
            })
            .collect();
        pieces.par_iter_mut().for_each(|piece| {
            let (asked, class) = (piece.asked, piece.class);
            piece.mean_rate = match (class, asked) {
                (AppliedClass::NotWorked, _) => None,
                (AppliedClass::AsAsked, Some(at)) => as_asked[at],
                _ => {
                    let ground = MultiPolygon::new(vec![piece.ground.clone()]);
                    self.mean_rate(&[PreparedGround::new(ground)], |done| match asked {
                        Some(at) => self.class(done, at) == Some(class),
                        None => !done.is_idle,
                    })
                }
            };
        });
    }
}

/// Slits that the receiver's noise left, closed.
fn closed(ground: &MultiPolygon<f64>) -> MultiPolygon<f64> {
    edge_moved(&edge_moved(ground, CLOSED_M), -CLOSED_M)
}

/// What of `ground` is wide and large enough to be told from noise.
fn told(ground: &MultiPolygon<f64>) -> Vec<Polygon<f64>> {
    let wide = edge_moved(&edge_moved(ground, -CLOSED_M), CLOSED_M);
    let wide = wide.into_iter();
    wide.filter(|piece| piece.unsigned_area() >= SMALLEST_PIECE_M2)
        .collect()
}
