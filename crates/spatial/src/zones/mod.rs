//! Zones of the ground, record by record: which soil, height or yielding power the ground under each
//! record has. Zones come from drawn polygons or from classes of a value smoothed over the ground, never
//! from the yields of the harvest that is judged.
//!
//! A record belongs to the zone in which the middle of its footprint lies. How zones are found, and what
//! that does to an answer, is in `docs/zones.md`.

mod classes;
mod drawn;
mod nearby;
mod sums;

pub use classes::{Classes, classes};
pub use drawn::drawn_zones;
pub use nearby::{local_mean, local_median};
pub use sums::{ZoneSum, zone_sums};

/// Stands for no zone.
pub const NO_ZONE: u16 = u16::MAX;

/// The zone of every record.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct ZoneColumn {
    /// Names of the zones.
    pub names: Vec<String>,
    /// For each record its place in `names`, or [`NO_ZONE`].
    pub of_record: Vec<u16>,
    /// Records whose middle lies in polygons of several zones, rising; the zone first in the file counts.
    pub several: Vec<u32>,
}

impl ZoneColumn {
    /// The zone of a record.
    pub fn zone(&self, record: usize) -> Option<usize> {
        let zone = self.of_record[record];
        (zone != NO_ZONE).then_some(zone as usize)
    }

    /// Keeps the zones that `keeps`, in their order; records of others are in no zone.
    pub fn retain(&mut self, keeps: impl Fn(usize) -> bool) {
        let mut next = 0;
        let new_place: Vec<u16> = (0..self.names.len())
            .map(|zone| {
                if keeps(zone) {
                    next += 1;
                    next - 1
                } else {
                    NO_ZONE
                }
            })
            .collect();
        for zone in &mut self.of_record {
            *zone = new_place.get(*zone as usize).copied().unwrap_or(NO_ZONE);
        }
        let mut zone = 0;
        self.names.retain(|_| {
            zone += 1;
            new_place[zone - 1] != NO_ZONE
        });
    }
}
