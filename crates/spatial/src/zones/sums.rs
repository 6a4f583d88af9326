//! Grain and ground added up by strip and zone, the way strips are: what a record harvested of an inset
//! strip goes to the zone of the record.

use super::ZoneColumn;
use crate::overlay::Overlay;
use checkstrip_model::CleanLog;

/// What was harvested of one strip in one zone.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct ZoneSum {
    /// Newly harvested ground inside the inset strip, m².
    pub area_m2: f64,
    /// Grain from it at market moisture, kg.
    pub dry_mass_kg: f64,
}

/// The sums of each of `strips` strips: one for every zone, and a last one for ground in no zone. They
/// add up to the strip's sum. Sums run in record order, so that figures repeat to the last digit.
pub fn zone_sums(
    log: &CleanLog,
    overlay: &Overlay,
    strips: usize,
    zones: &ZoneColumn,
) -> Vec<Vec<ZoneSum>> {
    let none = zones.names.len();
    let mut sums = vec![vec![ZoneSum::default(); none + 1]; strips];
    for part in overlay.kept_parts(log) {
        let sum = &mut sums[part.strip][zones.zone(part.record).unwrap_or(none)];
        sum.area_m2 += part.area_m2;
        sum.dry_mass_kg += part.mass_kg;
    }
    sums
}
