//! How the command behaves for a person at a terminal and for another program: what goes where, in
//! which words, and with which exit status.

use checkstrip_acceptance::{Folder, SmallFarm, season};
use serde_json::Value;
use std::io::Read;
use std::process::Stdio;

#[test]
fn json_is_all_there_is_on_standard_output() {
    let farm = SmallFarm::new();
    for line in [
        "inspect log.csv --json",
        "clean log.csv --out cleaned --json",
        "compare trial.toml --out out --json",
        "map log.csv --out map.png --json",
        "man --out man --json",
        "convert log.csv log.gpkg --json",
    ] {
        let run = farm.folder.run(line.split(' ')).ended(0);
        assert!(run.json().is_object(), "{line}");
    }
}

#[test]
fn json_of_a_comparison_is_its_results_file_and_warnings_stay_on_standard_error() {
    let farm = SmallFarm::new();
    let line = "compare --harvest log.csv --strips strips.geojson --out out --json";
    let run = farm.folder.run(line.split(' ')).ended(0);
    assert_eq!(run.json(), farm.folder.json("out/results.json"));
    assert!(
        run.stderr.starts_with("warning (crop_assumed): "),
        "{}",
        run.stderr
    );
    assert!(!run.stdout.contains("warning ("));
}

#[test]
fn json_of_a_demo_is_its_results_file() {
    let folder = Folder::new();
    let run = folder.run(["demo", "--json", "--out", "demo"]).ended(0);
    assert_eq!(run.json(), folder.json("demo/results/results.json"));
}

#[test]
fn json_of_an_order_that_fails_is_nothing() {
    let folder = Folder::new();
    let run = folder.run(["compare", "none.toml", "--json"]).ended(1);
    assert_eq!(run.stdout, "");
    assert!(run.stderr.starts_with("error: none.toml"));
}

#[test]
fn quiet_says_nothing() {
    let farm = SmallFarm::new();
    for line in [
        "inspect log.csv --quiet",
        "clean log.csv --out cleaned -q",
        "compare --harvest log.csv --strips strips.geojson --out out --quiet",
        "map log.csv --out map.png --quiet",
        "demo --out demo --quiet",
        "man --out man --quiet",
        "convert log.csv log.shp --quiet",
    ] {
        let run = farm.folder.run(line.split(' ')).ended(0);
        assert_eq!(
            (run.stdout.as_str(), run.stderr.as_str()),
            ("", ""),
            "{line}"
        );
    }
    assert!(farm.folder.join("demo/results/report.html").is_file());
}

#[test]
fn quiet_still_says_errors() {
    let run = Folder::new()
        .run(["inspect", "none.csv", "--quiet"])
        .ended(1);
    assert!(run.stderr.starts_with("error: none.csv"), "{}", run.stderr);
}

#[test]
fn units_change_the_words() {
    let farm = SmallFarm::new();
    let farm_words = farm.compare().ended(0).stdout;
    let farm_report = farm.folder.text("out/report.html");
    let line = "compare trial.toml --out out --units si";
    let si_words = farm.folder.run(line.split(' ')).ended(0).stdout;
    let si_report = farm.folder.text("out/report.html");
    assert!(
        farm_words.contains("bu/ac") && !farm_words.contains("kg/ha"),
        "{farm_words}"
    );
    assert!(
        si_words.contains("kg/ha") && !si_words.contains("bu/ac"),
        "{si_words}"
    );
    assert!(farm_report.contains("bu&#x2f;ac") && si_report.contains("kg&#x2f;ha"));
    insta::assert_snapshot!(farm.folder.redacted(&format!("{farm_words}\n{si_words}")));
}

#[test]
fn units_leave_the_results_alone() {
    let farm = SmallFarm::new();
    let farm_results = farm.results();
    let line = "compare trial.toml --out out --units si";
    let _ = farm.folder.run(line.split(' ')).ended(0);
    assert_eq!(farm.folder.json("out/results.json"), farm_results);
}

#[test]
fn every_command_has_help_and_the_documented_ones_are_all_there() {
    let folder = Folder::new();
    let help = folder.run(["--help"]).ended(0).stdout;
    let commands = [
        "demo",
        "inspect",
        "clean",
        "compare",
        "map",
        "completions",
        "man",
    ];
    for command in commands {
        assert!(help.contains(&format!("\n  {command} ")), "{command}");
        for way in [[command, "--help"], [command, "-h"], ["help", command]] {
            let run = folder.run(way).ended(0);
            assert!(run.stdout.contains("Usage: checkstrip"), "{way:?}");
            assert_eq!(run.stderr, "", "{way:?}");
        }
        let long = folder.run([command, "--help"]).ended(0).stdout;
        for flag in ["--json", "--quiet", "--units"] {
            assert!(long.contains(flag), "{command} {flag}");
        }
    }
}

#[test]
fn the_version_is_that_of_the_results() {
    let version = Folder::new().run(["--version"]).ended(0).stdout;
    let results = SmallFarm::new().results();
    let tool = results["tool"]["version"].as_str().expect("a version");
    assert_eq!(version, format!("checkstrip {tool}\n"));
}

#[test]
fn completions_for_every_shell() {
    for (shell, mark) in [
        ("bash", "complete -F"),
        ("zsh", "#compdef checkstrip"),
        ("fish", "complete -c checkstrip"),
        ("powershell", "Register-ArgumentCompleter"),
    ] {
        let run = Folder::new().run(["completions", shell]).ended(0);
        assert!(run.stdout.contains(mark), "{shell}");
        assert!(
            run.stdout.contains("inspect") && run.stdout.contains("harvest"),
            "{shell}"
        );
        assert_eq!(run.stderr, "");
    }
}

#[test]
fn a_manual_page_for_every_command() {
    let folder = Folder::new();
    let _ = folder.run(["man", "--out", "man"]).ended(0);
    let pages = folder.files_in("man");
    for page in [
        "checkstrip",
        "checkstrip-compare",
        "checkstrip-inspect",
        "checkstrip-demo",
    ] {
        let page = format!("{page}.1");
        assert!(pages.contains(&page), "{page} is not in {pages:?}");
        assert!(
            folder.text(&format!("man/{page}")).contains(".TH "),
            "{page}"
        );
    }
}

#[test]
fn a_map_of_a_cleaned_export_and_of_the_log_itself() {
    let farm = SmallFarm::new();
    let clean = "clean log.csv --crop soybean --out cleaned";
    for form in ["geojson", "csv"] {
        let _ = farm
            .folder
            .run(clean.split(' ').chain(["--export", form]))
            .ended(0);
        let log = format!("cleaned/cleaned.{form}");
        for kind in ["yield-before", "yield-after", "removed-records"] {
            let map = format!("{form}-{kind}.png");
            let arguments = [
                "map", &log, "--crop", "soybean", "--kind", kind, "--out", &map,
            ];
            let _ = farm.folder.run(arguments).ended(0);
            assert_eq!(png_width(&farm.folder, &map), 1600, "{map}");
        }
    }
    let line = "map log.csv --crop soybean --strips strips.geojson --out plain.png";
    let _ = farm.folder.run(line.split(' ')).ended(0);
    assert_eq!(png_width(&farm.folder, "plain.png"), 1600);
}

/// Width of a picture, from its IHDR chunk (ISO/IEC 15948, *Portable Network Graphics*).
fn png_width(folder: &Folder, name: &str) -> u32 {
    let bytes = std::fs::read(folder.join(name)).expect("a picture");
    assert_eq!(&bytes[..8], b"\x89PNG\r\n\x1a\n", "{name}");
    assert_eq!(&bytes[bytes.len() - 8..][..4], b"IEND", "{name}");
    u32::from_be_bytes(bytes[16..20].try_into().expect("four bytes"))
}

#[test]
fn inspect_tells_what_the_logs_hold() {
    let (folder, _) = season();
    let run = folder
        .run(["inspect", "season/harvest/*.csv", "--crop", "soybean"])
        .ended(0);
    assert_eq!(run.stderr, "");
    insta::assert_snapshot!(folder.redacted(&run.stdout));
}

#[test]
fn inspect_says_what_is_missing_from_a_bare_log() {
    let mut farm = SmallFarm::new();
    for column in [
        "timestamp_s",
        "moisture_pct",
        "speed_m_s",
        "distance_m",
        "width_m",
    ] {
        farm.log.drop_column(column);
    }
    farm.log.rename("elevation_m", "grain loss");
    farm.write();
    let found = farm
        .folder
        .run(["inspect", "log.csv", "--json"])
        .ended(0)
        .json();
    let missing = found["missing"].as_array().expect("what is missing");
    let codes: Vec<&str> = missing.iter().filter_map(|w| w["code"].as_str()).collect();
    for code in ["no_width", "no_moisture", "no_time", "no_distance"] {
        assert!(codes.contains(&code), "{code} is not in {codes:?}");
    }
    assert_eq!(found["unrecognised"], serde_json::json!(["grain loss"]));
}

/// Of any file: strips, a planter's log with a column for each row, a log in another language.
#[test]
fn inspect_explains_any_file_in_a_growers_words() {
    let farm = SmallFarm::new();
    farm.folder.put(
        "planter.csv",
        "Zeit;Längengrad;Breitengrad;Reihe 1 Vereinzelung (%);Reihe 2 Vereinzelung (%);\
         Reihe 1 Schardruck (daN);Reihe 2 Schardruck (daN);Sorte\n\
         2026-05-02T08:00:00Z;-40,1;43,1;99,1;97,4;61;58;early\n\
         2026-05-02T08:00:01Z;-40,1001;43,1;98,7;;60;59;early\n",
    );
    farm.folder.put(
        "soils.geojson",
        r#"{"type": "FeatureCollection", "features": [
            {"type": "Feature", "properties": {"soil": "loam"}, "geometry": {"type": "Polygon", "coordinates":
             [[[-40.0, 43.0], [-39.99, 43.0], [-39.99, 43.01], [-40.0, 43.0]]]}}]}"#,
    );
    let run = farm
        .folder
        .run(["inspect", "planter.csv", "strips.geojson", "soils.geojson"])
        .ended(0);
    insta::assert_snapshot!(farm.folder.redacted(&run.stdout));
    let found = farm
        .folder
        .run(["inspect", "soils.geojson", "--json"])
        .ended(0)
        .json();
    assert_eq!(found["polygons"][0]["polygons"], 1);
    // Half of 0.01 by 0.01 degrees at 43 N: a degree of latitude is 111.1 km there, one of longitude
    // 81.5 km (handbooks; from memory, to 0.1 km).
    let area_ha = found["polygons"][0]["area_ha"].as_f64().expect("an area");
    assert!(
        (area_ha - 0.5 * 1111.0 * 815.0 / 1e4).abs() < 0.1,
        "{area_ha}"
    );
}

/// A reader that closes the pipe has seen enough.
#[cfg(unix)]
#[test]
fn a_reader_that_goes_away_is_no_error() {
    let farm = SmallFarm::new();
    for line in [
        "inspect log.csv --json",
        "completions bash",
        "reference",
        "--help",
    ] {
        let mut command = farm.folder.command(line.split(' '));
        command.stdout(Stdio::piped()).stderr(Stdio::piped());
        let mut child = command.spawn().expect("checkstrip starts");
        drop(child.stdout.take());
        let mut messages = String::new();
        let mut stderr = child.stderr.take().expect("standard error");
        stderr.read_to_string(&mut messages).expect("UTF-8");
        let status = child.wait().expect("it ends");
        assert_eq!(messages, "", "{line}");
        assert_eq!(status.code(), Some(0), "{line}");
    }
}

#[test]
fn a_folder_of_an_earlier_run_keeps_no_stale_export() {
    let farm = SmallFarm::new();
    let line = "compare trial.toml --out out --export";
    for (form, name) in [
        ("csv", "cleaned.csv"),
        ("parquet", "cleaned.parquet"),
        ("gpkg", "cleaned.gpkg"),
        ("geojson", "cleaned.geojson"),
    ] {
        let _ = farm.folder.run(line.split(' ').chain([form])).ended(0);
        let files = farm.folder.files_in("out");
        let cleaned: Vec<&String> = files.iter().filter(|f| f.starts_with("cleaned")).collect();
        assert_eq!(cleaned, [name]);
    }
    let _ = farm.folder.run(line.split(' ').chain(["none"])).ended(0);
    assert!(
        !farm
            .folder
            .files_in("out")
            .iter()
            .any(|f| f.starts_with("cleaned"))
    );
}

#[test]
fn compare_without_out_writes_beside_the_trial_file() {
    let farm = SmallFarm::new();
    let _ = farm.folder.run(["compare", "trial.toml"]).ended(0);
    assert!(farm.folder.join("trial-results/report.html").is_file());
}

/// Keys of the results file that other programs rely on, each with the type they rely on.
#[test]
fn the_results_have_every_key_they_are_relied_on_for() {
    let farm = SmallFarm::new();
    let results = farm.results();
    let expected = [
        ("schema", "string"),
        ("tool.name", "string"),
        ("tool.version", "string"),
        ("field.name", "string"),
        ("field.crop", "string"),
        ("field.market_moisture_pct", "number"),
        ("field.bushel_kg", "number"),
        ("input.records", "count"),
        ("input.files.0.path", "string"),
        ("input.files.0.sha256", "string"),
        ("input.area_ha", "number"),
        ("input.wet_mass_kg", "number"),
        ("cleaning.grain_delay_s", "number"),
        ("cleaning.grain_delay_source", "string"),
        ("cleaning.grain_delay_low_s", "number"),
        ("cleaning.grain_delay_high_s", "number"),
        ("cleaning.kept", "count"),
        ("cleaning.overlap_area_ha", "number"),
        ("cleaning.settings", "object"),
        ("strips.0.strip_id", "string"),
        ("strips.0.treatment", "string"),
        ("strips.0.block", "string"),
        ("strips.0.records", "count"),
        ("strips.0.area_m2", "number"),
        ("strips.0.covered_fraction", "number"),
        ("strips.0.dry_mass_kg", "number"),
        ("strips.0.yield_kg_ha", "number"),
        ("strips.0.yield_bu_ac", "number"),
        ("strips.0.moisture_pct", "number"),
        ("strips.0.mixed_fraction", "number"),
        ("comparisons.0.treatment", "string"),
        ("comparisons.0.check", "string"),
        ("comparisons.0.method", "string"),
        ("comparisons.0.blocks", "count"),
        ("comparisons.0.advantage_kg_ha", "number"),
        ("comparisons.0.advantage_bu_ac", "number"),
        ("comparisons.0.std_error_kg_ha", "number"),
        ("comparisons.0.df", "number"),
        ("comparisons.0.interval_95_kg_ha.0", "number"),
        ("comparisons.0.interval_95_kg_ha.1", "number"),
        ("comparisons.0.p_value", "number"),
        ("comparisons.0.dilution", "number"),
        ("payoff.0.treatment", "string"),
        ("payoff.0.cost_per_ac", "number"),
        ("payoff.0.break_even_bu_ac", "number"),
        ("payoff.0.net_per_ac", "number"),
        ("payoff.0.net_interval_95_per_ac.0", "number"),
        ("payoff.0.net_interval_95_per_ac.1", "number"),
        ("payoff.0.odds_it_pays", "number"),
        ("warnings", "array"),
    ];
    let reasons = [
        "header_up",
        "pass_start",
        "pass_end",
        "overlap",
        "speed",
        "position",
        "time",
        "yield_limit",
        "local_outlier",
        "moisture",
    ];
    let reasons = reasons.map(|reason| format!("cleaning.removed.{reason}"));
    let expected = expected
        .iter()
        .map(|(path, kind)| (path.to_string(), *kind));
    for (path, kind) in expected.chain(reasons.map(|path| (path, "count"))) {
        let pointer = format!("/{}", path.replace('.', "/"));
        let found = results.pointer(&pointer).unwrap_or(&Value::Null);
        let fits = match kind {
            "string" => found.is_string(),
            "number" => found.is_number(),
            "count" => found.is_u64(),
            "array" => found.is_array(),
            _ => found.is_object(),
        };
        assert!(fits, "{path}: expected a {kind}, found {found}");
    }
    assert_eq!(results["schema"], "checkstrip-results/1");
    // The trial file says corn, soybean and so on; a soybean bushel is 60 lb (common practice: the
    // weight grain is traded at in the United States).
    assert_eq!(results["field"]["crop"], "soybean");
    let bushel = results["field"]["bushel_kg"].as_f64().expect("a number");
    assert!((bushel - 27.2155).abs() < 1e-4, "{bushel}");
    let files = farm.folder.files_in("out");
    for file in [
        "results.json",
        "strips.csv",
        "cleaned.geojson",
        "report.html",
    ] {
        assert!(
            files.iter().any(|f| f == file),
            "{file} is not in {files:?}"
        );
    }
    assert!(
        files
            .iter()
            .filter(|f| f.starts_with("maps/") && f.ends_with(".png"))
            .count()
            >= 3
    );
}

#[test]
fn the_strip_table_says_what_the_results_say() {
    let farm = SmallFarm::new();
    let results = farm.results();
    let table = checkstrip_acceptance::Table::parse(&farm.folder.text("out/strips.csv"), ',');
    let strips = results["strips"].as_array().expect("strips");
    assert_eq!(table.rows.len(), strips.len());
    for (key, digits) in [("area_m2", 2), ("yield_kg_ha", 2), ("covered_fraction", 4)] {
        for (cell, strip) in table.texts(key).into_iter().zip(strips) {
            let value = strip[key].as_f64().expect("a number");
            assert_eq!(cell, format!("{value:.digits$}"));
        }
    }
}

#[test]
fn the_report_loads_nothing_from_elsewhere() {
    let farm = SmallFarm::new();
    let _ = farm.results();
    let report = farm.folder.text("out/report.html");
    for sign in [
        "http://", "https://", "<script", "<link", "src=\"//", "@import",
    ] {
        // The name of a namespace is no address that is loaded.
        let report = report.replace("http://www.w3.org/2000/svg", "");
        assert!(!report.contains(sign), "{sign}");
    }
    assert!(report.contains("data:image/png;base64,"));
}
