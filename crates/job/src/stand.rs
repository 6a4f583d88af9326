//! Plants counted after emergence, joined to the strips: each count to the strip that it lies in or names, the counts of
//! a strip to their mean, and the means compared as the harvest is. What stands for no strip is kept, with why.

use crate::compare::{input_columns, unreadable_cells};
use crate::error::JobError;
use crate::setup::StandSetup;
use checkstrip_formats::{ReadOptions, read_log};
use checkstrip_model::results::{LeftOutCount, Stand, StandComparison, StripStand, WhyLeftOut};
use checkstrip_model::spelling::plain;
use checkstrip_model::units::{HA_PER_ACRE, M2_PER_HA};
use checkstrip_model::{
    Column, FieldLog, Operation, Problem, SaidList, SaidText, StripSet, Warning,
};
use checkstrip_spatial::local_plane::LocalPlane;
use checkstrip_spatial::strip_ground::StripField;
use checkstrip_trial::{Layout, strip_methods};
use checkstrip_words::{Words, said_values, warning};
use geo::{Contains, Intersects, Point};

/// Reads the files of counts.
///
/// # Errors
/// When a file cannot be read, or nothing in it says how many plants stood on how much ground.
pub(crate) fn read_stand(setup: &StandSetup) -> Result<FieldLog, JobError> {
    let options = ReadOptions {
        operation: Some(Operation::StandCount),
        columns: setup.columns.clone(),
        ..ReadOptions::default()
    };
    let log = read_log(&setup.files, &options)?;
    let has = |column: Column| log.numbers(column).is_some();
    for (column, given, words, line) in [
        (
            Column::RowLength,
            setup.row_length_m,
            "how long the counted rows were",
            "row_length = \"17 ft 5 in\" (yours) under [stand], or --row-length",
        ),
        (
            Column::RowSpacing,
            setup.row_spacing_m,
            "how far the rows are apart",
            "row_spacing = \"30 in\" (yours) under [stand], or --row-spacing",
        ),
    ] {
        if !has(Column::Stand) && !has(column) && given.is_none() {
            let message = format!("counts plants in rows, but does not say {words}");
            return Err(Problem::new(log.first_path(), message)
                .hint(format!("add a column with its unit, or {line}"))
                .into());
        }
    }
    Ok(log)
}

/// Joins the counts to the strips and compares. `check` is the place of the check among the treatments.
///
/// # Errors
/// When no count stands for a strip.
pub(crate) fn stand(
    log: &FieldLog,
    setup: &StandSetup,
    set: &StripSet,
    field: &StripField,
    plane: &LocalPlane,
    block_of: &[Option<String>],
    check: Option<usize>,
) -> Result<(Stand, Vec<Warning>), JobError> {
    let places = Places::new(log, set, field, plane)?;
    let density = Density::new(log, setup);
    let mut of_strips: Vec<Vec<Count>> = vec![Vec::new(); set.strips.len()];
    let mut left_out = Vec::new();
    for record in 0..log.len() {
        let found = density.plants_ha(record).and_then(|plants_ha| {
            let strip = places.strip(record)?;
            Ok((
                strip,
                Count {
                    plants_ha,
                    seeds_ha: density.seeds_ha(record),
                },
            ))
        });
        match found {
            Ok((strip, count)) => of_strips[strip].push(count),
            Err(why) => {
                let (file, row) = log.place(record);
                left_out.push(LeftOutCount {
                    file: file.to_owned(),
                    row,
                    why,
                });
            }
        }
    }
    let used = log.len() - left_out.len();
    if used == 0 {
        let message = format!(
            "none of its {} counts stands for a strip: {}",
            log.len(),
            Words::english().listed(&reasons(&left_out))
        );
        return Err(Problem::new(log.first_path(), message)
            .hint("check that counts and strips are of the same field, and the inset of the strips")
            .into());
    }
    let mut warnings: Vec<Warning> = unreadable_cells(&log.problems).into_iter().collect();
    if !left_out.is_empty() {
        warnings.push(warning(
            "stand_counts_left_out",
            said_values!(
                left_out = left_out.len(),
                counts = log.len(),
                reasons = reasons(&left_out),
            ),
        ));
    }
    let strips: Vec<StripStand> = set
        .strips
        .iter()
        .zip(&of_strips)
        .zip(block_of)
        .map(|((strip, counts), block)| {
            let plants_ha = mean(counts.iter().map(|count| count.plants_ha));
            StripStand {
                strip_id: strip.strip_id.clone(),
                treatment: strip.treatment.clone(),
                block: block.clone().unwrap_or_default(),
                counts: counts.len(),
                plants_ha,
                plants_ac: plants_ha.map(|plants| plants * HA_PER_ACRE),
                sd_plants_ha: plants_ha.and_then(|mean| sd(counts, mean)),
                emergence_pct: emergence_pct(counts),
            }
        })
        .collect();
    let uncounted: Vec<&str> = strips
        .iter()
        .filter(|strip| strip.counts == 0)
        .map(|strip| strip.strip_id.as_str())
        .collect();
    if !uncounted.is_empty() {
        warnings.push(warning(
            "strip_not_counted",
            said_values!(strips = uncounted.join(", ")),
        ));
    }
    let (found, overall_test) = match check {
        Some(check) => {
            let means = strips.iter().zip(&field.strips).zip(block_of);
            let layout = Layout::of_means(
                &field.treatments,
                check,
                means.map(|((strip, ground), block)| {
                    (ground.treatment, block.clone(), strip.plants_ha)
                }),
            );
            strip_methods(&layout, StandComparison::ONE_PLANT)
        }
        None => (Vec::new(), None),
    };
    let stand = Stand {
        files: log.files.clone(),
        columns: input_columns(log),
        row_length_m: setup.row_length_m,
        row_spacing_m: setup.row_spacing_m,
        counts: log.len(),
        used,
        left_out,
        strips,
        comparisons: found.into_iter().map(StandComparison::from).collect(),
        overall_test,
    };
    Ok((stand, warnings))
}

/// One count that stands for a strip.
#[derive(Debug, Clone, Copy)]
struct Count {
    plants_ha: f64,
    /// Seeds sown there, where the file says it.
    seeds_ha: Option<f64>,
}

fn mean(values: impl Iterator<Item = f64>) -> Option<f64> {
    let (sum, count) = values.fold((0.0, 0.0), |(sum, count), value| (sum + value, count + 1.0));
    (count > 0.0).then(|| sum / count)
}

fn sd(counts: &[Count], mean: f64) -> Option<f64> {
    let squares: f64 = counts
        .iter()
        .map(|count| (count.plants_ha - mean).powi(2))
        .sum();
    (counts.len() > 1).then(|| (squares / (counts.len() - 1) as f64).sqrt())
}

fn emergence_pct(counts: &[Count]) -> Option<f64> {
    let known = || {
        counts
            .iter()
            .filter_map(|count| Some((count.plants_ha, count.seeds_ha?)))
    };
    let plants = mean(known().map(|(plants, _)| plants))?;
    let seeds = mean(known().map(|(_, seeds)| seeds))?;
    Some(100.0 * plants / seeds)
}

/// `3 in no strip, 1 at a strip’s edge`.
fn reasons(left_out: &[LeftOutCount]) -> SaidList {
    let counted = WhyLeftOut::ALL.into_iter().filter_map(|why| {
        let count = left_out.iter().filter(|count| count.why == why).count();
        (count > 0).then(|| SaidText::new(why.text(), said_values!(shown = count)))
    });
    SaidList {
        between: ", ".to_owned(),
        texts: counted.collect(),
    }
}

/// How many plants stood where each count was made.
struct Density<'a> {
    log: &'a FieldLog,
    setup: &'a StandSetup,
}

impl<'a> Density<'a> {
    fn new(log: &'a FieldLog, setup: &'a StandSetup) -> Density<'a> {
        Density { log, setup }
    }

    /// What a count says in `column`, where it says something.
    fn value(&self, column: Column, record: usize) -> Option<f64> {
        let value = self.log.numbers(column)?[record];
        value.is_finite().then_some(value)
    }

    /// Plants on the counted rows over their ground, length × spacing × rows; or the stand as the file has it.
    fn plants_ha(&self, record: usize) -> Result<f64, WhyLeftOut> {
        if let Some(stand) = self.value(Column::Stand, record) {
            return if stand >= 0.0 {
                Ok(stand)
            } else {
                Err(WhyLeftOut::NoCount)
            };
        }
        let plants = self
            .value(Column::PlantCount, record)
            .filter(|plants| *plants >= 0.0);
        let plants = plants.ok_or(WhyLeftOut::NoCount)?;
        let length = |column: Column, given: Option<f64>| {
            let length = self.value(column, record).or(given);
            length
                .filter(|length| *length > 0.0)
                .ok_or(WhyLeftOut::NoRow)
        };
        let long_m = length(Column::RowLength, self.setup.row_length_m)?;
        let wide_m = length(Column::RowSpacing, self.setup.row_spacing_m)?;
        let rows = length(Column::CountedRows, Some(1.0))?;
        Ok(plants / (long_m * wide_m * rows) * M2_PER_HA)
    }

    fn seeds_ha(&self, record: usize) -> Option<f64> {
        self.value(Column::TargetSeedRate, record)
            .filter(|seeds| *seeds > 0.0)
    }
}

/// Where each count was made.
struct Places<'a> {
    log: &'a FieldLog,
    set: &'a StripSet,
    field: &'a StripField,
    east_north_m: Option<(Vec<f64>, Vec<f64>)>,
}

impl<'a> Places<'a> {
    fn new(
        log: &'a FieldLog,
        set: &'a StripSet,
        field: &'a StripField,
        plane: &LocalPlane,
    ) -> Result<Places<'a>, JobError> {
        let east_north_m = match (log.numbers(Column::Lon), log.numbers(Column::Lat)) {
            (Some(lon), Some(lat)) => Some(plane.to_plane(lon, lat)?),
            _ => None,
        };
        Ok(Places {
            log,
            set,
            field,
            east_north_m,
        })
    }

    /// The strip that a count names, or else lies in.
    fn strip(&self, record: usize) -> Result<usize, WhyLeftOut> {
        let names = self.log.labels(Column::StripId);
        if let Some(name) = names
            .map(|names| names.name(record))
            .filter(|n| !n.is_empty())
        {
            let wanted = plain(name.trim());
            let mut strips = self.set.strips.iter();
            let named = strips.position(|strip| plain(strip.strip_id.trim()) == wanted);
            return named.ok_or(WhyLeftOut::UnknownStrip);
        }
        let place = self
            .east_north_m
            .as_ref()
            .map(|(e, n)| Point::new(e[record], n[record]));
        let place = place.filter(|at| at.x().is_finite() && at.y().is_finite());
        let place = place.ok_or(WhyLeftOut::NoPlace)?;
        let mut strips = self.field.strips.iter();
        if let Some(strip) = strips.position(|strip| strip.inset.polygon().contains(&place)) {
            return Ok(strip);
        }
        let mut strips = self.field.strips.iter();
        Err(
            match strips.any(|strip| strip.drawn.polygon().intersects(&place)) {
                true => WhyLeftOut::Edge,
                false => WhyLeftOut::Outside,
            },
        )
    }
}
