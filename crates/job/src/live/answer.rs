//! The comparison of strips that are still being drawn. What is not enough for a comparison yet is no
//! error there: the strips' yields are shown, and a warning says what is missing.

use super::strips::{overlaps, problems_of};
use super::{DrawingVersion, DrawnStrip, LiveChoice, LiveField, OutlineProblem};
use crate::compare::{Asked, CleanedField, Compared, compare_as_asked};
use crate::error::JobError;
use crate::setup::TrialSetup;
use checkstrip_model::{StripSet, Warning};
use checkstrip_spatial::strip_ground::StripField;

/// What a change of strips or settings gives.
#[derive(Debug)]
pub enum LiveAnswer {
    /// The strips cannot be used.
    Problems(Vec<OutlineProblem>),
    /// The comparison, and the number of the cleaning it rests on.
    Compared {
        /// What `compare` would find.
        compared: Box<Compared>,
        /// See [`LiveField::cleaned`].
        cleaning: usize,
    },
}

impl LiveField {
    /// What keeps `strips` from being compared or saved: names that are missing or there twice, outlines
    /// that enclose no certain ground.
    pub fn outline_problems(&self, strips: &[DrawnStrip]) -> Vec<OutlineProblem> {
        problems_of(strips)
    }

    /// What is wrong with `strips`, which are `version` redrawn: outlines, names, ground that two claim.
    ///
    /// # Errors
    /// When they cannot be brought into the plane.
    pub fn check(
        &self,
        version: &DrawingVersion,
        strips: &[DrawnStrip],
    ) -> Result<Vec<OutlineProblem>, JobError> {
        let problems = problems_of(strips);
        if !problems.is_empty() {
            return Ok(problems);
        }
        let file = version.with(strips, self.plane(), "")?;
        let field = StripField::new(file.set(), self.plane(), 0.0)?;
        Ok(overlaps(file.set(), &field.overlapping))
    }

    /// Compares `strips`, which are `version` redrawn: to the last digit what `compare` finds once they
    /// are saved.
    ///
    /// # Errors
    /// When a setting makes no sense, or the format of the file cannot hold the strips.
    pub fn answer(
        &self,
        version: &DrawingVersion,
        strips: &[DrawnStrip],
        choice: &LiveChoice,
    ) -> Result<LiveAnswer, JobError> {
        let problems = problems_of(strips);
        if !problems.is_empty() {
            return Ok(LiveAnswer::Problems(problems));
        }
        let file = version.with(strips, self.plane(), "")?;
        let (cleaning, cleaned) = self.cleaned_under(&choice.recipe, Some(file.set()))?;
        let compared = self.compare_lenient(&cleaned, file.set(), choice)?;
        Ok(LiveAnswer::Compared {
            compared: Box::new(compared),
            cleaning,
        })
    }

    /// The comparison of a file of strips as it is, ready to be written.
    ///
    /// # Errors
    /// As [`compare_cleaned`](crate::compare_cleaned), and when a setting makes no sense.
    pub fn compare(
        &self,
        set: &StripSet,
        choice: &LiveChoice,
    ) -> Result<(std::sync::Arc<CleanedField>, Compared), JobError> {
        let (_, cleaned) = self.cleaned_under(&choice.recipe, Some(set))?;
        let setup = self.chosen(choice);
        let compared = compare_as_asked(
            &cleaned,
            set,
            &self.beside,
            &setup,
            Asked::Comparison,
            &|_| {},
        )?;
        Ok((cleaned, compared))
    }

    /// Leaves out what the strips are not enough for yet: zones, money, at last the comparison itself.
    fn compare_lenient(
        &self,
        cleaned: &CleanedField,
        set: &StripSet,
        choice: &LiveChoice,
    ) -> Result<Compared, JobError> {
        let whole = self.chosen(choice);
        let compare = |setup: &TrialSetup, asked| {
            compare_as_asked(cleaned, set, &self.beside, setup, asked, &|_| {})
        };
        let mut setup = whole.clone();
        let failed = match compare(&setup, Asked::Comparison) {
            Ok(compared) => return Ok(compared),
            Err(failed) => failed,
        };
        let said = Warning::new(
            "not_enough_yet",
            failed.to_string().replace("\nhint: ", "; "),
        );
        let with_warning = |mut compared: Compared| {
            compared.results.warnings.insert(0, said);
            compared
        };
        for (with_zones, with_money) in [(false, true), (true, false), (false, false)] {
            setup.zones = whole.zones.clone().filter(|_| with_zones);
            setup.money = whole.money.clone().filter(|_| with_money);
            if let Ok(compared) = compare(&setup, Asked::Comparison) {
                return Ok(with_warning(compared));
            }
        }
        compare(&setup, Asked::Strips).map(with_warning)
    }

    /// The trial with what was chosen; how the log is cleaned is said by the cleaned log.
    fn chosen(&self, choice: &LiveChoice) -> TrialSetup {
        let mut setup = self.setup.clone();
        setup.strips.check.clone_from(&choice.check);
        setup.strips.inset_m = choice.inset_m;
        setup.money.clone_from(&choice.money);
        setup
    }
}
