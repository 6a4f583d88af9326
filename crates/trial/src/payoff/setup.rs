//! The `[payoff]` table of a trial file, and the cost of one treatment from it.

use super::TreatmentCost;
use crate::TrialError;
use crate::plot::Layout;
use crate::rate_response::Rates;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// The `[payoff]` table of a trial file. Money is in whatever currency the grower writes.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PayoffSetup {
    /// Price of the crop, per bushel.
    pub price_per_bu: f64,
    /// What one unit of rate costs, per acre, when the treatments are rates: the price of a pound
    /// for `30 lb`, of a seed for `140000`.
    #[serde(default)]
    pub cost_per_unit: Option<f64>,
    /// What each treatment costs more than the check.
    #[serde(default)]
    pub treatments: BTreeMap<String, TreatmentCost>,
}

impl PayoffSetup {
    /// What `treatment` costs more than the check: its table, and what its rate costs more. `None`
    /// when neither is given.
    ///
    /// # Errors
    /// A cost per unit that makes no sense, or one where the treatments are no rates.
    pub(crate) fn cost(
        &self,
        layout: &Layout,
        treatment: usize,
    ) -> Result<Option<TreatmentCost>, TrialError> {
        let table = self.treatments.get(&layout.treatments[treatment]);
        let Some(per_unit) = self.cost_per_unit else {
            return Ok(table.cloned());
        };
        if !per_unit.is_finite() || per_unit < 0.0 {
            return Err(TrialError::CostPerUnit { value: per_unit });
        }
        let rates = Rates::read(&layout.treatments).ok_or_else(|| TrialError::NotRates {
            treatments: layout.treatments.clone(),
        })?;
        let mut cost = table.cloned().unwrap_or_default();
        cost.material_per_ac += per_unit * (rates.values[treatment] - rates.values[layout.check]);
        Ok(Some(cost))
    }
}
