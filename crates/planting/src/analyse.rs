//! A planting log from end to end: pass by pass in parallel, so that only one pass of each thread stands
//! in memory, and then what only the whole log can say.

use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use crate::PlantingError;
use crate::advice::{Advice, CAUTIONS, Evidence, advice};
use crate::passes::{PlantingPass, passes};
use crate::reading::Reading;
use crate::records::PlantingRecords;
use crate::repeating_fault::{RepeatingFault, RhythmSearch, repeating_faults};
use crate::row_comparison::{RowDeviation, RowTrouble, compare_rows, order_of_trouble};
use crate::row_course::{RowCourse, row_courses};
use crate::row_quality::{PassQuality, PassSums, RowFigures, RowSum, over_passes, pass_sums};
use crate::settings::PlantingSettings;
use crate::spacing_indices::{SpacingIndices, SpacingTally};
use crate::speed_and_spacing::{SpeedAndSpacing, speed_and_spacing};
use crate::window_spectra::{self, Window, windows};

/// Everything found in a planting log, with the settings and counts it rests on.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PlantingFindings {
    /// The settings, defaults filled in.
    pub settings: PlantingSettings,
    /// Records that counted, one per row and moment.
    pub records: usize,
    /// Moments in them.
    pub moments: usize,
    /// Rows of the planter.
    pub rows: usize,
    /// Distance between rows, m, where it is known.
    pub row_spacing_m: Option<f64>,
    /// Usual time from moment to moment, s.
    pub usual_interval_s: f64,
    /// Way from one record of a row to its next, m.
    pub record_m: f64,
    /// Whether every record is one seed.
    pub single_seeds: bool,
    /// Passes too short to judge.
    pub short_passes: usize,
    /// Moments too slow to judge.
    pub slow_moments: usize,
    /// Readings that cannot be (a negative share, a share over 100 percent).
    pub unbelieved_readings: usize,
    /// Way of all passes, m.
    pub length_m: f64,
    /// Ground planted, ha, where the row spacing is known: way × rows × row spacing.
    pub area_ha: Option<f64>,
    /// The planter as a whole.
    pub planter: RowFigures,
    /// Every row over the log, from the left.
    pub row_figures: Vec<RowFigures>,
    /// Every pass with its rows.
    pub passes: Vec<PassQuality>,
    /// The rows, the one in most trouble first.
    pub trouble: Vec<RowTrouble>,
    /// How each row lies to the others, measure by measure.
    pub deviations: Vec<RowDeviation>,
    /// The rows in most trouble from pass to pass; empty when none is called.
    pub courses: Vec<RowCourse>,
    /// Indices after Kachman and Smith and ISO 7256-1 by row, for logs in which every record is one seed.
    pub seed_indices: Vec<Option<SpacingIndices>>,
    /// What was searched for repeating faults; absent where nothing could be.
    pub rhythm_search: Option<RhythmSearch>,
    /// What repeats.
    pub repeating_faults: Vec<RepeatingFault>,
    /// What speed does.
    pub speed: SpeedAndSpacing,
    /// What to do.
    pub advice: Vec<Advice>,
    /// What to mind when doing it.
    pub cautions: Vec<String>,
}

/// What one pass leaves behind.
struct OfPass {
    sums: PassSums,
    windows: Vec<Window>,
    seeds: Vec<SpacingTally>,
}

/// Judges a planting log row by row.
///
/// The same log gives the same findings, whatever the number of threads, the order of its records and the
/// pieces it was read in. In memory are one pass for each thread, row by row, and 8 bytes a moment for a
/// while; the spectra of the windows are put aside where the records are, 4 bytes a frequency for each row and
/// signal of every 150 m (24 rows over 1,000 acres: about 170 MB, twice that where the seed rate varies).
///
/// # Errors
/// When a setting makes no sense, no pass is left, or the disk is full.
pub fn analyse(
    records: &PlantingRecords,
    settings: &PlantingSettings,
) -> Result<PlantingFindings, PlantingError> {
    let found = passes(records, settings)?;
    let row_spacing_m = found.row_spacing_m;
    let plan = window_spectra::plan(&found, settings)?;
    let each: Vec<Result<OfPass, PlantingError>> = (0..found.len())
        .into_par_iter()
        .map(|at| {
            let pass = found.pass(at)?;
            Ok(OfPass {
                sums: pass_sums(&pass, row_spacing_m, settings),
                windows: match &plan {
                    Some(plan) => windows(&pass, plan, found.scratch())?,
                    None => Vec::new(),
                },
                seeds: seeds(&pass),
            })
        })
        .collect();

    let rows = found.rows;
    let mut sums: Vec<PassSums> = Vec::with_capacity(each.len());
    let mut all_windows: Vec<Window> = Vec::new();
    let mut seeds = vec![SpacingTally::default(); rows];
    for of_pass in each {
        let of_pass = of_pass?;
        sums.push(of_pass.sums);
        all_windows.extend(of_pass.windows);
        for (tally, more) in seeds.iter_mut().zip(&of_pass.seeds) {
            tally.merge(more);
        }
    }

    let (repeating, rhythm_search) = match &plan {
        Some(plan) => {
            let (faults, search) =
                repeating_faults(&all_windows, plan, found.scratch(), row_spacing_m, settings)?;
            (faults, Some(search))
        }
        None => (Vec::new(), None),
    };
    drop(all_windows);
    let row_figures: Vec<RowFigures> = (0..rows)
        .map(|row| RowFigures::of(|measure| over_passes(&sums, measure, row)))
        .collect();
    let planter = RowFigures::of(|measure| {
        let mut sum = RowSum::default();
        for row in 0..rows {
            sum.add(&over_passes(&sums, measure, row));
        }
        sum
    });
    let deviations = compare_rows(&sums, settings);
    let trouble = order_of_trouble(&deviations, rows, &settings.row_limits);
    let courses = row_courses(&sums, &trouble, &deviations, &repeating);
    let speed = speed_and_spacing(&sums, settings);
    let advice = advice(&Evidence {
        rows: &row_figures,
        deviations: &deviations,
        repeating: &repeating,
        speed: &speed,
        settings,
    });
    let length_m: f64 = sums.iter().map(|pass| pass.length_m).sum();
    Ok(PlantingFindings {
        settings: settings.clone(),
        records: records.len(),
        moments: found.moments,
        rows,
        row_spacing_m,
        usual_interval_s: found.usual_interval_s,
        record_m: found.record_m,
        single_seeds: found.single_seed_m.is_some(),
        short_passes: found.short_passes,
        slow_moments: sums.iter().map(|pass| pass.slow_moments).sum(),
        unbelieved_readings: sums.iter().map(|pass| pass.unbelieved).sum(),
        length_m,
        area_ha: row_spacing_m
            .map(|spacing| length_m * rows as f64 * spacing / checkstrip_model::units::M2_PER_HA),
        planter,
        row_figures,
        trouble,
        deviations,
        courses,
        passes: sums.iter().map(PassQuality::of).collect(),
        seed_indices: found.single_seed_m.map_or(Vec::new(), |nominal| {
            seeds.iter().map(|tally| tally.indices(nominal)).collect()
        }),
        rhythm_search,
        repeating_faults: repeating,
        speed,
        advice,
        cautions: CAUTIONS.iter().map(|&caution| caution.to_owned()).collect(),
    })
}

/// Spacings of each row, in a log that holds every seed.
fn seeds(pass: &PlantingPass) -> Vec<SpacingTally> {
    (0..pass.rows)
        .map(|row| {
            let mut tally = SpacingTally::default();
            if let (Some(nominal), Some(spacings)) =
                (pass.nominal_m(row), pass.row(Reading::SeedSpacing, row))
            {
                for (&spacing, &nominal) in spacings.iter().zip(nominal) {
                    tally.add(f64::from(spacing), f64::from(nominal));
                }
            }
            tally
        })
        .collect()
}
