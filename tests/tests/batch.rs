//! `checkstrip batch` over a season of small invented fields: every field as `compare` does it, one that
//! fails beside the others, nothing done twice, logs taken up as they are copied in.

use checkstrip_acceptance::{Folder, season_of_fields as season};
use serde_json::Value;
use std::process::{Child, Stdio};
use std::time::{Duration, Instant};

const BATCH: [&str; 4] = ["batch", "SEASON.toml", "--out", "out"];

fn field<'a>(ledger: &'a Value, folder: &str) -> &'a Value {
    let fields = ledger["fields"].as_array().expect("fields");
    let found = fields.iter().find(|field| field["folder"] == folder);
    found.unwrap_or_else(|| panic!("no field {folder} in {ledger:#}"))
}

/// Law: a field of a season has the files, to the byte, that `compare` leaves.
#[test]
fn a_field_of_a_season_is_what_compare_makes_of_it() {
    let folder = season(&["home", "river"]);
    let run = folder.run(BATCH.iter().chain(&["--json", "--at-once", "2"]));
    let ledger = run.ended(0).json();
    assert_eq!(ledger["schema"], "checkstrip-ledger/1");
    assert_eq!(ledger, folder.json("out/ledger.json"));
    for name in ["home", "river"] {
        let trial = format!("{name}/trial.toml");
        let by_itself = format!("{name}-alone");
        let _ = folder
            .run(["compare", &trial, "--out", &by_itself, "--quiet"])
            .ended(0);
        let mut files = folder.files_in(&by_itself);
        for file in &files {
            let read =
                |out: &str| std::fs::read(folder.join(&format!("{out}/{file}"))).expect("it");
            assert!(
                read(&by_itself) == read(&format!("out/{name}")),
                "{name}: {file} differs"
            );
        }
        files.push("field.json".to_owned());
        files.sort();
        assert_eq!(folder.files_in(&format!("out/{name}")), files);
        let entry = field(&ledger, name);
        assert_eq!(entry["status"], "done");
        let results = folder.json(&format!("out/{name}/results.json"));
        assert_eq!(entry["records"], results["input"]["records"]);
        let log = entry["inputs"].as_array().expect("inputs").iter();
        let log = log.filter(|input| input["sha256"] == results["input"]["files"][0]["sha256"]);
        assert_eq!(log.count(), 1, "the log is among the inputs");
    }
}

#[test]
fn a_field_that_fails_stops_no_other() {
    let folder = season(&["home", "river", "spoilt"]);
    folder.put("spoilt/log.csv", "time,lon\n1,2\n");
    folder.put("early/trial.toml", folder.text("home/trial.toml"));
    let run = folder.run(BATCH).ended(3);
    insta::assert_snapshot!("words", run.stdout);
    let ledger = folder.json("out/ledger.json");
    for (name, status) in [
        ("early", "failed"),
        ("home", "done"),
        ("river", "done"),
        ("spoilt", "failed"),
    ] {
        assert_eq!(field(&ledger, name)["status"], status, "{name}");
    }
    let reason = field(&ledger, "spoilt")["reason"].as_str().expect("why");
    assert!(
        reason.contains("spoilt/log.csv") && reason.contains("hint:"),
        "{reason}"
    );
    assert_eq!(folder.files_in("out/spoilt"), [""; 0]);
}

/// The summary says of each field what its own results say, and pools them as `pool` does.
#[test]
fn the_summary_is_what_the_fields_say() {
    let fields = ["hill", "home", "river"];
    let folder = season(&["hill", "home", "river", "spoilt"]);
    for (more, field) in fields.iter().enumerate() {
        // The same harvest three times over would be one trial.
        let log = format!("{field}/log.csv");
        folder.put(&log, folder.text(&log) + &"\n".repeat(more));
    }
    folder.put("spoilt/log.csv", "time,lon\n1,2\n");
    let _ = folder.run(BATCH).ended(3);
    let summary = folder.json("out/season.json");
    assert_eq!(summary["schema"], "checkstrip-season/1");
    assert_eq!(summary["warnings"][0]["code"], "fields_without_results");
    let said = summary["fields"].as_array().expect("fields");
    assert_eq!(said.len(), 4);
    for field in said {
        let name = field["folder"].as_str().expect("a folder");
        if name == "spoilt" {
            assert!(field["reason"].as_str().expect("why").contains("log.csv"));
            continue;
        }
        let results = folder.json(&format!("out/{name}/results.json"));
        let (found, says) = (&results["comparisons"][0], &field["results"]);
        assert_eq!(says["centre"], results["input"]["centre"]);
        let treatment = &says["treatments"][0];
        for key in ["treatment", "check", "method", "blocks", "advantage_kg_ha"] {
            assert_eq!(treatment[key], found[key], "{name}: {key}");
        }
        assert_eq!(treatment["interval_95_kg_ha"], found["interval_95_kg_ha"]);
        for key in ["break_even_bu_ac", "net_per_ac", "odds_it_pays"] {
            assert_eq!(treatment[key], results["payoff"][0][key], "{name}: {key}");
        }
    }
    assert_eq!(folder.text("out/season.csv").lines().count(), 1 + 4);
    let pooled = ["hill", "home", "river"].map(|field| format!("out/{field}"));
    let order = ["pool", "--out", "pooled"].map(str::to_owned);
    let _ = folder.run(order.iter().chain(&pooled)).ended(0);
    for file in ["pooled.csv", "forest.png"] {
        let read = |out: &str| std::fs::read(folder.join(&format!("{out}/{file}"))).expect("it");
        let (by_itself, of_season) = (read("pooled"), read("out/pooled/soybean"));
        // Files are told from the folder that each was asked in.
        let same = match file {
            "pooled.csv" => {
                let text = String::from_utf8(by_itself).expect("UTF-8");
                text.replace("out/", "").into_bytes() == of_season
            }
            _ => by_itself == of_season,
        };
        assert!(same, "{file} differs");
    }
}

/// What is done again, and what is not.
#[test]
fn only_what_changed_is_done_again() {
    let folder = season(&["home", "hill", "river"]);
    let statuses = |options: &[&str], status: i32| {
        let run = folder.run(BATCH.iter().chain(options)).ended(status);
        let ledger = folder.json("out/ledger.json");
        let of = |name| {
            field(&ledger, name)["status"]
                .as_str()
                .expect("one")
                .to_owned()
        };
        (["hill", "home", "river"].map(of), run.stderr)
    };
    assert_eq!(statuses(&[], 0).0, ["done"; 3]);
    let stamp = folder.text("out/home/field.json");
    let (unchanged, said) = statuses(&[], 0);
    assert_eq!(unchanged, ["unchanged"; 3]);
    assert!(said.contains("none of which has to be done"), "{said}");
    assert_eq!(stamp, folder.text("out/home/field.json"));
    // The content counts, not when it was written.
    folder.put("home/log.csv", folder.text("home/log.csv"));
    assert_eq!(statuses(&[], 0).0, ["unchanged"; 3]);
    folder.put("hill/log.csv", folder.text("hill/log.csv") + "\n");
    assert_eq!(statuses(&[], 0).0, ["done", "unchanged", "unchanged"]);
    let trial = folder.text("river/trial.toml");
    folder.put("river/trial.toml", trial.replace("4.25", "5.25"));
    assert_eq!(statuses(&[], 0).0, ["unchanged", "unchanged", "done"]);
    // What is asked for counts, and results that somebody touched.
    assert_eq!(statuses(&["--units", "si"], 0).0, ["done"; 3]);
    folder.put("out/home/results.json", "{}");
    assert_eq!(
        statuses(&["--units", "si"], 0).0,
        ["unchanged", "done", "unchanged"]
    );
    // A field that failed is tried again.
    std::fs::rename(folder.join("home/log.csv"), folder.join("log")).expect("moved");
    assert_eq!(
        statuses(&["--units", "si"], 3).0,
        ["unchanged", "failed", "unchanged"]
    );
    std::fs::rename(folder.join("log"), folder.join("home/log.csv")).expect("moved back");
    assert_eq!(statuses(&["--units", "si"], 0).0, ["unchanged"; 3]);
}

/// The same results whatever the number of fields at once and the memory.
#[test]
fn little_memory_takes_longer_and_changes_nothing() {
    let folder = season(&["home", "hill", "river"]);
    let results = |out: &str, options: &[&str]| {
        let line = ["batch", "SEASON.toml", "--out", out, "--quiet"];
        let _ = folder.run(line.iter().chain(options)).ended(0);
        ["home", "hill", "river"].map(|name| folder.text(&format!("{out}/{name}/results.json")))
    };
    let few = results("few", &["--at-once", "1", "--memory", "1 MB"]);
    assert_eq!(
        few,
        results("many", &["--at-once", "3", "--memory", "8 GB"])
    );
    let ledger = folder.json("few/ledger.json");
    assert_eq!(
        (&ledger["at_once"], &ledger["memory"]),
        (&1.into(), &1_000_000.into())
    );
}

#[test]
fn a_season_that_cannot_be_done_is_refused_in_words() {
    let folder = season(&["home"]);
    let mut said = String::new();
    let mut refuse = |text: &str| {
        folder.put("SEASON.toml", text);
        let run = folder.run(BATCH).ended(1);
        assert_eq!(run.stdout, "");
        said.push_str(&run.stderr);
    };
    refuse("[season]\nname = \"x\"\ntrials = []\n");
    refuse("[season]\nname = \"x\"\n");
    refuse("[season]\nname = \"x\"\ntrials = [\"none/*.toml\"]\n");
    refuse("[season]\nname = \"x\"\ntrials = [\"home/trial.toml\"]\nmemory = 4\n");
    folder.put("home.toml", folder.text("home/trial.toml"));
    refuse("[season]\nname = \"x\"\ntrials = [\"home.toml\", \"home/trial.toml\"]\n");
    insta::assert_snapshot!("refusals", said);
    assert!(
        folder
            .files_in("out")
            .iter()
            .all(|file| file == ".season-lock")
    );
}

/// A run that goes on until it is dropped.
struct Watching(Child);

impl Drop for Watching {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

fn watching(folder: &Folder) -> Watching {
    let mut command = folder.command(BATCH.iter().chain(&["--watch", "--quiet"]));
    command.stdout(Stdio::null()).stderr(Stdio::null());
    Watching(command.spawn().expect("checkstrip starts"))
}

/// Waits, a minute at most, until `is_so`.
#[track_caller]
fn wait_until(what: &str, is_so: impl Fn() -> bool) {
    let begun = Instant::now();
    while !is_so() {
        assert!(
            begun.elapsed() < Duration::from_secs(60),
            "not within a minute: {what}"
        );
        std::thread::sleep(Duration::from_millis(100));
    }
}

#[test]
fn logs_are_taken_up_as_they_are_copied_in() {
    let folder = season(&["home", "river"]);
    let log = folder.text("river/log.csv");
    std::fs::remove_file(folder.join("river/log.csv")).expect("removed");
    let _watching = watching(&folder);
    let status = |name: &str| {
        let ledger = std::fs::read(folder.join("out/ledger.json")).ok()?;
        // The ledger is never half written.
        let ledger: Value = serde_json::from_slice(&ledger).expect("a whole ledger");
        let fields = ledger["fields"].as_array().expect("fields");
        let found = fields.iter().find(|field| field["folder"] == name)?;
        Some(found["status"].as_str().expect("one").to_owned())
    };
    let is = |name: &str, expected: &str| status(name).as_deref() == Some(expected);
    wait_until("home is done", || {
        is("home", "done") && is("river", "waiting")
    });
    // A second run would undo the work of the first.
    let second = folder.run(BATCH).ended(1);
    assert!(
        second.stderr.contains("another run of checkstrip batch"),
        "{}",
        second.stderr
    );
    // Half of a log, and a moment later the whole of it: only the whole is compared.
    folder.put("river/log.csv", &log[..log.len() / 2]);
    std::thread::sleep(Duration::from_millis(1500));
    folder.put("river/log.csv", &log);
    wait_until("river is done", || is("river", "done"));
    let records =
        |name: &str| folder.json(&format!("out/{name}/results.json"))["input"]["records"].clone();
    assert_eq!(records("home"), records("river"));
    // And a field that nobody had thought of.
    folder.put("hill/trial.toml", folder.text("home/trial.toml"));
    folder.put("hill/strips.geojson", folder.text("home/strips.geojson"));
    folder.put("hill/log.csv", &log);
    wait_until("hill is done", || is("hill", "done"));
}
