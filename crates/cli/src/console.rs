//! What a person sees while a command runs: progress and messages on standard error, results on
//! standard output. Nothing here decides what is said.

use crate::arguments::Shared;
use checkstrip_job::LanguageSetup;
use checkstrip_model::Warning;
use checkstrip_model::units::{Paper, UnitSystem};
use checkstrip_words::{Reader, Words};
use indicatif::ProgressBar;
use std::io::{IsTerminal, Write};
use std::time::Duration;

/// Where messages go, and which.
pub(crate) struct Console {
    pub(crate) json: bool,
    pub(crate) quiet: bool,
    pub(crate) units: UnitSystem,
    pub(crate) paper: Paper,
    /// Language and words as typed.
    pub(crate) language: LanguageSetup,
    spinner: ProgressBar,
}

impl Console {
    pub(crate) fn new(shared: &Shared) -> Console {
        let spinner = if shared.quiet || !std::io::stderr().is_terminal() {
            ProgressBar::hidden()
        } else {
            ProgressBar::new_spinner()
        };
        Console {
            json: shared.json,
            quiet: shared.quiet,
            units: shared.units.into(),
            paper: shared
                .paper
                .map_or_else(|| Paper::usual(shared.units.into()), Into::into),
            language: LanguageSetup {
                language: shared.language.map(Into::into),
                words: shared.words.clone(),
            },
            spinner,
        }
    }

    /// The reader who has these words.
    pub(crate) fn reader<'a>(&self, words: &'a Words) -> Reader<'a> {
        Reader {
            units: self.units,
            words,
            paper: self.paper,
        }
    }

    /// Says what is being done, on terminals only.
    pub(crate) fn progress(&self, what: &str) {
        self.spinner.enable_steady_tick(Duration::from_millis(100));
        self.spinner.set_message(what.to_owned());
    }

    /// Progress is over.
    pub(crate) fn finish(&self) {
        self.spinner.finish_and_clear();
    }

    /// A message for people.
    pub(crate) fn say(&self, message: &str) {
        if !self.quiet {
            self.spinner.suspend(|| {
                // Nobody listening to messages is no reason to fail.
                let _ = writeln!(std::io::stderr(), "{message}");
            });
        }
    }

    pub(crate) fn warn(&self, warnings: &[Warning]) {
        for warning in warnings {
            self.say(&format!("warning ({}): {}", warning.code, warning.message));
        }
    }

    pub(crate) fn error(&self, error: &anyhow::Error) {
        self.spinner.finish_and_clear();
        // Some errors tell their cause themselves, others leave it to the chain: each is said once.
        let mut words = String::new();
        for cause in error.chain().map(ToString::to_string) {
            if words.is_empty() {
                words = cause;
            } else if !words.contains(&cause) {
                words = format!("{words}: {cause}");
            }
        }
        let _ = writeln!(std::io::stderr(), "error: {words}");
    }

    /// The result itself: as JSON when asked for, otherwise in words.
    pub(crate) fn result(
        &self,
        json: &impl serde::Serialize,
        words: impl FnOnce() -> String,
    ) -> anyhow::Result<()> {
        self.finish();
        let mut out = std::io::stdout().lock();
        if self.json {
            // As what the operating system said, so that a closed pipe is known as one.
            serde_json::to_writer_pretty(&mut out, json).map_err(std::io::Error::from)?;
            writeln!(out)?;
        } else if !self.quiet {
            writeln!(out, "{}", words())?;
        }
        out.flush()?;
        Ok(())
    }
}
