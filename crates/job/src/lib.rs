//! The whole job for one field: a trial file or its equivalent in, results, maps and report out; and
//! one answer from the results of many fields. The command line, and whatever else runs fields, call
//! this and add only how it looks while running.

mod along_strips;
mod applied;
mod compare;
mod error;
mod ground;
mod inspect;
mod live;
mod machine_log;
mod machines;
mod map;
mod outline;
mod outputs;
mod payoff;
mod plan;
mod planting;
mod pool;
mod report_files;
mod season;
mod setup;
mod stand;
mod strip_order;
mod strip_results;
mod strips;
mod surface;
mod toml_file;
mod trial_edit;
mod trial_file;
mod zones;

pub use applied::{
    APPLIED_SCHEMA, AchievedStrip, Applied, AppliedAgainstPlan, AppliedInput, AppliedSettings,
    AppliedSetup, Area, AskedGround, GroundByClass, PlanSource, RateKind, USUAL_TOLERANCE, applied,
    write_applied,
};
pub use compare::{
    BesideTheLog, CleanedField, Compared, clean_field, clean_log, compare, compare_cleaned,
    compare_log,
};
pub use error::JobError;
pub use inspect::{
    ColumnSummary, HarvestInspection, Inspection, LogInspection, MachineSummary, PolygonInspection,
    StripUse, TreatmentCount, inspect,
};
pub use live::{
    AppliedOutline, AppliedPass, AppliedSummary, DrawingVersion, DrawnStrip, LiveAnswer,
    LiveChoice, LiveField, OutlineProblem, PassEdges, PassSummary, QuantityKind, RecordColumn,
    ShownQuantity, ShownUnits,
};
pub use map::{MapSetup, draw_one_map};
pub use outline::{
    OUTLINE_SCHEMA, Outline, OutlineBy, OutlineSetup, OutlinedStrip, outline, write_outline,
};
pub use outputs::{ComparisonWritten, Export, WantedFiles, write_cleaning, write_comparison};
pub use payoff::{PayoffAnswer, PayoffQuestion, Stand, TreatmentAnswer, payoff_before_planting};
pub use plan::{
    Amounts, BreakEvenGain, DirectionSetup, GroundRecord, PLAN_SCHEMA, Parameters, Plan, PlanSetup,
    Planned, PowerRecord, Randomisation, StripRecord, WantedGain, YieldAmount, plan, write_plan,
};
pub use planting::{
    PLANTING_SCHEMA, Planted, PlantedField, PlanterFindings, PlantingInput, PlantingResults,
    PlantingSetup, planting, read_planting_settings, write_planting,
};
pub use pool::{PoolSetup, pool_results, write_pooled};
pub use season::{
    FieldEntry, FieldInput, FieldStatus, LEDGER_SCHEMA, Ledger, SETTLED_S, SeasonEvent,
    SeasonListener, SeasonOptions, SeasonSetup, files_of_trial, parse_memory, read_season_file,
    run_season, season_trials, summarise_season, watch_season,
};
pub use setup::{LanguageSetup, LogSetup, StandSetup, StripSetup, TrialSetup, ZoneSetup};
pub use strip_results::StripsForm;
pub use surface::{SURFACE_SCHEMA, SurfaceRecord, SurfaceSetup, VariogramRecord, draw_surface};
pub use trial_edit::save_choice;
pub use trial_file::{logs_of_patterns, names_in_trial_file, read_payoff, read_trial_file};
pub use zones::USUAL_CLASSES;
