//! What to do: the settings of one field, complete, whether they came from a trial file or from the
//! command line.

use crate::error::JobError;
use checkstrip_cleaning::Recipe;
use checkstrip_formats::StripOptions;
use checkstrip_model::{ColumnMap, Crop};
use checkstrip_trial::PayoffSetup;
use checkstrip_words::{Language, Words};
use std::path::PathBuf;

/// Which log to read and how.
#[derive(Debug, Clone)]
pub struct LogSetup {
    /// The files.
    pub files: Vec<PathBuf>,
    /// Columns named by hand.
    pub columns: ColumnMap,
    /// Header width where the log has none, m.
    pub header_width_m: Option<f64>,
    /// The crop.
    pub crop: Crop,
    /// Whether nobody named the crop and it was assumed.
    pub crop_assumed: bool,
    /// Settings of the cleaning steps.
    pub recipe: Recipe,
    /// The file of scale tickets, where loads were weighed.
    pub tickets: Option<PathBuf>,
}

impl LogSetup {
    /// A log with everything else at its default. `crop` of `None` assumes soybean, and the results
    /// say so.
    pub fn new(files: Vec<PathBuf>, crop: Option<Crop>) -> LogSetup {
        let crop_assumed = crop.is_none();
        let crop = crop
            .or_else(|| Crop::known("soybean"))
            .unwrap_or_else(|| Crop::custom("soybean", 60.0, 13.0));
        LogSetup {
            files,
            columns: ColumnMap::new(),
            header_width_m: None,
            crop,
            crop_assumed,
            recipe: Recipe::default(),
            tickets: None,
        }
    }
}

/// Which strips to compare.
#[derive(Debug, Clone)]
pub struct StripSetup {
    /// The file.
    pub file: PathBuf,
    /// Which attributes say what.
    pub options: StripOptions,
    /// The treatment that is the check; `None`: the one called check, control or untreated.
    pub check: Option<String>,
    /// Ground kept clear inside each strip's edge, m.
    pub inset_m: f64,
}

/// Where the zones come from by which the answer is split.
#[derive(Debug, Clone)]
pub enum ZoneSetup {
    /// Polygons with a name, such as the soils of a map.
    Drawn {
        /// The file.
        file: PathBuf,
        /// The attribute that names the zone; `None`: the one called zone, or the only one.
        name_column: Option<String>,
    },
    /// Classes of the log's own elevation.
    Elevation {
        /// How many.
        classes: usize,
    },
    /// Classes of what past harvests yielded.
    YieldHistory {
        /// The files of each past harvest.
        harvests: Vec<Vec<PathBuf>>,
        /// How many classes.
        classes: usize,
    },
}

/// Plants counted after emergence.
#[derive(Debug, Clone, Default)]
pub struct StandSetup {
    /// The files of counts.
    pub files: Vec<PathBuf>,
    /// Columns named by hand.
    pub columns: ColumnMap,
    /// Length of counted row where the files do not say it, m.
    pub row_length_m: Option<f64>,
    /// Distance from row to row where the files do not say it, m.
    pub row_spacing_m: Option<f64>,
}

/// Which language reports and maps are in, and whose words.
#[derive(Debug, Clone, Default)]
pub struct LanguageSetup {
    /// The language; `None`: English.
    pub language: Option<Language>,
    /// A file of words laid over it.
    pub words: Option<PathBuf>,
}

impl LanguageSetup {
    /// This, or what `other` says where this says nothing. A language named here is not mixed with the words that
    /// `other` lays over its own.
    pub fn or(&self, other: &LanguageSetup) -> LanguageSetup {
        match (self.language, &self.words) {
            (None, None) => other.clone(),
            _ => LanguageSetup {
                language: self.language.or(other.language),
                words: self.words.clone(),
            },
        }
    }

    /// The words.
    ///
    /// # Errors
    /// When the file of words cannot be used.
    pub fn read(&self) -> Result<Words, JobError> {
        let language = self.language.unwrap_or_default();
        Ok(match &self.words {
            Some(path) => Words::with_file(language, path)?,
            None => Words::of(language),
        })
    }
}

/// One field's trial.
#[derive(Debug, Clone)]
pub struct TrialSetup {
    /// The trial file as given; empty when the command line said it all.
    pub trial_file: String,
    /// Name of the field.
    pub name: String,
    /// The log.
    pub log: LogSetup,
    /// The strips.
    pub strips: StripSetup,
    /// What it costs and brings.
    pub money: Option<PayoffSetup>,
    /// Zones to split the answer by.
    pub zones: Option<ZoneSetup>,
    /// Plants counted, to compare as well.
    pub stand: Option<StandSetup>,
    /// Language of report and maps.
    pub language: LanguageSetup,
}
