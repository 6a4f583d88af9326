//! `checkstrip payoff`.

use crate::arguments::PayoffArguments;
use crate::console::Console;
use crate::meaning::known_crop;
use checkstrip_job::{
    LogSetup, PayoffAnswer, PayoffQuestion, Stand, TreatmentAnswer, payoff_before_planting,
    read_payoff,
};
use checkstrip_model::units::{HA_PER_ACRE, M_PER_FOOT, UnitSystem, kg_per_ha};
use checkstrip_trial::{PayoffSetup, SeedArithmetic, TreatmentCost};

pub(crate) fn run(arguments: &PayoffArguments, console: &Console) -> anyhow::Result<()> {
    let answer = payoff_before_planting(&question(arguments)?)?;
    console.result(&answer, || words(&answer, console.units))
}

fn question(arguments: &PayoffArguments) -> anyhow::Result<PayoffQuestion> {
    let (crop, money) = match &arguments.trial {
        Some(path) => {
            let (crop, money) = read_payoff(path)?;
            (crop, Some(money))
        }
        None => (known_crop(arguments.crop.as_deref())?, money(arguments)),
    };
    // Nobody named the crop: the one that the other commands assume.
    let crop = crop.unwrap_or_else(|| LogSetup::new(Vec::new(), None).crop);
    let stand = arguments.stand.zip(arguments.seeds_per_lb);
    Ok(PayoffQuestion {
        crop,
        money,
        acres: arguments.acres,
        stand: stand.map(|(plants_per_ac, seeds_per_lb)| Stand {
            plants_per_ac,
            seeds_per_lb,
            seeds_per_pod: arguments.seeds_per_pod,
        }),
    })
}

/// Price and costs of the one treatment that options describe.
fn money(arguments: &PayoffArguments) -> Option<PayoffSetup> {
    let cost = TreatmentCost {
        rent_per_ac: arguments.rent.unwrap_or(0.0),
        material_per_ac: arguments.material.unwrap_or(0.0),
        fuel_gal_per_h: arguments.fuel_gal_per_h.unwrap_or(0.0),
        fuel_price_per_gal: arguments.fuel_price.unwrap_or(0.0),
        labour_per_h: arguments.labour_per_h.unwrap_or(0.0),
        machine_per_h: arguments.machine_per_h.unwrap_or(0.0),
        speed_mph: arguments.speed,
        width_ft: arguments.width.map(|metres| metres / M_PER_FOOT),
        field_efficiency: arguments.field_efficiency,
        ..TreatmentCost::default()
    };
    Some(PayoffSetup {
        price_per_bu: arguments.price?,
        cost_per_unit: None,
        treatments: [("The treatment".to_owned(), cost)].into_iter().collect(),
    })
}

fn words(answer: &PayoffAnswer, units: UnitSystem) -> String {
    let mut lines: Vec<String> = Vec::new();
    for treatment in &answer.treatments {
        lines.extend(treatment_words(treatment, answer.bushel_kg, units));
        lines.push(String::new());
    }
    if let Some(seeds) = &answer.seeds {
        lines.extend(seed_words(seeds, &answer.crop, units));
    }
    lines.join("\n").trim_end().to_owned()
}

/// Money per area of the reader's units.
fn per_area(per_ac: f64, units: UnitSystem) -> String {
    match units {
        UnitSystem::Farm => format!("{} an acre", money_text(per_ac)),
        UnitSystem::Si => format!("{} a hectare", money_text(per_ac / HA_PER_ACRE)),
    }
}

fn gain(bu_ac: f64, bushel_kg: f64, units: UnitSystem) -> String {
    match units {
        UnitSystem::Farm => format!("{bu_ac:.2} bu/ac"),
        UnitSystem::Si => format!("{:.1} kg/ha", kg_per_ha(bu_ac, bushel_kg)),
    }
}

/// A whole number with its thousands separated.
fn whole(value: f64) -> String {
    let digits = format!("{value:.0}");
    let mut text = String::new();
    for (place, digit) in digits.chars().enumerate() {
        if place > 0 && (digits.len() - place).is_multiple_of(3) {
            text.push(',');
        }
        text.push(digit);
    }
    text
}

fn money_text(amount: f64) -> String {
    let sign = if amount < 0.0 { "-" } else { "" };
    format!("{sign}${:.2}", amount.abs())
}

fn treatment_words(answer: &TreatmentAnswer, bushel_kg: f64, units: UnitSystem) -> Vec<String> {
    let even = &answer.even;
    let mut lines = vec![format!(
        "{}: costs {}.",
        even.treatment,
        per_area(even.cost_per_ac, units)
    )];
    if even.cost_parts.len() > 1 {
        let parts = even.cost_parts.iter();
        lines.extend(
            parts.map(|part| format!("  {:<9} {}", part.name, per_area(part.per_ac, units))),
        );
    }
    let price = match units {
        UnitSystem::Farm => format!("{} a bushel", money_text(even.price_per_bu)),
        UnitSystem::Si => format!(
            "{} a tonne",
            money_text(even.price_per_bu / bushel_kg * 1000.0)
        ),
    };
    lines.push(if even.break_even_bu_ac > 0.0 {
        format!(
            "At {price} it pays from a gain of {} on.",
            gain(even.break_even_bu_ac, bushel_kg, units)
        )
    } else {
        format!(
            "At {price} it pays unless it loses more than {}.",
            gain(-even.break_even_bu_ac, bushel_kg, units)
        )
    });
    if let Some(seeds) = answer.break_even_seeds_per_plant {
        lines.push(format!("That is {seeds:.2} more seeds on every plant."));
    }
    if let Some(rate) = even.acres_per_hour {
        lines.push(match units {
            UnitSystem::Farm => format!("The machine covers {rate:.1} acres an hour."),
            UnitSystem::Si => {
                format!(
                    "The machine covers {:.1} hectares an hour.",
                    rate * HA_PER_ACRE
                )
            }
        });
    }
    if let Some(field) = answer.field {
        let (size, grain) = match units {
            UnitSystem::Farm => (
                format!("{:.0} acres", field.acres),
                format!("{:.0} bushels", field.break_even_bu),
            ),
            UnitSystem::Si => (
                format!("{:.1} hectares", field.acres * HA_PER_ACRE),
                format!("{:.0} kg", field.break_even_bu * bushel_kg),
            ),
        };
        let hours = field
            .hours
            .map_or(String::new(), |hours| format!(", {hours:.1} hours"));
        lines.push(format!(
            "On {size}: {}{hours}, paid by {grain} more.",
            money_text(field.cost)
        ));
    }
    if even.acres_per_hour.is_some() {
        lines.push(
            "Drive no faster than the machine's manual and the ground allow; keep people clear, and \
             stop the engine before going near."
                .to_owned(),
        );
    }
    lines
}

fn seed_words(seeds: &SeedArithmetic, crop: &str, units: UnitSystem) -> Vec<String> {
    let shown = |bu_ac: f64, kg_ha: f64| match units {
        UnitSystem::Farm => format!("{bu_ac:.2} bu/ac"),
        UnitSystem::Si => format!("{kg_ha:.1} kg/ha"),
    };
    vec![
        format!(
            "A bushel of {crop} holds about {} seeds at {} a pound.",
            whole(seeds.seeds_per_bu),
            whole(seeds.seeds_per_lb)
        ),
        format!(
            "With {} plants an acre, one more seed on every plant is {}; one more pod of {} is {}.",
            whole(seeds.stand_per_ac),
            shown(seeds.per_seed_bu_ac, seeds.per_seed_kg_ha),
            seeds.seeds_per_pod,
            shown(seeds.per_pod_bu_ac, seeds.per_pod_kg_ha)
        ),
    ]
}
