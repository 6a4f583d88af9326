//! What the report says in each case, pinned as text.

use crate::invented::{along_strips, comparison, rate_response, results};
use crate::{ReportMap, answer_in_words, render};
use checkstrip_model::units::UnitSystem;
use checkstrip_words::{Language, Reader, Words, english_text, said_values, warning};
use insta::assert_snapshot;

fn said(change: impl FnOnce(&mut checkstrip_model::results::Results)) -> String {
    let mut results = results();
    change(&mut results);
    answer_in_words(&results, UnitSystem::Farm.into()).join("\n")
}

#[test]
fn interval_holds_zero() {
    assert_snapshot!(said(|_| {}));
}

#[test]
fn interval_holds_zero_in_si() {
    assert_snapshot!(answer_in_words(&results(), UnitSystem::Si.into()).join("\n"));
}

#[test]
fn clear_gain() {
    assert_snapshot!(said(|results| {
        results.comparisons = vec![comparison("paired_strips", 3.1, 1.2, 6)];
        results.payoff[0].odds_it_pays = 0.998;
    }));
}

#[test]
fn clear_loss_without_money() {
    assert_snapshot!(said(|results| {
        results.comparisons = vec![comparison("spatial_reml", -2.4, 1.1, 6)];
        results.payoff.clear();
    }));
}

#[test]
fn all_treatments_taken_together() {
    let test = |p_value_permutation, all_orders| checkstrip_model::results::OverallTest {
        statistic: 3.82,
        df_treatments: 2.0,
        df_residual: 6.0,
        p_value_f: 0.085,
        p_value_permutation,
        orders: if all_orders { 1_296 } else { 100_000 },
        all_orders,
        seed: (!all_orders).then_some(20_231_103),
        smallest_p: 0.0046,
        treatments: 3,
        blocks: 4,
    };
    let last = |test| {
        let said = said(|results| results.overall_test = Some(test));
        said.lines().last().unwrap_or_default().to_owned()
    };
    assert_snapshot!("not_shown", last(test(0.083, true)));
    assert_snapshot!("some_differ", last(test(0.0004, false)));
}

#[test]
fn one_block() {
    assert_snapshot!(said(|results| {
        let mut single = comparison("paired_strips", 2.0, 1.0, 1);
        single.interval_95_kg_ha = [f64::NEG_INFINITY, f64::INFINITY];
        single.p_value = f64::NAN;
        results.comparisons = vec![single];
        results.payoff[0].odds_it_pays = f64::NAN;
    }));
}

#[test]
fn straddled_strips() {
    assert_snapshot!(said(|results| results.comparisons[0].dilution = 0.794));
}

#[test]
fn straddled_strips_by_swath_mixture() {
    assert_snapshot!(said(|results| {
        let mut plain = comparison("paired_strips", 1.3, 1.0, 6);
        plain.dilution = 0.794;
        results.comparisons = vec![comparison("swath_mixture", 1.6, 1.1, 6), plain];
    }));
}

#[test]
fn no_difference_to_the_decimal() {
    assert_snapshot!(said(|results| {
        results.comparisons = vec![comparison("paired_strips", -0.02, 1.5, 6)];
    }));
}

#[test]
fn nothing_to_compare() {
    assert_snapshot!(
        "no_check",
        said(|results| {
            results.comparisons.clear();
            results.strip_source.check.clear();
        })
    );
    assert_snapshot!("no_pair", said(|results| results.comparisons.clear()));
    assert_snapshot!(
        "no_grain",
        said(|results| {
            results.comparisons.clear();
            results
                .strips
                .iter_mut()
                .for_each(|strip| strip.yield_kg_ha = None);
        })
    );
    assert_snapshot!(
        "no_strips",
        said(|results| {
            results.comparisons.clear();
            results.strips.clear();
        })
    );
}

#[test]
fn several_treatments_at_once() {
    for (name, family) in [
        ("family_interval_holds_zero", [-10.0, 400.0]),
        ("family_interval_leaves_zero_out", [40.0, 380.0]),
    ] {
        assert_snapshot!(
            name,
            said(|results| {
                let mut first = comparison("randomized_blocks", 3.1, 2.0, 6);
                first.interval_95_family_kg_ha = Some(family);
                first.p_value_family = Some(0.04);
                let second = checkstrip_model::results::Comparison {
                    treatment: "rolled twice".to_owned(),
                    ..first.clone()
                };
                results.comparisons = vec![first, second];
            })
        );
    }
}

#[test]
fn best_rates_in_words() {
    assert_snapshot!(
        "best_rate",
        said(|results| results.rate_response = Some(rate_response()))
    );
    let first = |change: fn(&mut checkstrip_model::results::RateResponse)| {
        let mut response = rate_response();
        change(&mut response);
        said(|results| results.rate_response = Some(response))
            .lines()
            .next()
            .unwrap_or_default()
            .to_owned()
    };
    assert_snapshot!(
        "best_rate_at_the_end",
        first(|response| {
            response.curves.remove(0);
        })
    );
    assert_snapshot!(
        "no_best_rate",
        first(|response| {
            response.curves.drain(..2);
        })
    );
    assert_snapshot!(
        "best_rate_without_money",
        first(|response| {
            response.price_per_bu = None;
            response.curves[0].best_rate = None;
        })
    );
}

#[test]
fn page_of_a_rate_trial() {
    let mut results = results();
    results.rate_response = Some(rate_response());
    let page = render(&results, &[], UnitSystem::Si.into()).unwrap();
    let from = page.find("<section aria-labelledby=\"rates\">").unwrap();
    let to = from + page[from..].find("</section>").unwrap();
    assert_snapshot!(&page[from..to]);
}

fn section_along(along: checkstrip_model::results::AlongStrips, units: UnitSystem) -> String {
    let mut results = results();
    results.along_strips = Some(along);
    let page = render(&results, &[], units.into()).unwrap();
    let from = page.find("<section aria-labelledby=\"along\">").unwrap();
    page[from..from + page[from..].find("</section>").unwrap()].to_owned()
}

#[test]
fn page_of_the_advantage_along_the_strips() {
    assert_snapshot!(section_along(
        along_strips(Some(2.0), 0.02, 0.003),
        UnitSystem::Si
    ));
}

#[test]
fn advantage_along_the_strips_in_words() {
    let words = |along| {
        let section = section_along(along, UnitSystem::Farm);
        let lines = section.lines().filter(|line| line.starts_with("<p>"));
        lines.collect::<Vec<_>>().join("\n")
    };
    assert_snapshot!("along_changes", words(along_strips(Some(2.0), 0.02, 0.003)));
    assert_snapshot!(
        "along_a_gain_all_along",
        words(along_strips(Some(2.0), 0.4, 0.02))
    );
    assert_snapshot!(
        "along_nothing_sure",
        words(along_strips(Some(4.0), 0.4, 0.04))
    );
    assert_snapshot!("along_nothing", words(along_strips(Some(4.0), 0.4, 0.3)));
    assert_snapshot!("along_few_blocks", words(along_strips(None, 0.25, 0.25)));
    let mut none = along_strips(None, 0.5, 0.5);
    none.why_none = Some("The strips are too short.".to_owned());
    none.treatments.clear();
    assert_snapshot!("along_none", words(none));
    let mut one = along_strips(None, 0.5, 0.5);
    (one.treatments[0].change, one.treatments[0].anywhere) = (None, None);
    assert_snapshot!("along_untested", words(one));
}

#[test]
fn money_that_turns_otherwise() {
    let turned = |change: fn(&mut checkstrip_model::results::Payoff)| {
        let mut results = results();
        change(&mut results.payoff[0]);
        let page = render(&results, &[], UnitSystem::Farm.into()).unwrap();
        let from = page.find("<h3>What would turn it").unwrap();
        let to = from + page[from..].find("</section>").unwrap();
        let lines = page[from..to]
            .lines()
            .filter(|line| line.starts_with("<p>"));
        lines.collect::<Vec<_>>().join("\n")
    };
    assert_snapshot!(
        "a_loss",
        turned(|payoff| {
            let turns = payoff.turning_points.as_mut().unwrap();
            (turns.even_price_per_bu, turns.even_cost_per_ac) = (None, Some(-4.0));
        })
    );
    assert_snapshot!(
        "a_sure_gain",
        turned(|payoff| {
            let turns = payoff.turning_points.as_mut().unwrap();
            (turns.sure_price_per_bu, turns.sure_cost_per_ac) = (Some(8.1), Some(6.7));
        })
    );
    assert_snapshot!(
        "a_saving_that_costs_grain",
        turned(|payoff| {
            payoff.cost_per_ac = -5.0;
            let turns = payoff.turning_points.as_mut().unwrap();
            (turns.even_price_per_bu, turns.even_cost_per_ac) = (Some(8.0), Some(-6.5));
        })
    );
}

#[test]
fn whole_page() {
    let map = ReportMap {
        key: "strip_yields",
        title: "Strips and their yields",
        caption: "Treatments by hatching & yield.",
        png: b"not a picture",
    };
    let page = render(&results(), &[map], UnitSystem::Farm.into()).unwrap();
    assert_snapshot!(page);
}

#[test]
fn the_page_needs_nothing_from_outside() {
    for units in [UnitSystem::Farm, UnitSystem::Si] {
        let page = render(&results(), &[], units.into()).unwrap();
        for forbidden in [
            "http://", "https://", "//cdn", "<script", "<link", "url(", "@import",
        ] {
            assert!(!page.contains(forbidden), "{forbidden}");
        }
        assert!(page.contains("&lt;quarter&gt;") && !page.contains("<quarter>"));
    }
}

#[test]
fn missing_figures_are_dashes() {
    let mut results = results();
    for comparison in &mut results.comparisons {
        comparison.advantage_kg_ha = f64::NAN;
        comparison.interval_95_kg_ha = [f64::NAN; 2];
        comparison.p_value = f64::NAN;
        comparison.dilution = f64::NAN;
    }
    results.payoff[0].net_per_ac = f64::NAN;
    results.payoff[0].odds_it_pays = f64::NAN;
    results.cleaning.grain_delay_low_s = f64::NAN;
    results.input.records = 0;
    let page = render(&results, &[], UnitSystem::Farm.into()).unwrap();
    assert!(!page.contains("NaN") && !page.contains("inf"));
}

/// A page with every section, for a reader of `language`.
fn whole_page_for(language: Language) -> String {
    let mut results = results();
    results.rate_response = Some(rate_response());
    results.along_strips = Some(along_strips(Some(2.0), 0.02, 0.003));
    results.warnings = vec![warning("strip_not_harvested", said_values!(strips = "3"))];
    results.headline_values = said_values!(variant = "paired-strips", blocks = 6);
    results.headline = english_text("headline", "", &results.headline_values);
    results.cleaning.grain_delay_values = said_values!(variant = "given");
    let words = Words::of(language);
    let reader = Reader::new(UnitSystem::Farm, &words);
    render(&results, &[], reader).unwrap()
}

#[test]
fn whole_page_in_spanish() {
    let page = whole_page_for(Language::Spanish);
    assert!(page.contains("<html lang=\"es\">"));
    // The style sheet is that of every page.
    let (_, body) = page.split_once("</style>").unwrap();
    assert_snapshot!(body);
}

/// What a page says: its text, what is read aloud, what stands under the pointer.
fn texts_of(page: &str) -> Vec<String> {
    let (_, body) = page.split_once("</style>").unwrap();
    let outside = body
        .split('<')
        .filter_map(|part| Some(part.split_once('>')?.1));
    let attributes = ["aria-label=\"", "alt=\""]
        .into_iter()
        .flat_map(|name| body.split(name).skip(1))
        .filter_map(|rest| rest.split('"').next());
    outside
        .chain(attributes)
        .map(|text| text.trim().to_owned())
        .filter(|text| text.chars().any(char::is_alphabetic))
        .collect()
}

/// No text of the Spanish page is one of the English page, but names that the grower gave, units, names of files,
/// columns and settings, and words that both languages write alike.
#[test]
fn no_english_is_left_in_a_spanish_page() {
    let english = texts_of(&whole_page_for(Language::English));
    let spanish = texts_of(&whole_page_for(Language::Spanish));
    let alike = ["p", "SHA-256", "true"];
    let results = results();
    let mut named: Vec<String> = vec![results.field.name.clone(), results.strip_source.crs.clone()];
    for strip in &results.strips {
        named.extend([&strip.strip_id, &strip.treatment, &strip.block].map(Clone::clone));
    }
    named.extend(results.input.files.iter().map(|file| file.path.clone()));
    named.push(results.strip_source.path.clone());
    for column in &results.input.columns {
        named.extend([&column.name, &column.header, &column.unit].map(Clone::clone));
    }
    named.extend(results.input.derived.keys().cloned());
    let parts = results.payoff.iter().flat_map(|payoff| &payoff.cost_parts);
    let parts: Vec<&str> = parts.map(|part| part.name.as_str()).collect();
    let escaped = |name: &str| {
        name.replace('&', "&amp;")
            .replace('<', "&lt;")
            .replace('>', "&gt;")
            .replace('/', "&#x2f;")
    };
    let left: Vec<&String> = spanish
        .iter()
        .filter(|text| english.contains(text))
        .filter(|text| !alike.contains(&text.as_str()))
        .filter(|text| !named.iter().any(|name| escaped(name) == **text))
        .filter(|text| !text.starts_with("cleaning.") && text.len() != 64)
        .filter(|text| !parts.iter().any(|part| text.contains(part)))
        // The style of the charts.
        .filter(|text| !text.starts_with("svg "))
        .filter(|text| !text.starts_with("&gt; "))
        // A figure with its unit.
        .filter(|text| !text.starts_with(|c: char| c.is_ascii_digit() || "−$".contains(c)))
        .collect();
    assert!(left.is_empty(), "{left:#?}");
}

#[test]
fn own_words_reach_the_page() {
    let file = std::env::temp_dir().join(format!("checkstrip-report-{}.ftl", std::process::id()));
    std::fs::write(&file, "report-strips = Fajas\nmoney = US${ $amount }\n").unwrap();
    let words = Words::with_file(Language::Spanish, &file).unwrap();
    std::fs::remove_file(&file).unwrap();
    let reader = Reader::new(UnitSystem::Farm, &words);
    let page = render(&results(), &[], reader).unwrap();
    assert!(page.contains(">Fajas</h2>") && page.contains("US$"));
}
