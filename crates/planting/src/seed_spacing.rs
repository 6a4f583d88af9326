//! Seed spacing arithmetic: how far apart seeds of a population lie in rows of a width, and how much
//! ground one turn of the seed disc covers.
//!
//! # Source
//! Arithmetic of areas; the figures of its examples are common practice, no source.

use checkstrip_model::units::M2_PER_HA;

/// Distance from seed to seed in a row, m, at `seeds_per_ha` in rows `row_spacing_m` apart. `NaN` where
/// either is not above 0.
///
/// ```
/// use checkstrip_model::units::{HA_PER_ACRE, M_PER_INCH};
/// // 32,000 seeds an acre in rows of 30 inches: 6.53 inches.
/// let spacing = checkstrip_planting::seed_spacing_m(32_000.0 / HA_PER_ACRE, 30.0 * M_PER_INCH);
/// assert!((spacing / M_PER_INCH - 6.534).abs() < 1e-3);
/// ```
pub fn seed_spacing_m(seeds_per_ha: f64, row_spacing_m: f64) -> f64 {
    if seeds_per_ha > 0.0 && row_spacing_m > 0.0 {
        M2_PER_HA / (seeds_per_ha * row_spacing_m)
    } else {
        f64::NAN
    }
}

/// Seeds per hectare at a distance from seed to seed: the inverse of [`seed_spacing_m`].
pub fn seeds_per_ha(seed_spacing_m: f64, row_spacing_m: f64) -> f64 {
    self::seed_spacing_m(seed_spacing_m, row_spacing_m)
}

/// Ground covered in one turn of a seed disc of `cells` cells, m.
///
/// ```
/// // 40 cells at 16.6 cm.
/// assert!((checkstrip_planting::disc_circumference_m(40, 0.166) - 6.64).abs() < 1e-12);
/// ```
pub fn disc_circumference_m(cells: u32, seed_spacing_m: f64) -> f64 {
    f64::from(cells) * seed_spacing_m
}

/// How far right of the planter's centre a row runs, m: row 1 is the leftmost of `rows`.
pub fn row_offset_m(row: usize, rows: usize, row_spacing_m: f64) -> f64 {
    (row as f64 - (rows as f64 + 1.0) / 2.0) * row_spacing_m
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn population_and_spacing_are_inverse() {
        for population in [40_000.0, 79_000.0, 345_000.0] {
            let spacing = seed_spacing_m(population, 0.762);
            assert!((seeds_per_ha(spacing, 0.762) / population - 1.0).abs() < 1e-12);
        }
        assert!(seed_spacing_m(0.0, 0.762).is_nan() && seed_spacing_m(1.0, f64::NAN).is_nan());
    }

    #[test]
    fn rows_lie_evenly_about_the_centre() {
        assert_eq!(row_offset_m(1, 4, 0.5), -0.75);
        assert_eq!(row_offset_m(4, 4, 0.5), 0.75);
        let sum: f64 = (1..=16).map(|row| row_offset_m(row, 16, 0.762)).sum();
        assert!(sum.abs() < 1e-12);
    }
}
