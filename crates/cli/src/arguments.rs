//! The command line as typed. Help, man pages, completions and `docs/command-line.md` are all made
//! from these definitions.

mod applied;
mod batch;
mod payoff;
mod planting;
mod wanted;

pub(crate) use applied::AppliedArguments;
pub(crate) use batch::BatchArguments;
pub(crate) use payoff::PayoffArguments;
pub(crate) use planting::PlantingArguments;
pub(crate) use wanted::{SurfaceArguments, WantedArguments};

use checkstrip_job::Export;
use checkstrip_model::units::{Paper, UnitSystem};
use checkstrip_words::Language;
use clap::{Args, Parser, Subcommand, ValueEnum};
use std::net::{IpAddr, Ipv4Addr};
use std::path::PathBuf;

/// Find out whether something tried in the field paid: harvest log and drawn check strips in,
/// comparison, maps and report out.
#[derive(Debug, Parser)]
#[command(name = "checkstrip", version, max_term_width = 100)]
pub(crate) struct Arguments {
    #[command(flatten)]
    pub(crate) shared: Shared,
    #[command(subcommand)]
    pub(crate) command: Command,
}

/// Flags that every command takes.
#[derive(Debug, Clone, Args)]
pub(crate) struct Shared {
    /// Print the result as JSON on standard output; messages stay on standard error.
    #[arg(long, global = true)]
    pub(crate) json: bool,
    /// Say nothing but errors.
    #[arg(long, short, global = true)]
    pub(crate) quiet: bool,
    /// Units of figures, maps, report and yield surface; all other files carry SI units.
    #[arg(long, global = true, value_enum, default_value_t = Units::Farm, value_name = "SYSTEM")]
    pub(crate) units: Units,
    /// Language of reports, their maps and the answer [what the trial file says, else en].
    #[arg(long, global = true, value_enum, value_name = "LANGUAGE")]
    pub(crate) language: Option<ReportLanguage>,
    /// What reports are printed on [letter, with --units si a4].
    #[arg(long, global = true, value_enum, value_name = "SIZE")]
    pub(crate) paper: Option<PaperSize>,
    /// Your own words, laid over the language: see docs/languages.md [what the trial file says].
    #[arg(long, global = true, value_name = "FILE.ftl")]
    pub(crate) words: Option<PathBuf>,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
pub(crate) enum PaperSize {
    /// 8.5 by 11 inches.
    Letter,
    /// 210 by 297 mm.
    A4,
}

impl From<PaperSize> for Paper {
    fn from(size: PaperSize) -> Paper {
        match size {
            PaperSize::Letter => Paper::Letter,
            PaperSize::A4 => Paper::A4,
        }
    }
}

#[derive(Debug, Clone, Copy, Default, ValueEnum)]
pub(crate) enum ReportLanguage {
    /// English.
    #[default]
    En,
    /// Spanish.
    Es,
}

impl From<ReportLanguage> for Language {
    fn from(language: ReportLanguage) -> Language {
        match language {
            ReportLanguage::En => Language::English,
            ReportLanguage::Es => Language::Spanish,
        }
    }
}

#[derive(Debug, Clone, Copy, ValueEnum)]
pub(crate) enum Units {
    /// Bushels an acre, acres, feet.
    Farm,
    /// Kilograms a hectare, hectares, metres.
    Si,
}

impl From<Units> for UnitSystem {
    fn from(units: Units) -> UnitSystem {
        match units {
            Units::Farm => UnitSystem::Farm,
            Units::Si => UnitSystem::Si,
        }
    }
}

#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Write an invented farm's season, run the whole job on it, and say where the report is.
    Demo(DemoArguments),
    /// Tell what a log holds, and what looks wrong with it.
    Inspect(InspectArguments),
    /// Clean a log: the cleaned records with their reasons, and maps.
    Clean(CleanArguments),
    /// Compare treatment strips: clean, add up strip by strip, compare, map, report.
    Compare(CompareArguments),
    /// Draw one map (PNG) from a log, cleaned or not.
    Map(MapArguments),
    /// Draw the yield surface (GeoTIFF) of a log, cleaned or not, for a GIS.
    Surface(SurfaceArguments),
    /// Lay out strips for a trial, and say how small a gain they can show.
    Plan(PlanArguments),
    /// Work out the gain that pays for a treatment, before anything is planted.
    Payoff(PayoffArguments),
    /// Judge a planting log row by row: rows in trouble, faults that repeat along a row, what to do.
    Planting(PlantingArguments),
    /// Compare a season of fields in one run, several at once; what is finished is not done again.
    Batch(BatchArguments),
    /// Pool the results of many fields or years into one answer.
    Pool(PoolArguments),
    /// Write a log or a file of polygons in another open format, nothing lost that it can hold.
    Convert(ConvertArguments),
    /// Outline where a planter, sprayer or spreader worked, as strips nobody has to draw.
    Outline(OutlineArguments),
    /// Hold what a planter, sprayer or spreader logged against what was asked: areas, polygons, map, strips where
    /// the plan was achieved.
    Applied(AppliedArguments),
    /// Draw strips on a local page, while the comparison follows every change.
    Draw(DrawArguments),
    /// Print a completion script for a shell.
    Completions(CompletionsArguments),
    /// Write the manual pages.
    Man(ManArguments),
    /// Print a page of the documentation.
    #[command(hide = true)]
    Reference(ReferenceArguments),
}

#[derive(Debug, Args)]
pub(crate) struct ReferenceArguments {
    /// Which page.
    #[arg(value_enum, default_value_t = ReferencePage::Commands)]
    pub(crate) page: ReferencePage,
    /// Of which language, for words.
    #[arg(value_enum, default_value_t = ReportLanguage::En)]
    pub(crate) of: ReportLanguage,
}

/// Pages of the documentation that are made from the program's own tables.
#[derive(Debug, Clone, Copy, ValueEnum)]
pub(crate) enum ReferencePage {
    /// Commands and options.
    Commands,
    /// Names of columns and units.
    Headers,
    /// The words of a language, to start a file of your own from.
    Words,
}

#[derive(Debug, Args)]
pub(crate) struct DemoArguments {
    /// Folder for the invented season; made when absent.
    #[arg(long, value_name = "DIR", default_value = "checkstrip-demo")]
    pub(crate) out: PathBuf,
}

/// How to read a log, when no trial file says so.
#[derive(Debug, Clone, Args)]
#[group(id = "log_options", multiple = true)]
pub(crate) struct LogArguments {
    /// Crop: sets bushel weight, market moisture and limits [soybean when absent].
    #[arg(long, value_name = "NAME")]
    pub(crate) crop: Option<String>,
    /// Header width where the log has none, with its unit.
    #[arg(long, value_name = "LENGTH", value_parser = length)]
    pub(crate) width: Option<f64>,
    /// Which column holds what, when its header does not say: mass_flow=mass:lb/s. May be repeated.
    #[arg(long = "column", value_name = "KEY=HEADER[:UNIT]")]
    pub(crate) columns: Vec<String>,
    /// Grain delay: auto, or seconds [auto when absent].
    #[arg(long, value_name = "SECONDS", allow_hyphen_values = true)]
    pub(crate) grain_delay: Option<String>,
}

#[derive(Debug, Args)]
pub(crate) struct InspectArguments {
    /// Log files; patterns such as 'harvest/*.csv' are understood.
    #[arg(required = true, value_name = "LOG")]
    pub(crate) logs: Vec<String>,
    #[command(flatten)]
    pub(crate) log: LogArguments,
}

#[derive(Debug, Args)]
pub(crate) struct CleanArguments {
    /// Log files; patterns such as 'harvest/*.csv' are understood.
    #[arg(required = true, value_name = "LOG")]
    pub(crate) logs: Vec<String>,
    #[command(flatten)]
    pub(crate) log: LogArguments,
    /// Scale tickets: a table with load, mass and, where they are known, machine and moisture_pct.
    #[arg(long, value_name = "FILE")]
    pub(crate) tickets: Option<PathBuf>,
    /// Folder for the cleaned log, maps and cleaning.json; made when absent.
    #[arg(long, value_name = "DIR")]
    pub(crate) out: PathBuf,
    /// Form of the cleaned log.
    #[arg(long, value_enum, default_value_t = ExportForm::Auto)]
    pub(crate) export: ExportForm,
}

#[derive(Debug, Args)]
#[command(group = clap::ArgGroup::new("what").required(true).args(["trial", "harvest"]))]
pub(crate) struct CompareArguments {
    /// Trial file; see docs/trial-file.md. It says everything about log and strips itself.
    #[arg(value_name = "TRIAL.toml", conflicts_with = "log_options")]
    pub(crate) trial: Option<PathBuf>,
    /// Log files, instead of a trial file.
    #[arg(long, value_name = "LOG", num_args = 1.., requires = "strips")]
    pub(crate) harvest: Vec<String>,
    /// Strips file: polygons with the attributes treatment, block and strip_id.
    #[arg(long, value_name = "FILE", conflicts_with = "trial")]
    pub(crate) strips: Option<PathBuf>,
    /// Scale tickets: a table with load, mass and, where they are known, machine and moisture_pct.
    #[arg(long, value_name = "FILE", conflicts_with = "trial")]
    pub(crate) tickets: Option<PathBuf>,
    /// Name of the field in maps and report.
    #[arg(long, value_name = "NAME", conflicts_with = "trial")]
    pub(crate) name: Option<String>,
    /// The treatment that is the check [the one called check, control or untreated when absent].
    #[arg(long, value_name = "TREATMENT", conflicts_with = "trial")]
    pub(crate) check: Option<String>,
    /// Ground kept clear inside each strip's edge, with its unit.
    #[arg(long, value_name = "LENGTH", value_parser = length, conflicts_with = "trial")]
    pub(crate) inset: Option<f64>,
    /// Attribute that holds the treatment [treatment when absent].
    #[arg(long, value_name = "NAME", conflicts_with = "trial")]
    pub(crate) treatment_column: Option<String>,
    /// Attribute that holds the block [block when absent].
    #[arg(long, value_name = "NAME", conflicts_with = "trial")]
    pub(crate) block_column: Option<String>,
    /// Attribute that holds the strip's name [strip_id when absent].
    #[arg(long, value_name = "NAME", conflicts_with = "trial")]
    pub(crate) strip_id_column: Option<String>,
    /// Zones to split the answer by: a file of polygons such as a soil map, elevation (of the log), or
    /// yield_history (with --past-harvest).
    #[arg(
        long,
        value_name = "FILE|elevation|yield_history",
        conflicts_with = "trial"
    )]
    pub(crate) zones: Option<String>,
    /// Attribute that names the zone [zone, or the only one, when absent].
    #[arg(
        long,
        value_name = "NAME",
        requires = "zones",
        conflicts_with = "trial"
    )]
    pub(crate) zone_column: Option<String>,
    /// Harvests of earlier years on this field: one file each, or one pattern in quotes where a harvest
    /// has several files.
    #[arg(long = "past-harvest", value_name = "LOG", num_args = 1.., requires = "zones", conflicts_with = "trial")]
    pub(crate) past_harvests: Vec<String>,
    /// Stand counts to compare as well: plants counted, each with its position or strip_id.
    #[arg(long, value_name = "FILE", conflicts_with = "trial")]
    pub(crate) stand: Option<String>,
    /// Length of counted row where the counts do not say it: "17 ft 5 in".
    #[arg(long, value_name = "LENGTH", value_parser = above_0, requires = "stand", conflicts_with = "trial")]
    pub(crate) row_length: Option<f64>,
    /// Distance from row to row where the counts do not say it: "30 in".
    #[arg(long, value_name = "LENGTH", value_parser = above_0, requires = "stand", conflicts_with = "trial")]
    pub(crate) row_spacing: Option<f64>,
    #[command(flatten)]
    pub(crate) log: LogArguments,
    /// Folder for results, maps and report; made when absent [beside the trial file when absent].
    #[arg(long, value_name = "DIR")]
    pub(crate) out: Option<PathBuf>,
    #[command(flatten)]
    pub(crate) wanted: WantedArguments,
}

#[derive(Debug, Args)]
pub(crate) struct MapArguments {
    /// Log file: a cleaned export is mapped as it is, any other log is cleaned first.
    #[arg(required = true, value_name = "LOG")]
    pub(crate) logs: Vec<String>,
    /// Which map.
    #[arg(long, value_enum, default_value_t = MapForm::YieldAfter)]
    pub(crate) kind: MapForm,
    /// Strips to outline on it.
    #[arg(long, value_name = "FILE")]
    pub(crate) strips: Option<PathBuf>,
    /// Attribute that holds the strips' treatment.
    #[arg(long, value_name = "NAME", default_value = "treatment")]
    pub(crate) treatment_column: String,
    /// Name of the field on the map.
    #[arg(long, value_name = "NAME")]
    pub(crate) name: Option<String>,
    #[command(flatten)]
    pub(crate) log: LogArguments,
    /// The picture to write.
    #[arg(long, value_name = "FILE.png")]
    pub(crate) out: PathBuf,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
pub(crate) enum MapForm {
    /// Yield as logged.
    YieldBefore,
    /// Yield after cleaning.
    YieldAfter,
    /// Dropped records by reason.
    RemovedRecords,
}

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

#[derive(Debug, Args)]
#[command(group = clap::ArgGroup::new("ground").required(true).multiple(true).args(["boundary", "past_logs"]))]
pub(crate) struct PlanArguments {
    /// The field's boundary: a file of polygons [the outline of the log when absent].
    #[arg(long, value_name = "FILE")]
    pub(crate) boundary: Option<PathBuf>,
    /// A past harvest of this field, to measure how strips differ there.
    #[arg(long = "log", value_name = "LOG", num_args = 1..)]
    pub(crate) past_logs: Vec<String>,
    /// Working width of the treatment's implement, with its unit.
    #[arg(long, value_name = "LENGTH", value_parser = length)]
    pub(crate) implement_width: f64,
    /// Cutting width of the header that will harvest, with its unit.
    #[arg(long, value_name = "LENGTH", value_parser = length)]
    pub(crate) header_width: f64,
    /// The treatments, the check among them, parted by commas.
    #[arg(long, value_name = "NAMES", value_delimiter = ',', required = true)]
    pub(crate) treatments: Vec<String>,
    /// The treatment that is the check [the one called check, control or untreated when absent].
    #[arg(long, value_name = "TREATMENT")]
    pub(crate) check: Option<String>,
    /// Blocks: each holds every treatment once.
    #[arg(long, value_name = "COUNT", default_value_t = 6)]
    pub(crate) blocks: u32,
    /// Which way strips run, degrees clockwise from true north [along the passes of the log when absent,
    /// or, without a log, along the longest side].
    #[arg(
        long,
        value_name = "DEGREES",
        allow_hyphen_values = true,
        conflicts_with = "first_line"
    )]
    pub(crate) direction: Option<f64>,
    /// A line along which the first strip lies: a GeoJSON LineString of two points, or the A-B line of
    /// ISO 11783-10 task data.
    #[arg(long, value_name = "FILE")]
    pub(crate) first_line: Option<PathBuf>,
    /// From the ground's left side, or the first line, to the first strip, with its unit [where the
    /// first strip is long when absent].
    #[arg(long, value_name = "LENGTH", value_parser = length)]
    pub(crate) offset: Option<f64>,
    /// Headland kept free of strips on all sides, with its unit.
    #[arg(long, value_name = "LENGTH", value_parser = length, default_value = "0 m")]
    pub(crate) headland: f64,
    /// Implement passes in a strip [the fewest in which a whole header swath surely lies when absent].
    #[arg(long, value_name = "COUNT")]
    pub(crate) strip_passes: Option<u32>,
    /// Names the random orders of the treatments.
    #[arg(long, value_name = "NUMBER", default_value_t = 1)]
    pub(crate) seed: u64,
    /// Standard deviation from strip to strip within blocks, such as "1.8 bu/ac", "120 kg/ha" or
    /// "4 %" [measured from the log; 5 % without one when absent].
    #[arg(long, value_name = "AMOUNT")]
    pub(crate) sd: Option<String>,
    /// A gain to be shown: how many blocks it needs.
    #[arg(long, value_name = "AMOUNT")]
    pub(crate) gain: Option<String>,
    /// Yield to expect [the log's mean when absent].
    #[arg(long, value_name = "AMOUNT")]
    pub(crate) expected_yield: Option<String>,
    /// Price of a bushel, to compare with the gain that just pays.
    #[arg(long, value_name = "MONEY", requires = "cost")]
    pub(crate) price: Option<f64>,
    /// What the treatment costs more than the check, per acre.
    #[arg(long, value_name = "MONEY", requires = "price")]
    pub(crate) cost: Option<f64>,
    /// Name of the field.
    #[arg(long, value_name = "NAME")]
    pub(crate) name: Option<String>,
    #[command(flatten)]
    pub(crate) log: LogArguments,
    /// Folder for strips, task, sheet and plan.json; made when absent.
    #[arg(long, value_name = "DIR")]
    pub(crate) out: PathBuf,
}

#[derive(Debug, Args)]
pub(crate) struct PoolArguments {
    /// Results to pool: results.json files, or folders that hold one; patterns such as 'season/*'
    /// are understood.
    #[arg(required = true, value_name = "RESULTS")]
    pub(crate) results: Vec<String>,
    /// The crop to pool, when the results are of several.
    #[arg(long, value_name = "NAME")]
    pub(crate) crop: Option<String>,
    /// A treatment to pool [all when absent]. May be repeated.
    #[arg(long = "treatment", value_name = "NAME")]
    pub(crate) treatments: Vec<String>,
    /// Folder for pooled.json, pooled.csv, forest.png and report.html; made when absent.
    #[arg(long, value_name = "DIR")]
    pub(crate) out: PathBuf,
}

#[derive(Debug, Args)]
pub(crate) struct ConvertArguments {
    /// The file to read: CSV, GeoJSON, Shapefile, GeoPackage (field.gpkg:layer where it has several),
    /// GeoParquet, FlatGeobuf or ISO 11783-10 task data (TASKDATA:logs, :zones or :boundary).
    #[arg(value_name = "IN")]
    pub(crate) input: PathBuf,
    /// The file to write; its ending says the format: .csv, .geojson, .ndjson, .geojsons, .shp, .gpkg,
    /// .parquet or .fgb. A harvest log becomes task data as a folder called TASKDATA or as a .zip.
    #[arg(value_name = "OUT")]
    pub(crate) output: PathBuf,
    /// Only features that meet this box, in WGS 84 degrees.
    #[arg(long, value_name = "WEST,SOUTH,EAST,NORTH", value_parser = bbox, allow_hyphen_values = true)]
    pub(crate) bbox: Option<[f64; 4]>,
    /// Only these columns, separated by commas; positions are always kept.
    #[arg(long, value_name = "NAMES", value_delimiter = ',')]
    pub(crate) columns: Option<Vec<String>>,
}

/// The log of a machine that planted or put something on.
#[derive(Debug, Clone, Args)]
pub(crate) struct MachineLogArguments {
    /// Log files of a planting or an application; patterns such as 'planting/*.csv' are understood.
    #[arg(required = true, value_name = "LOG")]
    pub(crate) logs: Vec<String>,
    /// Working width where the log has none, with its unit.
    #[arg(long, value_name = "LENGTH", value_parser = length)]
    pub(crate) width: Option<f64>,
    /// Distance from row to row of a planter, with its unit [its width over its rows].
    #[arg(long, value_name = "LENGTH", value_parser = length)]
    pub(crate) row_spacing: Option<f64>,
    /// Which column holds what, when its header does not say: seed_rate=population:seeds/ac. May be repeated.
    #[arg(long = "column", value_name = "KEY=HEADER[:UNIT]")]
    pub(crate) columns: Vec<String>,
    /// Keep passes that run across the others.
    #[arg(long)]
    pub(crate) keep_end_rows: bool,
}

#[derive(Debug, Args)]
pub(crate) struct OutlineArguments {
    #[command(flatten)]
    pub(crate) machine: MachineLogArguments,
    /// The strips: a file ending in .geojson or .shp.
    #[arg(long, value_name = "FILE")]
    pub(crate) out: PathBuf,
    /// What tells treatments apart.
    #[arg(long, value_enum, default_value_t = TreatmentBy::Product, conflicts_with = "treatment")]
    pub(crate) by: TreatmentBy,
    /// All ground worked is one treatment, called so.
    #[arg(long, value_name = "NAME")]
    pub(crate) treatment: Option<String>,
    /// The field's boundary: ground between the passes that was left out becomes strips too.
    #[arg(long, value_name = "FILE")]
    pub(crate) boundary: Option<PathBuf>,
    /// What ground left out is called.
    #[arg(
        long,
        value_name = "NAME",
        default_value = "check",
        requires = "boundary"
    )]
    pub(crate) untreated: String,
    /// A treatment that is no part of the trial, such as a refuge. May be repeated.
    #[arg(long, value_name = "NAME")]
    pub(crate) leave_out: Vec<String>,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
pub(crate) enum TreatmentBy {
    /// Product, variety or hybrid.
    Product,
    /// The rate asked for.
    Rate,
}

#[derive(Debug, Args)]
pub(crate) struct DrawArguments {
    /// Trial file; see docs/trial-file.md. The strips file that it names need not be there yet.
    #[arg(value_name = "TRIAL.toml")]
    pub(crate) trial: PathBuf,
    /// Port to listen on; 0 for any that is free.
    #[arg(long, value_name = "PORT", default_value_t = 0)]
    pub(crate) port: u16,
    /// Address to listen on. Any other than the default lets other machines ask; they need the whole
    /// address with its token.
    #[arg(long, value_name = "ADDRESS", default_value_t = IpAddr::V4(Ipv4Addr::LOCALHOST))]
    pub(crate) host: IpAddr,
    /// Picture or lines to lay under the map: GeoTIFF, MBTiles or GeoJSON. May be repeated.
    #[arg(long = "background", value_name = "FILE")]
    pub(crate) backgrounds: Vec<PathBuf>,
    /// Log of a planting or an application on this field, to outline strips from and to see what was put
    /// on; a pattern in quotes where it has several files. May be repeated.
    #[arg(long = "applied", value_name = "LOG")]
    pub(crate) applied: Vec<String>,
    /// Do not open a browser.
    #[arg(long)]
    pub(crate) no_browser: bool,
    /// Folder for reports; made when absent [beside the trial file when absent].
    #[arg(long, value_name = "DIR")]
    pub(crate) out: Option<PathBuf>,
}

#[derive(Debug, Args)]
pub(crate) struct CompletionsArguments {
    /// The shell.
    #[arg(value_enum)]
    pub(crate) shell: clap_complete::Shell,
}

#[derive(Debug, Args)]
pub(crate) struct ManArguments {
    /// Folder for the pages; made when absent.
    #[arg(long, value_name = "DIR")]
    pub(crate) out: PathBuf,
}

/// A box in degrees: west, south, east, north.
fn bbox(text: &str) -> Result<[f64; 4], String> {
    let expected = "expected west,south,east,north in degrees, such as -93.2,42.9,-93.0,43.1";
    let sides: Vec<f64> = text
        .split(',')
        .map(|side| side.trim().parse().map_err(|_| expected.to_owned()))
        .collect::<Result<_, _>>()?;
    let Ok([west, south, east, north]) = <[f64; 4]>::try_from(sides) else {
        return Err(expected.to_owned());
    };
    if !(west >= -180.0 && east <= 180.0 && south >= -90.0 && north <= 90.0) {
        return Err(format!("{expected}; found a side outside degrees"));
    }
    if west > east || south > north {
        return Err(format!(
            "{expected}; found west {west} and east {east}, south {south} and north {north}"
        ));
    }
    Ok([west, south, east, north])
}

/// A length above 0, in metres.
fn above_0(text: &str) -> Result<f64, String> {
    match length(text)? {
        metres if metres > 0.0 => Ok(metres),
        _ => Err(format!("{text:?} is no distance, expected more than 0")),
    }
}

/// A length with its unit, in metres.
fn length(text: &str) -> Result<f64, String> {
    let metres = checkstrip_model::units::parse_length(text)?;
    if metres >= 0.0 {
        Ok(metres)
    } else {
        Err(format!("{text:?} is negative"))
    }
}
