//! The model behind the zones: a block's difference in a zone is the zone's advantage, an effect that
//! the whole block shares, and an error whose variance falls with the ground behind it. The pair of
//! strips stays the unit: a block that holds three zones is one block, and what its strips share does
//! not become three looks at the soil.

use super::sums::Place;
use crate::mixed_model::{
    Covariance, FTest, Fitted, Grouping, MixedModel, degrees_of_freedom, f_test, fit_ratio,
};
use checkstrip_model::results::ZoneTest;
use nalgebra::{DMatrix, DVector};

/// A fitted model of the places of one treatment.
pub(super) struct ZoneFit {
    model: MixedModel,
    fitted: Fitted,
    /// Whether blocks have an effect of their own in the model.
    has_blocks: bool,
    /// Median effective area, m².
    pub(super) typical_area_m2: f64,
}

impl ZoneFit {
    /// Fits `places`, whose zones are numbered from 0 to `zones` without a gap; `None` when there are no
    /// more places than zones.
    ///
    /// Where no block holds two zones, a block's effect and the error cannot be told apart: every block
    /// then counts the same, as with paired strips.
    pub(super) fn new(places: &[(usize, &Place)], zones: usize) -> Option<ZoneFit> {
        if places.len() <= zones {
            return None;
        }
        let mut areas: Vec<f64> = places
            .iter()
            .map(|(_, place)| place.effective_area_m2())
            .collect();
        areas.sort_unstable_by(f64::total_cmp);
        let middle = areas.len() / 2;
        let typical_area_m2 = if areas.len().is_multiple_of(2) {
            0.5 * (areas[middle - 1] + areas[middle])
        } else {
            areas[middle]
        };
        let has_blocks = places
            .windows(2)
            .any(|pair| pair[0].1.block == pair[1].1.block);
        let mut fixed = DMatrix::zeros(places.len(), zones);
        for (row, (zone, _)) in places.iter().enumerate() {
            fixed[(row, *zone)] = 1.0;
        }
        let noise = |place: &Place| {
            if has_blocks {
                typical_area_m2 / place.effective_area_m2()
            } else {
                1.0
            }
        };
        let differences = places.iter().map(|(_, place)| place.difference_kg_ha());
        let model = MixedModel {
            response: DVector::from_iterator(places.len(), differences),
            fixed,
            groupings: if has_blocks {
                vec![Grouping::Whole(
                    places.iter().map(|(_, place)| place.block).collect(),
                )]
            } else {
                vec![]
            },
            spatial: None,
            noise: places.iter().map(|(_, place)| noise(place)).collect(),
        };
        let fitted = if has_blocks {
            fit_ratio(&model)?
        } else {
            let covariance = Covariance {
                group_ratios: vec![],
                range: 1.0,
                nugget: 1.0,
            };
            Fitted {
                evaluation: model.evaluate(&covariance)?,
                covariance,
            }
        };
        Some(ZoneFit {
            model,
            fitted,
            has_blocks,
            typical_area_m2,
        })
    }

    /// Advantage in zone `zone`, its standard error (both kg/ha) and degrees of freedom.
    pub(super) fn advantage(&self, zone: usize) -> (f64, f64, f64) {
        let found = &self.fitted.evaluation;
        (
            found.effects[zone],
            found.std_error(zone),
            degrees_of_freedom(&self.model, &self.fitted, zone),
        )
    }

    /// Standard deviation of blocks, kg/ha; `None` without an effect of blocks.
    pub(super) fn block_sd(&self) -> Option<f64> {
        let ratio: f64 = self.fitted.covariance.group_ratios.iter().sum();
        self.has_blocks
            .then(|| (self.fitted.evaluation.variance * ratio).sqrt())
    }

    /// Standard deviation of the error at the typical area, kg/ha.
    pub(super) fn error_sd(&self) -> f64 {
        self.fitted.evaluation.variance.sqrt()
    }

    /// Tests that all zones have the same advantage; `None` with one zone or without any spread.
    ///
    /// The contrasts are those of Helmert, of length one and at right angles, so that the degrees of
    /// freedom do not depend on the order of the zones.
    pub(super) fn test(&self) -> Option<ZoneTest> {
        let zones = self.model.fixed.ncols();
        if zones < 2 {
            return None;
        }
        let contrasts = DMatrix::from_fn(zones - 1, zones, |row, zone| {
            let before = (row + 1) as f64;
            let length = (before * (before + 1.0)).sqrt();
            match zone {
                z if z <= row => 1.0 / length,
                z if z == row + 1 => -before / length,
                _ => 0.0,
            }
        });
        let FTest {
            f,
            numerator,
            denominator,
            p_value,
        } = f_test(&self.model, &self.fitted, &contrasts)?;
        Some(ZoneTest {
            f,
            df_zones: numerator,
            df_error: denominator,
            p_value,
        })
    }
}
