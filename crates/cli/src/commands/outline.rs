//! `checkstrip outline`: strips from a machine's own log.

use crate::arguments::{OutlineArguments, TreatmentBy};
use crate::console::Console;
use crate::ground_in_words::area;
use crate::meaning::machine_log;
use checkstrip_job::{Outline, OutlineBy, OutlineSetup, outline, write_outline};
use checkstrip_model::units::{M2_PER_HA, UnitSystem};
use std::path::Path;

pub(crate) fn run(arguments: &OutlineArguments, console: &Console) -> anyhow::Result<()> {
    let machine = &arguments.machine;
    let by = match (&arguments.treatment, arguments.by) {
        (Some(name), _) => OutlineBy::Treatment(name.clone()),
        (None, TreatmentBy::Product) => OutlineBy::Product,
        (None, TreatmentBy::Rate) => OutlineBy::Rate,
    };
    let setup = OutlineSetup {
        log: machine_log(machine)?,
        by,
        row_spacing_m: machine.row_spacing,
        left_out: arguments.leave_out.clone(),
        keep_end_rows: machine.keep_end_rows,
        boundary: arguments.boundary.clone(),
        untreated: arguments.untreated.clone(),
    };
    console.progress("reading the log");
    let (found, strips) = outline(&setup)?;
    write_outline(&strips, &arguments.out)?;
    console.finish();
    for warning in &found.warnings {
        console.say(&format!("warning ({}): {}", warning.code, warning.message));
    }
    console.result(&found, || words(&found, &arguments.out, console.units))
}

fn words(found: &Outline, out: &Path, units: UnitSystem) -> String {
    let mut treatments: Vec<(&str, usize, f64)> = Vec::new();
    for strip in &found.strips {
        match treatments.iter_mut().find(|t| t.0 == strip.treatment) {
            Some(known) => {
                known.1 += 1;
                known.2 += strip.area_ha;
            }
            None => treatments.push((&strip.treatment, 1, strip.area_ha)),
        }
    }
    let mut lines: Vec<String> = treatments
        .iter()
        .map(|(name, strips, hectares)| {
            let strips = match strips {
                1 => "1 strip".to_owned(),
                several => format!("{several} strips"),
            };
            format!("{name}: {strips}, {}", area(*hectares, units))
        })
        .collect();
    if found.end_rows_ha > 0.0 {
        lines.push(format!(
            "end rows, in no strip: {}",
            area(found.end_rows_ha, units)
        ));
    }
    if found.small_pieces > 0 {
        lines.push(format!(
            "{} pieces under {} left out",
            found.small_pieces,
            area(found.smallest_m2 / M2_PER_HA, units)
        ));
    }
    lines.push(format!("wrote {}", out.display()));
    lines.join("\n")
}
