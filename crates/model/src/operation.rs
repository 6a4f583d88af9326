//! Which work a log is of: it decides which columns a log may have, and which it must have to be of use.

use crate::Column;

/// A field operation that a machine logs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Operation {
    /// Grain was cut: flow or yield.
    #[default]
    Harvest,
    /// Seed was placed: population, singulation, downforce, row by row where the planter logs rows.
    Planting,
    /// A product was put on: rates applied, and rates asked for.
    Application,
    /// Plants were counted after emergence, on foot: no machine, no passes.
    #[serde(rename = "stand_count")]
    StandCount,
}

impl Operation {
    /// Every operation, in the order of the season's questions: a log that could be of several is taken for
    /// the first.
    pub const ALL: &[Operation] = &[
        Operation::Harvest,
        Operation::Planting,
        Operation::Application,
        Operation::StandCount,
    ];

    /// A log of it, in a sentence.
    pub fn log_in_words(self) -> &'static str {
        match self {
            Operation::Harvest => "a harvest log",
            Operation::Planting => "a planting log",
            Operation::Application => "an as-applied log",
            Operation::StandCount => "a stand count",
        }
    }

    /// The columns of which a log needs one at least, besides its positions.
    pub fn telling_columns(self) -> &'static [Column] {
        match self {
            Operation::Harvest => &[Column::MassFlow, Column::Yield],
            Operation::Planting => &[
                Column::SeedRate,
                Column::Singulation,
                Column::Skips,
                Column::Multiples,
                Column::SeedSpacing,
                Column::SpacingVariation,
                Column::Downforce,
                Column::GroundContact,
                Column::RideQuality,
                Column::Vacuum,
            ],
            Operation::Application => &[Column::AppliedMass, Column::AppliedVolume],
            Operation::StandCount => &[Column::PlantCount, Column::Stand],
        }
    }
}
