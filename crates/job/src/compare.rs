//! The main job, step after step: read, clean, lay the strips over, add up, compare, and gather
//! everything into the results.

use crate::along_strips::along_strips;
use crate::error::JobError;
use crate::ground;
use crate::machines::{AlikeGround, confounded, may_be_several, treatments_by_machine};
use crate::outputs::this_tool;
use crate::setup::{LogSetup, TrialSetup};
use crate::stand::{read_stand, stand};
use crate::strip_order::one_order;
use crate::strips::{blocks, check_place, check_treatments, find_check, warn_of_strips};
use crate::zones::{ZoneBasis, zones, zones_before_the_log};
use checkstrip_cleaning::{BesideTheRecords, CleaningOutcome, clean, plane_of};
use checkstrip_formats::{FormatError, ReadOptions, read_log, read_strips, read_tickets};
use checkstrip_model::results::{
    Cleaning, Field, Input, InputColumn, Results, SCHEMA, StripSource, StripYield,
};
use checkstrip_model::units::{M2_PER_ACRE, M2_PER_HA, bu_per_acre};
use checkstrip_model::{
    Crop, FieldLog, Operation, Problem, ScaleTickets, Status, StripSet, Warning, ZoneSet,
};
use checkstrip_spatial::cells::{Cell, pass_cells, strip_cells};
use checkstrip_spatial::maps::StripOutline;
use checkstrip_spatial::overlay::{Overlay, overlay};
use checkstrip_spatial::strip_ground::{StripField, StripOnGround};
use checkstrip_spatial::strip_slices::StripAxis;
use checkstrip_spatial::strip_sums::{StripSum, strip_sums};
use checkstrip_spatial::zones::ZoneColumn;
use checkstrip_trial::{Answer, FieldCell, Layout, Plot};
use checkstrip_words::{english_text, said_values, warning};
use geo::MultiPolygon;
use std::collections::BTreeMap;
use std::sync::OnceLock;

/// A log that was cleaned, to be compared as often as strips are drawn on it.
#[derive(Debug)]
pub struct CleanedField {
    /// How it was read and cleaned.
    pub setup: LogSetup,
    /// The cleaned log.
    pub outcome: CleaningOutcome,
    /// What zones rest on whatever strips lie on them, once it was asked for: a cleaned log is compared by the
    /// zones of one trial.
    pub(crate) zone_basis: OnceLock<ZoneBasis>,
}

impl CleanedField {
    /// What cleaning did, with every setting: the results' entry.
    ///
    /// # Errors
    /// When a setting cannot be written as JSON.
    pub fn cleaning(&self) -> Result<Cleaning, JobError> {
        cleaning(&self.outcome, &self.setup)
    }
}

/// A finished comparison.
#[derive(Debug)]
pub struct Compared {
    /// The results.
    pub results: Results,
    /// The strips as maps draw them.
    pub outlines: Vec<StripOutline>,
    /// The strips as drawn, WGS 84 longitude and latitude.
    pub drawn: Vec<MultiPolygon<f64>>,
    /// The zone of every record, when zones were asked for.
    pub zones: Option<ZoneColumn>,
    /// What distances along the strips count on; absent without windows along them.
    pub axis: Option<StripAxis>,
}

/// Reads and cleans a log. `progress` is told what is being done.
///
/// # Errors
/// When a file cannot be read or nothing of the log can be used.
pub fn clean_log(
    setup: &LogSetup,
    progress: &(dyn Fn(&str) + Sync),
) -> Result<CleaningOutcome, JobError> {
    let tickets = tickets_of(setup)?;
    progress("reading the log");
    let log = read(setup)?;
    progress("cleaning");
    let beside = BesideTheRecords {
        tickets: tickets.as_ref(),
        ground_class: None,
    };
    cleaned(log, setup, beside)
}

/// The scale tickets that `setup` names.
fn tickets_of(setup: &LogSetup) -> Result<Option<ScaleTickets>, FormatError> {
    let read = |path| read_tickets(path, setup.crop.bushel_kg);
    setup.tickets.as_deref().map(read).transpose()
}

/// Reads a harvest log as `setup` says.
pub(crate) fn read(setup: &LogSetup) -> Result<FieldLog, JobError> {
    read_log_of(Some(Operation::Harvest), setup)
}

/// Reads a log of any work as `setup` says.
pub(crate) fn read_any(setup: &LogSetup) -> Result<FieldLog, JobError> {
    read_log_of(None, setup)
}

fn read_log_of(operation: Option<Operation>, setup: &LogSetup) -> Result<FieldLog, JobError> {
    let options = ReadOptions {
        operation,
        columns: setup.columns.clone(),
        bushel_kg: setup.crop.bushel_kg,
    };
    Ok(read_log(&setup.files, &options)?)
}

/// Cleans a log that was read, with warnings about how it was read.
pub(crate) fn cleaned(
    log: FieldLog,
    setup: &LogSetup,
    beside: BesideTheRecords,
) -> Result<CleaningOutcome, JobError> {
    let first = log.first_path().to_owned();
    let (width_m, recipe) = (setup.header_width_m, &setup.recipe);
    let mut outcome =
        clean(log, &setup.crop, width_m, recipe, beside).map_err(|source| JobError::Cleaning {
            file: first,
            source,
        })?;
    let unreadable = unreadable_cells(&outcome.log.log.problems);
    outcome.warnings.extend(unreadable);
    if setup.crop_assumed {
        let crop = &setup.crop;
        outcome.warnings.push(warning(
            "crop_assumed",
            said_values!(
                crop = &crop.name,
                moisture = crop.market_moisture_pct.to_string(),
                bushel_kg = crop.bushel_kg,
            ),
        ));
    }
    Ok(outcome)
}

/// What was wrong with single cells of a log, the first three told.
pub(crate) fn unreadable_cells(problems: &[Problem]) -> Option<Warning> {
    let shown: Vec<String> = problems.iter().take(3).map(one_line).collect();
    let more = match problems.len().saturating_sub(shown.len()) {
        0 => String::new(),
        more => format!("; and {more} more such places"),
    };
    let said = format!("{}{more}", shown.join("; "));
    (!problems.is_empty()).then(|| Warning::new("unreadable_cells", said))
}

fn one_line(problem: &Problem) -> String {
    Problem {
        hint: String::new(),
        ..problem.clone()
    }
    .to_string()
}

/// Does the whole job in memory: nothing is written. `progress` is told what is being done.
///
/// # Errors
/// When a file cannot be read, nothing of the log can be used, the strips lie somewhere else, or a
/// check or cost is named that no strip has.
pub fn compare(
    setup: &TrialSetup,
    progress: &(dyn Fn(&str) + Sync),
) -> Result<(CleanedField, Compared), JobError> {
    // A mistake in the small strips file should not wait for the large log.
    let set = read_strips(&setup.strips.file, &setup.strips.options)?;
    let beside = BesideTheLog::read(setup)?;
    progress("reading the log");
    let log = read(&setup.log)?;
    compare_log(log, &set, &beside, setup, progress)
}

/// What is read beside log and strips.
#[derive(Debug, Default)]
pub struct BesideTheLog {
    /// Drawn zones.
    pub zones: Option<ZoneSet>,
    /// Stand counts.
    pub counts: Option<FieldLog>,
    /// Scale tickets.
    pub tickets: Option<ScaleTickets>,
}

impl BesideTheLog {
    /// Reads what `setup` names of it.
    ///
    /// # Errors
    /// When a file cannot be read.
    pub(crate) fn read(setup: &TrialSetup) -> Result<BesideTheLog, JobError> {
        Ok(BesideTheLog {
            zones: zones_before_the_log(setup)?,
            counts: setup.stand.as_ref().map(read_stand).transpose()?,
            tickets: tickets_of(&setup.log)?,
        })
    }
}

/// [`compare`] for files that were read, or made, already. Past harvests are still read from their files,
/// once for every cleaned log.
///
/// # Errors
/// As [`compare`].
pub fn compare_log(
    log: FieldLog,
    set: &StripSet,
    beside: &BesideTheLog,
    setup: &TrialSetup,
    progress: &(dyn Fn(&str) + Sync),
) -> Result<(CleanedField, Compared), JobError> {
    progress("cleaning");
    let cleaned = clean_field(log, &setup.log, beside.tickets.as_ref(), Some(set))?;
    let compared = compare_cleaned(&cleaned, set, beside, setup, progress)?;
    Ok((cleaned, compared))
}

/// Cleans a log that was read, for [`compare_cleaned`]. Where several machines cut, they are held against each
/// other on ground on which `set` says that the same was done.
///
/// # Errors
/// When nothing of the log can be used, or no ticket fits it.
pub fn clean_field(
    log: FieldLog,
    setup: &LogSetup,
    tickets: Option<&ScaleTickets>,
    set: Option<&StripSet>,
) -> Result<CleanedField, JobError> {
    let alike = set
        .filter(|_| may_be_several(&log))
        .and_then(|set| AlikeGround::new(set, &plane_of(&log).ok()?));
    let class = |footprint: &[[f64; 2]; 4]| alike.as_ref().and_then(|of| of.class(footprint));
    let beside = BesideTheRecords {
        tickets,
        ground_class: alike.is_some().then_some(&class),
    };
    Ok(CleanedField {
        outcome: cleaned(log, setup, beside)?,
        setup: setup.clone(),
        zone_basis: OnceLock::new(),
    })
}

/// The comparison alone, of strips on a log that was cleaned. How the log was read and cleaned is said by
/// `cleaned`, all else by `setup`.
///
/// # Errors
/// As [`compare`], once the log is cleaned.
pub fn compare_cleaned(
    cleaned: &CleanedField,
    set: &StripSet,
    beside: &BesideTheLog,
    setup: &TrialSetup,
    progress: &(dyn Fn(&str) + Sync),
) -> Result<Compared, JobError> {
    compare_as_asked(cleaned, set, beside, setup, Asked::Comparison, progress)
}

/// How much of a comparison is asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Asked {
    /// All of it.
    Comparison,
    /// What was harvested on each strip alone, of strips that are not enough for a comparison.
    Strips,
}

/// [`compare_cleaned`], or as much of it as is asked for.
pub(crate) fn compare_as_asked(
    cleaned: &CleanedField,
    set: &StripSet,
    beside: &BesideTheLog,
    setup: &TrialSetup,
    asked: Asked,
    progress: &(dyn Fn(&str) + Sync),
) -> Result<Compared, JobError> {
    let outcome = &cleaned.outcome;
    progress("laying the strips over");
    let field = StripField::new(set, &outcome.plane, setup.strips.inset_m)?;
    check_treatments(&setup.strips, &field)?;
    let check = match asked {
        Asked::Comparison => {
            let check = find_check(&setup.strips, &field)?;
            check_place(set, &field, outcome)?;
            check
        }
        Asked::Strips => None,
    };
    let overlay = overlay(&outcome.log, &field);
    let sums = strip_sums(&outcome.log, &field, &overlay);

    progress("comparing");
    let mut warnings = outcome.warnings.clone();
    warn_of_strips(set, &field, &sums, setup.strips.inset_m, &mut warnings);
    let (block_of, blocks_from) = blocks(set, &field, check, &mut warnings);
    warnings.extend(one_order(&field, &block_of));
    let crop = &cleaned.setup.crop;
    let (mut along, mut axis) = (None, None);
    let (mut by_zone, mut zone_column) = (None, None);
    let answer = match check {
        Some(check) => {
            let layout = layout(&field, &sums, &block_of, check);
            let money = setup.money.as_ref();
            let ((found, on), compared) = rayon::join(
                || along_strips(&outcome.log, &field, &overlay, &layout, crop.bushel_kg),
                || {
                    let (of_strips, of_passes) = cells(outcome, &field, &overlay);
                    let bushel_kg = crop.bushel_kg;
                    checkstrip_trial::compare(&layout, &of_strips, &of_passes, bushel_kg, money)
                },
            );
            (along, axis) = (Some(found), on);
            let answer = compared.map_err(|source| JobError::Trial {
                file: if source.is_about_money() {
                    setup.trial_file.clone()
                } else {
                    set.path.clone()
                },
                source,
            })?;
            warnings.extend(answer.warnings.iter().cloned());
            if let Some(ways) = &setup.zones {
                let found = zones(
                    setup,
                    ways,
                    beside.zones.as_ref(),
                    cleaned,
                    &overlay,
                    &layout,
                    progress,
                )?;
                (by_zone, zone_column) = (Some(found.results), Some(found.column));
                warnings.extend(found.warnings);
            }
            answer
        }
        None if asked == Asked::Strips => no_comparison("not-enough"),
        None => {
            let treatments = field.treatments.join(", ");
            warnings.push(warning("no_check", said_values!(treatments = treatments)));
            if setup.money.is_some() {
                warnings.push(warning("payoff_without_check", said_values!()));
            }
            if setup.zones.is_some() {
                warnings.push(warning("zones_without_check", said_values!()));
            }
            no_comparison("no-check")
        }
    };

    let stand = match (&beside.counts, &setup.stand) {
        (Some(counts), Some(of)) => {
            let plane = &outcome.plane;
            let (found, said) = stand(counts, of, set, &field, plane, &block_of, check)?;
            warnings.extend(said);
            Some(found)
        }
        _ => None,
    };
    let strips = strip_yields(set, &field, &sums, &block_of, crop);
    let mut cleaning = cleaned.cleaning()?;
    if let Some(bias) = &mut cleaning.machine_bias {
        bias.treatments = treatments_by_machine(outcome, &field, &overlay);
        if let Some(check) = check {
            let of_check = (0..sums.len()).filter(|&at| field.strips[at].treatment == check);
            let (kg, m2) = of_check.fold((0.0, 0.0), |(kg, m2), at| {
                (kg + sums[at].dry_mass_kg, m2 + sums[at].area_m2)
            });
            let tickets = outcome.scale_tickets.as_ref();
            warnings.extend(confounded(bias, tickets, check, kg / m2 * M2_PER_HA, crop));
        }
    }
    let outlines = outlines(&strips, &field, check);
    let results = Results {
        schema: SCHEMA.into(),
        tool: this_tool(),
        field: Field::new(&setup.name, crop),
        input: input(outcome, crop),
        cleaning,
        strips,
        strip_source: StripSource {
            path: set.path.clone(),
            sha256: set.sha256.clone(),
            crs: set.crs.clone(),
            inset_m: setup.strips.inset_m,
            check: check.map_or(String::new(), |check| field.treatments[check].clone()),
            blocks_from: blocks_from.into(),
        },
        comparisons: answer.comparisons,
        headline: answer.headline,
        headline_values: answer.headline_values,
        overall_test: answer.overall_test,
        payoff: answer.payoff,
        rate_response: answer.rate_response,
        zones: by_zone,
        along_strips: along,
        stand,
        warnings,
    };
    Ok(Compared {
        results,
        outlines,
        drawn: set
            .strips
            .iter()
            .map(|strip| strip.ground.clone())
            .collect(),
        zones: zone_column,
        axis,
    })
}

/// An answer without a comparison; `why` is the end of the text's id.
fn no_comparison(why: &str) -> Answer {
    let values = said_values!(variant = why);
    Answer {
        headline: english_text("headline", "", &values),
        headline_values: values,
        ..Answer::default()
    }
}

/// Cells that the spatial methods work on: enough to see the soil's pattern, few enough that a
/// covariance between all of them is fitted in a fraction of a second.
const MOST_CELLS: usize = 150;
/// No cell is shorter than this, m: grain is smeared over several metres of driving.
const SHORTEST_CELL_M: f64 = 15.0;

/// Pieces of strips and pieces of passes.
fn cells(
    outcome: &CleaningOutcome,
    field: &StripField,
    overlay: &Overlay,
) -> (Vec<FieldCell>, Vec<FieldCell>) {
    let log = &outcome.log;
    let of_strips = strip_cells(log, field, overlay, MOST_CELLS, SHORTEST_CELL_M);
    let of_passes = pass_cells(log, field, overlay, MOST_CELLS, SHORTEST_CELL_M);
    let line = |cell: &Cell| cell.strip.unwrap_or(cell.pass as usize);
    let field_cell = |cell: Cell| FieldCell {
        line: line(&cell),
        place_m: [cell.along_m, cell.across_m],
        area_m2: cell.area_m2,
        yield_kg_ha: cell.yield_kg_ha,
        shares: cell.shares,
        strip_shares: cell.strip_shares,
    };
    (
        of_strips.into_iter().map(field_cell).collect(),
        of_passes.into_iter().map(field_cell).collect(),
    )
}

/// The strips as statistics sees them.
pub(crate) fn layout(
    field: &StripField,
    sums: &[StripSum],
    block_of: &[Option<String>],
    check: usize,
) -> Layout {
    let plots = field
        .strips
        .iter()
        .zip(sums)
        .zip(block_of)
        .map(|((strip, sum), block)| Plot {
            treatment: strip.treatment,
            block: block.clone(),
            area_m2: sum.area_m2,
            mass_kg: sum.dry_mass_kg,
            treatment_shares: sum.treatment_shares.clone(),
        })
        .collect();
    Layout {
        treatments: field.treatments.clone(),
        check,
        plots,
    }
}

fn strip_yields(
    set: &StripSet,
    field: &StripField,
    sums: &[StripSum],
    block_of: &[Option<String>],
    crop: &Crop,
) -> Vec<StripYield> {
    (0..set.strips.len())
        .map(|place| {
            let (drawn, ground, sum) = (&set.strips[place], &field.strips[place], &sums[place]);
            let yield_kg_ha = sum.yield_kg_ha();
            let inset_m2 = ground.inset.area_m2();
            StripYield {
                strip_id: drawn.strip_id.clone(),
                treatment: drawn.treatment.clone(),
                block: block_of[place].clone().unwrap_or_default(),
                records: sum.records,
                area_m2: sum.area_m2,
                covered_fraction: if inset_m2 > 0.0 {
                    sum.area_m2 / inset_m2
                } else {
                    0.0
                },
                dry_mass_kg: sum.dry_mass_kg,
                yield_kg_ha,
                yield_bu_ac: yield_kg_ha.map(|y| bu_per_acre(y, crop.bushel_kg)),
                moisture_pct: Some(sum.moisture_pct).filter(|m| m.is_finite()),
                mixed_fraction: if sum.records > 0 {
                    (1.0 - sum.treatment_shares[ground.treatment]).clamp(0.0, 1.0)
                } else {
                    0.0
                },
                drawn_area_m2: ground.drawn.area_m2(),
            }
        })
        .collect()
}

fn outlines(strips: &[StripYield], field: &StripField, check: Option<usize>) -> Vec<StripOutline> {
    strips
        .iter()
        .zip(&field.strips)
        .map(|(strip, ground)| StripOutline {
            strip_id: strip.strip_id.clone(),
            treatment: strip.treatment.clone(),
            block: strip.block.clone(),
            rings: rings(ground),
            yield_kg_ha: strip.yield_kg_ha,
            is_check: Some(ground.treatment) == check,
        })
        .collect()
}

/// The rings of a strip as drawn, in the plane, m.
pub(crate) fn rings(strip: &StripOnGround) -> Vec<Vec<[f64; 2]>> {
    ground::rings(strip.drawn.polygon())
}

/// What the log held before anything was put right.
pub(crate) fn input(outcome: &CleaningOutcome, crop: &Crop) -> Input {
    let log = &outcome.log.log;
    let totals = outcome.input;
    Input {
        records: log.len(),
        files: log.files.clone(),
        area_ha: totals.area_m2 / M2_PER_HA,
        wet_mass_kg: totals.wet_mass_kg,
        market_mass_kg: totals.market_mass_kg,
        market_bu: totals.market_mass_kg / crop.bushel_kg,
        area_ac: totals.area_m2 / M2_PER_ACRE,
        centre: outcome.plane.origin(),
        columns: input_columns(log),
        derived: log
            .derived
            .iter()
            .map(|(column, how)| (column.canonical_name().to_owned(), how.clone()))
            .collect(),
    }
}

/// The columns that were read, each with its header and unit.
pub(crate) fn input_columns(log: &FieldLog) -> Vec<InputColumn> {
    let columns = log.sources.iter();
    columns
        .map(|(column, header, unit)| InputColumn {
            name: column.canonical_name().into(),
            header: header.clone(),
            unit: unit.clone(),
        })
        .collect()
}

/// What cleaning did, with every setting.
pub(crate) fn cleaning(outcome: &CleaningOutcome, setup: &LogSetup) -> Result<Cleaning, JobError> {
    let removed: BTreeMap<String, usize> = Status::REASONS
        .iter()
        .map(|&reason| (reason.key().to_owned(), outcome.log.count(reason)))
        .collect();
    let delay = &outcome.grain_delay;
    let mut settings = serde_json::to_value(&setup.recipe)?;
    settings["header_width_m"] = serde_json::to_value(setup.header_width_m)?;
    // What the crop and the log set where the recipe leaves it open.
    let crop = &setup.crop;
    let recipe = &setup.recipe;
    for (key, value) in [
        (
            "highest_yield_kg_ha",
            recipe
                .highest_yield_kg_ha
                .unwrap_or(crop.highest_yield_kg_ha),
        ),
        (
            "lowest_moisture_pct",
            recipe
                .lowest_moisture_pct
                .unwrap_or(crop.lowest_moisture_pct),
        ),
        (
            "highest_moisture_pct",
            recipe
                .highest_moisture_pct
                .unwrap_or(crop.highest_moisture_pct),
        ),
        ("pass_start_applied_s", outcome.pass_start_s),
    ] {
        settings[key] = serde_json::to_value(value)?;
    }
    Ok(Cleaning {
        grain_delay_s: delay.delay_s,
        grain_delay_source: delay.source.key().into(),
        grain_delay_low_s: delay.low_s,
        grain_delay_high_s: delay.high_s,
        grain_smear_s: delay.smear_s,
        grain_delay_note: delay.note.clone(),
        grain_delay_values: delay.values.clone(),
        kept: outcome.log.count(Status::Kept),
        removed,
        footprint_area_ha: outcome.footprint_m2 / M2_PER_HA,
        overlap_area_ha: outcome.overlap_m2 / M2_PER_HA,
        overlap_other_passes_ha: outcome.harvested_m2 / M2_PER_HA,
        passes: outcome.passes,
        machines: outcome.machines.len(),
        machine_bias: outcome.machine_bias.clone(),
        scale_tickets: outcome.scale_tickets.clone(),
        settings,
    })
}
