//! `checkstrip applied`: what was done against what was asked.

use crate::arguments::AppliedArguments;
use crate::console::Console;
use crate::ground_in_words::area;
use crate::meaning::applied_setup;
use checkstrip_job::{AppliedAgainstPlan, AskedGround, applied, write_applied};
use checkstrip_model::AppliedClass;
use checkstrip_model::units::UnitSystem;

pub(crate) fn run(arguments: &AppliedArguments, console: &Console) -> anyhow::Result<()> {
    let setup = applied_setup(arguments)?;
    let found = applied(&setup, &|what| console.progress(what))?;
    let written = write_applied(&found, &arguments.out, console.units)?;
    console.finish();
    console.warn(&found.record.warnings);
    console.result(&found.record, || {
        let mut lines = words(&found, console.units);
        lines.push(String::new());
        if let Some(map) = written.first() {
            lines.push(format!("Map: {}", map.display()));
        }
        lines.push(format!(
            "Areas, strips and applied.json: {}",
            arguments.out.display()
        ));
        lines.join("\n")
    })
}

fn words(found: &AppliedAgainstPlan, units: UnitSystem) -> Vec<String> {
    let record = &found.record;
    let mut lines = Vec::new();
    for asked in &record.asked {
        lines.push(of_one(found, asked, units));
    }
    if record.not_planned.ha > 0.0 {
        lines.push(format!(
            "worked outside the plan: {}",
            area(record.not_planned.ha, units)
        ));
    }
    let noise = record.total.noise.ha + record.not_planned_noise.ha;
    lines.push(format!(
        "too narrow or small to tell: {}",
        area(noise, units)
    ));
    lines.push(match record.strips.len() {
        1 => "1 strip where the plan was achieved".to_owned(),
        strips => format!("{strips} strips where the plan was achieved"),
    });
    lines
}

fn of_one(found: &AppliedAgainstPlan, asked: &AskedGround, units: UnitSystem) -> String {
    let ground = &asked.ground;
    let classes = AppliedClass::ALL.into_iter().filter_map(|class| {
        let of_class = ground.class(class);
        (of_class.ha > 0.0).then(|| format!("{} {}", class.words(), area(of_class.ha, units)))
    });
    let classes: Vec<String> = classes.collect();
    let mut said = format!(
        "{}: planned {}; {}",
        asked.treatment,
        area(ground.planned.ha, units),
        classes.join(", ")
    );
    if let (Some(kind), Some(mean)) = (found.kind, asked.mean_rate) {
        said.push_str(&format!("; mean rate {}", kind.in_words(mean, units)));
        if let Some(rate) = asked.rate {
            said.push_str(&format!(", asked {}", kind.in_words(rate, units)));
        }
    }
    said
}
