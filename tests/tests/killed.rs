//! A run that is killed leaves no half file: whatever lies under a final name is whole, and what is
//! unfinished has a temporary name.

#![cfg(unix)]

use checkstrip_acceptance::{Folder, season, season_of_fields};
use std::collections::BTreeMap;
use std::process::Stdio;
use std::time::{Duration, Instant};

/// Moments at which the run is killed, spread over its whole length.
const MOMENTS: u32 = 16;

#[test]
fn what_a_killed_run_leaves_is_whole() {
    let (folder, season) = season();
    let trial = season.trial.display().to_string();
    let begun = Instant::now();
    let _ = folder
        .run(["compare", &trial, "--out", "whole", "--quiet"])
        .ended(0);
    let length = begun.elapsed();

    let mut finished = Vec::new();
    let mut seen = 0;
    for moment in 1..=MOMENTS {
        let out = format!("killed-{moment}");
        let mut command = folder.command(["compare", &trial, "--out", &out, "--quiet"]);
        command.stdout(Stdio::null()).stderr(Stdio::null());
        let mut child = command.spawn().expect("checkstrip starts");
        std::thread::sleep(length * moment / MOMENTS);
        child.kill().expect("it can be killed");
        let status = child.wait().expect("it ends");
        for file in folder.files_in(&out) {
            whole(&folder, &format!("{out}/{file}"));
            seen += 1;
        }
        finished.push((status.code(), folder.files_in(&out)));
    }
    // results.json comes last: where it lies, the rest lies too.
    let complete = folder.files_in("whole");
    for (status, files) in &finished {
        if files.iter().any(|file| file == "results.json") {
            assert_eq!(final_names(files), complete);
        } else {
            assert_eq!(
                *status, None,
                "a run that ends by itself leaves its results"
            );
        }
    }
    assert!(seen > 0, "every kill came before the first file");
    assert!(
        finished.iter().any(|(status, _)| status.is_none()),
        "no run was killed in time"
    );

    // And a later run into the same folder is none the worse for it.
    let _ = folder
        .run(["compare", &trial, "--out", "killed-8", "--quiet"])
        .ended(0);
    assert_eq!(final_names(&folder.files_in("killed-8")), complete);
    for file in &complete {
        let read =
            |out: &str| std::fs::read(folder.join(&format!("{out}/{file}"))).expect("a file");
        assert!(read("whole") == read("killed-8"), "{file}");
    }
}

fn temporary(file: &str) -> bool {
    file.rsplit('/')
        .next()
        .is_some_and(|name| name.starts_with(".checkstrip-"))
}

fn final_names(files: &[String]) -> Vec<String> {
    files
        .iter()
        .filter(|file| !temporary(file))
        .cloned()
        .collect()
}

/// Panics when a file under a final name is not complete.
#[track_caller]
fn whole(folder: &Folder, file: &str) {
    if temporary(file) {
        return;
    }
    let bytes = std::fs::read(folder.join(file)).expect("a file");
    let ends = |with: &[u8]| bytes.ends_with(with);
    let is_whole = match file.rsplit('.').next() {
        Some("json" | "geojson") => serde_json::from_slice::<serde_json::Value>(&bytes).is_ok(),
        // The last chunk of a picture (ISO/IEC 15948, *Portable Network Graphics*).
        Some("png") => ends(b"IEND\xae\x42\x60\x82"),
        Some("html") => ends(b"</html>\n") || ends(b"</html>"),
        Some("csv") => ends(b"\n"),
        // The mark at the end (ISO 32000-1, 7.5.5).
        Some("pdf") => ends(b"%%EOF") || ends(b"%%EOF\n"),
        _ => panic!("{file}: an unexpected file"),
    };
    assert!(is_whole, "{file} is not whole");
}

/// A season that was killed while it was written has no half log either.
#[test]
fn what_a_killed_demo_leaves_is_whole() {
    let folder = Folder::new();
    let begun = Instant::now();
    let _ = folder.run(["demo", "--out", "whole", "--quiet"]).ended(0);
    let length = begun.elapsed();
    let mut killed = 0;
    for moment in 1..MOMENTS {
        let out = format!("killed-{moment}");
        let mut child = folder
            .command(["demo", "--out", &out, "--quiet"])
            .stderr(Stdio::null())
            .spawn()
            .expect("checkstrip starts");
        std::thread::sleep(length * moment / (2 * MOMENTS) + Duration::from_millis(1));
        child.kill().expect("it can be killed");
        killed += u32::from(child.wait().expect("it ends").code().is_none());
        for file in folder.files_in(&out) {
            let name = format!("{out}/{file}");
            let same = file.starts_with("harvest/") && file.ends_with(".csv")
                || file == "strips.geojson"
                || file == "trial.toml";
            if same {
                let read = |name: &str| std::fs::read(folder.join(name)).expect("a file");
                assert!(
                    read(&name) == read(&format!("whole/{file}")),
                    "{name} is not whole"
                );
            }
        }
    }
    assert!(killed > 0, "no run was killed in time");
}

/// A season whose run is killed again and again goes on where it stopped, does nothing twice, and ends with
/// the files of a run that nobody killed.
#[test]
fn a_killed_batch_goes_on_where_it_stopped() {
    let fields = ["a", "b", "c", "d", "e", "f"];
    let folder = season_of_fields(&fields);
    let batch = |out: &str| {
        let mut command = folder.command(["batch", "SEASON.toml", "--out", out, "--quiet"]);
        command.stdout(Stdio::null()).stderr(Stdio::null());
        command
    };
    let begun = Instant::now();
    assert!(batch("whole").status().expect("it runs").success());
    let length = begun.elapsed();

    let mut killed = 0;
    let mut stamps: BTreeMap<&str, String> = BTreeMap::new();
    // Every run gets a little further than the last; a run too short to finish a field may be repeated.
    for moment in 1..=MOMENTS {
        let mut child = batch("out").spawn().expect("checkstrip starts");
        std::thread::sleep(length * moment / MOMENTS / 2);
        child.kill().expect("it can be killed");
        killed += u32::from(child.wait().expect("it ends").code().is_none());
        for file in folder.files_in("out") {
            if file != ".season-lock" {
                whole(&folder, &format!("out/{file}"));
            }
        }
        for field in fields {
            let stamp = format!("out/{field}/field.json");
            if folder.join(&stamp).exists() {
                let now = folder.text(&stamp);
                let before = stamps.entry(field).or_insert_with(|| now.clone());
                assert_eq!(*before, now, "{field} was done twice");
            } else {
                assert!(
                    !stamps.contains_key(field),
                    "{field} was finished and is not"
                );
            }
        }
    }
    assert!(killed > 1, "no run was killed in time");
    assert!(batch("out").status().expect("it runs").success());
    let files = final_names(&folder.files_in("whole"));
    assert_eq!(folder.files_in("out"), files, "nothing unfinished is left");
    for file in files
        .iter()
        .filter(|file| !file.ends_with("field.json") && *file != "ledger.json")
    {
        let read =
            |out: &str| std::fs::read(folder.join(&format!("{out}/{file}"))).expect("a file");
        assert!(read("whole") == read("out"), "{file}");
    }
}
