//! A real log: corn, Minnesota, 2011, 4,949 records (University of Minnesota Precision Agriculture
//! Center, as carried by the R data package agridat, data set gartner.corn, CC BY-SA 3.0), with the
//! soil map units of the field (USDA NRCS SSURGO) as if they were strips. Expected totals are added
//! up here from the file itself; expected overlaps are those of a reconstruction with shapely.

use checkstrip_acceptance::{Folder, Table, open_data};
use serde_json::Value;
use std::path::Path;
use std::sync::OnceLock;

const KG_PER_LB: f64 = 0.453_592_37;
const M_PER_INCH: f64 = 0.0254;
const M2_PER_ACRE: f64 = 4_046.856_422_4;

struct Compared {
    folder: Folder,
    results: Value,
    log: Table,
}

/// The comparison, done once for all tests of this file; `None`, said aloud, without the log.
fn compared() -> Option<&'static Compared> {
    static COMPARED: OnceLock<Option<Compared>> = OnceLock::new();
    let data = open_data()?;
    COMPARED.get_or_init(|| Some(compare(&data))).as_ref()
}

fn compare(data: &Path) -> Compared {
    let folder = Folder::new();
    let data = data.canonicalize().expect("the folder is there");
    folder.put(
        "trial.toml",
        format!(
            "[field]\nname = \"Open corn log\"\ncrop = \"corn\"\n\
             [harvest]\nlogs = '{log}'\nwidth = \"360 in\"\n\
             [harvest.columns]\n\
             mass_flow = {{ column = \"mass\", unit = \"lb/s\" }}\n\
             timestamp = {{ column = \"time\", unit = \"s\" }}\n\
             interval = {{ column = \"seconds\", unit = \"s\" }}\n\
             distance = {{ column = \"dist\", unit = \"in\" }}\n\
             elevation = {{ column = \"elev\", unit = \"ft\" }}\n\
             [strips]\nfile = '{soils}'\ntreatment_column = \"MUSYM\"\n",
            log = data.join("corn_log_raw.tsv").display(),
            soils = data.join("corn_soils.shp").display(),
        ),
    );
    let _ = folder
        .run(["compare", "trial.toml", "--out", "out"])
        .ended(0);
    let text = std::fs::read_to_string(data.join("corn_log_raw.tsv")).expect("the log");
    Compared {
        results: folder.json("out/results.json"),
        log: Table::parse(&text, '\t'),
        folder,
    }
}

fn number(results: &Value, pointer: &str) -> f64 {
    let found = results.pointer(pointer).and_then(Value::as_f64);
    found.unwrap_or_else(|| panic!("{pointer} is no number"))
}

#[track_caller]
fn within(found: f64, expected: f64, share: f64) {
    assert!(
        (found - expected).abs() <= share * expected,
        "{found} against {expected}"
    );
}

#[test]
fn raw_area_is_that_of_the_file() {
    let Some(Compared { results, log, .. }) = compared() else {
        return;
    };
    let inches: f64 = log.numbers("dist").iter().sum();
    let acres = inches * 360.0 * M_PER_INCH * M_PER_INCH / M2_PER_ACRE;
    within(acres, 67.637, 1e-4);
    within(number(results, "/input/area_ac"), acres, 1e-3);
}

#[test]
fn raw_mass_is_that_of_the_file() {
    let Some(Compared { results, log, .. }) = compared() else {
        return;
    };
    let (flow, seconds) = (log.numbers("mass"), log.numbers("seconds"));
    let pounds: f64 = flow.iter().zip(&seconds).map(|(f, s)| f * s).sum();
    within(pounds, 513_551.0, 1e-4);
    within(
        number(results, "/input/wet_mass_kg"),
        pounds * KG_PER_LB,
        1e-3,
    );
}

#[test]
fn raw_bushels_are_those_of_the_file() {
    let Some(Compared { results, log, .. }) = compared() else {
        return;
    };
    let (flow, seconds) = (log.numbers("mass"), log.numbers("seconds"));
    let moisture = log.numbers("moist");
    // 56 lb bushels at 15.5 % moisture (common practice for corn in the United States).
    let bushels: f64 = (0..log.rows.len())
        .map(|row| flow[row] * seconds[row] * (100.0 - moisture[row]) / (100.0 - 15.5) / 56.0)
        .sum();
    within(bushels, 9_027.15, 1e-4);
    within(number(results, "/input/market_bu"), bushels, 1e-3);
}

#[test]
fn every_record_is_kept_or_has_its_reason() {
    let Some(Compared { results, log, .. }) = compared() else {
        return;
    };
    assert_eq!(log.rows.len(), 4949);
    assert_eq!(number(results, "/input/records"), 4949.0);
    let removed = results["cleaning"]["removed"].as_object().expect("reasons");
    let removed: u64 = removed.values().filter_map(Value::as_u64).sum();
    assert_eq!(
        results["cleaning"]["kept"].as_u64().expect("a count") + removed,
        4949
    );
}

/// The monitor had shifted this log already, perhaps one record (3 s) too far.
#[test]
fn the_grain_delay_is_about_none() {
    let Some(Compared { results, .. }) = compared() else {
        return;
    };
    let delay = number(results, "/cleaning/grain_delay_s");
    assert!((-5.0..=1.0).contains(&delay), "{delay}");
}

#[test]
fn the_overlap_is_that_of_a_reconstruction() {
    let Some(Compared { results, .. }) = compared() else {
        return;
    };
    let footprint = number(results, "/cleaning/footprint_area_ha");
    let any = 100.0 * number(results, "/cleaning/overlap_area_ha") / footprint;
    let other = 100.0 * number(results, "/cleaning/overlap_other_passes_ha") / footprint;
    assert!((any - 2.71).abs() <= 0.3, "{any} %");
    assert!((other - 1.89).abs() <= 0.3, "{other} %");
}

#[test]
fn the_clock_that_was_set_back_is_named() {
    let Some(Compared { results, log, .. }) = compared() else {
        return;
    };
    // Rows as a person counts them, the header first.
    let time = log.numbers("time");
    let jumps: Vec<usize> = (1..time.len())
        .filter(|&row| time[row] < time[row - 1])
        .map(|row| row + 2)
        .collect();
    assert_eq!(jumps.len(), 2, "{jumps:?}");
    let warnings = results["warnings"].as_array().expect("warnings");
    let warning = warnings
        .iter()
        .find(|w| w["code"] == "clock_backwards")
        .expect("the warning");
    let message = warning["message"].as_str().expect("a message");
    for row in jumps {
        assert!(
            message.contains(&format!("row {row} ")),
            "row {row} is not in: {message}"
        );
    }
}

/// What lies on the strips is what the log holds there: soils cover the field, so that their ground
/// and grain come near those of all kept records.
#[test]
fn the_soils_hold_about_all_that_was_kept() {
    let Some(Compared {
        folder, results, ..
    }) = compared()
    else {
        return;
    };
    let cleaned = folder.json("out/cleaned.geojson");
    let (mut area, mut mass) = (0.0, 0.0);
    for feature in cleaned["features"].as_array().expect("records") {
        let of = &feature["properties"];
        if of["status"] == "kept" {
            let ground = number(of, "/area_m2");
            area += ground;
            mass += ground * number(of, "/yield_kg_ha") / 1e4;
        }
    }
    let strips = results["strips"].as_array().expect("strips");
    let sum = |key: &str| {
        strips
            .iter()
            .map(|s| s[key].as_f64().expect("a number"))
            .sum::<f64>()
    };
    assert!(
        sum("area_m2") <= 1.001 * area,
        "{} of {area} m²",
        sum("area_m2")
    );
    assert!(
        sum("area_m2") >= 0.9 * area,
        "{} of {area} m²",
        sum("area_m2")
    );
    within(sum("dry_mass_kg") / sum("area_m2"), mass / area, 0.01);
    for strip in strips {
        let yield_bu_ac = strip["yield_bu_ac"].as_f64();
        if strip["records"].as_u64() > Some(50) {
            // Corn of this field runs from some 80 to 200 bu/ac by soil.
            assert!(
                yield_bu_ac.is_some_and(|y| (60.0..220.0).contains(&y)),
                "{strip}"
            );
        }
    }
}

#[test]
fn maps_and_report_are_there() {
    let Some(Compared { folder, .. }) = compared() else {
        return;
    };
    let files = folder.files_in("out/maps");
    assert!(files.len() >= 3, "{files:?}");
    for file in files {
        let bytes = std::fs::read(folder.join(&format!("out/maps/{file}"))).expect("a map");
        let width = u32::from_be_bytes(bytes[16..20].try_into().expect("four bytes"));
        assert_eq!(width, 1600, "{file}");
    }
    let report = folder
        .text("out/report.html")
        .replace("http://www.w3.org/2000/svg", "");
    assert!(!report.contains("http://") && !report.contains("https://"));
}
