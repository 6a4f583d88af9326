//! What the pooled report says in each case, pinned as text. Fields and figures are invented.

use super::*;
use checkstrip_model::Warning;
use checkstrip_model::results::{
    LeftOut, NotPooled, OtherIntervals, POOLED_SCHEMA, PooledCrop, PooledEntry,
    PooledHeterogeneity, PooledInput, PooledPayoff, PooledPrediction, PooledTreatment,
    PooledWithout, Tool,
};
use checkstrip_model::units::{UnitSystem, bu_per_acre};
use insta::assert_snapshot;

const SOYBEAN_KG: f64 = 27.2155422;

fn bushels(kg_ha: f64) -> f64 {
    bu_per_acre(kg_ha, SOYBEAN_KG)
}

fn entry(place: usize, kg_ha: f64, half: f64, weight_pct: f64) -> PooledEntry {
    let interval = [kg_ha - half, kg_ha + half];
    PooledEntry {
        input: place,
        field: format!("Invented <field> {}", place + 1),
        check: "check".into(),
        method: "paired_strips".into(),
        blocks: 6,
        advantage_kg_ha: Some(kg_ha),
        advantage_bu_ac: Some(bushels(kg_ha)),
        std_error_kg_ha: Some(half / 2.57),
        std_error_bu_ac: Some(bushels(half / 2.57)),
        df: Some(5.0),
        interval_95_kg_ha: Some(interval),
        interval_95_bu_ac: Some(interval.map(bushels)),
        dilution: Some(1.0),
        break_even_bu_ac: Some(0.41),
        weight_pct,
        without: Some(PooledWithout {
            advantage_kg_ha: 60.0,
            advantage_bu_ac: bushels(60.0),
            interval_95_kg_ha: [12.0, 108.0],
            interval_95_bu_ac: [12.0, 108.0].map(bushels),
            tau2_kg2_ha2: 120.0,
        }),
        left_out: None,
    }
}

/// A rolled treatment over four fields, a fifth left out.
pub(crate) fn pooled() -> Pooled {
    let mut alone = entry(4, 150.0, 0.0, 0.0);
    alone.std_error_kg_ha = None;
    alone.std_error_bu_ac = None;
    alone.interval_95_kg_ha = None;
    alone.interval_95_bu_ac = None;
    alone.without = None;
    alone.blocks = 1;
    alone.left_out = Some(LeftOut {
        code: "no_standard_error".into(),
        reason: "one block only: a difference, but nothing that tells how sure it is".into(),
        values: Default::default(),
    });
    let mean = 67.25;
    let about = |half: f64| [mean - half, mean + half];
    let treatment = PooledTreatment {
        treatment: "rolled".into(),
        checks: vec!["check".into()],
        method: "random_effects_reml".into(),
        fields: 4,
        advantage_kg_ha: mean,
        advantage_bu_ac: bushels(mean),
        std_error_kg_ha: 14.0,
        std_error_bu_ac: bushels(14.0),
        df: 3.0,
        interval_95_kg_ha: about(44.6),
        interval_95_bu_ac: about(44.6).map(bushels),
        p_value: 0.017,
        other_intervals: OtherIntervals {
            hartung_knapp_ratio: 0.8,
            hartung_knapp_std_error_kg_ha: 12.5,
            hartung_knapp_interval_95_kg_ha: about(39.8),
            hartung_knapp_interval_95_bu_ac: about(39.8).map(bushels),
            wald_std_error_kg_ha: 14.0,
            wald_interval_95_kg_ha: about(27.4),
            wald_interval_95_bu_ac: about(27.4).map(bushels),
        },
        prediction: Some(PooledPrediction {
            df: 2.0,
            interval_95_kg_ha: about(73.0),
            interval_95_bu_ac: about(73.0).map(bushels),
        }),
        heterogeneity: PooledHeterogeneity {
            q: 3.3,
            df: 3.0,
            p_value: 0.35,
            tau2_kg2_ha2: 92.0,
            tau2_interval_95_kg2_ha2: [0.0, 6_400.0],
            tau_kg_ha: 9.6,
            tau_bu_ac: bushels(9.6),
            tau_interval_95_kg_ha: [0.0, 80.0],
            tau_interval_95_bu_ac: [0.0, bushels(80.0)],
            i2_pct: 11.0,
            i2_interval_95_pct: [0.0, 89.0],
            h2: 1.12,
            h2_interval_95: [1.0, 9.2],
        },
        payoff: Some(PooledPayoff {
            break_even_bu_ac: 0.41,
            break_even_kg_ha: 27.6,
            fields: 4,
            odds_mean_pays: 0.972,
            odds_next_field_pays: Some(0.93),
        }),
        entries: vec![
            entry(0, 74.0, 50.0, 36.0),
            entry(1, 22.0, 80.0, 18.0),
            entry(2, 112.0, 95.0, 14.0),
            entry(3, 66.0, 52.0, 32.0),
        ],
        left_out: vec![alone],
    };
    Pooled {
        schema: POOLED_SCHEMA.into(),
        tool: Tool {
            name: "checkstrip".into(),
            version: "0.0.0".into(),
        },
        crop: PooledCrop {
            name: "soybean".into(),
            market_moisture_pct: 13.0,
            bushel_kg: SOYBEAN_KG,
        },
        inputs: (0..5)
            .map(|place| PooledInput {
                path: format!("invented/{}/results.json", place + 1),
                sha256: "0123456789abcdef".repeat(4),
                field: format!("Invented <field> {}", place + 1),
                crop: "soybean".into(),
                tool_version: "0.0.0".into(),
                left_out: None,
            })
            .collect(),
        treatments: vec![treatment],
        not_pooled: Vec::new(),
        warnings: vec![Warning::new("no_standard_error", "Field 5 was <left out>.")],
    }
}

fn said(change: impl FnOnce(&mut PooledTreatment)) -> String {
    let mut pooled = pooled();
    change(&mut pooled.treatments[0]);
    pooled_in_words(&pooled, UnitSystem::Farm.into()).join("\n")
}

#[test]
fn a_clear_gain_that_pays() {
    assert_snapshot!(said(|_| {}));
}

#[test]
fn a_clear_gain_in_si() {
    assert_snapshot!(pooled_in_words(&pooled(), UnitSystem::Si.into()).join("\n"));
}

#[test]
fn an_interval_that_holds_zero_and_no_prices() {
    assert_snapshot!(said(|treatment| {
        treatment.advantage_kg_ha = -20.0;
        treatment.interval_95_kg_ha = [-70.0, 30.0];
        treatment.payoff = None;
        treatment
            .entries
            .iter_mut()
            .for_each(|entry| entry.break_even_bu_ac = None);
    }));
}

#[test]
fn fields_that_differ_and_were_costed_differently() {
    assert_snapshot!(said(|treatment| {
        treatment.heterogeneity.p_value = 0.001;
        treatment.heterogeneity.tau_kg_ha = 60.0;
        treatment.payoff = None;
    }));
}

#[test]
fn two_fields() {
    assert_snapshot!(said(|treatment| {
        treatment.fields = 2;
        treatment.prediction = None;
        treatment.interval_95_kg_ha = [-440.0, 576.0];
        if let Some(payoff) = &mut treatment.payoff {
            payoff.odds_mean_pays = 0.7;
            payoff.odds_next_field_pays = None;
        }
    }));
}

#[test]
fn a_treatment_that_could_not_be_pooled() {
    let mut pooled = pooled();
    pooled.not_pooled.push(NotPooled {
        treatment: "strip-till".into(),
        reason: "one field has it, and pooling takes two".into(),
        reason_values: Default::default(),
        entries: vec![entry(0, 10.0, 30.0, 0.0)],
    });
    assert_snapshot!(pooled_in_words(&pooled, UnitSystem::Farm.into()).join("\n"));
    let page = render_pooled(&pooled, b"not a picture", UnitSystem::Farm.into()).unwrap();
    assert!(page.contains("<td>strip-till</td>"));
}

#[test]
fn whole_pooled_page() {
    let page = render_pooled(&pooled(), b"not a picture", UnitSystem::Farm.into()).unwrap();
    // The style sheet is the other report's too, and pinned there.
    let (_, body) = page.split_once("</style>").unwrap();
    assert_snapshot!(body);
}

#[test]
fn the_page_needs_nothing_from_outside() {
    for units in [UnitSystem::Farm, UnitSystem::Si] {
        let page = render_pooled(&pooled(), b"not a picture", units.into()).unwrap();
        for forbidden in [
            "http://", "https://", "//cdn", "<script", "<link", "url(", "@import",
        ] {
            assert!(!page.contains(forbidden), "{forbidden}");
        }
        assert!(page.contains("&lt;field&gt;") && !page.contains("<field>"));
        assert!(!page.contains("NaN"));
    }
}
