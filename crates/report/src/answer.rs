//! The answer in words: what each treatment did against the check, how sure that is, whether it
//! paid, and what stands in the way of believing it. The tables below repeat the figures; this says
//! what they mean without claiming more than they carry.

use crate::figures::{Figures, UNKNOWN, count, counted, number, odds, p_value};
use crate::rate_response::rate_words;
use crate::stand::stand_answer;
use checkstrip_model::{
    results::{Comparison, OverallTest, Payoff, Results, UNDILUTED},
    units::UnitSystem,
};

/// One paragraph per treatment, in the order of the comparisons.
pub(crate) fn answer(results: &Results, units: UnitSystem) -> Vec<String> {
    let figures = Figures {
        field: &results.field,
        units,
    };
    let headlines = headline_comparisons(results);
    if headlines.is_empty() {
        return vec![no_comparison(results)];
    }
    // Where the treatments are rates, the best rate is what was asked.
    let rates = results.rate_response.as_ref();
    let best_rate = rates.map(|response| rate_words(response, figures));
    let each = headlines.iter().map(|comparison| {
        let payoff = payoff_of(results, &comparison.treatment);
        let sentences = [
            difference(comparison, figures),
            certainty(
                comparison.advantage_kg_ha,
                comparison.interval_95_kg_ha,
                comparison.blocks,
            ),
            all_at_once(comparison, results, figures),
            straddling(comparison, results),
            worth(comparison, payoff, figures),
        ];
        sentences
            .into_iter()
            .flatten()
            .collect::<Vec<String>>()
            .join(" ")
    });
    let overall = results.overall_test.as_ref().map(taken_together);
    let stand = stand_answer(results, figures);
    let all = best_rate.into_iter().chain(each).chain(overall);
    all.chain(stand).collect()
}

/// Whether any treatment differs, in one sentence.
fn taken_together(test: &OverallTest) -> String {
    let orders = count(usize::try_from(test.orders).unwrap_or(usize::MAX));
    let tried = if test.all_orders {
        format!("all {orders} orders")
    } else {
        format!("{orders} drawn orders")
    };
    let p = |p: f64| match p_value(p) {
        small if small.starts_with('<') => format!("p {small}"),
        figure => format!("p = {figure}"),
    };
    format!(
        "Of all {} treatments taken together, the check among them, {}: {} by {tried} that the strips \
         could have had within their blocks, {} by the F test.",
        test.treatments,
        if test.p_value_permutation <= 0.05 {
            "some differ"
        } else {
            "it is not shown that any differs"
        },
        p(test.p_value_permutation),
        p(test.p_value_f)
    )
}

/// Each treatment's first, that is headline, comparison.
pub(crate) fn headline_comparisons(results: &Results) -> Vec<&Comparison> {
    let mut found: Vec<&Comparison> = Vec::new();
    for comparison in &results.comparisons {
        if found
            .iter()
            .all(|earlier| earlier.treatment != comparison.treatment)
        {
            found.push(comparison);
        }
    }
    found
}

/// The money side of a treatment.
pub(crate) fn payoff_of<'a>(results: &'a Results, treatment: &str) -> Option<&'a Payoff> {
    results
        .payoff
        .iter()
        .find(|payoff| payoff.treatment == treatment)
}

/// A name at the start of a sentence.
pub(crate) fn capitalised(name: &str) -> String {
    let mut letters = name.chars();
    match letters.next() {
        Some(first) => first.to_uppercase().chain(letters).collect(),
        None => "The treated".to_owned(),
    }
}

fn no_comparison(results: &Results) -> String {
    let why = if results.strips.is_empty() {
        "no strip was given"
    } else if results.strip_source.check.is_empty() {
        "no strip is named as the check"
    } else if results
        .strips
        .iter()
        .all(|strip| strip.yield_kg_ha.is_none())
    {
        "no strip holds harvested ground that passed the cleaning"
    } else {
        "no block holds both a treatment and its check with grain from each"
    };
    format!(
        "The harvest cannot be compared: {why}. The yields below are those of the field and its \
         strips alone."
    )
}

fn difference(comparison: &Comparison, figures: Figures) -> Option<String> {
    let name = capitalised(&comparison.treatment);
    let check = &comparison.check;
    let advantage = comparison.advantage_kg_ha;
    if !advantage.is_finite() {
        return Some(format!(
            "{name} strips could not be set against the {check} strips."
        ));
    }
    let size = figures.yields(advantage.abs());
    let nothing = figures.yields(0.0);
    let (much, than) = match advantage {
        _ if size == nothing => ("the same".to_owned(), "as"),
        more if more > 0.0 => (format!("{size} {} more", figures.yield_unit()), "than"),
        _ => (format!("{size} {} less", figures.yield_unit()), "than"),
    };
    let said = match comparison.method.as_str() {
        "swath_mixture" => format!(
            "{name} ground yielded {much} {than} {check} ground, judged from the mix of both under \
             every header width"
        ),
        "spatial_reml" => format!(
            "{name} strips yielded {much} {than} the {check} strips once the drift of the ground \
             across the field is allowed for"
        ),
        _ => format!("{name} strips yielded {much} {than} the {check} strips beside them"),
    };
    let [low, high] = comparison.interval_95_kg_ha;
    let mut basis = Vec::new();
    if low.is_finite() && high.is_finite() && comparison.blocks != 1 {
        basis.push(format!(
            "95 % interval {} to {}",
            figures.yields(low),
            figures.yields(high)
        ));
    }
    if comparison.blocks > 0 {
        basis.push(counted(comparison.blocks, "block", "blocks"));
    }
    if basis.is_empty() {
        return Some(format!("{said}."));
    }
    Some(format!("{said} ({}).", basis.join(", ")))
}

/// How sure a difference is, from its 95 % interval and the blocks it rests on.
pub(crate) fn certainty(difference: f64, [low, high]: [f64; 2], blocks: usize) -> Option<String> {
    if !difference.is_finite() {
        return None;
    }
    Some(
        if blocks == 1 {
            "One pair is not proof: the same difference may lie between any two strips of the \
             field. Only further blocks or years can tell."
        } else if !low.is_finite() || !high.is_finite() {
            "How sure that is cannot be said from these strips."
        } else if low <= 0.0 && high >= 0.0 {
            "The interval holds zero: the strips cannot tell it from no difference."
        } else {
            "The interval leaves zero out: strips treated alike would rarely differ this much."
        }
        .to_owned(),
    )
}

/// What several treatments tried at once do to the certainty.
fn all_at_once(comparison: &Comparison, results: &Results, figures: Figures) -> Option<String> {
    let [low, high] = comparison.interval_95_kg_ha;
    let [family_low, family_high] = comparison.interval_95_family_kg_ha?;
    let holds_zero = |low: f64, high: f64| low <= 0.0 && high >= 0.0;
    let finite = [low, high, family_low, family_high]
        .iter()
        .all(|end| end.is_finite());
    if !finite || holds_zero(low, high) {
        return None;
    }
    let with_family = |other: &&Comparison| {
        other.method == comparison.method && other.interval_95_family_kg_ha.is_some()
    };
    let treatments = results.comparisons.iter().filter(with_family).count();
    let (a, b) = (figures.yields(family_low), figures.yields(family_high));
    Some(if holds_zero(family_low, family_high) {
        format!(
            "With {treatments} treatments tried, one may look so by luck: the interval that allows for \
             all of them, {a} to {b}, holds zero."
        )
    } else {
        format!(
            "The interval that allows for all {treatments} treatments tried, {a} to {b}, leaves it out \
             as well."
        )
    })
}

/// The share of the contrast that the plain difference of `treatment` carries, where headers that
/// straddled left less than it should; other methods than the headline may be the plain ones.
pub(crate) fn contrast_left(results: &Results, treatment: &str) -> Option<f64> {
    let of_treatment = results
        .comparisons
        .iter()
        .filter(|c| c.treatment == treatment);
    let least = of_treatment.map(|c| c.dilution).fold(f64::NAN, f64::min);
    (least < UNDILUTED).then_some(least)
}

fn straddling(comparison: &Comparison, results: &Results) -> Option<String> {
    let carried = contrast_left(results, &comparison.treatment)?;
    let share = number((carried * 100.0).max(0.0), 0);
    Some(if comparison.method == "swath_mixture" {
        format!(
            "Headers straddled strips, so the plain difference between strips carries only about \
             {share} % of the contrast; this figure allows for that."
        )
    } else {
        format!(
            "Headers straddled strips: the plain difference carries only about {share} % of the \
             contrast, so the treatment's own effect, gain or loss, is likely larger."
        )
    })
}

fn worth(comparison: &Comparison, payoff: Option<&Payoff>, figures: Figures) -> Option<String> {
    let Some(payoff) = payoff else {
        return Some(
            "No price and cost were given for it, so whether it paid is not said.".to_owned(),
        );
    };
    let area = figures.area_word();
    let article = if area.starts_with('a') { "an" } else { "a" };
    let cost = figures.money_per_area(payoff.cost_per_ac);
    let mut text = format!(
        "At {} and a cost of {cost} {article} {area} the break-even gain is {}",
        figures.price(payoff.price_per_bu),
        figures.break_even(payoff.break_even_bu_ac)
    );
    match odds(payoff.odds_it_pays).filter(|_| comparison.blocks != 1) {
        Some(odds) => text.push_str(&format!("; the odds that it paid are {odds}.")),
        None => {
            let net = figures.money_per_area(payoff.net_per_ac);
            if net == UNKNOWN {
                text.push('.');
            } else {
                text.push_str(&format!(
                    "; taken at face value it would leave {net} {article} {area}, with no odds to \
                     put on it."
                ));
            }
        }
    }
    Some(text)
}
