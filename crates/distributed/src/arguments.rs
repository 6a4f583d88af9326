//! The command line of `checkstrip-season` as typed.

use checkstrip_job::{Export, LanguageSetup, SeasonOptions, WantedFiles};
use checkstrip_model::units::{Paper, UnitSystem};
use clap::{Args, Parser, Subcommand, ValueEnum};
use std::num::NonZeroUsize;

/// A season of fields in object storage, one field at a time: for runs over many machines. URLs are
/// file:///path or s3://bucket/path; a store other than Amazon's is named by AWS_ENDPOINT_URL, keys and region
/// by the usual variables; see docs/season-distributed.md.
#[derive(Debug, Parser)]
#[command(name = "checkstrip-season", version, max_term_width = 100)]
pub(crate) struct Arguments {
    #[command(flatten)]
    pub(crate) shared: Shared,
    #[command(subcommand)]
    pub(crate) command: Command,
}

/// Flags that every command takes.
#[derive(Debug, Args)]
pub(crate) struct Shared {
    /// Units of maps and reports; files always carry SI units.
    #[arg(long, global = true, value_enum, default_value_t = Units::Farm, value_name = "SYSTEM")]
    units: Units,
}

impl Shared {
    /// What is asked of a run: one field at a time, with as much memory as it takes.
    pub(crate) fn options(&self, export: ExportForm) -> SeasonOptions {
        let units = match self.units {
            Units::Farm => UnitSystem::Farm,
            Units::Si => UnitSystem::Si,
        };
        SeasonOptions {
            files: WantedFiles::new(export.into(), [], None),
            units,
            // What trials say.
            language: LanguageSetup::default(),
            paper: Paper::usual(units),
            at_once: 1,
            memory: None,
        }
    }
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum Units {
    /// Bushels an acre, acres, feet.
    Farm,
    /// Kilograms a hectare, hectares, metres.
    Si,
}

/// As the `--export` of `checkstrip batch`.
#[derive(Debug, Clone, Copy, ValueEnum)]
pub(crate) enum ExportForm {
    /// GeoJSON up to 200,000 records, GeoParquet above.
    Auto,
    /// cleaned.geojson
    Geojson,
    /// cleaned.parquet (GeoParquet)
    Parquet,
    /// cleaned.csv
    Csv,
    /// cleaned.gpkg (GeoPackage)
    Gpkg,
    /// No cleaned log.
    None,
}

impl From<ExportForm> for Export {
    fn from(form: ExportForm) -> Export {
        match form {
            ExportForm::Auto => Export::Auto,
            ExportForm::Geojson => Export::GeoJson,
            ExportForm::Parquet => Export::Parquet,
            ExportForm::Csv => Export::Csv,
            ExportForm::Gpkg => Export::GeoPackage,
            ExportForm::None => Export::None,
        }
    }
}

#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Print the fields of a season, a JSON line each.
    Fields(FieldsArguments),
    /// Do one field as `checkstrip batch` does it, unless it is finished; prints what became of it, a JSON line.
    Field(FieldArguments),
    /// Write ledger.json from what became of the fields, which is read from standard input as JSON lines.
    Ledger(LedgerArguments),
}

#[derive(Debug, Args)]
pub(crate) struct FieldsArguments {
    /// The season file.
    #[arg(value_name = "SEASON_URL")]
    pub(crate) season: String,
}

#[derive(Debug, Args)]
pub(crate) struct FieldArguments {
    /// The season file.
    #[arg(value_name = "SEASON_URL")]
    pub(crate) season: String,
    /// The field's trial file, as `fields` names it.
    #[arg(value_name = "TRIAL")]
    pub(crate) trial: String,
    /// The folder of the season's results.
    #[arg(long, value_name = "OUT_URL")]
    pub(crate) out: String,
    /// Form of the cleaned log.
    #[arg(long, value_enum, default_value_t = ExportForm::Auto)]
    pub(crate) export: ExportForm,
}

#[derive(Debug, Args)]
pub(crate) struct LedgerArguments {
    /// The season file.
    #[arg(value_name = "SEASON_URL")]
    pub(crate) season: String,
    /// The folder of the season's results.
    #[arg(long, value_name = "OUT_URL")]
    pub(crate) out: String,
    /// How many fields were done at once.
    #[arg(long, value_name = "COUNT", default_value = "1")]
    pub(crate) at_once: NonZeroUsize,
    /// As it was for the fields.
    #[arg(long, value_enum, default_value_t = ExportForm::Auto)]
    pub(crate) export: ExportForm,
}
