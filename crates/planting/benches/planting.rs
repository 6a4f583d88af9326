//! How long a planting log of 24 rows at ten records a second takes. A thousand acres are 4,046,856 m²; 24
//! rows of 30 inches are 18.288 m, so that the planter goes 221,284 m. A pass of 800 m is 1/276.6 of that:
//! the eight passes timed here, 641,000 row records, times 34.6 are a thousand acres, 22 million row records.
//! Putting the records aside is timed with it. The budget is a minute on two cores, reading included.

use checkstrip_invented::{PlanterFault, PlanterPlan, invented_planting};
use checkstrip_model::FieldLog;
use checkstrip_planting::{PlantingLog, PlantingRecords, PlantingSettings, analyse};

fn main() {
    divan::main();
}

fn log(rate_swing: f64, average_s: f64) -> FieldLog {
    let plan = PlanterPlan {
        rows: 24,
        passes: 8,
        pass_length_m: 800.0,
        interval_s: 0.1,
        rate_swing,
        average_s,
        faults: vec![PlanterFault::BlockedCell {
            row: 9,
            passes: [2, 6],
            share: 0.9,
        }],
        ..PlanterPlan::default()
    };
    invented_planting(&plan).unwrap_or_default()
}

fn bench(bencher: divan::Bencher, log: &FieldLog) {
    let settings = PlantingSettings::default();
    bencher
        .counter(divan::counter::ItemsCount::new(log.len()))
        .bench_local(|| {
            let records = PlantingRecords::of(&PlantingLog::of(log, None))?;
            analyse(&records, &settings).map(|findings| findings.advice.len())
        });
}

#[divan::bench(sample_count = 5)]
fn one_seed_rate(bencher: divan::Bencher) {
    bench(bencher, &log(0.0, 0.0));
}

/// Metres and seeds differ, so that every window has two spectra.
#[divan::bench(sample_count = 5)]
fn swinging_seed_rate(bencher: divan::Bencher) {
    bench(bencher, &log(0.15, 0.0));
}

/// Averaged readings are never 0, so that no record of a spectrum can be passed over.
#[divan::bench(sample_count = 5)]
fn averaged_readings(bencher: divan::Bencher) {
    bench(bencher, &log(0.0, 1.0));
}
