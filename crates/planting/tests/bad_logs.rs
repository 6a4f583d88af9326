//! Logs as they should not be: whatever the columns hold, there are findings or an error, never a panic.

use checkstrip_planting::{
    PlantingLog, PlantingRecords, PlantingSettings, Reading, analyse, row_tiles,
};
use proptest::prelude::*;

/// A number, now and then one that no sensor should give.
fn number(scale: f64) -> impl Strategy<Value = f64> {
    prop_oneof![
        8 => 0.0..scale,
        1 => Just(f64::NAN),
        1 => prop_oneof![
            Just(f64::INFINITY),
            Just(f64::NEG_INFINITY),
            Just(-1.0),
            Just(0.0),
            Just(1e300),
        ],
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    /// Law: no log makes it panic, and shares stay shares.
    #[test]
    fn any_log_is_judged_or_refused(
        records in prop::collection::vec(
            (1usize..6, number(400.0), number(4.0), number(500.0), number(100.0), number(90_000.0)),
            1..400,
        ),
        in_order in any::<bool>(),
    ) {
        let mut records = records;
        if in_order {
            records.sort_by(|a, b| a.1.total_cmp(&b.1));
        }
        let row: Vec<f64> = records.iter().map(|r| r.0 as f64).collect();
        let time: Vec<f64> = records.iter().map(|r| r.1.floor()).collect();
        let speed: Vec<f64> = records.iter().map(|r| r.2).collect();
        let east: Vec<f64> = records.iter().map(|r| r.3).collect();
        let share: Vec<f64> = records.iter().map(|r| r.4).collect();
        let rate: Vec<f64> = records.iter().map(|r| r.5).collect();
        let spacing: Vec<f64> = records.iter().map(|r| r.4 / 500.0).collect();
        // One pass, however wildly the positions turn.
        let pass = vec![0; row.len()];
        let mut log = PlantingLog {
            pass: Some(&pass),
            row: &row,
            time_s: &time,
            speed_m_s: Some(&speed),
            east_north_m: Some([&east, &share]),
            width_m: Some(&spacing),
            ..PlantingLog::default()
        };
        for reading in [
            Reading::Skips,
            Reading::Multiples,
            Reading::RideQuality,
            Reading::GroundContact,
            Reading::Downforce,
        ] {
            log.set(reading, &share);
        }
        log.set(Reading::TargetSeedRate, &rate);
        log.set(Reading::SeedSpacing, &spacing);
        let settings = PlantingSettings { disc_cells: Some(40), ..PlantingSettings::default() };
        let records = PlantingRecords::of(&log).unwrap();
        if let Ok(findings) = analyse(&records, &settings) {
            let shares = [findings.planter.skips_pct, findings.planter.lost_contact_pct];
            for share in shares.into_iter().flatten() {
                prop_assert!((-1e-6..=100.000_1).contains(&share), "{share}");
            }
        }
        // Every error is a grower's sentence.
        if let Err(error) = row_tiles(&records, &settings, [10.0]) {
            prop_assert!(error.to_string().len() > 20);
        }
    }
}
