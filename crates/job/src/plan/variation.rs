//! How much strips treated alike differ within a block: as the grower says, as a past harvest of the
//! field shows, or as is usual.

use super::amounts::{Amounts, YieldAmount};
use super::{PlanSetup, strips};
use crate::compare::layout as layout_of;
use crate::error::JobError;
use checkstrip_cleaning::CleaningOutcome;
use checkstrip_model::{Problem, StripSet};
use checkstrip_spatial::overlay::overlay;
use checkstrip_spatial::strip_ground::StripField;
use checkstrip_spatial::strip_sums::strip_sums;
use checkstrip_trial::layout::{LayoutRequest, PlannedLayout, TrialGround, redraw};
use checkstrip_trial::power::{MeasuredVariation, PretendedTrial};
use rayon::prelude::*;

/// Pretended trials laid over a past harvest. Over this many, the root mean square of their
/// deviations moves by a few hundredths from seed to seed.
const DRAWS: u64 = 200;

/// Coefficient of variation of strip means within a block when nothing is known, percent. Common
/// practice, no source.
const USUAL_CV_PCT: f64 = 5.0;

/// Where a figure came from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum SdSource {
    Given,
    Measured,
    Assumed,
}

impl SdSource {
    pub(super) fn key(self) -> &'static str {
        match self {
            SdSource::Given => "given",
            SdSource::Measured => "measured",
            SdSource::Assumed => "assumed",
        }
    }
}

/// The standard deviation from strip to strip within blocks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Variation {
    pub(super) source: SdSource,
    pub(super) measured: Option<MeasuredVariation>,
    pub(super) expected_yield_kg_ha: Option<f64>,
    sd: YieldAmount,
}

impl Variation {
    /// The grower's figure before the field's, the field's before the usual one.
    pub(super) fn find(
        setup: &PlanSetup,
        harvest: Option<&CleaningOutcome>,
        ground: &TrialGround,
        request: &LayoutRequest,
        layout: &PlannedLayout,
        check: usize,
    ) -> Result<Variation, JobError> {
        let measured = match harvest {
            Some(harvest) => measure(harvest, ground, request, layout, check)?,
            None => None,
        };
        let (sd, source) = match (setup.sd, measured) {
            (Some(sd), _) => (sd, SdSource::Given),
            (None, Some(measured)) => (YieldAmount::KgHa(measured.sd_kg_ha), SdSource::Measured),
            (None, None) => (YieldAmount::Percent(USUAL_CV_PCT), SdSource::Assumed),
        };
        Ok(Variation {
            source,
            measured,
            expected_yield_kg_ha: setup
                .expected_yield_kg_ha
                .or(measured.map(|measured| measured.mean_kg_ha)),
            sd,
        })
    }

    /// An amount in standard deviations.
    ///
    /// # Errors
    /// When one is in percent, the other is not, and no yield is known; `option` is named.
    pub(super) fn in_sd(&self, amount: YieldAmount, option: &str) -> Result<f64, JobError> {
        use YieldAmount::{KgHa, Percent};
        let of_yield = |pct: f64| {
            let expected = self.expected_yield_kg_ha.ok_or_else(|| {
                Problem::new(
                    "",
                    format!("{option} and the spread from strip to strip are in different units"),
                )
                .hint(
                    "give both in percent, or say which yield to expect: --expected-yield \"55 bu/ac\"",
                )
            });
            expected.map(|expected| expected * pct / 100.0)
        };
        Ok(match (amount, self.sd) {
            (KgHa(amount), KgHa(sd)) | (Percent(amount), Percent(sd)) => amount / sd,
            (KgHa(amount), Percent(sd)) => amount / of_yield(sd)?,
            (Percent(amount), KgHa(sd)) => of_yield(amount)? / sd,
        })
    }

    /// Standard deviations in every unit that can be told.
    pub(super) fn amounts(&self, in_sd: f64, bushel_kg: f64) -> Amounts {
        let expected = self.expected_yield_kg_ha;
        let (kg_ha, pct) = match self.sd {
            YieldAmount::KgHa(sd) => (
                Some(sd * in_sd),
                expected.map(|expected| sd * in_sd / expected * 100.0),
            ),
            YieldAmount::Percent(sd) => (
                expected.map(|expected| sd * in_sd * expected / 100.0),
                Some(sd * in_sd),
            ),
        };
        Amounts::new(kg_ha, pct, bushel_kg)
    }
}

/// Lays the planned strips over a past harvest again and again, as a uniformity trial.
fn measure(
    harvest: &CleaningOutcome,
    ground: &TrialGround,
    request: &LayoutRequest,
    layout: &PlannedLayout,
    check: usize,
) -> Result<Option<MeasuredVariation>, JobError> {
    let trials: Vec<Option<PretendedTrial>> = (0..DRAWS)
        .into_par_iter()
        .map(|draw| {
            // Where the field is no rectangle, strips may not fit everywhere: no trial there.
            let Ok(moved) = redraw(ground, request, layout, draw) else {
                return Ok(None);
            };
            let set = StripSet {
                strips: strips(&moved, &request.treatments, &harvest.plane)?,
                ..StripSet::default()
            };
            let field = StripField::new(&set, &harvest.plane, 0.0)?;
            let sums = strip_sums(&harvest.log, &field, &overlay(&harvest.log, &field));
            let blocks: Vec<Option<String>> =
                set.strips.iter().map(|strip| strip.block.clone()).collect();
            // The order of the field's treatments is that of the strips.
            let Some(check) = field
                .treatments
                .iter()
                .position(|name| *name == request.treatments[check])
            else {
                return Ok(None);
            };
            Ok(PretendedTrial::of(&layout_of(
                &field, &sums, &blocks, check,
            )))
        })
        .collect::<Result<_, JobError>>()?;
    let trials: Vec<PretendedTrial> = trials.into_iter().flatten().collect();
    Ok(MeasuredVariation::of(&trials))
}
