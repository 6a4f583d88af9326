//! `checkstrip plan`.

use crate::arguments::PlanArguments;
use crate::console::Console;
use crate::meaning::plan_setup;
use checkstrip_job::{Amounts, Plan, plan, write_plan};
use checkstrip_model::units::{HA_PER_ACRE, M_PER_FOOT, UnitSystem};

pub(crate) fn run(arguments: &PlanArguments, console: &Console) -> anyhow::Result<()> {
    let setup = plan_setup(arguments)?;
    let planned = plan(&setup, &|what| console.progress(what))?;
    console.progress("writing");
    let written = write_plan(&planned, &arguments.out, console.units)?;
    console.finish();
    console.warn(&planned.plan.warnings);
    console.result(&planned.plan, || {
        let mut lines = words(&planned.plan, console.units);
        lines.push(String::new());
        lines.extend(
            written
                .iter()
                .map(|path| format!("wrote {}", path.display())),
        );
        lines.join("\n")
    })
}

const CAUTION: &str = "Caution: before a machine is sent, follow its manual, local rules and licensed \
                       practice. Rollers run on when the tractor stops; lower or lock folding wings \
                       before anyone steps near; fold, lock, light and mark wide tools on the road. \
                       Keep people away.";

fn words(plan: &Plan, units: UnitSystem) -> Vec<String> {
    let (ground, swaths, power) = (&plan.ground, &plan.swaths, &plan.power);
    let longest = |pick: fn(f64, f64) -> f64, start: f64| {
        plan.strips
            .iter()
            .map(|strip| strip.length_m)
            .fold(start, pick)
    };
    let (short, long) = (longest(f64::min, f64::INFINITY), longest(f64::max, 0.0));
    let mut lines = vec![
        format!(
            "{}: {} strips in {} blocks, {} wide ({} of {}), {} to {} long, {:.1}° from true north{}.",
            plan.name,
            plan.strips.len(),
            plan.blocks,
            length(swaths.strip_width_m, units),
            passes(plan.strip_passes),
            length(plan.parameters.implement_width_m, units),
            length(short, units),
            length(long, units),
            ground.direction_deg,
            direction_words(&ground.direction_from)
        ),
        format!(
            "Field {}: headland {}, strips {}, left over {}.",
            area(ground.field_ha, units),
            area(ground.headland_ha, units),
            area(ground.strips_ha, units),
            area(ground.left_over_ha, units)
        ),
    ];
    for (block, order) in plan.randomisation.orders.iter().enumerate() {
        lines.push(format!("  block {:<2}  {}", block + 1, order.join(", ")));
    }
    lines.push(format!(
        "Whole {} swaths in every strip: {} wherever swaths lie; {} when the combine starts on each \
         strip's edge{}; {} when swaths run on from the first strip's edge.",
        length(swaths.header_width_m, units),
        swaths.surely,
        swaths.from_strip_edge,
        if swaths.is_exact() || swaths.from_strip_edge == 0 {
            String::new()
        } else {
            format!(", {} left beside them", length(swaths.beside_m, units))
        },
        swaths.in_step_fewest
    ));
    lines.push(String::new());
    lines.push(variation(plan, units));
    lines.push(match shown(&power.smallest_gain, units) {
        Some(gain) => format!(
            "Smallest gain that {} blocks show (4 trials in 5, two-sided 5 %, {} degrees of freedom): \
             {gain}. One-sided, if only a gain matters and that is settled before harvest: {}.",
            power.blocks,
            power.df,
            shown(&power.smallest_gain_one_sided, units).unwrap_or_default()
        ),
        None => "One block shows no gain, however large: there is nothing to judge it by.".to_owned(),
    });
    if ground.blocks_that_fit > plan.blocks
        && let Some(gain) = shown(&power.smallest_gain_on_all_ground, units)
    {
        lines.push(format!(
            "The ground has room for {} such blocks, which would show {gain}.",
            ground.blocks_that_fit
        ));
    }
    if let Some(wanted) = &power.wanted {
        lines.push(format!(
            "To show {}: {}; this layout shows it in {:.0} % of trials.",
            shown(&wanted.gain, units).unwrap_or_default(),
            blocks(wanted.blocks_needed),
            wanted.power.unwrap_or(0.0) * 100.0
        ));
    }
    if let Some(even) = &power.break_even {
        let gain = match units {
            UnitSystem::Farm => format!("{:.2} bu/ac", even.bu_ac),
            UnitSystem::Si => format!("{:.0} kg/ha", even.kg_ha),
        };
        lines.push(match even.shown {
            Some(true) => format!("A gain of {gain} just pays: large enough to be shown."),
            Some(false) => format!(
                "A gain of {gain} just pays: too small to be shown here; it takes {}.",
                blocks(even.blocks_needed)
            ),
            None => format!(
                "A gain of {gain} just pays; whether it can be shown takes --expected-yield or a \
                 --log."
            ),
        });
    }
    lines.push(String::new());
    lines.push(CAUTION.to_owned());
    lines
}

/// Where the direction came from, when nobody gave it.
fn direction_words(from: &str) -> &'static str {
    match from {
        "passes_of_log" => ", along the passes of the log",
        "longest_side" => ", along the longest side",
        _ => "",
    }
}

fn variation(plan: &Plan, units: UnitSystem) -> String {
    let power = &plan.power;
    let sd = shown(&power.sd, units).unwrap_or_default();
    let measured = power.measured.map(|measured| {
        let unit = |kg_ha: f64| yields(kg_ha, plan.bushel_kg, units);
        format!(
            "{} pretended trials over the past harvest: {} (a tenth below {}, a tenth above {}); \
             swaths that straddle strips as they did there would shrink a true gain to {:.0} %, so the \
             figure is divided by that.",
            measured.draws,
            unit(measured.sd_kg_ha),
            unit(measured.low_sd_kg_ha),
            unit(measured.high_sd_kg_ha),
            measured.dilution * 100.0
        )
    });
    let head = "Strips treated alike differ within a block by a standard deviation of";
    match (power.sd_source.as_str(), measured) {
        ("measured", Some(measured)) => format!("{head} {sd}, measured on {measured}"),
        ("given", Some(measured)) => format!("{head} {sd}, as given. Measured on {measured}"),
        ("given", None) => format!("{head} {sd}, as given."),
        _ => format!("{head} {sd}: assumed, common practice without a source."),
    }
}

fn blocks(needed: Option<usize>) -> String {
    needed.map_or("more than 500 blocks".to_owned(), |needed| {
        format!("{needed} blocks")
    })
}

fn passes(count: u32) -> String {
    match count {
        1 => "1 pass".to_owned(),
        count => format!("{count} passes"),
    }
}

fn length(metres: f64, units: UnitSystem) -> String {
    let (value, unit) = match units {
        UnitSystem::Farm => (metres / M_PER_FOOT, "ft"),
        UnitSystem::Si => (metres, "m"),
    };
    if (value - value.round()).abs() < 0.05 || value >= 200.0 {
        format!("{value:.0} {unit}")
    } else {
        format!("{value:.1} {unit}")
    }
}

fn area(hectares: f64, units: UnitSystem) -> String {
    match units {
        UnitSystem::Farm => format!("{:.1} ac", hectares / HA_PER_ACRE),
        UnitSystem::Si => format!("{hectares:.2} ha"),
    }
}

fn yields(kg_ha: f64, bushel_kg: f64, units: UnitSystem) -> String {
    match units {
        UnitSystem::Farm => format!(
            "{:.2} bu/ac",
            checkstrip_model::units::bu_per_acre(kg_ha, bushel_kg)
        ),
        UnitSystem::Si => format!("{kg_ha:.0} kg/ha"),
    }
}

/// An amount in the reader's unit, with its percentage when both are known.
fn shown(amount: &Amounts, units: UnitSystem) -> Option<String> {
    let yields = match units {
        UnitSystem::Farm => amount.bu_ac.map(|bu_ac| format!("{bu_ac:.2} bu/ac")),
        UnitSystem::Si => amount.kg_ha.map(|kg_ha| format!("{kg_ha:.0} kg/ha")),
    };
    let pct = amount.pct.map(|pct| format!("{pct:.1} %"));
    match (yields, pct) {
        (Some(yields), Some(pct)) => Some(format!("{yields} ({pct} of the yield)")),
        (Some(yields), None) => Some(yields),
        (None, Some(pct)) => Some(format!("{pct} of the yield")),
        (None, None) => None,
    }
}
