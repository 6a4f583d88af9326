//! Zones of the trial's ground, from what the grower asked for to the entry of the results: which zone
//! each record lies in, what was harvested of each strip in each zone, and the advantage by zone.

mod elevation;
mod yield_history;

use crate::compare::CleanedField;
use crate::error::JobError;
use crate::setup::{TrialSetup, ZoneSetup};
use checkstrip_cleaning::CleaningOutcome;
use checkstrip_formats::read_zones;
use checkstrip_model::results::{PastHarvest, ZoneGround, ZonePolygons, Zones};
use checkstrip_model::{Problem, Warning, ZoneSet};
use checkstrip_spatial::overlay::Overlay;
use checkstrip_spatial::zones::{Classes, ZoneColumn, classes, drawn_zones, zone_sums};
use checkstrip_trial::{LEAST_ZONE_AREA_M2, Layout, ZoneSum, ZoneSums, by_zone};
use checkstrip_words::{said_values, warning};
use elevation::smoothed_elevation;
use geo::Centroid;
use yield_history::{PastYield, YieldHistory, check_not_the_harvest, past_yields, yield_history};

/// Classes when nobody says how many.
pub const USUAL_CLASSES: usize = 3;

/// How many classes may be asked for.
pub(crate) const CLASSES: std::ops::RangeInclusive<usize> = 2..=5;

/// More zones than this under the strips are a wrong attribute rather than a soil map.
const MOST_ZONES: usize = 12;

/// Elevations and past yields this near to a record are taken together, m: a few passes to either side,
/// over which a receiver's height and a yield monitor waver more than the ground does. Common practice,
/// no source.
const RADIUS_M: f64 = 20.0;

/// A share of the strips' ground above this is worth a warning when it is in no zone, or has no past
/// yields around it.
const WORTH_A_WARNING: f64 = 0.01;

/// What a comparison by zone found.
pub(crate) struct Zoned {
    /// The entry of the results.
    pub(crate) results: Zones,
    /// The zone of every record, for the map.
    pub(crate) column: ZoneColumn,
    /// What a reader should know.
    pub(crate) warnings: Vec<Warning>,
}

/// What can be known of the zones before a long log is read: the drawn ones, and that no past harvest
/// is the trial's own.
///
/// # Errors
/// When the file of zones cannot be used, or a past harvest is a file of the harvest.
pub(crate) fn zones_before_the_log(setup: &TrialSetup) -> Result<Option<ZoneSet>, JobError> {
    match &setup.zones {
        Some(ZoneSetup::Drawn { file, name_column }) => {
            Ok(Some(read_zones(file, name_column.as_deref())?))
        }
        Some(ZoneSetup::YieldHistory { harvests, .. }) => {
            check_not_the_harvest(&setup.log.files, harvests)?;
            Ok(None)
        }
        _ => Ok(None),
    }
}

/// What the zones of a cleaned log rest on, whatever strips are laid over it.
#[derive(Debug)]
pub(crate) enum ZoneBasis {
    Drawn(ZoneColumn),
    /// The elevation of every record, m.
    Elevation(Vec<f64>),
    YieldHistory(Vec<PastYield>),
}

/// What zones as `zone_setup` says rest on; `drawn` are the polygons when it says drawn.
///
/// # Errors
/// When the log has no elevation, or a past harvest cannot be used.
fn zone_basis(
    setup: &TrialSetup,
    zone_setup: &ZoneSetup,
    drawn: &ZoneSet,
    outcome: &CleaningOutcome,
) -> Result<ZoneBasis, JobError> {
    Ok(match zone_setup {
        ZoneSetup::Drawn { .. } => {
            ZoneBasis::Drawn(drawn_zones(&outcome.log, drawn, &outcome.plane)?)
        }
        ZoneSetup::Elevation { .. } => {
            ZoneBasis::Elevation(smoothed_elevation(&outcome.log, RADIUS_M)?)
        }
        ZoneSetup::YieldHistory { harvests, .. } => {
            ZoneBasis::YieldHistory(past_yields(setup, harvests, outcome, RADIUS_M)?)
        }
    })
}

/// Zones found one way or another, before the strips are laid over them.
struct Found {
    column: ZoneColumn,
    by: &'static str,
    /// Lowest and highest value of each zone, when they are classes.
    ranges: Vec<[f64; 2]>,
    polygons: Option<ZonePolygons>,
    harvests: Vec<PastHarvest>,
    warnings: Vec<Warning>,
}

/// The advantage by zone, for zones as `zone_setup` says; `drawn` are the polygons when it says drawn.
///
/// # Errors
/// Zones that cannot be found, that do not lie under the strips, or of which there is one only.
pub(crate) fn zones(
    setup: &TrialSetup,
    zone_setup: &ZoneSetup,
    drawn: Option<&ZoneSet>,
    cleaned: &CleanedField,
    overlay: &Overlay,
    layout: &Layout,
    progress: &(dyn Fn(&str) + Sync),
) -> Result<Zoned, JobError> {
    progress("finding the zones");
    let outcome = &cleaned.outcome;
    let log = &outcome.log;
    let mut ground_m2 = vec![0.0; log.len()];
    for part in overlay.kept_parts(log) {
        ground_m2[part.record] += part.area_m2;
    }
    let none = ZoneSet::default();
    let drawn = drawn.unwrap_or(&none);
    let basis = match cleaned.zone_basis.get() {
        Some(basis) => basis,
        None => {
            let found = zone_basis(setup, zone_setup, drawn, outcome)?;
            cleaned.zone_basis.get_or_init(|| found)
        }
    };
    let wanted = match zone_setup {
        ZoneSetup::Drawn { .. } => USUAL_CLASSES,
        ZoneSetup::Elevation { classes } | ZoneSetup::YieldHistory { classes, .. } => *classes,
    };
    let mut found = match basis {
        ZoneBasis::Drawn(column) => from_polygons(drawn, column.clone(), outcome, &ground_m2)?,
        ZoneBasis::Elevation(values) => {
            from_classes("elevation", classes(values, &ground_m2, wanted))
        }
        ZoneBasis::YieldHistory(past) => {
            let YieldHistory {
                relative_yield,
                harvests,
                warnings,
            } = yield_history(past, &ground_m2);
            let found = classes(&relative_yield, &ground_m2, wanted);
            Found {
                harvests,
                warnings,
                ..from_classes("yield_history", found)
            }
        }
    };
    check_several(setup, &found, layout)?;

    let column = found.column;
    let sums = zone_sums(log, overlay, layout.plots.len(), &column);
    let none = column.names.len();
    let area_of = |zone: usize| sums.iter().map(|strip| strip[zone].area_m2).sum::<f64>();
    let mut on_strips: Vec<usize> = overlay.kept_parts(log).map(|part| part.record).collect();
    on_strips.dedup();
    let mut records = vec![0; none + 1];
    for &record in &on_strips {
        records[column.zone(record).unwrap_or(none)] += 1;
    }
    let several_zones_records = column
        .several
        .iter()
        .filter(|&&record| on_strips.binary_search(&(record as usize)).is_ok())
        .count();
    let no_zone_area_m2 = area_of(none);
    let all_m2: f64 = ground_m2.iter().sum();
    if no_zone_area_m2 > WORTH_A_WARNING * all_m2 {
        found.warnings.push(warning(
            "ground_in_no_zone",
            said_values!(share = 100.0 * no_zone_area_m2 / all_m2),
        ));
    }
    if several_zones_records > 0 {
        found.warnings.push(warning(
            "zones_overlap",
            said_values!(records = several_zones_records),
        ));
    }
    let sums = ZoneSums {
        zones: column.names.clone(),
        sums: sums
            .iter()
            .enumerate()
            .flat_map(|(plot, zones)| {
                let zones = zones[..none].iter().enumerate();
                zones.map(move |(zone, sum)| ZoneSum {
                    plot,
                    zone,
                    area_m2: sum.area_m2,
                    mass_kg: sum.dry_mass_kg,
                })
            })
            .collect(),
    };
    let bushel_kg = setup.log.crop.bushel_kg;
    let answer = by_zone(layout, &sums, bushel_kg, setup.money.as_ref()).map_err(|source| {
        JobError::Trial {
            file: setup.trial_file.clone(),
            source,
        }
    })?;
    found.warnings.extend(answer.warnings);
    let range = |by: &str, zone: usize| {
        (found.by == by)
            .then(|| found.ranges.get(zone).copied())
            .flatten()
    };
    let zones = column
        .names
        .iter()
        .enumerate()
        .map(|(zone, name)| ZoneGround {
            zone: name.clone(),
            elevation_m: range("elevation", zone),
            relative_yield: range("yield_history", zone),
            records: records[zone],
            area_m2: sums
                .sums
                .iter()
                .filter(|sum| sum.zone == zone)
                .map(|sum| sum.area_m2)
                .sum(),
        });
    Ok(Zoned {
        results: Zones {
            by: found.by.to_owned(),
            polygons: found.polygons,
            harvests: found.harvests,
            radius_m: (found.by != "polygons").then_some(RADIUS_M),
            least_area_m2: LEAST_ZONE_AREA_M2,
            zones: zones.collect(),
            no_zone_records: records[none],
            no_zone_area_m2,
            several_zones_records,
            treatments: answer.treatments,
        },
        column,
        warnings: found.warnings,
    })
}

fn from_classes(by: &'static str, classes: Classes) -> Found {
    let what = if by == "elevation" { "ground" } else { "yield" };
    let count = classes.ranges.len();
    let name = |class: usize| match (count, class) {
        (..=3, 0) => format!("low {what}"),
        (..=3, class) if class + 1 == count => format!("high {what}"),
        (..=3, _) => format!("middle {what}"),
        (_, 0) => "1 (lowest)".to_owned(),
        (_, class) if class + 1 == count => format!("{count} (highest)"),
        _ => (class + 1).to_string(),
    };
    Found {
        column: ZoneColumn {
            names: (0..count).map(name).collect(),
            of_record: classes.of_record,
            several: vec![],
        },
        by,
        ranges: classes.ranges,
        polygons: None,
        harvests: vec![],
        warnings: vec![],
    }
}

/// The zones of a drawn map that hold ground of the strips.
fn from_polygons(
    set: &ZoneSet,
    mut column: ZoneColumn,
    outcome: &CleaningOutcome,
    ground_m2: &[f64],
) -> Result<Found, JobError> {
    let mut held = vec![false; column.names.len()];
    for (record, _) in ground_m2.iter().enumerate().filter(|(_, m2)| **m2 > 0.0) {
        if let Some(zone) = column.zone(record) {
            held[zone] = true;
        }
    }
    column.retain(|zone| held[zone]);
    if column.names.is_empty() {
        let [lon, lat] = outcome.plane.origin();
        let zones = set.zones.first().and_then(|zone| zone.ground.centroid());
        let around = zones.map_or(String::new(), |c| {
            format!(" (around lon {:.5}, lat {:.5})", c.x(), c.y())
        });
        return Err(Problem::new(
            set.path.clone(),
            format!(
                "no zone lies under the strips: the zones{around} are elsewhere than the log (around \
                 lon {lon:.5}, lat {lat:.5})"
            ),
        )
        .hint(
            "check that the zones belong to this field, and that their file states its coordinate \
             system (GeoJSON: longitude, latitude; Shapefile: its .prj)",
        )
        .into());
    }
    if column.names.len() > MOST_ZONES {
        return Err(Problem::new(
            set.path.clone(),
            format!(
                "{} zones lie under the strips, expected at most {MOST_ZONES}",
                column.names.len()
            ),
        )
        .in_column(set.name_column.as_str())
        .hint("check that the attribute names kinds of ground and not single polygons")
        .into());
    }
    let warnings = set
        .problems
        .iter()
        .map(|problem| Warning::new("zones_file", problem.to_string().replace("\nhint: ", "; ")));
    Ok(Found {
        warnings: warnings.collect(),
        column,
        by: "polygons",
        ranges: vec![],
        polygons: Some(ZonePolygons {
            path: set.path.clone(),
            sha256: set.sha256.clone(),
            crs: set.crs.clone(),
            name_column: set.name_column.clone(),
        }),
        harvests: vec![],
    })
}

/// Refuses a single zone: there is nothing to set against it.
fn check_several(setup: &TrialSetup, found: &Found, layout: &Layout) -> Result<(), Problem> {
    if found.column.names.len() > 1 {
        return Ok(());
    }
    let file = match &found.polygons {
        Some(polygons) => polygons.path.clone(),
        None => setup.trial_file.clone(),
    };
    let harvested = layout.plots.iter().any(|plot| plot.area_m2 > 0.0);
    let message = match (&found.polygons, found.column.names.first(), found.by) {
        _ if !harvested => "nothing was harvested on the strips: there are no zones".to_owned(),
        (Some(_), Some(name), _) => format!(
            "all the ground of the strips that is in a zone lies in one, {name:?}: there is nothing to \
             set against it"
        ),
        (_, Some(_), "elevation") => {
            "the log gives the ground of the strips one and the same elevation: there are no zones"
                .to_owned()
        }
        (_, None, "elevation") => {
            "no record around the strips has an elevation: there are no zones".to_owned()
        }
        (_, None, _) => {
            "no past harvest has usable records around the strips: there are no zones".to_owned()
        }
        _ => "past yields are the same all over the strips: there are no zones".to_owned(),
    };
    Err(Problem::new(file, message).hint("leave the zones out, or choose them another way"))
}
