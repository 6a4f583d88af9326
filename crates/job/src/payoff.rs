//! What has to be gained, before anything is planted: break-even of each treatment, over a field, and
//! in seeds on a plant. Needs no log and no strips.

use checkstrip_model::Crop;
use checkstrip_trial::{
    BreakEven, PayoffSetup, SeedArithmetic, TreatmentCost, TrialError, WholeField, break_even,
    seed_arithmetic,
};
use serde::Serialize;

/// What to work out.
#[derive(Debug, Clone)]
pub struct PayoffQuestion {
    /// The crop.
    pub crop: Crop,
    /// Price and costs; `None` when only seeds are asked about.
    pub money: Option<PayoffSetup>,
    /// Size of the field, acres.
    pub acres: Option<f64>,
    /// The stand, when seeds are asked about.
    pub stand: Option<Stand>,
}

/// Plants and their seeds.
#[derive(Debug, Clone, Copy)]
pub struct Stand {
    /// Plants per acre.
    pub plants_per_ac: f64,
    /// Seeds in one pound of grain.
    pub seeds_per_lb: f64,
    /// Seeds in one pod.
    pub seeds_per_pod: f64,
}

/// The answer, as `checkstrip payoff --json` prints it.
#[derive(Debug, Clone, Serialize)]
pub struct PayoffAnswer {
    /// The crop.
    pub crop: String,
    /// Weight of its bushel, kg.
    pub bushel_kg: f64,
    /// One entry per treatment with costs; `one unit of rate` when the file prices rates.
    pub treatments: Vec<TreatmentAnswer>,
    /// One seed and one pod more on every plant.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub seeds: Option<SeedArithmetic>,
}

/// What one treatment has to gain.
#[derive(Debug, Clone, Serialize)]
pub struct TreatmentAnswer {
    /// Cost and break-even.
    #[serde(flatten)]
    pub even: BreakEven,
    /// The same over the whole field.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub field: Option<WholeField>,
    /// Seeds more on every plant that just pay.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub break_even_seeds_per_plant: Option<f64>,
}

/// Works it out.
///
/// # Errors
/// A price, cost or number of seeds that makes no sense.
pub fn payoff_before_planting(question: &PayoffQuestion) -> Result<PayoffAnswer, TrialError> {
    let bushel_kg = question.crop.bushel_kg;
    let seeds = question
        .stand
        .map(|stand| {
            seed_arithmetic(
                stand.plants_per_ac,
                stand.seeds_per_lb,
                stand.seeds_per_pod,
                bushel_kg,
            )
        })
        .transpose()?;
    let mut treatments = Vec::new();
    if let Some(money) = &question.money {
        let mut costs: Vec<(&str, TreatmentCost)> = money
            .treatments
            .iter()
            .map(|(name, cost)| (name.as_str(), cost.clone()))
            .collect();
        if let Some(per_unit) = money.cost_per_unit {
            let cost = TreatmentCost {
                material_per_ac: per_unit,
                ..TreatmentCost::default()
            };
            costs.push(("one unit of rate", cost));
        }
        for (name, cost) in costs {
            let even = break_even(name, &cost, money.price_per_bu, bushel_kg)?;
            treatments.push(TreatmentAnswer {
                field: question.acres.map(|acres| even.over(acres)),
                break_even_seeds_per_plant: seeds
                    .map(|seeds| seeds.seeds_per_plant(even.break_even_bu_ac)),
                even,
            });
        }
    }
    Ok(PayoffAnswer {
        crop: question.crop.name.clone(),
        bushel_kg,
        treatments,
        seeds,
    })
}
