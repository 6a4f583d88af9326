//! What one run of the page holds: the field, the versions of its strips, and who asked last.

use crate::address::Address;
use crate::refusal::Refusal;
use checkstrip_formats::{Background, StripFile, read_background};
use checkstrip_job::{DrawingVersion, JobError, LiveChoice, LiveField, TrialSetup};
use checkstrip_model::units::UnitSystem;
use checkstrip_words::Words;
use std::collections::HashMap;
use std::path::PathBuf;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use tokio::sync::Semaphore;

/// Versions of the strips that are remembered: pages that are open at once may rest on different ones.
const KEPT_VERSIONS: usize = 16;
/// Pages whose last request is remembered.
const KEPT_PAGES: usize = 64;

/// What a page is made of.
#[derive(Debug, Clone)]
pub struct PageSetup {
    /// The trial.
    pub trial: TrialSetup,
    /// Logs of what was done on the field, each of one or several files.
    pub applied: Vec<Vec<PathBuf>>,
    /// Pictures and lines to lay under the map.
    pub backgrounds: Vec<PathBuf>,
    /// The folder that reports go to.
    pub out: PathBuf,
    /// Units the page starts with.
    pub units: UnitSystem,
    /// Words of the answer and of the report.
    pub words: Words,
}

/// Why a page cannot be made.
#[derive(Debug, thiserror::Error)]
pub enum OpenError {
    /// The field cannot be read.
    #[error(transparent)]
    Job(#[from] JobError),
}

impl From<checkstrip_formats::FormatError> for OpenError {
    fn from(error: checkstrip_formats::FormatError) -> OpenError {
        OpenError::Job(error.into())
    }
}

/// A background with what it is called.
pub(crate) struct NamedBackground {
    pub(crate) title: String,
    pub(crate) content: Background,
}

/// One run of the page.
pub struct Page {
    pub(crate) address: Address,
    pub(crate) field: Arc<LiveField>,
    pub(crate) backgrounds: Vec<NamedBackground>,
    pub(crate) out: PathBuf,
    pub(crate) units: UnitSystem,
    pub(crate) words: Words,
    /// The last versions of the file of strips that were read or written; the newest comes last.
    versions: Mutex<Vec<Arc<DrawingVersion>>>,
    /// Check, inset, settings and costs as the trial file has them now.
    saved: Mutex<LiveChoice>,
    /// One at a time writes strips and reports.
    pub(crate) writing: Mutex<()>,
    /// One comparison at a time: more would only slow each other down.
    pub(crate) comparing: Arc<Semaphore>,
    /// The number of the last request of each page.
    last_asked: Mutex<HashMap<String, u64>>,
}

impl Page {
    /// Reads the field and its strips, to be served at `address`.
    ///
    /// # Errors
    /// When a file cannot be read or nothing of the log can be used.
    pub fn open(
        setup: PageSetup,
        address: Address,
        progress: &(dyn Fn(&str) + Sync),
    ) -> Result<Page, OpenError> {
        // A mistake in the small strips file should not wait for the large log.
        let strips = &setup.trial.strips;
        let file = StripFile::open(&strips.file, &strips.options)?;
        let field = LiveField::read(setup.trial, &setup.applied, progress)?;
        let version = DrawingVersion::new(file, field.plane())?;
        let saved = LiveChoice::of(field.setup());
        progress("reading backgrounds");
        let mut backgrounds = Vec::new();
        for path in &setup.backgrounds {
            backgrounds.push(NamedBackground {
                title: path
                    .file_stem()
                    .unwrap_or_default()
                    .to_string_lossy()
                    .into_owned(),
                content: read_background(path, field.plane(), field.extent())?,
            });
        }
        Ok(Page {
            address,
            field: Arc::new(field),
            backgrounds,
            out: setup.out,
            units: setup.units,
            words: setup.words,
            versions: Mutex::new(vec![Arc::new(version)]),
            saved: Mutex::new(saved),
            writing: Mutex::new(()),
            comparing: Arc::new(Semaphore::new(1)),
            last_asked: Mutex::new(HashMap::new()),
        })
    }

    /// The address that a person gives a browser.
    pub fn url(&self) -> String {
        self.address.url()
    }

    /// What the trial file says now of what a page may change.
    pub(crate) fn saved_choice(&self) -> LiveChoice {
        lock(&self.saved).clone()
    }

    /// The trial file says so from now on.
    pub(crate) fn remember_choice(&self, choice: LiveChoice) {
        *lock(&self.saved) = choice;
    }

    /// The version of the strips called `revision`, or the newest when none is named.
    pub(crate) fn version(&self, revision: Option<&str>) -> Option<Arc<DrawingVersion>> {
        let versions = lock(&self.versions);
        let mut newest_first = versions.iter().rev();
        match revision {
            None => newest_first.next().cloned(),
            Some(wanted) => newest_first
                .find(|version| version.file().revision() == wanted)
                .cloned(),
        }
    }

    /// Remembers a version of the strips that was read or written.
    pub(crate) fn remember(&self, version: Arc<DrawingVersion>) {
        let mut versions = lock(&self.versions);
        versions.retain(|known| known.file().revision() != version.file().revision());
        if versions.len() >= KEPT_VERSIONS {
            versions.remove(0);
        }
        versions.push(version);
    }

    /// The strips as they lie on disk now.
    ///
    /// # Errors
    /// When they cannot be read.
    pub(crate) fn on_disk(&self) -> Result<Arc<DrawingVersion>, Refusal> {
        let strips = &self.field.setup().strips;
        let file = StripFile::open(&strips.file, &strips.options)?;
        if let Some(known) = self.version(Some(file.revision())) {
            return Ok(known);
        }
        let version = Arc::new(DrawingVersion::new(file, self.field.plane())?);
        self.remember(version.clone());
        Ok(version)
    }

    /// Takes a number for a request of the page called `page`: as long as [`is_last`](Self::is_last) says so,
    /// it has not asked again.
    pub(crate) fn ask(&self, page: &str) -> u64 {
        let mut last = lock(&self.last_asked);
        if last.len() >= KEPT_PAGES && !last.contains_key(page) {
            last.clear();
        }
        let number = last.entry(page.to_owned()).or_insert(0);
        *number += 1;
        *number
    }

    pub(crate) fn is_last(&self, page: &str, number: u64) -> bool {
        lock(&self.last_asked)
            .get(page)
            .is_none_or(|last| *last == number)
    }
}

pub(crate) fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Does work that takes its time where it holds nobody up.
///
/// # Errors
/// Those of `work`, and when it ended without an answer.
pub(crate) async fn work<T: Send + 'static>(
    work: impl FnOnce() -> Result<T, Refusal> + Send + 'static,
) -> Result<T, Refusal> {
    tokio::task::spawn_blocking(work)
        .await
        .map_err(|error| Refusal::broken(&error))?
}
