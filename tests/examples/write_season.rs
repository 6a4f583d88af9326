//! Writes a season of invented fields, all alike and square, to measure runs over many fields with.
//!
//! ```text
//! cargo run --release -p checkstrip-acceptance --example write_season -- 8 20000 season
//! ```
//!
//! writes eight fields of about 20,000 records into the folder `season`.

use checkstrip_acceptance::SmallFarm;
use checkstrip_invented::FieldPlan;
use std::error::Error;
use std::path::Path;

fn main() -> Result<(), Box<dyn Error>> {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let [fields, records, folder] = words.as_slice() else {
        return Err("three words: how many fields, records of each, the folder".into());
    };
    let (fields, records): (usize, f64) = (fields.parse()?, records.parse()?);
    let plan = FieldPlan::default();
    // A record a second.
    let side_m = (records * plan.speed_m_s * plan.header_width_m).sqrt();
    let farm = SmallFarm::planned(FieldPlan {
        passes: (side_m / plan.header_width_m) as usize,
        pass_length_m: side_m,
        ..plan
    });
    let folder = Path::new(folder);
    for field in 0..fields {
        let place = folder.join(format!("field-{field:04}"));
        std::fs::create_dir_all(&place)?;
        for file in ["log.csv", "strips.geojson", "trial.toml"] {
            std::fs::copy(farm.folder.join(file), place.join(file))?;
        }
    }
    let season = "[season]\nname = \"An invented season\"\ntrials = [\"*/trial.toml\"]\n";
    std::fs::write(folder.join("SEASON.toml"), season)?;
    Ok(())
}
