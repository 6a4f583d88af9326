//! Grain and ground added up strip by strip: the part of every kept footprint inside an inset strip
//! brings its share of the record's grain and newly harvested ground. How much of each footprint lay
//! in which treatment is kept too, because a header that straddles two treatments mixes them, and the
//! comparison must know by how much.

use crate::overlay::Overlay;
use crate::strip_ground::StripField;
use checkstrip_model::CleanLog;

/// What was harvested on one strip.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct StripSum {
    /// Kept records whose footprint meets the inset strip.
    pub records: usize,
    /// Newly harvested ground of those records inside the inset strip, m².
    pub area_m2: f64,
    /// Grain from that ground at market moisture, kg.
    pub dry_mass_kg: f64,
    /// Mean moisture of that grain weighted by its mass, percent; `NaN` without grain.
    pub moisture_pct: f64,
    /// For each treatment, the share of the ground under these footprints (weighted by their part
    /// in the inset strip) that was drawn as that treatment. What is missing to 1 lay in no strip.
    pub treatment_shares: Vec<f64>,
}

impl StripSum {
    /// Yield at market moisture, kg/ha; `None` when nothing was harvested.
    pub fn yield_kg_ha(&self) -> Option<f64> {
        (self.area_m2 > 0.0).then(|| self.dry_mass_kg / self.area_m2 * 1e4)
    }
}

/// Adds the overlay of `log` over `field` up, one sum per strip in the order of the strips.
///
/// Which records count, and for how much, is said at [`Overlay::kept_parts`]. Sums run in record order,
/// so that figures repeat to the last digit.
pub fn strip_sums(log: &CleanLog, field: &StripField, overlay: &Overlay) -> Vec<StripSum> {
    let empty = StripSum {
        treatment_shares: vec![0.0; field.treatments.len()],
        ..StripSum::default()
    };
    let mut sums = vec![empty; field.strips.len()];
    let mut weights = vec![0.0; field.strips.len()];
    for part in overlay.kept_parts(log) {
        let sum = &mut sums[part.strip];
        sum.records += 1;
        sum.area_m2 += part.area_m2;
        sum.dry_mass_kg += part.mass_kg;
        let moisture_pct = log.moisture_pct[part.record];
        if moisture_pct.is_finite() {
            sum.moisture_pct += part.mass_kg * moisture_pct;
        }
        weights[part.strip] += part.inside_m2;
        for (total, share) in sum.treatment_shares.iter_mut().zip(part.shares) {
            *total += part.inside_m2 * f64::from(*share);
        }
    }
    for (sum, weight) in sums.iter_mut().zip(weights) {
        sum.moisture_pct /= sum.dry_mass_kg;
        if weight > 0.0 {
            sum.treatment_shares
                .iter_mut()
                .for_each(|share| *share /= weight);
        }
    }
    sums
}
