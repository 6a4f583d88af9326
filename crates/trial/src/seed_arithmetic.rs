//! What one more seed on every plant is worth: seeds an acre over seeds in a bushel. A check on how
//! small a change in the plant a given gain in the field is.

use crate::TrialError;
use checkstrip_model::units::{KG_PER_LB, kg_per_ha};
use serde::Serialize;

/// One seed and one pod more per plant as yield.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SeedArithmetic {
    /// Plants per acre.
    pub stand_per_ac: f64,
    /// Seeds in one pound of grain.
    pub seeds_per_lb: f64,
    /// Seeds in one pod.
    pub seeds_per_pod: f64,
    /// Seeds in one bushel.
    pub seeds_per_bu: f64,
    /// Yield of one more seed on every plant, bu/ac.
    pub per_seed_bu_ac: f64,
    /// The same in kg/ha.
    pub per_seed_kg_ha: f64,
    /// Yield of one more pod on every plant, bu/ac.
    pub per_pod_bu_ac: f64,
    /// The same in kg/ha.
    pub per_pod_kg_ha: f64,
}

impl SeedArithmetic {
    /// Seeds more on every plant that make `bu_ac` bushels per acre.
    pub fn seeds_per_plant(&self, bu_ac: f64) -> f64 {
        bu_ac / self.per_seed_bu_ac
    }
}

/// Yield of one more seed, and of one more pod of `seeds_per_pod`, on each of `stand_per_ac` plants.
/// `seeds_per_lb` counts seeds of harvested grain at market moisture, `bushel_kg` is the crop's
/// bushel.
///
/// # Errors
/// A number that is not above zero, with its name.
///
/// ```
/// // Common practice, no source: 140,000 soybeans are about a bushel, so one more bean on each of
/// // 140,000 plants is about 1 bu/ac, and one more three-bean pod about 3.
/// use checkstrip_trial::seed_arithmetic;
/// let found = seed_arithmetic(140_000.0, 2_333.0, 3.0, 27.2155422).unwrap();
/// assert!((found.seeds_per_bu - 140_000.0).abs() < 100.0);
/// assert!((found.per_seed_bu_ac - 1.0).abs() < 0.001);
/// assert!((found.per_pod_bu_ac - 3.0).abs() < 0.003);
/// ```
pub fn seed_arithmetic(
    stand_per_ac: f64,
    seeds_per_lb: f64,
    seeds_per_pod: f64,
    bushel_kg: f64,
) -> Result<SeedArithmetic, TrialError> {
    for (what, value) in [
        ("plants per acre", stand_per_ac),
        ("seeds per pound", seeds_per_lb),
        ("seeds per pod", seeds_per_pod),
        ("the bushel's kilograms", bushel_kg),
    ] {
        if !value.is_finite() || value <= 0.0 {
            return Err(TrialError::Seeds { what, value });
        }
    }
    let seeds_per_bu = seeds_per_lb * bushel_kg / KG_PER_LB;
    let per_seed_bu_ac = stand_per_ac / seeds_per_bu;
    let per_pod_bu_ac = per_seed_bu_ac * seeds_per_pod;
    Ok(SeedArithmetic {
        stand_per_ac,
        seeds_per_lb,
        seeds_per_pod,
        seeds_per_bu,
        per_seed_bu_ac,
        per_seed_kg_ha: kg_per_ha(per_seed_bu_ac, bushel_kg),
        per_pod_bu_ac,
        per_pod_kg_ha: kg_per_ha(per_pod_bu_ac, bushel_kg),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: corn, 56 lb bushels, 1,600 kernels a pound make 89,600 a bushel; ten more kernels
    /// on each of 32,000 ears are 320,000 ÷ 89,600 = 3.571 bu/ac.
    #[test]
    fn kernels_by_hand() {
        let found = seed_arithmetic(32_000.0, 1_600.0, 10.0, 56.0 * KG_PER_LB).unwrap();
        assert!((found.seeds_per_bu - 89_600.0).abs() < 1e-6);
        assert!((found.per_pod_bu_ac - 3.571_43).abs() < 1e-5);
        assert!((found.seeds_per_plant(found.per_pod_bu_ac) - 10.0).abs() < 1e-9);
    }

    #[test]
    fn nonsense_is_refused_by_name() {
        let error = seed_arithmetic(0.0, 2_333.0, 3.0, 27.2).unwrap_err();
        assert!(error.to_string().contains("plants per acre"), "{error}");
        assert!(seed_arithmetic(1e5, f64::NAN, 3.0, 27.2).is_err());
    }
}
