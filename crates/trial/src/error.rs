//! Why strips cannot be compared.

/// What keeps strips from being compared.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum TrialError {
    /// No strip carries the check.
    #[error(
        "no strip has the treatment {check:?}, which is to be the check; the strips have {}\n\
         hint: name the check under [strips] (check = \"…\") or with --check",
        quoted(.treatments)
    )]
    NoCheck {
        /// The treatment that was named as check.
        check: String,
        /// The treatments there are.
        treatments: Vec<String>,
    },
    /// Only the check is there.
    #[error("all strips carry the check {check:?}: there is nothing to compare it with")]
    OnlyCheck {
        /// The check.
        check: String,
    },
    /// A cost that makes no sense.
    #[error("[payoff.treatments.{treatment}] {key} is {value}, expected {expected}")]
    Cost {
        /// The treatment.
        treatment: String,
        /// Key of its table.
        key: &'static str,
        /// What was given.
        value: f64,
        /// What is possible.
        expected: &'static str,
    },
    /// A price that makes no sense.
    #[error("[payoff] price_per_bu is {value}, expected the price of a bushel, above 0")]
    Price {
        /// What was given.
        value: f64,
    },
    /// A number of plants or seeds that makes no sense.
    #[error("{what}: {value}, expected a number above 0")]
    Seeds {
        /// What it counts.
        what: &'static str,
        /// What was given.
        value: f64,
    },
    /// A cost per unit of rate that makes no sense.
    #[error("[payoff] cost_per_unit is {value}, expected what one unit of rate costs, 0 or more")]
    CostPerUnit {
        /// What was given.
        value: f64,
    },
    /// A cost per unit of rate where the treatments are no rates.
    #[error(
        "[payoff] has cost_per_unit, but the treatments are not rates in one unit; the strips have {}\n\
         hint: name them by their rates (\"0 lb\", \"30 lb\"), or give each treatment its costs under \
         [payoff.treatments]",
        quoted(.treatments)
    )]
    NotRates {
        /// The treatments there are.
        treatments: Vec<String>,
    },
    /// A machine's hourly costs without what turns hours into acres.
    #[error(
        "[payoff.treatments.{treatment}] has costs by the hour but no {key}\n\
         hint: give speed_mph, width_ft and, if known, field_efficiency (0.80 when absent)"
    )]
    NoRate {
        /// The treatment.
        treatment: String,
        /// The missing key.
        key: &'static str,
    },
    /// The check is priced.
    #[error(
        "[payoff.treatments.{check}] prices the check\n\
         hint: costs are those over and above the check: leave it out, and give a saving as a negative \
         material_per_ac or other_per_ac of the treatment"
    )]
    CheckCost {
        /// The check.
        check: String,
    },
    /// A treatment is priced that no strip has.
    #[error(
        "[payoff.treatments.{treatment}] has costs, but no strip has that treatment; the strips have \
         {}",
        quoted(.treatments)
    )]
    UnknownTreatment {
        /// The treatment priced.
        treatment: String,
        /// The treatments there are.
        treatments: Vec<String>,
    },
}

impl TrialError {
    /// Whether the `[payoff]` table is at fault rather than the strips.
    pub fn is_about_money(&self) -> bool {
        !matches!(
            self,
            TrialError::NoCheck { .. } | TrialError::OnlyCheck { .. }
        )
    }
}

fn quoted(names: &[String]) -> String {
    names
        .iter()
        .map(|name| format!("{name:?}"))
        .collect::<Vec<_>>()
        .join(", ")
}
