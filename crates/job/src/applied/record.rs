//! `applied.json`: how what was done compares with what was asked, for programs. Keys carry their unit, or stand above
//! hectares and acres; the schema's name changes when a key changes its meaning.

use checkstrip_model::results::{InputColumn, Tool};
use checkstrip_model::units::{HA_PER_ACRE, M2_PER_HA};
use checkstrip_model::{AppliedClass, Operation, SourceFile, Warning};
use serde::Serialize;
use std::collections::BTreeMap;

/// Name of this schema.
pub const APPLIED_SCHEMA: &str = "checkstrip-applied/1";

/// An area in both units.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize)]
pub struct Area {
    /// Hectares.
    pub ha: f64,
    /// Acres.
    pub ac: f64,
}

impl Area {
    pub(super) fn of_m2(square_metres: f64) -> Area {
        let ha = square_metres / M2_PER_HA;
        Area {
            ha,
            ac: ha / HA_PER_ACRE,
        }
    }

    pub(super) fn add(&mut self, other: Area) {
        self.ha += other.ha;
        self.ac += other.ac;
    }
}

/// The whole file.
#[derive(Debug, Clone, Serialize)]
pub struct Applied {
    /// [`APPLIED_SCHEMA`].
    pub schema: String,
    /// What wrote the file.
    pub tool: Tool,
    /// Name of the field.
    pub name: String,
    /// Which work the log is of.
    pub operation: Operation,
    /// What the log held.
    pub input: AppliedInput,
    /// Where the plan came from.
    pub plan: PlanSource,
    /// Every setting.
    pub settings: AppliedSettings,
    /// Moments of the log, of all rows together.
    pub moments: usize,
    /// How many of them had nothing at work.
    pub idle_moments: usize,
    /// Direction of most ground, degrees from north.
    pub direction_deg: f64,
    /// Ground of passes across that direction; counted below, but in no strip.
    pub end_rows: Area,
    /// The unit of all rates; absent where none were compared.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rate_unit: Option<String>,
    /// Everything that was asked for, in the order of the plan or the log.
    pub asked: Vec<AskedGround>,
    /// All of it together.
    pub total: GroundByClass,
    /// Ground worked outside everything planned.
    pub not_planned: Area,
    /// Pieces of it too narrow or small to be told from the receiver's noise.
    pub not_planned_noise: Area,
    /// Ground where the plan was achieved, as strips.
    pub strips: Vec<AchievedStrip>,
    /// Pieces of ground in `areas.geojson`.
    pub pieces: usize,
    /// What a reader should know.
    pub warnings: Vec<Warning>,
}

/// What the log held.
#[derive(Debug, Clone, Serialize)]
pub struct AppliedInput {
    /// Records, one a row and moment.
    pub records: usize,
    /// The files.
    pub files: Vec<SourceFile>,
    /// For each column that was read: its header and unit.
    pub columns: Vec<InputColumn>,
}

/// Where the plan came from.
#[derive(Debug, Clone, Serialize)]
#[serde(tag = "from", rename_all = "snake_case")]
pub enum PlanSource {
    /// The log's own columns of rates asked for.
    Log,
    /// A file of polygons.
    File {
        /// The file as given.
        path: String,
        /// SHA-256 of its bytes.
        sha256: String,
        /// Its coordinate reference system.
        crs: String,
        /// The attribute that names treatment or product.
        treatment_column: Option<String>,
        /// The attribute of rates, and its unit.
        rate_column: Option<(String, String)>,
        /// Polygons in it.
        polygons: usize,
    },
}

/// Every setting.
#[derive(Debug, Clone, Serialize)]
pub struct AppliedSettings {
    /// A rate counts as asked when it is off by no more than this share.
    pub tolerance: f64,
    /// Rates are medians over so much of the way, m.
    pub judged_over_m: f64,
    /// Products that stand for treatments of the plan, as given.
    pub products: BTreeMap<String, String>,
    /// Width of the machine, m.
    pub width_m: f64,
    /// Slits narrower than twice this are closed, and pieces narrower than that are noise, m.
    pub closed_m: f64,
    /// Smaller pieces that are not as asked are noise, m².
    pub smallest_piece_m2: f64,
    /// Smaller pieces as asked make no strip, m².
    pub smallest_strip_m2: f64,
    /// Passes this far from the direction of most ground are end rows, degrees.
    pub end_rows_deg: f64,
    /// Whether end rows belong to strips.
    pub keep_end_rows: bool,
}

/// Something that was asked for, and what became of it.
#[derive(Debug, Clone, Serialize)]
pub struct AskedGround {
    /// What it is called.
    pub treatment: String,
    /// The product asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub product: Option<String>,
    /// The rate asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rate: Option<f64>,
    /// Whether nothing was to be put on.
    pub nothing: bool,
    /// Its ground by class.
    #[serde(flatten)]
    pub ground: GroundByClass,
    /// Mean of the rates put on there, by ground; of all classes.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mean_rate: Option<f64>,
    /// `mean_rate` over `rate`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mean_over_asked: Option<f64>,
}

/// Ground by class. The classes and `noise` add up to `planned`.
#[derive(Debug, Clone, Copy, Default, Serialize)]
pub struct GroundByClass {
    /// Ground planned so.
    pub planned: Area,
    /// How much of it was worked at all.
    pub worked: Area,
    /// As asked, within the tolerance.
    pub as_asked: Area,
    /// At a lower rate.
    pub less: Area,
    /// At a higher rate.
    pub more: Area,
    /// With another product.
    pub other_product: Area,
    /// Not worked.
    pub not_worked: Area,
    /// Worked, though nothing was planned.
    pub not_planned: Area,
    /// Worked, but the log does not say with which product or at which rate.
    pub not_logged: Area,
    /// Pieces too narrow or small to be told from the receiver's noise.
    pub noise: Area,
}

impl GroundByClass {
    pub(super) fn of_class(&mut self, class: AppliedClass) -> &mut Area {
        match class {
            AppliedClass::AsAsked => &mut self.as_asked,
            AppliedClass::Less => &mut self.less,
            AppliedClass::More => &mut self.more,
            AppliedClass::OtherProduct => &mut self.other_product,
            AppliedClass::NotWorked => &mut self.not_worked,
            AppliedClass::NotPlanned => &mut self.not_planned,
            AppliedClass::NotLogged => &mut self.not_logged,
        }
    }

    /// The ground of a class.
    pub fn class(&self, class: AppliedClass) -> Area {
        *self.clone().of_class(class)
    }

    pub(super) fn add(&mut self, other: &GroundByClass) {
        self.planned.add(other.planned);
        self.worked.add(other.worked);
        self.noise.add(other.noise);
        for class in AppliedClass::ALL {
            self.of_class(class).add(other.class(class));
        }
    }
}

/// A strip on ground where the plan was achieved.
#[derive(Debug, Clone, Serialize)]
pub struct AchievedStrip {
    /// Its name: the plan's, or numbered across the passes.
    pub strip_id: String,
    /// What was planned and done on it.
    pub treatment: String,
    /// Its block, where the plan says.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub block: Option<String>,
    /// Its ground.
    pub achieved: Area,
    /// Share of the planned ground, where a file says it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub share: Option<f64>,
}
