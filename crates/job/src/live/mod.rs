//! A field held in memory while strips are drawn on it: read once, cleaned once for every recipe that is
//! tried, and compared on each change. A page, or whatever else draws strips, calls this and adds only
//! how it looks.

mod answer;
mod applied;
mod passes;
mod quantities;
mod records;
mod strips;

pub use answer::LiveAnswer;
pub use applied::{AppliedOutline, AppliedPass, AppliedSummary};
pub use passes::{PassEdges, PassSummary};
pub use quantities::{QuantityKind, ShownQuantity, ShownUnits};
pub use records::RecordColumn;
pub use strips::{DrawingVersion, DrawnStrip, OutlineProblem};

use crate::compare::{BesideTheLog, CleanedField, clean_field, read};
use crate::error::JobError;
use crate::setup::TrialSetup;
use applied::AppliedLog;
use checkstrip_cleaning::Recipe;
use checkstrip_model::{FieldLog, StripSet};
use checkstrip_spatial::local_plane::LocalPlane;
use checkstrip_trial::PayoffSetup;
use std::path::PathBuf;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// Cleaned logs that are kept: somebody who tries a setting goes back and forth between a few.
const KEPT_CLEANINGS: usize = 4;

/// What a person may change beside the strips themselves.
#[derive(Debug, Clone, PartialEq)]
pub struct LiveChoice {
    /// The treatment that is the check; `None`: the one called like one.
    pub check: Option<String>,
    /// Ground kept clear inside each strip's edge, m.
    pub inset_m: f64,
    /// Settings of the cleaning steps.
    pub recipe: Recipe,
    /// What it costs and brings.
    pub money: Option<PayoffSetup>,
}

impl LiveChoice {
    /// What a trial file says of it.
    pub fn of(setup: &TrialSetup) -> LiveChoice {
        LiveChoice {
            check: setup.strips.check.clone(),
            inset_m: setup.strips.inset_m,
            recipe: setup.log.recipe.clone(),
            money: setup.money.clone(),
        }
    }
}

/// A field in memory.
#[derive(Debug)]
pub struct LiveField {
    setup: TrialSetup,
    log: FieldLog,
    beside: BesideTheLog,
    /// The log cleaned as the trial file says: its places and passes are those of every cleaning.
    first: Arc<CleanedField>,
    applied: Vec<AppliedLog>,
    cleanings: Mutex<Cleanings>,
}

/// What one cleaning was asked for with.
#[derive(Debug, Clone)]
struct Way {
    recipe: Recipe,
    /// The strips that say on which ground several machines may be held against each other; `None` where
    /// there is one machine, and before strips are drawn.
    strips: Option<Arc<StripSet>>,
}

impl Way {
    /// Whether the cleaning would be the same: names and blocks of strips make no difference to it.
    fn is_as(&self, recipe: &Recipe, strips: Option<&StripSet>) -> bool {
        let ground = |set: &StripSet| -> Vec<_> {
            let of = set.strips.iter();
            of.map(|strip| (strip.treatment.clone(), strip.ground.clone()))
                .collect()
        };
        self.recipe == *recipe && self.strips.as_deref().map(ground) == strips.map(ground)
    }
}

/// The cleanings that were asked for, by their numbers, and the last cleaned logs.
#[derive(Debug, Default)]
struct Cleanings {
    ways: Vec<Way>,
    /// Number and cleaned log; the one that was asked for last comes last.
    kept: Vec<(usize, Arc<CleanedField>)>,
}

impl LiveField {
    /// Reads and cleans the log of `setup`, and reads the logs `applied` of what was done on the field, each
    /// of one or several files. The strips need not be there yet.
    ///
    /// # Errors
    /// When a file cannot be read or nothing of the log can be used.
    pub fn read(
        setup: TrialSetup,
        applied: &[Vec<PathBuf>],
        progress: &(dyn Fn(&str) + Sync),
    ) -> Result<LiveField, JobError> {
        let beside = BesideTheLog::read(&setup)?;
        progress("reading the log");
        let log = read(&setup.log)?;
        progress("cleaning");
        let first = Arc::new(clean_field(
            log.clone(),
            &setup.log,
            beside.tickets.as_ref(),
            None,
        )?);
        progress("reading what was done on the field");
        let read_one = |files: &Vec<PathBuf>| AppliedLog::read(files.clone(), &first.outcome.plane);
        let applied = applied.iter().map(read_one).collect::<Result<_, _>>()?;
        let cleanings = Cleanings {
            ways: vec![Way {
                recipe: setup.log.recipe.clone(),
                strips: None,
            }],
            kept: vec![(0, first.clone())],
        };
        Ok(LiveField {
            setup,
            log,
            beside,
            first,
            applied,
            cleanings: Mutex::new(cleanings),
        })
    }

    /// What the trial file says.
    pub fn setup(&self) -> &TrialSetup {
        &self.setup
    }

    /// The log cleaned as the trial file says.
    pub fn first(&self) -> &CleanedField {
        &self.first
    }

    /// The plane that all metres are in.
    pub fn plane(&self) -> &LocalPlane {
        &self.first.outcome.plane
    }

    /// The log cleaned by `recipe`, and the number of that cleaning: 0 is the trial file's.
    ///
    /// # Errors
    /// When a setting makes no sense.
    pub fn cleaned(&self, recipe: &Recipe) -> Result<(usize, Arc<CleanedField>), JobError> {
        self.cleaned_under(recipe, None)
    }

    /// The same for a comparison of `set`: where several machines cut, what they read differently is found on
    /// ground on which the same was done, and other strips make another cleaning.
    ///
    /// # Errors
    /// When a setting makes no sense.
    pub(crate) fn cleaned_under(
        &self,
        recipe: &Recipe,
        set: Option<&StripSet>,
    ) -> Result<(usize, Arc<CleanedField>), JobError> {
        let set = set.filter(|_| self.first.outcome.machines.len() > 1);
        let known = {
            let mut cleanings = self.cleanings();
            let number = cleanings.number_of(recipe, set);
            number.and_then(|number| Some((number, cleanings.take(number)?)))
        };
        if let Some(known) = known {
            return Ok(known);
        }
        let mut setup = self.setup.log.clone();
        setup.recipe = recipe.clone();
        let tickets = self.beside.tickets.as_ref();
        let cleaned = Arc::new(clean_field(self.log.clone(), &setup, tickets, set)?);
        let mut cleanings = self.cleanings();
        let number = match cleanings.number_of(recipe, set) {
            Some(number) => number,
            None => {
                cleanings.ways.push(Way {
                    recipe: recipe.clone(),
                    strips: set.cloned().map(Arc::new),
                });
                cleanings.ways.len() - 1
            }
        };
        cleanings.keep(number, cleaned.clone());
        Ok((number, cleaned))
    }

    /// The cleaned log of a number that [`cleaned`](Self::cleaned) or an answer gave; `None` when there was no
    /// such one.
    ///
    /// # Errors
    /// When the log cannot be cleaned again.
    pub fn cleaning(&self, number: usize) -> Result<Option<Arc<CleanedField>>, JobError> {
        let way = self.cleanings().ways.get(number).cloned();
        match way {
            Some(way) => {
                let set = way.strips.as_deref();
                Ok(Some(self.cleaned_under(&way.recipe, set)?.1))
            }
            None => Ok(None),
        }
    }

    fn cleanings(&self) -> MutexGuard<'_, Cleanings> {
        self.cleanings
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
    }
}

impl Cleanings {
    fn number_of(&self, recipe: &Recipe, set: Option<&StripSet>) -> Option<usize> {
        self.ways.iter().position(|way| way.is_as(recipe, set))
    }

    fn take(&mut self, number: usize) -> Option<Arc<CleanedField>> {
        let at = self.kept.iter().position(|(kept, _)| *kept == number)?;
        let found = self.kept.remove(at);
        let cleaned = found.1.clone();
        self.kept.push(found);
        Some(cleaned)
    }

    fn keep(&mut self, number: usize, cleaned: Arc<CleanedField>) {
        self.kept.retain(|(kept, _)| *kept != number);
        if self.kept.len() >= KEPT_CLEANINGS {
            self.kept.remove(0);
        }
        self.kept.push((number, cleaned));
    }
}
