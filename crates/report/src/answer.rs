//! The answer in words: what each treatment did against the check, how sure that is, whether it
//! paid, and what stands in the way of believing it. The tables below repeat the figures; this says
//! what they mean without claiming more than they carry.

use crate::figures::{Figures, UNKNOWN};
use crate::rate_response::rate_words;
use crate::stand::stand_answer;
use checkstrip_model::results::{Comparison, OverallTest, Payoff, Results, UNDILUTED};
use checkstrip_words::say;

/// One paragraph per treatment, in the order of the comparisons.
pub(crate) fn answer(results: &Results, figures: Figures) -> Vec<String> {
    let headlines = headline_comparisons(results);
    if headlines.is_empty() {
        return vec![no_comparison(results, figures)];
    }
    // Where the treatments are rates, the best rate is what was asked.
    let rates = results.rate_response.as_ref();
    let best_rate = rates.map(|response| rate_words(response, figures));
    let each = headlines.iter().map(|comparison| {
        let payoff = payoff_of(results, &comparison.treatment);
        let sentences = [
            Some(difference(comparison, figures)),
            certainty(
                comparison.advantage_kg_ha,
                comparison.interval_95_kg_ha,
                comparison.blocks,
                figures,
            ),
            all_at_once(comparison, results, figures),
            straddling(comparison, results, figures),
            Some(worth(comparison, payoff, figures)),
        ];
        sentences
            .into_iter()
            .flatten()
            .collect::<Vec<String>>()
            .join(" ")
    });
    let overall = results.overall_test.as_ref();
    let overall = overall.map(|test| taken_together(test, figures));
    let stand = stand_answer(results, figures);
    let all = best_rate.into_iter().chain(each).chain(overall);
    all.chain(stand).collect()
}

/// Whether any treatment differs, in one sentence.
fn taken_together(test: &OverallTest, figures: Figures) -> String {
    let orders = usize::try_from(test.orders).unwrap_or(usize::MAX);
    say!(
        figures.words,
        "answer-together",
        outcome = if test.p_value_permutation <= 0.05 {
            "differ"
        } else {
            "unknown"
        },
        treatments = test.treatments,
        p = figures.p_words(test.p_value_permutation),
        tried = if test.all_orders { "all" } else { "drawn" },
        orders = figures.count(orders),
        f_test = figures.p_words(test.p_value_f)
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

/// A sentence with a capital at its start, where a treatment's name may stand.
pub(crate) fn capitalised(sentence: &str) -> String {
    let mut letters = sentence.chars();
    let first = letters.next().into_iter().flat_map(char::to_uppercase);
    first.chain(letters).collect()
}

/// A treatment's name within a sentence.
pub(crate) fn named(treatment: &str, figures: Figures) -> String {
    if treatment.is_empty() {
        say!(figures.words, "answer-treated")
    } else {
        treatment.to_owned()
    }
}

fn no_comparison(results: &Results, figures: Figures) -> String {
    let why = if results.strips.is_empty() {
        "strips"
    } else if results.strip_source.check.is_empty() {
        "check"
    } else if results
        .strips
        .iter()
        .all(|strip| strip.yield_kg_ha.is_none())
    {
        "grain"
    } else {
        "pair"
    };
    say!(figures.words, "answer-no-comparison", why = why)
}

fn difference(comparison: &Comparison, figures: Figures) -> String {
    let treatment = named(&comparison.treatment, figures);
    let check = &comparison.check;
    let advantage = comparison.advantage_kg_ha;
    let words = figures.words;
    if !advantage.is_finite() {
        return capitalised(&say!(
            words,
            "answer-not-known",
            treatment = treatment,
            check = check
        ));
    }
    let size = figures.yields(advantage.abs());
    let outcome = match advantage {
        _ if size == figures.yields(0.0) => "same",
        more if more > 0.0 => "more",
        _ => "less",
    };
    let text = match comparison.method.as_str() {
        "swath_mixture" => "answer-mixture",
        "spatial_reml" => "answer-drift",
        _ => "answer-strips",
    };
    let said = say!(
        words,
        text,
        outcome = outcome,
        treatment = treatment,
        check = check,
        size = size,
        unit = figures.yield_unit()
    );
    let [low, high] = comparison.interval_95_kg_ha;
    let mut basis = Vec::new();
    if low.is_finite() && high.is_finite() && comparison.blocks != 1 {
        basis.push(say!(
            words,
            "answer-interval",
            low = figures.yields(low),
            high = figures.yields(high)
        ));
    }
    if comparison.blocks > 0 {
        basis.push(figures.counted("count-blocks", comparison.blocks));
    }
    let said = capitalised(&said);
    if basis.is_empty() {
        return format!("{said}.");
    }
    say!(words, "answer-basis", said = said, basis = basis.join(", "))
}

/// How sure a difference is, from its 95 % interval and the blocks it rests on.
pub(crate) fn certainty(
    difference: f64,
    [low, high]: [f64; 2],
    blocks: usize,
    figures: Figures,
) -> Option<String> {
    if !difference.is_finite() {
        return None;
    }
    let words = figures.words;
    Some(if blocks == 1 {
        say!(words, "answer-one-pair")
    } else if !low.is_finite() || !high.is_finite() {
        say!(words, "answer-not-sure")
    } else if low <= 0.0 && high >= 0.0 {
        say!(words, "answer-holds-zero")
    } else {
        say!(words, "answer-leaves-zero-out")
    })
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
    let text = if holds_zero(family_low, family_high) {
        "answer-family-holds-zero"
    } else {
        "answer-family-leaves-zero-out"
    };
    Some(say!(
        figures.words,
        text,
        treatments = treatments,
        low = figures.yields(family_low),
        high = figures.yields(family_high)
    ))
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

fn straddling(comparison: &Comparison, results: &Results, figures: Figures) -> Option<String> {
    let carried = contrast_left(results, &comparison.treatment)?;
    let share = figures.number((carried * 100.0).max(0.0), 0);
    let text = if comparison.method == "swath_mixture" {
        "answer-straddled-allowed"
    } else {
        "answer-straddled"
    };
    Some(say!(figures.words, text, share = share))
}

fn worth(comparison: &Comparison, payoff: Option<&Payoff>, figures: Figures) -> String {
    let words = figures.words;
    let Some(payoff) = payoff else {
        return say!(words, "answer-no-money");
    };
    let price = figures.price(payoff.price_per_bu);
    let cost = figures.money_an_area(payoff.cost_per_ac);
    let gain = figures.break_even(payoff.break_even_bu_ac);
    let odds = figures
        .odds(payoff.odds_it_pays)
        .filter(|_| comparison.blocks != 1);
    match odds {
        Some(odds) => say!(
            words,
            "answer-worth-odds",
            price = price,
            cost = cost,
            gain = gain,
            odds = odds
        ),
        None if figures.money_per_area(payoff.net_per_ac) == UNKNOWN => say!(
            words,
            "answer-worth",
            price = price,
            cost = cost,
            gain = gain
        ),
        None => say!(
            words,
            "answer-worth-face-value",
            price = price,
            cost = cost,
            gain = gain,
            net = figures.money_an_area(payoff.net_per_ac)
        ),
    }
}
