//! Which method is the headline, on invented fields of each layout: it follows from the layout, and what
//! it says is held against the gain that was planted.

use checkstrip_acceptance::SmallFarm;
use checkstrip_invented::{FieldPlan, Treatment};
use serde_json::Value;

const HEADER_M: f64 = 9.144;
const GAIN_KG_HA: f64 = 120.0;

/// Strips of 40 ft that begin a third of a header beside the swaths.
fn straddled(blocks: usize) -> FieldPlan {
    FieldPlan {
        passes: 2 + blocks * 3,
        pass_length_m: 400.0,
        strip_width_m: 12.192,
        strip_offset_m: HEADER_M / 3.0,
        blocks,
        treatments: vec![
            Treatment::new("check", 0.0),
            Treatment::new("rolled", GAIN_KG_HA),
        ],
        ..SmallFarm::plan()
    }
}

fn results(plan: FieldPlan) -> Value {
    SmallFarm::planned(plan).results()
}

fn comparisons(results: &Value) -> &Vec<Value> {
    results["comparisons"].as_array().expect("comparisons")
}

fn by_method<'a>(results: &'a Value, method: &str) -> &'a Value {
    let found = comparisons(results).iter().find(|c| c["method"] == method);
    found.unwrap_or_else(|| panic!("no {method}"))
}

/// The planted gain lies within three standard errors.
#[track_caller]
fn finds_the_gain(comparison: &Value) {
    let found = comparison["advantage_kg_ha"].as_f64().expect("a number");
    let std_error = comparison["std_error_kg_ha"].as_f64().expect("a number");
    assert!(
        (found - GAIN_KG_HA).abs() < 3.0 * std_error,
        "{found} ± {std_error}"
    );
}

#[test]
fn whole_swaths_are_compared_pair_by_pair() {
    let results = results(FieldPlan {
        passes: 28,
        strip_width_m: 2.0 * HEADER_M,
        strip_offset_m: 0.0,
        ..straddled(6)
    });
    let first = &comparisons(&results)[0];
    assert_eq!(first["method"], "paired_strips");
    finds_the_gain(first);
    finds_the_gain(by_method(&results, "swath_mixture"));
}

#[test]
fn straddled_strips_are_compared_by_their_mixture() {
    let results = results(straddled(6));
    let first = &comparisons(&results)[0];
    assert_eq!(first["method"], "swath_mixture");
    assert_eq!(first["dilution"], 1.0);
    finds_the_gain(first);
    let plain = by_method(&results, "paired_strips");
    let left = plain["dilution"].as_f64().expect("a number");
    assert!((0.5..0.95).contains(&left), "{left}");
    let headline = results["headline"].as_str().expect("text");
    assert!(headline.starts_with("Swath mixture"), "{headline}");
}

#[test]
fn two_blocks_are_too_few_for_the_mixture_to_head() {
    let results = results(straddled(2));
    assert_eq!(comparisons(&results)[0]["method"], "paired_strips");
}

#[test]
fn several_treatments_that_headers_straddled_head_by_their_mixtures() {
    let results = results(FieldPlan {
        passes: 26,
        treatments: vec![
            Treatment::new("check", 0.0),
            Treatment::new("rolled", GAIN_KG_HA),
            Treatment::new("rolled twice", GAIN_KG_HA),
        ],
        ..straddled(5)
    });
    for first in &comparisons(&results)[..2] {
        assert_eq!(first["method"], "swath_mixture");
        finds_the_gain(first);
        let ends = |key: &str| [0, 1].map(|end| first[key][end].as_f64().expect("a number"));
        let (alone, family) = (ends("interval_95_kg_ha"), ends("interval_95_family_kg_ha"));
        assert!(family[0] < alone[0] && alone[1] < family[1], "{first}");
    }
}

/// Strips that yield more or less as wholes are no treatment effect, and are no repeats of one either.
#[test]
fn luck_of_whole_strips_is_seen() {
    let plain = results(straddled(6));
    let lucky = results(FieldPlan {
        strip_luck_kg_ha: 300.0,
        ..straddled(6)
    });
    let soil = |results: &Value| {
        let found = by_method(results, "swath_mixture");
        let strips = found["soil"]["strip_sd_kg_ha"].as_f64().unwrap_or(0.0);
        (strips, found["std_error_kg_ha"].as_f64().expect("a number"))
    };
    let ((none, narrow), (some, wide)) = (soil(&plain), soil(&lucky));
    assert!(some > 150.0 && none < 100.0, "{some} and {none}");
    assert!(wide > 2.0 * narrow, "{wide} and {narrow}");
}
