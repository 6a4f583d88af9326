//! How long the maps of an invented field take, PNG encoding included. The budget is a quarter of a
//! second on one core for all four maps of 100,000 records, and 1.5 s for a million.

use checkstrip_model::{CleanLog, Crop, Status, results::Field, units::UnitSystem};
use checkstrip_spatial::maps::{MapKind, MapRequest, StripOutline, draw};

const RECORDS: &[usize] = &[100_000, 1_000_000];

fn main() {
    divan::main();
}

/// An invented square field of 30 ft passes up and down, one record in nine dropped.
fn invented(records: usize) -> (CleanLog, Vec<StripOutline>) {
    let (width, step) = (9.144, 1.8);
    let side = (records as f64 * width * step).sqrt();
    let per_pass = (side / step) as usize;
    let mut log = CleanLog::default();
    for record in 0..records {
        let (pass, along) = (record / per_pass, (record % per_pass) as f64 * step);
        let up = pass % 2 == 0;
        log.east_m.push(pass as f64 * width);
        log.north_m.push(if up { along } else { side - along });
        log.heading_deg.push(if up { 3.0 } else { 183.0 });
        log.distance_m.push(step);
        log.width_m.push(width);
        log.pass.push(pass as u32 + 1);
        let wave = (along / 90.0).sin() * 400.0 + (pass as f64 / 5.0).cos() * 300.0;
        log.raw_yield_kg_ha.push(3_700.0 + wave);
        log.yield_kg_ha.push(3_650.0 + wave);
        log.status.push(match record % 9 {
            0 => Status::REASONS[(record / 9) % Status::REASONS.len()],
            _ => Status::Kept,
        });
    }
    let strips = (0..12)
        .map(|place| {
            let (west, east) = (
                f64::from(place) * side / 12.0,
                f64::from(place + 1) * side / 12.0,
            );
            StripOutline {
                strip_id: (place + 1).to_string(),
                treatment: if place % 2 == 0 { "rolled" } else { "check" }.to_owned(),
                block: (place / 2 + 1).to_string(),
                rings: vec![vec![
                    [west, 0.0],
                    [east, 0.0],
                    [east, side],
                    [west, side],
                    [west, 0.0],
                ]],
                yield_kg_ha: Some(3_700.0 + f64::from(place) * 10.0),
                is_check: place % 2 == 1,
            }
        })
        .collect();
    (log, strips)
}

fn bench(bencher: divan::Bencher, records: usize, kinds: &[MapKind]) {
    let Some(crop) = Crop::known("soybean") else {
        return;
    };
    let field = Field::new("Invented", &crop);
    let (log, strips) = invented(records);
    let request = MapRequest {
        field: &field,
        reader: UnitSystem::Farm.into(),
        strips: &strips,
    };
    bencher.bench_local(|| {
        kinds
            .iter()
            .filter_map(|&kind| draw(kind, &log, &request).ok())
            .map(|png| png.len())
            .sum::<usize>()
    });
}

#[divan::bench(args = RECORDS)]
fn all_four(bencher: divan::Bencher, records: usize) {
    bench(bencher, records, MapKind::ALL);
}

#[divan::bench(args = RECORDS)]
fn yield_before(bencher: divan::Bencher, records: usize) {
    bench(bencher, records, &[MapKind::YieldBefore]);
}

#[divan::bench(args = RECORDS)]
fn yield_after(bencher: divan::Bencher, records: usize) {
    bench(bencher, records, &[MapKind::YieldAfter]);
}

#[divan::bench(args = RECORDS)]
fn removed_records(bencher: divan::Bencher, records: usize) {
    bench(bencher, records, &[MapKind::RemovedRecords]);
}

#[divan::bench(args = RECORDS)]
fn strip_yields(bencher: divan::Bencher, records: usize) {
    bench(bencher, records, &[MapKind::StripYields]);
}
