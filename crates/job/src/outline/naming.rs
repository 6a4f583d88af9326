//! What a record's treatment is called in an outline.

use super::OutlineBy;
use crate::machine_log::three_digits;
use checkstrip_model::{Column, FieldLog, Labels, Operation, Problem};

/// What tells treatments apart, in the log at hand.
pub(super) enum Naming<'l> {
    One(&'l str),
    Product(&'l Labels),
    Rate(&'l [f64], &'static str),
}

impl<'l> Naming<'l> {
    /// # Errors
    /// When the log does not say what `by` asks for.
    pub(super) fn new(log: &'l FieldLog, by: &'l OutlineBy) -> Result<Naming<'l>, Problem> {
        let refuse =
            |message: &str, hint: &str| Err(Problem::new(log.first_path(), message).hint(hint));
        let rates = [
            (Column::TargetSeedRate, "seeds/ha"),
            (Column::TargetMass, "kg/ha"),
            (Column::TargetVolume, "L/ha"),
        ];
        match by {
            OutlineBy::Treatment(name) => Ok(Naming::One(name)),
            OutlineBy::Product => match log.labels(Column::Product) {
                Some(products) => Ok(Naming::Product(products)),
                None => refuse(
                    "does not say which product, variety or hybrid was used",
                    "outline it by the rate asked for (--by rate), or all of it as one treatment (--treatment NAME)",
                ),
            },
            OutlineBy::Rate => {
                let mut logged = rates.into_iter();
                match logged.find_map(|(column, unit)| Some((log.numbers(column)?, unit))) {
                    Some((rates, unit)) => Ok(Naming::Rate(rates, unit)),
                    None => refuse(
                        match log.operation {
                            Operation::Planting => "does not say which seed rate was asked for",
                            _ => "does not say which rate was asked for",
                        },
                        "outline it by product (--by product), or all of it as one treatment (--treatment NAME)",
                    ),
                }
            }
        }
    }

    /// `None` where the log says nothing, or nothing was asked for.
    pub(super) fn name(&self, record: usize) -> Option<String> {
        match self {
            Naming::One(name) => Some((*name).to_owned()),
            Naming::Product(products) => {
                let name = products.name(record);
                (!name.is_empty()).then(|| name.to_owned())
            }
            Naming::Rate(rates, unit) => {
                let rate = rates[record];
                (rate.is_finite() && rate > 0.0).then(|| format!("{} {unit}", three_digits(rate)))
            }
        }
    }
}
