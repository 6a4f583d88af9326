//! What a rate counts: the columns of a log that hold what was asked and what was put on, and its units.

use checkstrip_model::units::{UnitSystem, shortest, to_si};
use checkstrip_model::{Column, Quantity};

/// What a rate counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RateKind {
    /// Seeds per area.
    Seeds,
    /// Mass of product per area.
    Mass,
    /// Volume of product per area.
    Volume,
}

impl RateKind {
    pub(super) const ALL: [RateKind; 3] = [RateKind::Seeds, RateKind::Mass, RateKind::Volume];

    /// The column of rates asked for.
    pub(super) fn asked(self) -> Column {
        match self {
            RateKind::Seeds => Column::TargetSeedRate,
            RateKind::Mass => Column::TargetMass,
            RateKind::Volume => Column::TargetVolume,
        }
    }

    /// The column of rates put on.
    pub(super) fn put_on(self) -> Column {
        match self {
            RateKind::Seeds => Column::SeedRate,
            RateKind::Mass => Column::AppliedMass,
            RateKind::Volume => Column::AppliedVolume,
        }
    }

    pub(super) fn of(quantity: Quantity) -> Option<RateKind> {
        let mut all = RateKind::ALL.into_iter();
        all.find(|kind| kind.asked().quantity() == quantity)
    }

    /// The kind and the SI figure of a rate in words, such as `140 kg/ha` or `32000 seeds/ac`.
    pub(super) fn read(value: f64, unit: &str) -> Option<(RateKind, f64)> {
        // Task data counts `80000 /ha`.
        let unit = match unit.strip_prefix('/') {
            Some(area) => format!("1/{area}"),
            None => unit.to_owned(),
        };
        let mut all = RateKind::ALL.into_iter();
        all.find_map(|kind| {
            let factor = to_si(kind.asked().quantity(), &unit, f64::NAN)?;
            Some((kind, value * factor))
        })
    }

    /// The unit that figures of files are in.
    pub fn unit(self) -> &'static str {
        match self {
            RateKind::Seeds => "seeds/ha",
            RateKind::Mass => "kg/ha",
            RateKind::Volume => "L/ha",
        }
    }

    /// A rate, in the unit of files, with the reader's unit.
    pub fn in_words(self, rate: f64, units: UnitSystem) -> String {
        let unit = match (units, self) {
            (UnitSystem::Si, _) => self.unit(),
            (UnitSystem::Farm, RateKind::Seeds) => "seeds/ac",
            (UnitSystem::Farm, RateKind::Mass) => "lb/ac",
            (UnitSystem::Farm, RateKind::Volume) => "gal/ac",
        };
        let quantity = self.asked().quantity();
        let factor = to_si(quantity, unit, f64::NAN).unwrap_or(f64::NAN);
        let decimals = usize::from(self != RateKind::Seeds);
        format!("{} {unit}", shortest(rate / factor, decimals))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rates_there_and_back() {
        let (kind, rate) = RateKind::read(32_000.0, "seeds/ac").unwrap();
        assert_eq!(kind.in_words(rate, UnitSystem::Farm), "32000 seeds/ac");
        assert_eq!(kind.in_words(rate, UnitSystem::Si), "79074 seeds/ha");
        assert_eq!(
            RateKind::read(80_000.0, "/ha").unwrap(),
            (RateKind::Seeds, 80_000.0)
        );
        let (kind, rate) = RateKind::read(20.0, "gal/ac").unwrap();
        assert_eq!(kind, RateKind::Volume);
        assert_eq!(kind.in_words(rate, UnitSystem::Farm), "20 gal/ac");
        assert_eq!(RateKind::read(1.0, "bu"), None);
    }
}
