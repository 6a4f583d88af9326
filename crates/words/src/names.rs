//! Names that results hold in English, in the reader's language: crops, statuses, directions, zones.

use crate::say;
use crate::words::Words;
use checkstrip_model::Status;

impl Words {
    /// The name of a crop: one that is known by name in this language, any other as it is given.
    pub fn crop(&self, name: &str) -> String {
        match name {
            "soybean" => say!(self, "crop-soybean"),
            "corn" => say!(self, "crop-corn"),
            "wheat" => say!(self, "crop-wheat"),
            "barley" => say!(self, "crop-barley"),
            "oats" => say!(self, "crop-oats"),
            "rye" => say!(self, "crop-rye"),
            "sorghum" => say!(self, "crop-sorghum"),
            "canola" => say!(self, "crop-canola"),
            "sunflower" => say!(self, "crop-sunflower"),
            "dry bean" => say!(self, "crop-dry-bean"),
            other => other.to_owned(),
        }
    }

    /// What became of a record, for legends and tables.
    pub fn status(&self, status: Status) -> String {
        let id = match status {
            Status::Kept => "status-kept",
            Status::HeaderUp => "status-header-up",
            Status::PassStart => "status-pass-start",
            Status::PassEnd => "status-pass-end",
            Status::Overlap => "status-overlap",
            Status::Speed => "status-speed",
            Status::Position => "status-position",
            Status::Time => "status-time",
            Status::YieldLimit => "status-yield-limit",
            Status::LocalOutlier => "status-local-outlier",
            Status::Moisture => "status-moisture",
        };
        self.say(id, &[])
    }

    /// The nearest of eight compass points, by its English name.
    pub fn compass(&self, point: &str) -> String {
        match point {
            "north" => say!(self, "compass-north"),
            "north-east" => say!(self, "compass-north-east"),
            "east" => say!(self, "compass-east"),
            "south-east" => say!(self, "compass-south-east"),
            "south" => say!(self, "compass-south"),
            "south-west" => say!(self, "compass-south-west"),
            "west" => say!(self, "compass-west"),
            "north-west" => say!(self, "compass-north-west"),
            other => other.to_owned(),
        }
    }

    /// The name of a zone: those of classes in this language, drawn ones as they are.
    pub fn zone(&self, zones_by: &str, zone: &str) -> String {
        if zones_by == "polygons" {
            return zone.to_owned();
        }
        match zone {
            "low ground" => say!(self, "zone-low-ground"),
            "middle ground" => say!(self, "zone-middle-ground"),
            "high ground" => say!(self, "zone-high-ground"),
            "low yield" => say!(self, "zone-low-yield"),
            "middle yield" => say!(self, "zone-middle-yield"),
            "high yield" => say!(self, "zone-high-yield"),
            other => {
                if let Some(class) = other.strip_suffix(" (lowest)") {
                    say!(self, "zone-lowest", class = class)
                } else if let Some(class) = other.strip_suffix(" (highest)") {
                    say!(self, "zone-highest", class = class)
                } else {
                    other.to_owned()
                }
            }
        }
    }
}
