//! All methods that the layout allows, and which of them is the headline. The rule, and why, is in
//! `docs/comparison.md`: two treatments are compared pair by pair, more than two from one fit of
//! blocks and treatments, and nothing is claimed from a single block.

use crate::TrialError;
use crate::cell::FieldCell;
use crate::payoff::{PayoffSetup, check_price, payoff};
use crate::plot::Layout;
use crate::rate_response::{RateMoney, Rates, rate_response};
use crate::spatial_reml::spatial_reml;
use crate::strip_methods::strip_methods;
use crate::swath_mixture::swath_mixture;
use checkstrip_model::results::{Comparison, OverallTest, Payoff, RateResponse, UNDILUTED};
use checkstrip_model::{SaidValues, Warning};
use checkstrip_words::{english_text, said_values, warning};

/// What the trial says.
#[derive(Debug, Clone, Default)]
pub struct Answer {
    /// Treatment by treatment, the headline method first.
    pub comparisons: Vec<Comparison>,
    /// Why that method is the headline.
    pub headline: String,
    /// What that names, so that it can be said in another language.
    pub headline_values: SaidValues,
    /// Whether any treatment differs, when there is more than one beside the check.
    pub overall_test: Option<OverallTest>,
    /// What each treatment's gain is worth, from its headline comparison.
    pub payoff: Vec<Payoff>,
    /// Yield on rate, when the treatments are rates.
    pub rate_response: Option<RateResponse>,
    /// What a reader should know.
    pub warnings: Vec<Warning>,
}

/// Blocks from which on the swath mixture may be the headline: calibrated with so many and more
/// (`docs/calibration.md`).
const FEWEST_BLOCKS_OF_MIXTURE: usize = 3;

/// Compares every treatment with the check.
///
/// # Errors
/// Costs that make no sense, or costs of a treatment that no strip has. A layout that allows no
/// comparison is not an error: the answer then has none, and says why.
pub fn compare(
    layout: &Layout,
    strip_cells: &[FieldCell],
    pass_cells: &[FieldCell],
    bushel_kg: f64,
    money: Option<&PayoffSetup>,
) -> Result<Answer, TrialError> {
    let mut answer = Answer::default();
    let treated: Vec<usize> = (0..layout.treatments.len())
        .filter(|&t| t != layout.check)
        .collect();
    (answer.comparisons, answer.overall_test) = strip_methods(layout, bushel_kg);
    let mut most_blocks = 0;
    let mut straddled = false;
    for &treatment in &treated {
        let name = &layout.treatments[treatment];
        let paired = |c: &&Comparison| c.method == "paired_strips" && c.treatment == *name;
        match answer.comparisons.iter().find(paired) {
            Some(paired) => {
                most_blocks = most_blocks.max(paired.blocks);
                if paired.blocks == 1 {
                    answer
                        .warnings
                        .push(warning("one_block", said_values!(treatment = name)));
                }
                if paired.dilution < UNDILUTED {
                    straddled = true;
                    answer.warnings.push(warning(
                        "straddling_headers",
                        said_values!(treatment = name, share = 100.0 * paired.dilution),
                    ));
                }
            }
            None => answer
                .warnings
                .push(warning("no_shared_block", said_values!(treatment = name))),
        }
    }
    let (of_strips, of_passes) = rayon::join(
        || spatial_reml(layout, strip_cells, bushel_kg),
        || swath_mixture(layout, pass_cells, bushel_kg),
    );
    answer.comparisons.extend(of_strips);
    let mixture_heads =
        straddled && most_blocks >= FEWEST_BLOCKS_OF_MIXTURE && !of_passes.is_empty();
    if mixture_heads {
        answer.comparisons.splice(0..0, of_passes);
    } else {
        answer.comparisons.extend(of_passes);
    }
    answer.headline_values = match answer.comparisons.first() {
        None => said_values!(variant = "none"),
        Some(_) if mixture_heads => said_values!(variant = "swath-mixture", blocks = most_blocks),
        Some(first) if first.method == "randomized_blocks" => said_values!(
            variant = "randomized-blocks",
            treatments = treated.len(),
            blocks = layout.blocks().len(),
        ),
        Some(_) if most_blocks == 1 => said_values!(variant = "one-block"),
        Some(_) => said_values!(variant = "paired-strips", blocks = most_blocks),
    };
    answer.headline = english_text("headline", "", &answer.headline_values);
    if let Some(money) = money {
        check_price(money.price_per_bu)?;
        if money
            .treatments
            .contains_key(&layout.treatments[layout.check])
        {
            return Err(TrialError::CheckCost {
                check: layout.treatments[layout.check].clone(),
            });
        }
        for name in money.treatments.keys() {
            if !layout.treatments.contains(name) {
                return Err(TrialError::UnknownTreatment {
                    treatment: name.clone(),
                    treatments: layout.treatments.clone(),
                });
            }
        }
        for &treatment in &treated {
            let name = &layout.treatments[treatment];
            let headline = answer.comparisons.iter().find(|c| c.treatment == *name);
            if let (Some(headline), Some(cost)) = (headline, money.cost(layout, treatment)?) {
                answer
                    .payoff
                    .push(payoff(headline, &cost, money.price_per_bu, bushel_kg)?);
            }
        }
    }
    if let Some(rates) = Rates::read(&layout.treatments) {
        let rate_money = money.and_then(|money| {
            Some(RateMoney {
                price_per_bu: money.price_per_bu,
                cost_per_unit: money.cost_per_unit?,
            })
        });
        answer.rate_response = rate_response(layout, &rates, bushel_kg, rate_money);
        answer
            .warnings
            .extend(rate_warnings(&rates, answer.rate_response.is_some()));
    }
    Ok(answer)
}

/// What to know about treatments whose names were read as rates.
fn rate_warnings(rates: &Rates, fitted: bool) -> Vec<Warning> {
    let mut warnings = Vec::new();
    if rates.unit.is_empty() {
        warnings.push(warning("numbers_taken_as_rates", said_values!()));
    }
    if !fitted {
        warnings.push(warning("too_few_for_a_rate_curve", said_values!()));
    }
    warnings
}
