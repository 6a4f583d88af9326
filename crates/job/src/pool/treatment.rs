//! One treatment over all fields: which of its comparisons enter, and the pooled figures in both
//! units.

use super::fields::{Fields, Headline};
use checkstrip_model::SaidValues;
use checkstrip_model::results::{
    LeftOut, NotPooled, OtherIntervals, PooledCrop, PooledEntry, PooledHeterogeneity, PooledPayoff,
    PooledPrediction, PooledTreatment, PooledWithout,
};
use checkstrip_model::units::{bu_per_acre, kg_per_ha};
use checkstrip_trial::{FieldEstimate, Heterogeneity, PooledEstimate, pool};
use checkstrip_words::{english_text, said_values};

/// Break-even gains closer than this agree, bu/ac: they are shown to two decimals.
const BREAK_EVENS_AGREE_BU_AC: f64 = 0.01;

/// Pools one treatment, or says why it cannot be.
pub(super) fn pool_treatment(
    treatment: &str,
    fields: &Fields,
) -> Result<PooledTreatment, NotPooled> {
    let headlines = fields.headlines(treatment);
    let estimates: Vec<FieldEstimate> = headlines.iter().map(estimate).collect();
    let pooled = pool(&estimates);
    let crop = &fields.crop;
    let mut entries = Vec::new();
    let mut left_out = Vec::new();
    for (place, headline) in headlines.iter().enumerate() {
        let mut entry = entry(headline, fields);
        if estimates[place].is_usable() {
            if let Some(pooled) = &pooled {
                entry.weight_pct = 100.0 * pooled.weights[place];
                entry.without = pooled.without[place].map(|rest| PooledWithout {
                    advantage_kg_ha: rest.advantage,
                    advantage_bu_ac: bushels(rest.advantage, crop),
                    interval_95_kg_ha: rest.interval_95,
                    interval_95_bu_ac: rest.interval_95.map(|end| bushels(end, crop)),
                    tau2_kg2_ha2: rest.tau2,
                });
            }
            entries.push(entry);
        } else {
            entry.left_out = Some(why_left_out(headline));
            left_out.push(entry);
        }
    }
    let Some(pooled) = pooled else {
        return Err(not_pooled(treatment, entries, left_out));
    };
    let mut checks: Vec<String> = Vec::new();
    for entry in &entries {
        if !checks
            .iter()
            .any(|check| super::same_name(check, &entry.check))
        {
            checks.push(entry.check.clone());
        }
    }
    Ok(PooledTreatment {
        treatment: treatment.to_owned(),
        checks,
        method: "random_effects_reml".into(),
        fields: pooled.fields,
        advantage_kg_ha: pooled.advantage,
        advantage_bu_ac: bushels(pooled.advantage, crop),
        std_error_kg_ha: pooled.std_error,
        std_error_bu_ac: bushels(pooled.std_error, crop),
        df: pooled.df,
        interval_95_kg_ha: pooled.interval_95,
        interval_95_bu_ac: pooled.interval_95.map(|end| bushels(end, crop)),
        p_value: pooled.p_value,
        other_intervals: other_intervals(&pooled, crop),
        prediction: pooled.prediction.map(|next| PooledPrediction {
            df: next.df,
            interval_95_kg_ha: next.interval_95,
            interval_95_bu_ac: next.interval_95.map(|end| bushels(end, crop)),
        }),
        heterogeneity: heterogeneity(&pooled.heterogeneity, crop),
        payoff: payoff(&pooled, &entries, crop),
        entries,
        left_out,
    })
}

fn bushels(kg_ha: f64, crop: &PooledCrop) -> f64 {
    bu_per_acre(kg_ha, crop.bushel_kg)
}

fn estimate(headline: &Headline) -> FieldEstimate {
    let restated = |figure: Option<f64>| figure.map_or(f64::NAN, |kg_ha| kg_ha * headline.restate);
    FieldEstimate {
        advantage: restated(headline.found.advantage_kg_ha),
        std_error: restated(headline.found.std_error_kg_ha),
    }
}

fn entry(headline: &Headline, fields: &Fields) -> PooledEntry {
    let found = headline.found;
    let crop = &fields.crop;
    let restated = |figure: Option<f64>| figure.map(|kg_ha| kg_ha * headline.restate);
    let interval = match found.interval_95_kg_ha.map(restated) {
        [Some(low), Some(high)] => Some([low, high]),
        _ => None,
    };
    let (advantage, std_error) = (
        restated(found.advantage_kg_ha),
        restated(found.std_error_kg_ha),
    );
    PooledEntry {
        input: headline.input,
        field: fields.inputs[headline.input].field.clone(),
        check: found.check.trim().to_owned(),
        method: found.method.clone(),
        blocks: found.blocks,
        advantage_kg_ha: advantage,
        advantage_bu_ac: advantage.map(|kg_ha| bushels(kg_ha, crop)),
        std_error_kg_ha: std_error,
        std_error_bu_ac: std_error.map(|kg_ha| bushels(kg_ha, crop)),
        df: found.df,
        interval_95_kg_ha: interval,
        interval_95_bu_ac: interval.map(|ends| ends.map(|end| bushels(end, crop))),
        dilution: found.dilution,
        break_even_bu_ac: headline.break_even_bu_ac,
        weight_pct: 0.0,
        without: None,
        left_out: None,
    }
}

fn why_left_out(headline: &Headline) -> LeftOut {
    let found = headline.found;
    let (code, why) = match (found.advantage_kg_ha, found.std_error_kg_ha) {
        (None, _) => ("no_estimate", ""),
        (_, None) if found.blocks == 1 => ("no_standard_error", "one-block"),
        (_, None) => ("no_standard_error", "none"),
        _ => ("no_standard_error", "no-weight"),
    };
    left_out(code, said_values!(variant = why))
}

/// Something left out; `values` are what the reason names.
pub(super) fn left_out(code: &str, values: SaidValues) -> LeftOut {
    LeftOut {
        code: code.to_owned(),
        reason: english_text("left-out", code, &values),
        values,
    }
}

fn not_pooled(treatment: &str, entries: Vec<PooledEntry>, left_out: Vec<PooledEntry>) -> NotPooled {
    let reason_values = if entries.is_empty() {
        said_values!(variant = "none", fields = left_out.len())
    } else if left_out.is_empty() {
        said_values!(variant = "one")
    } else {
        said_values!(
            variant = "few",
            weighed = entries.len(),
            fields = entries.len() + left_out.len(),
        )
    };
    NotPooled {
        treatment: treatment.to_owned(),
        reason: english_text("not-pooled", "", &reason_values),
        reason_values,
        entries: entries.into_iter().chain(left_out).collect(),
    }
}

fn other_intervals(pooled: &PooledEstimate, crop: &PooledCrop) -> OtherIntervals {
    let (knapp, wald) = (pooled.interval_95_hartung_knapp, pooled.interval_95_wald);
    OtherIntervals {
        hartung_knapp_ratio: pooled.scatter_ratio,
        hartung_knapp_std_error_kg_ha: pooled.std_error_hartung_knapp,
        hartung_knapp_interval_95_kg_ha: knapp,
        hartung_knapp_interval_95_bu_ac: knapp.map(|end| bushels(end, crop)),
        wald_std_error_kg_ha: pooled.std_error_wald,
        wald_interval_95_kg_ha: wald,
        wald_interval_95_bu_ac: wald.map(|end| bushels(end, crop)),
    }
}

fn heterogeneity(found: &Heterogeneity, crop: &PooledCrop) -> PooledHeterogeneity {
    let ends = found.tau2_interval_95.map(f64::sqrt);
    PooledHeterogeneity {
        q: found.q,
        df: found.df,
        p_value: found.p_value,
        tau2_kg2_ha2: found.tau2,
        tau2_interval_95_kg2_ha2: found.tau2_interval_95,
        tau_kg_ha: found.tau2.sqrt(),
        tau_bu_ac: bushels(found.tau2.sqrt(), crop),
        tau_interval_95_kg_ha: ends,
        tau_interval_95_bu_ac: ends.map(|end| bushels(end, crop)),
        i2_pct: found.i2_pct,
        i2_interval_95_pct: found.i2_interval_95_pct,
        h2: found.h2,
        h2_interval_95: found.h2_interval_95,
    }
}

/// Money, where the fields that entered agree on what the gain has to be.
fn payoff(
    pooled: &PooledEstimate,
    entries: &[PooledEntry],
    crop: &PooledCrop,
) -> Option<PooledPayoff> {
    let gains: Vec<f64> = entries.iter().filter_map(|e| e.break_even_bu_ac).collect();
    let least = gains.iter().copied().fold(f64::INFINITY, f64::min);
    let most = gains.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if gains.is_empty() || most - least > BREAK_EVENS_AGREE_BU_AC {
        return None;
    }
    let break_even_bu_ac = (least + most) / 2.0;
    let break_even_kg_ha = kg_per_ha(break_even_bu_ac, crop.bushel_kg);
    Some(PooledPayoff {
        break_even_bu_ac,
        break_even_kg_ha,
        fields: gains.len(),
        odds_mean_pays: pooled.odds_above(break_even_kg_ha),
        odds_next_field_pays: pooled.odds_next_above(break_even_kg_ha),
    })
}
