//! The columns of a harvest log: one name, quantity and SI unit each. Readers recognise them,
//! exports write them under [`Column::canonical_name`], and the table in a trial file names them by
//! [`Column::key`].

use std::collections::BTreeMap;

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
    /// A share, in percent.
    Percent,
    /// Ground speed, in m/s.
    Speed,
    /// A length, in m.
    Length,
    /// Grain mass per area, in kg/ha.
    Yield,
    /// On or off: 1 or 0.
    Switch,
    /// A name rather than a number.
    Label,
}

macro_rules! columns {
    ($($variant:ident, $key:literal, $canonical:literal, $quantity:ident, $doc:literal;)*) => {
        /// A column of a harvest log.
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
        }
    };
}

columns! {
    Timestamp, "timestamp", "timestamp_s", Time, "When the record's interval ended.";
    Lon, "lon", "lon", Angle, "Longitude of the centre of the cutting edge, WGS 84.";
    Lat, "lat", "lat", Angle, "Latitude of the centre of the cutting edge, WGS 84.";
    MassFlow, "mass_flow", "mass_flow_kg_s", MassFlow, "Wet grain flow at the sensor.";
    Moisture, "moisture", "moisture_pct", Percent, "Grain moisture, wet basis.";
    Speed, "speed", "speed_m_s", Speed, "Ground speed.";
    Distance, "distance", "distance_m", Length, "Ground travelled in the interval.";
    Interval, "interval", "interval_s", Duration, "Length of the record's interval.";
    Width, "width", "width_m", Length, "Cutting width in use.";
    HeaderDown, "header_down", "header_down", Switch, "Whether the header was in work.";
    Heading, "heading", "heading_deg", Angle, "Direction of travel, clockwise from true north.";
    PassId, "pass_id", "pass_id", Label, "The machine's own pass number.";
    Elevation, "elevation", "elevation_m", Length, "Height.";
    Machine, "machine", "machine", Label, "Which machine wrote the record.";
    Load, "load", "load", Label, "Which load or scale ticket the grain went to.";
    Yield, "yield", "yield_kg_ha", Yield, "Yield, for logs that carry nothing better.";
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
