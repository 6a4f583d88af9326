//! How often the intervals of every method hold the truth, and how often methods raise a false alarm:
//! hundreds of invented fields of each layout are harvested, cleaned and compared as `checkstrip
//! compare` would. Prints the tables of `docs/calibration.md`; given a file, it writes one row per
//! field and method into it as well. A third argument keeps to the layouts whose names hold it.
//!
//! ```text
//! cargo run --release -p checkstrip-job --example calibrate -- 400 calibration.csv
//! ```
#![allow(clippy::print_stdout)]

use checkstrip_invented::{FaultCounts, FieldPlan, InventedField, Treatment};
use checkstrip_job::{
    BesideTheLog, LanguageSetup, LogSetup, StripSetup, TrialSetup, ZoneSetup, compare_log,
};
use checkstrip_model::Crop;
use checkstrip_model::results::{Comparison, Results, SoilModel};
use rayon::prelude::*;
use std::collections::BTreeMap;
use std::error::Error;
use std::fmt::Write;

/// What every field of a kind has in common.
struct Kind {
    name: &'static str,
    treatments: usize,
    blocks: usize,
    /// Whether strips are 40 ft wide and begin anywhere, or two headers wide and begin on the edge of a
    /// swath.
    straddling: bool,
    yield_range_m: f64,
    strip_luck_kg_ha: f64,
}

const HEADER_M: f64 = 9.144;
/// One bushel of soybeans an acre, kg/ha.
const GAIN_KG_HA: f64 = 67.25;

const fn kind(name: &'static str, treatments: usize, blocks: usize, straddling: bool) -> Kind {
    Kind {
        name,
        treatments,
        blocks,
        straddling,
        yield_range_m: 60.0,
        strip_luck_kg_ha: 0.0,
    }
}

const KINDS: [Kind; 10] = [
    kind("6 pairs, whole swaths", 2, 6, false),
    kind("6 pairs, straddled", 2, 6, true),
    kind("3 pairs, whole swaths", 2, 3, false),
    kind("3 pairs, straddled", 2, 3, true),
    kind("12 pairs, straddled", 2, 12, true),
    kind("4 treatments in 5 blocks, whole swaths", 4, 5, false),
    kind("4 treatments in 5 blocks, straddled", 4, 5, true),
    Kind {
        yield_range_m: 200.0,
        ..kind("6 pairs, whole swaths, soil alike over 200 m", 2, 6, false)
    },
    Kind {
        strip_luck_kg_ha: 40.0,
        ..kind("6 pairs, whole swaths, strips with luck", 2, 6, false)
    },
    Kind {
        strip_luck_kg_ha: 40.0,
        ..kind("6 pairs, straddled, strips with luck", 2, 6, true)
    },
];

impl Kind {
    fn strip_width_m(&self) -> f64 {
        if self.straddling {
            12.192
        } else {
            2.0 * HEADER_M
        }
    }

    fn plan(&self, seed: u64, gain_kg_ha: f64) -> FieldPlan {
        let across = (self.treatments * self.blocks) as f64 * self.strip_width_m();
        // Anywhere within a swath, evenly over the seeds: steps of the golden section.
        let offset = (seed as f64 * 0.618_033_988_749_895).fract() * HEADER_M;
        let mut treatments = vec![Treatment::new("check", 0.0)];
        treatments.extend(
            (1..self.treatments).map(|number| Treatment::new(&format!("t{number}"), gain_kg_ha)),
        );
        FieldPlan {
            seed,
            passes: (across / HEADER_M).ceil() as usize + 5,
            pass_length_m: 300.0,
            header_width_m: HEADER_M,
            strip_width_m: self.strip_width_m(),
            strip_offset_m: if self.straddling { offset } else { 0.0 },
            blocks: self.blocks,
            treatments,
            yield_range_m: self.yield_range_m,
            strip_luck_kg_ha: self.strip_luck_kg_ha,
            faults: FaultCounts {
                position_jumps: 2,
                zero_flows: 3,
                flow_spikes: 3,
                bad_moistures: 2,
                stops: 1,
                repeated_rows: 2,
            },
            ..FieldPlan::default()
        }
    }

    /// One field, from its harvest to its results.
    fn compare(&self, seed: u64, gain_kg_ha: f64) -> Result<Results, String> {
        let harvest = InventedField::new(self.plan(seed, gain_kg_ha))
            .map_err(|error| error.to_string())?
            .harvest();
        let setup = TrialSetup {
            trial_file: String::new(),
            name: format!("{}, seed {seed}", self.name),
            log: LogSetup::new(Vec::new(), Crop::known("soybean")),
            strips: StripSetup {
                file: "invented".into(),
                options: Default::default(),
                check: Some("check".into()),
                inset_m: 0.0,
            },
            money: None,
            zones: Some(ZoneSetup::Elevation { classes: 3 }),
            stand: None,
            language: LanguageSetup::default(),
        };
        compare_log(
            harvest.log,
            &harvest.strips,
            &BesideTheLog::default(),
            &setup,
            &|_| {},
        )
        .map(|(_, compared)| compared.results)
        .map_err(|error| error.to_string())
    }
}

/// What a method's interval claims to hold: the swath mixture the gain on wholly treated ground, the
/// others what is left of it where headers straddled.
fn target(comparison: &Comparison, gain_kg_ha: f64) -> f64 {
    match comparison.method.as_str() {
        "swath_mixture" => gain_kg_ha,
        _ => gain_kg_ha * comparison.dilution,
    }
}

/// Counts over the fields of one kind and method.
#[derive(Default)]
struct Tally {
    intervals: usize,
    covered: usize,
    families: usize,
    families_covered: usize,
    false_alarms: usize,
    without_gain: usize,
    errors: f64,
    squared_errors: f64,
    squared_std_errors: f64,
    widths: Vec<f64>,
}

impl Tally {
    fn add(&mut self, of_field: &[&Comparison], gain_kg_ha: f64) {
        let holds = |[low, high]: [f64; 2], truth: f64| low <= truth && truth <= high;
        for comparison in of_field {
            let truth = target(comparison, gain_kg_ha);
            let error = comparison.advantage_kg_ha - truth;
            self.intervals += 1;
            self.covered += usize::from(holds(comparison.interval_95_kg_ha, truth));
            self.errors += error;
            self.squared_errors += error * error;
            self.squared_std_errors += comparison.std_error_kg_ha.powi(2);
            let [low, high] = comparison.interval_95_kg_ha;
            self.widths.push(high - low);
            if gain_kg_ha == 0.0 {
                self.without_gain += 1;
                self.false_alarms += usize::from(comparison.p_value < 0.05);
            }
        }
        if of_field
            .iter()
            .all(|c| c.interval_95_family_kg_ha.is_some())
        {
            self.families += 1;
            self.families_covered += usize::from(of_field.iter().all(|c| {
                c.interval_95_family_kg_ha
                    .is_some_and(|interval| holds(interval, target(c, gain_kg_ha)))
            }));
        }
    }
}

/// Counts over the fields of one kind for zones and windows, where the gain is the same everywhere.
#[derive(Default)]
struct WhereItPaid {
    zones: [usize; 2],
    zone_tests: [usize; 2],
    bands: [usize; 2],
    anywhere: [usize; 2],
    change: [usize; 2],
}

impl WhereItPaid {
    fn add(&mut self, results: &Results, gain_kg_ha: f64) {
        let count = |tally: &mut [usize; 2], counts: bool| {
            tally[0] += usize::from(counts);
            tally[1] += 1;
        };
        // Zones and windows hold plain differences, which headers that straddle dilute.
        let left = |treatment: &str| {
            let plain = |c: &&Comparison| c.treatment == treatment && c.method == "paired_strips";
            let found = results.comparisons.iter().find(plain);
            gain_kg_ha * found.map_or(f64::NAN, |c| c.dilution)
        };
        for treatment in results.zones.iter().flat_map(|zones| &zones.treatments) {
            let truth = left(&treatment.treatment);
            for zone in treatment.zones.iter().filter(|zone| zone.blocks > 1) {
                let [low, high] = zone.interval_95_kg_ha;
                count(&mut self.zones, low <= truth && truth <= high);
            }
            if let Some(test) = treatment.test {
                count(&mut self.zone_tests, test.p_value < 0.05);
            }
        }
        for treatment in results
            .along_strips
            .iter()
            .flat_map(|along| &along.treatments)
        {
            let truth = left(&treatment.treatment);
            let bands: Vec<[f64; 2]> = treatment
                .windows
                .iter()
                .filter_map(|window| window.interval_95_family_kg_ha)
                .collect();
            if !bands.is_empty() {
                count(
                    &mut self.bands,
                    bands
                        .iter()
                        .all(|[low, high]| *low <= truth && truth <= *high),
                );
            }
            if let Some(test) = &treatment.change {
                count(&mut self.change, test.p_value <= 0.05);
            }
            if let (Some(test), 0.0) = (&treatment.anywhere, gain_kg_ha) {
                count(&mut self.anywhere, test.p_value <= 0.05);
            }
        }
    }
}

fn percent(part: usize, whole: usize) -> String {
    if whole == 0 {
        return "–".into();
    }
    format!("{:.1}", 100.0 * part as f64 / whole as f64)
}

fn main() -> Result<(), Box<dyn Error>> {
    let mut arguments = std::env::args().skip(1);
    let fields: u64 = arguments.next().map_or(Ok(400), |count| count.parse())?;
    let rows_to = arguments.next();
    let only = arguments.next();
    let mut rows = String::from(
        "layout,seed,gain_kg_ha,treatment,method,advantage_kg_ha,std_error_kg_ha,df,low_kg_ha,high_kg_ha,\
         p_value,dilution,range_m,nugget,line_sd_kg_ha,residual_sd_kg_ha\n",
    );
    let mut second = String::from(
        "| layout | intervals of zones that hold the truth, % | false alarms of the test by zone, % | bands \
         along the strips that hold the truth, % | false alarms of a change, % | false alarms anywhere, % \
         |\n|---|---|---|---|---|---|\n",
    );
    println!(
        "| layout | method | intervals | hold the truth, % | all at once, % | false alarms, % | mean \
         error | sd of the error | root mean square std. error | median width of the interval |"
    );
    println!("|---|---|---|---|---|---|---|---|---|---|");
    for (place, kind) in KINDS.iter().enumerate() {
        if only
            .as_ref()
            .is_some_and(|only| !kind.name.contains(only.as_str()))
        {
            continue;
        }
        let first = 1 + 1_000_000 * place as u64;
        let runs: Vec<(u64, f64)> = (0..2 * fields)
            .map(|run| (first + run, if run < fields { GAIN_KG_HA } else { 0.0 }))
            .collect();
        let found: Vec<Results> = runs
            .par_iter()
            .map(|&(seed, gain)| kind.compare(seed, gain))
            .collect::<Result<_, _>>()?;
        let mut tallies: BTreeMap<&str, Tally> = BTreeMap::new();
        let mut where_it_paid = WhereItPaid::default();
        for (&(seed, gain), results) in runs.iter().zip(&found) {
            where_it_paid.add(results, gain);
            let mut by_method: BTreeMap<&str, Vec<&Comparison>> = BTreeMap::new();
            for c in &results.comparisons {
                by_method.entry(&c.method).or_default().push(c);
                let soil = |of: fn(&SoilModel) -> f64| {
                    c.soil
                        .as_ref()
                        .map_or(String::new(), |soil| of(soil).to_string())
                };
                writeln!(
                    rows,
                    "\"{}\",{seed},{gain},{},{},{},{},{},{},{},{},{},{},{},{},{}",
                    kind.name,
                    c.treatment,
                    c.method,
                    c.advantage_kg_ha,
                    c.std_error_kg_ha,
                    c.df,
                    c.interval_95_kg_ha[0],
                    c.interval_95_kg_ha[1],
                    c.p_value,
                    c.dilution,
                    soil(|s| s.range_m),
                    soil(|s| s.nugget),
                    soil(|s| s.line_sd_kg_ha),
                    soil(|s| s.residual_sd_kg_ha),
                )?;
            }
            for (method, of_field) in by_method {
                tallies.entry(method).or_default().add(&of_field, gain);
            }
        }
        for (method, mut tally) in tallies {
            let count = tally.intervals as f64;
            let mean = tally.errors / count;
            tally.widths.sort_unstable_by(f64::total_cmp);
            println!(
                "| {} | `{method}` | {} | {} | {} | {} | {:.1} | {:.1} | {:.1} | {:.0} |",
                kind.name,
                tally.intervals,
                percent(tally.covered, tally.intervals),
                percent(tally.families_covered, tally.families),
                percent(tally.false_alarms, tally.without_gain),
                mean,
                (tally.squared_errors / count - mean * mean).sqrt(),
                (tally.squared_std_errors / count).sqrt(),
                tally.widths[tally.widths.len() / 2],
            );
        }
        let of = |[part, whole]: [usize; 2]| percent(part, whole);
        writeln!(
            second,
            "| {} | {} | {} | {} | {} | {} |",
            kind.name,
            of(where_it_paid.zones),
            of(where_it_paid.zone_tests),
            of(where_it_paid.bands),
            of(where_it_paid.change),
            of(where_it_paid.anywhere),
        )?;
    }
    println!("\n{second}");
    if let Some(path) = rows_to {
        std::fs::write(path, rows)?;
    }
    Ok(())
}
