//! The columns of a log: one name, quantity and SI unit each, and the operations whose logs have it. Readers
//! recognise them, exports write them under [`Column::canonical_name`], and the table in a trial file names
//! them by [`Column::key`].

use std::collections::BTreeMap;

use crate::Operation;

/// What a column measures; decides which units it may be given in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Quantity {
    /// A moment, in seconds from any fixed origin.
    Time,
    /// A length of time, in seconds.
    Duration,
    /// An angle or a geographic coordinate, in degrees.
    Angle,
    /// Grain mass per time, in kg/s.
    MassFlow,
    /// Grain mass, in kg.
    Mass,
    /// A share, in percent.
    Percent,
    /// Ground speed, in m/s.
    Speed,
    /// A length, in m.
    Length,
    /// Grain mass per area, in kg/ha.
    Yield,
    /// Seeds or plants per area, in 1/ha.
    CountPerArea,
    /// Product mass per area, in kg/ha.
    MassPerArea,
    /// Product volume per area, in L/ha.
    VolumePerArea,
    /// A force, in N.
    Force,
    /// A pressure, in Pa.
    Pressure,
    /// A whole number that counts or numbers something.
    Number,
    /// On or off: 1 or 0.
    Switch,
    /// A name rather than a number.
    Label,
}

use Operation::{Application, Harvest, Planting, StandCount};

macro_rules! columns {
    ($($variant:ident, $key:literal, $canonical:literal, $quantity:ident, [$($of:ident),*], $doc:literal;)*) => {
        /// A column of a log.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Column { $(#[doc = $doc] $variant),* }

        impl Column {
            /// Every column, in the order exports write them.
            pub const ALL: &[Column] = &[$(Column::$variant),*];

            /// The name without its unit: the key in `[harvest.columns]`.
            pub fn key(self) -> &'static str { match self { $(Column::$variant => $key),* } }

            /// The name with its SI unit, written by every export.
            pub fn canonical_name(self) -> &'static str {
                match self { $(Column::$variant => $canonical),* }
            }

            /// What the column measures.
            pub fn quantity(self) -> Quantity {
                match self { $(Column::$variant => Quantity::$quantity),* }
            }

            /// The operations whose logs have the column.
            pub fn operations(self) -> &'static [Operation] {
                match self { $(Column::$variant => &[$($of),*]),* }
            }

            /// What the column holds, as a sentence.
            pub fn meaning(self) -> &'static str {
                match self { $(Column::$variant => $doc),* }
            }
        }
    };
}

columns! {
    Timestamp, "timestamp", "timestamp_s", Time, [Harvest, Planting, Application], "When the record's interval ended.";
    Lon, "lon", "lon", Angle, [Harvest, Planting, Application, StandCount], "Longitude of the centre of the cutting or working edge, or of a count, WGS 84.";
    Lat, "lat", "lat", Angle, [Harvest, Planting, Application, StandCount], "Latitude of the centre of the cutting or working edge, or of a count, WGS 84.";
    MassFlow, "mass_flow", "mass_flow_kg_s", MassFlow, [Harvest], "Wet grain flow at the sensor.";
    Moisture, "moisture", "moisture_pct", Percent, [Harvest], "Grain moisture, wet basis.";
    Speed, "speed", "speed_m_s", Speed, [Harvest, Planting, Application], "Ground speed.";
    Distance, "distance", "distance_m", Length, [Harvest, Planting, Application], "Ground travelled in the interval.";
    Interval, "interval", "interval_s", Duration, [Harvest, Planting, Application], "Length of the record's interval.";
    Width, "width", "width_m", Length, [Harvest, Planting, Application], "Cutting or working width in use.";
    HeaderDown, "header_down", "header_down", Switch, [Harvest, Planting, Application], "Whether the header or implement was in work.";
    Heading, "heading", "heading_deg", Angle, [Harvest, Planting, Application], "Direction of travel, clockwise from true north.";
    PassId, "pass_id", "pass_id", Label, [Harvest, Planting, Application], "The machine's own pass number.";
    Elevation, "elevation", "elevation_m", Length, [Harvest, Planting, Application], "Height.";
    Machine, "machine", "machine", Label, [Harvest, Planting, Application], "Which machine wrote the record.";
    Load, "load", "load", Label, [Harvest], "Which load or scale ticket the grain went to.";
    Yield, "yield", "yield_kg_ha", Yield, [Harvest], "Yield, for logs that carry nothing better.";
    Row, "row", "row", Number, [Planting], "The row of the planter, from 1 at its left.";
    SeedRate, "seed_rate", "seed_rate_seeds_ha", CountPerArea, [Planting], "Seeds placed per area.";
    TargetSeedRate, "target_seed_rate", "target_seed_rate_seeds_ha", CountPerArea, [Planting, StandCount], "Seeds per area asked for.";
    Singulation, "singulation", "singulation_pct", Percent, [Planting], "Share of seeds that fell one by one.";
    Skips, "skips", "skips_pct", Percent, [Planting], "Share of places where a seed is missing.";
    Multiples, "multiples", "multiples_pct", Percent, [Planting], "Share of places with more than one seed.";
    SeedSpacing, "seed_spacing", "seed_spacing_m", Length, [Planting], "Mean distance from seed to seed in the row.";
    SpacingVariation, "spacing_variation", "spacing_variation_pct", Percent, [Planting], "Coefficient of variation of the distance from seed to seed.";
    Downforce, "downforce", "downforce_n", Force, [Planting], "Load on the gauge wheels of a row.";
    GroundContact, "ground_contact", "ground_contact_pct", Percent, [Planting], "Share of the time that the gauge wheels were on the ground.";
    RideQuality, "ride_quality", "ride_quality_pct", Percent, [Planting], "Share of the time that the row ran without bouncing.";
    Vacuum, "vacuum", "vacuum_pa", Pressure, [Planting], "Vacuum at the seed meter.";
    AppliedMass, "applied_mass", "applied_mass_kg_ha", MassPerArea, [Planting, Application], "Product mass put on per area.";
    TargetMass, "target_mass", "target_mass_kg_ha", MassPerArea, [Planting, Application], "Product mass per area asked for.";
    AppliedVolume, "applied_volume", "applied_volume_l_ha", VolumePerArea, [Planting, Application], "Product volume put on per area.";
    TargetVolume, "target_volume", "target_volume_l_ha", VolumePerArea, [Planting, Application], "Product volume per area asked for.";
    Product, "product", "product", Label, [Planting, Application], "Product, variety or hybrid.";
    PlantCount, "plant_count", "plant_count", Number, [StandCount], "Plants counted.";
    RowLength, "row_length", "row_length_m", Length, [StandCount], "Length of row in which they were counted.";
    RowSpacing, "row_spacing", "row_spacing_m", Length, [StandCount], "Distance from row to row.";
    CountedRows, "counted_rows", "counted_rows", Number, [StandCount], "Rows of that length that were counted; one where it is absent.";
    Stand, "stand", "stand_plants_ha", CountPerArea, [StandCount], "Plants per area, counted some other way.";
    StripId, "strip_id", "strip_id", Label, [StandCount], "The strip in which the count was made.";
}

impl Column {
    /// The column whose [`key`](Self::key) is `key`.
    pub fn from_key(key: &str) -> Option<Column> {
        Column::ALL
            .iter()
            .copied()
            .find(|column| column.key() == key)
    }
}

/// Where a column is found in a file, when its header does not say so by itself.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ColumnSource {
    /// The header as it stands in the file.
    pub column: String,
    /// The unit, when the header does not carry it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub unit: Option<String>,
}

/// The `[harvest.columns]` table: columns named by hand.
pub type ColumnMap = BTreeMap<Column, ColumnSource>;
