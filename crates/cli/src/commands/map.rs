//! `checkstrip map`.

use crate::arguments::{MapArguments, MapForm};
use crate::console::Console;
use crate::meaning::{field_name, log_setup};
use checkstrip_formats::StripOptions;
use checkstrip_job::{MapSetup, draw_one_map};
use checkstrip_spatial::maps::MapKind;
use serde_json::json;

pub(crate) fn run(arguments: &MapArguments, console: &Console) -> anyhow::Result<()> {
    let log = log_setup(&arguments.logs, &arguments.log)?;
    let name = arguments
        .name
        .clone()
        .unwrap_or_else(|| field_name(&log.files));
    let kind = match arguments.kind {
        MapForm::YieldBefore => MapKind::YieldBefore,
        MapForm::YieldAfter => MapKind::YieldAfter,
        MapForm::RemovedRecords => MapKind::RemovedRecords,
    };
    let options = StripOptions {
        treatment: arguments.treatment_column.clone(),
        ..StripOptions::default()
    };
    let setup = MapSetup {
        log,
        name,
        kind,
        strips: arguments.strips.clone().map(|file| (file, options)),
        units: console.units,
        words: console.language.read()?,
    };
    draw_one_map(&setup, &arguments.out, &|what| console.progress(what))?;
    console.result(&json!({ "map": arguments.out, "kind": kind.key() }), || {
        format!("wrote {}", arguments.out.display())
    })
}
