//! Where a treatment paid: its advantage over the check in each zone of the ground, and whether that
//! differs from zone to zone. Works on strip sums by zone; which ground is in which zone was decided
//! before, without a look at this harvest's yields.
//!
//! What is assumed, and what to make of it, is in `docs/zones.md`.

mod fit;
mod sums;

#[cfg(test)]
mod tests;

pub use sums::{ZoneSum, ZoneSums};

use crate::TrialError;
use crate::paired_strips::{Parts, comparison};
use crate::payoff::{PayoffSetup, payoff};
use crate::plot::Layout;
use checkstrip_model::results::{BlockDifference, TreatmentByZone, ZoneAdvantage, ZonePayoff};
use checkstrip_model::{SaidList, SaidText, Warning};
use checkstrip_words::{said_values, warning};
use fit::ZoneFit;
use sums::Place;

/// A place with less ground than this of treatment or check is not compared, m²: some 20 m of driving
/// with a 30 ft header, over which the grain stream is smeared. Common practice, no source.
pub const LEAST_ZONE_AREA_M2: f64 = 200.0;

/// Zones with fewer blocks than this are shown with a warning.
const FEW_BLOCKS: usize = 3;

/// What was found by zone.
#[derive(Debug, Clone, Default)]
pub struct ByZone {
    /// Every treatment that shares a zone of a block with the check.
    pub treatments: Vec<TreatmentByZone>,
    /// What a reader should know.
    pub warnings: Vec<Warning>,
}

/// Every treatment against the check, zone by zone.
///
/// In each block the difference is taken in each zone that holds at least [`LEAST_ZONE_AREA_M2`] of
/// treatment and of check. These differences are fitted as zone + block + error, by restricted maximum
/// likelihood, the error's variance proportional to 1/treated + 1/check ground. Zones with one block
/// stand outside the fit: their difference is shown, with `NaN` for standard error and interval.
///
/// # Errors
/// Costs that make no sense.
pub fn by_zone(
    layout: &Layout,
    zones: &ZoneSums,
    bushel_kg: f64,
    money: Option<&PayoffSetup>,
) -> Result<ByZone, TrialError> {
    let mut found = ByZone::default();
    for treatment in layout.treated() {
        if let Some(one) = treatment_by_zone(layout, zones, treatment, bushel_kg, money)? {
            found.warnings.extend(warnings(&one));
            found.treatments.push(one);
        }
    }
    Ok(found)
}

fn treatment_by_zone(
    layout: &Layout,
    zones: &ZoneSums,
    treatment: usize,
    bushel_kg: f64,
    money: Option<&PayoffSetup>,
) -> Result<Option<TreatmentByZone>, TrialError> {
    let enough = |place: &Place| place.area_m2.iter().all(|&m2| m2 >= LEAST_ZONE_AREA_M2);
    let (places, left_out): (Vec<Place>, Vec<Place>) = zones
        .places(layout, treatment)
        .into_iter()
        .partition(enough);
    if places.is_empty() {
        return Ok(None);
    }
    let in_zone = |zone: usize| places.iter().filter(move |place| place.zone == zone);
    let fitted_zones: Vec<usize> = (0..zones.zones.len())
        .filter(|&zone| in_zone(zone).count() > 1)
        .collect();
    let fitted_places: Vec<(usize, &Place)> = places
        .iter()
        .filter_map(|place| {
            let column = fitted_zones.iter().position(|&zone| zone == place.zone)?;
            Some((column, place))
        })
        .collect();
    let fit = ZoneFit::new(&fitted_places, fitted_zones.len());
    let blocks = layout.blocks();
    let cost = match money {
        Some(money) => money
            .cost(layout, treatment)?
            .map(|cost| (cost, money.price_per_bu)),
        None => None,
    };
    let mut by_zone = Vec::new();
    for (zone, name) in zones.zones.iter().enumerate() {
        let differences: Vec<BlockDifference> = in_zone(zone)
            .map(|place| BlockDifference {
                block: blocks[place.block].to_owned(),
                difference_kg_ha: place.difference_kg_ha(),
            })
            .collect();
        if differences.is_empty() {
            continue;
        }
        let column = fitted_zones.iter().position(|&fitted| fitted == zone);
        let (advantage, std_error, df) = match (&fit, column) {
            (Some(fit), Some(column)) => fit.advantage(column),
            _ => (mean(&differences), f64::NAN, 0.0),
        };
        let found = comparison(Parts {
            layout,
            treatment,
            method: "zone",
            bushel_kg,
            advantage,
            std_error,
            df,
            dilution: f64::NAN,
            differences,
        });
        let worth = match &cost {
            Some((cost, price)) => {
                let money = payoff(&found, cost, *price, bushel_kg)?;
                Some(ZonePayoff {
                    net_per_ac: money.net_per_ac,
                    net_interval_95_per_ac: money.net_interval_95_per_ac,
                    odds_it_pays: money.odds_it_pays,
                })
            }
            None => None,
        };
        by_zone.push(ZoneAdvantage {
            zone: name.clone(),
            blocks: found.blocks,
            area_m2: in_zone(zone).map(Place::ground_m2).sum(),
            check_yield_kg_ha: check_yield_kg_ha(in_zone(zone)),
            advantage_kg_ha: found.advantage_kg_ha,
            advantage_bu_ac: found.advantage_bu_ac,
            std_error_kg_ha: found.std_error_kg_ha,
            df: found.df,
            interval_95_kg_ha: found.interval_95_kg_ha,
            interval_95_bu_ac: found.interval_95_bu_ac,
            block_differences: found.block_differences,
            payoff: worth,
        });
    }
    Ok(Some(TreatmentByZone {
        treatment: layout.treatments[treatment].clone(),
        check: layout.treatments[layout.check].clone(),
        zones: by_zone,
        test: fit.as_ref().and_then(ZoneFit::test),
        block_sd_kg_ha: fit.as_ref().and_then(ZoneFit::block_sd),
        error_sd_kg_ha: fit.as_ref().map(ZoneFit::error_sd),
        typical_area_m2: fit.as_ref().map(|fit| fit.typical_area_m2),
        places_left_out: left_out.len(),
        // An empty sum is -0.0.
        area_left_out_m2: left_out
            .iter()
            .map(Place::ground_m2)
            .fold(0.0, |sum, m2| sum + m2),
    }))
}

fn check_yield_kg_ha<'a>(places: impl Iterator<Item = &'a Place>) -> f64 {
    let (mass, area) = places.fold((0.0, 0.0), |(mass, area), place| {
        (mass + place.mass_kg[1], area + place.area_m2[1])
    });
    mass / area * 1e4
}

fn mean(differences: &[BlockDifference]) -> f64 {
    let sum: f64 = differences.iter().map(|d| d.difference_kg_ha).sum();
    sum / differences.len() as f64
}

/// Zones that rest on too little.
fn warnings(found: &TreatmentByZone) -> Option<Warning> {
    let few: Vec<SaidText> = found
        .zones
        .iter()
        .filter(|zone| zone.blocks < FEW_BLOCKS)
        .map(|zone| {
            let values = said_values!(zone = &zone.zone, blocks = zone.blocks);
            SaidText::new("few-blocks-in-zone", values)
        })
        .collect();
    (!few.is_empty()).then(|| {
        let zones = SaidList {
            between: ", ".to_owned(),
            texts: few,
        };
        warning(
            "few_blocks_in_zone",
            said_values!(treatment = &found.treatment, zones = zones),
        )
    })
}
