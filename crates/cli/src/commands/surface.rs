//! `checkstrip surface`.

use crate::arguments::SurfaceArguments;
use crate::console::Console;
use crate::meaning::{field_name, log_setup};
use checkstrip_job::{SurfaceRecord, SurfaceSetup, draw_surface};
use checkstrip_spatial::surface::SurfaceSettings;

pub(crate) fn run(arguments: &SurfaceArguments, console: &Console) -> anyhow::Result<()> {
    let log = log_setup(&arguments.logs, &arguments.log)?;
    let name = arguments.name.clone();
    let setup = SurfaceSetup {
        name: name.unwrap_or_else(|| field_name(&log.files)),
        log,
        settings: SurfaceSettings {
            method: arguments.method.into(),
            cell_m: arguments.cell_m(),
        },
        units: console.units,
    };
    let record = draw_surface(&setup, &arguments.out, &|what| console.progress(what))?;
    console.finish();
    console.warn(&record.warnings);
    console.result(&record, || words(&record, arguments))
}

fn words(record: &SurfaceRecord, arguments: &SurfaceArguments) -> String {
    let raster = &record.raster;
    let mut lines = vec![format!(
        "{} records, gathered to {} samples; {} cells of {} m with a yield, {}.",
        record.input.used, record.samples, raster.cells, raster.cell_m, raster.crs_name
    )];
    if let (Some(least), Some(mean), Some(most)) =
        (raster.least_kg_ha, raster.mean_kg_ha, raster.most_kg_ha)
    {
        let shown = |kg_ha: f64| kg_ha / raster.kg_ha_per_unit;
        lines.push(format!(
            "Cells from {:.1} to {:.1} {}, mean {:.1}.",
            shown(least),
            shown(most),
            raster.unit,
            shown(mean)
        ));
    }
    match &record.variogram {
        Some(variogram) => {
            let shown = |squared: f64| squared.sqrt() / raster.kg_ha_per_unit;
            lines.push(format!(
                "Block kriging, {} variogram: nugget {:.0} and sill {:.0} (kg/ha)^2 (standard deviations {:.2} and \
                 {:.2} {}), range {:.1} m.",
                variogram.model,
                variogram.nugget_kg2_ha2,
                variogram.sill_kg2_ha2,
                shown(variogram.nugget_kg2_ha2),
                shown(variogram.sill_kg2_ha2),
                raster.unit,
                variogram.range_m
            ));
        }
        None => lines.push("Inverse distance squared.".to_owned()),
    }
    for file in [arguments.out.clone(), arguments.out.with_extension("json")] {
        lines.push(format!("wrote {}", file.display()));
    }
    lines.join("\n")
}
