//! A season done field by field out of a store, by `checkstrip-season`: files to the byte as
//! `checkstrip batch` leaves them on a disk, whatever a trial reads, from a folder and from a bucket; nothing done
//! twice; steps that are killed; and, where it is asked for, the whole season on Apache Spark with a worker killed.

use checkstrip_acceptance::{
    Bucket, Folder, Run, SmallFarm, Table, python, season_binary, season_of_fields, skipped,
    workspace, write_task_data_log,
};
use serde_json::Value;
use std::io::Write;
use std::path::Path;
use std::process::{Command, Stdio};

/// A season in a store, and the variables that lead there.
struct Stored<'a> {
    season: String,
    out: String,
    variables: Vec<(&'static str, &'a str)>,
}

impl Stored<'_> {
    fn in_folder(folder: &Folder) -> Stored<'static> {
        let root = folder.path().display();
        Stored {
            season: format!("file://{root}/SEASON.toml"),
            out: format!("file://{root}/stored"),
            variables: Vec::new(),
        }
    }

    fn in_bucket(bucket: &Bucket) -> Stored<'_> {
        Stored {
            season: "s3://farm/SEASON.toml".to_owned(),
            out: "s3://farm/stored".to_owned(),
            variables: bucket.variables().to_vec(),
        }
    }

    fn command(&self, arguments: &[&str]) -> Command {
        let mut command = Command::new(season_binary());
        command.args(arguments).envs(self.variables.iter().copied());
        command
    }

    fn run(&self, arguments: &[&str]) -> Run {
        ran(&mut self.command(arguments), "")
    }

    /// Every field of the season, one step each, and the ledger; the outcomes, and the ledger's exit status.
    fn do_season(&self, options: &[&str]) -> (Vec<Value>, Option<i32>) {
        let fields = self.run(&["fields", &self.season]).ended(0);
        let mut outcomes = String::new();
        for field in lines(&fields.stdout) {
            let trial = field["trial"].as_str().expect("a trial");
            let mut line = vec!["field", &self.season, trial, "--out", &self.out];
            line.extend(options);
            let step = self.run(&line);
            let outcome: Value = step.json();
            let failed = outcome["status"] == "failed";
            outcomes.push_str(&step.ended(if failed { 3 } else { 0 }).stdout);
        }
        let mut ledger = self.command(&["ledger", &self.season, "--out", &self.out]);
        let ledger = ran(ledger.args(options), &outcomes);
        (lines(&outcomes), ledger.status)
    }
}

fn lines(text: &str) -> Vec<Value> {
    let line = |line| serde_json::from_str(line).expect("JSON");
    text.lines().map(line).collect()
}

/// Runs a program that reads `input`.
fn ran(command: &mut Command, input: &str) -> Run {
    let piped = command
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped());
    let mut child = piped.spawn().expect("it starts");
    let mut to = child.stdin.take().expect("it is piped");
    to.write_all(input.as_bytes()).expect("it reads");
    drop(to);
    let output = child.wait_with_output().expect("it ends");
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("UTF-8");
    Run {
        status: output.status.code(),
        stdout: text(output.stdout),
        stderr: text(output.stderr),
    }
}

/// An entry of the ledger, or a stamp, without what differs from run to run: moments and durations.
fn timeless(mut entry: Value) -> Value {
    for key in ["begun", "ended", "seconds"] {
        entry.as_object_mut().expect("an entry").remove(key);
    }
    entry
}

/// Holds a season in a store against the same season by `batch`: every file to the byte, but for times in stamps
/// and ledger.
#[track_caller]
fn same_season(batch: &Folder, batch_out: &str, stored: &Folder, stored_out: &str) {
    let mut files = batch.files_in(batch_out);
    files.retain(|file| file != ".season-lock");
    assert_eq!(stored.files_in(stored_out), files);
    assert!(files.len() > 10, "{files:?}");
    for file in &files {
        let of_batch = batch.join(&format!("{batch_out}/{file}"));
        let of_store = stored.join(&format!("{stored_out}/{file}"));
        if file.ends_with("/field.json") {
            let json = |path: &Path| {
                let bytes = std::fs::read(path).expect("a stamp");
                timeless(serde_json::from_slice(&bytes).expect("JSON"))
            };
            assert_eq!(json(&of_batch), json(&of_store), "{file}");
        } else if file == "ledger.json" {
            let ledger = |folder: &Folder, out: &str| {
                let mut ledger = folder.json(&format!("{out}/ledger.json"));
                let fields = ledger["fields"].take();
                let fields = fields.as_array().expect("fields").iter().cloned();
                let finished = |mut entry: Value| {
                    // Finished just before its worker was killed, it is found unchanged when it is tried again.
                    if entry["status"] == "unchanged" {
                        entry["status"] = "done".into();
                    }
                    timeless(entry)
                };
                let fields: Vec<Value> = fields.map(finished).collect();
                // How many fields at once is a matter of the machines.
                ledger["at_once"] = 0.into();
                (ledger, fields)
            };
            let (of_batch, of_store) = (ledger(batch, batch_out), ledger(stored, stored_out));
            assert_eq!(of_batch, of_store);
        } else {
            let read = |path: &Path| std::fs::read(path).expect("a file");
            assert!(read(&of_batch) == read(&of_store), "{file} differs");
        }
    }
}

fn batch(folder: &Folder, options: &[&str], status: i32) {
    let line = ["batch", "SEASON.toml", "--out", "batch", "--quiet"];
    let _ = folder.run(line.iter().chain(options)).ended(status);
}

/// A season whose fields read all that a trial may name: a pattern of logs, past harvests and strips outside the
/// field's folder, Shapefiles, a layer of a GeoPackage, a task in a folder of task data and in a packed one, drawn
/// zones, stand counts; one that fails, and one that cannot be read.
fn season_of_all_inputs() -> Folder {
    let folder = season_of_fields(&[
        "home",
        "hill",
        "river",
        "task",
        "spoilt",
        "early",
        "north 40%",
    ]);
    let farm = SmallFarm::new();
    let trial = folder.text("home/trial.toml");
    let convert = |from: &str, to: &str| {
        let _ = folder.run(["convert", from, to, "--quiet"]).ended(0);
    };
    let moved = |from: &str, to: &str| {
        std::fs::create_dir_all(folder.join(to).parent().expect("a folder")).expect("made");
        std::fs::rename(folder.join(from), folder.join(to)).expect("moved");
    };
    convert("river/strips.geojson", "river/strips.shp");
    moved("river/log.csv", "river/logs/first.csv");
    // Earlier years: a past harvest that is the one judged is refused.
    for (path, years) in [("past/2024/a.csv", 2.0), ("past/2025/b.csv", 1.0)] {
        let log = Table::parse(&folder.text("home/log.csv"), ',');
        folder.put(path, log.years_before(years).csv());
    }
    let river = trial
        .replace("log.csv", "logs/*.csv")
        .replace("strips.geojson", "strips.shp");
    let past = "\n[zones]\nby = \"yield_history\"\nlogs = [\"../past/2024/*.csv\", \"../past/*/b.csv\"]\nclasses = 2\n";
    folder.put("river/trial.toml", river + past);

    convert("hill/log.csv", "hill/harvest.gpkg");
    moved("hill/strips.geojson", "shared/strips.geojson");
    let layer = trial.replace("log.csv", "harvest.gpkg:harvest");
    let layer = layer.replace("\"strips.geojson", "\"../shared/./strips.geojson");
    folder.put("hill/trial.toml", layer);
    std::fs::remove_file(folder.join("hill/log.csv")).expect("removed");

    write_task_data_log(&farm.folder, &farm.harvest.log, 0.0);
    for file in farm.folder.files_in("TASKDATA") {
        let bytes = std::fs::read(farm.folder.join(&format!("TASKDATA/{file}"))).expect("a file");
        folder.put(&format!("task/TASKDATA/{file}"), bytes);
    }
    folder.put(
        "task/trial.toml",
        trial.replace("log.csv", "TASKDATA:Soybean harvest"),
    );
    folder.put("spoilt/log.csv", "time,lon\n1,2\n");
    folder.put("early/trial.toml", trial.replace("log.csv", "*.txt"));
    folder
}

#[test]
fn whatever_a_trial_reads_is_found_in_a_folder() {
    let folder = season_of_all_inputs();
    batch(&folder, &[], 3);
    let ledger = folder.json("batch/ledger.json");
    for entry in ledger["fields"].as_array().expect("fields") {
        let fails = ["spoilt", "early"].contains(&entry["folder"].as_str().expect("a name"));
        let expected = if fails { "failed" } else { "done" };
        assert_eq!(entry["status"], expected, "{entry:#}");
    }
    let (outcomes, status) = Stored::in_folder(&folder).do_season(&[]);
    assert_eq!((outcomes.len(), status), (7, Some(3)));
    same_season(&folder, "batch", &folder, "stored");
}

/// The S3 protocol is moto's, and the bucket is filled and read by Amazon's own library.
#[test]
fn whatever_a_trial_reads_is_found_in_a_bucket() {
    let Some(python) = python() else { return };
    let folder = season_of_all_inputs();
    let mut bucket = Bucket::of(&python, &folder);
    batch(&folder, &[], 3);
    let (_, status) = Stored::in_bucket(&bucket).do_season(&[]);
    assert_eq!(status, Some(3));
    same_season(&folder, "batch", &bucket.emptied(), "stored");
    let (outcomes, _) = Stored::in_bucket(&bucket).do_season(&[]);
    let unchanged = outcomes.iter().filter(|o| o["status"] == "unchanged");
    assert_eq!(unchanged.count(), 5, "{outcomes:#?}");
}

/// A field is done again when what it rests on changes, and leaves what `batch` leaves over an earlier run.
#[test]
fn only_what_changed_is_done_again() {
    let folder = season_of_fields(&["home", "river"]);
    let stored = Stored::in_folder(&folder);
    let statuses = |options: &[&str]| {
        batch(&folder, options, 0);
        let (outcomes, status) = stored.do_season(options);
        assert_eq!(status, Some(0));
        same_season(&folder, "batch", &folder, "stored");
        let of = |outcome: &Value| outcome["status"].as_str().expect("one").to_owned();
        outcomes.iter().map(of).collect::<Vec<_>>()
    };
    assert_eq!(statuses(&[]), ["done", "done"]);
    let stamp = folder.text("stored/home/field.json");
    assert_eq!(statuses(&[]), ["unchanged", "unchanged"]);
    assert_eq!(stamp, folder.text("stored/home/field.json"));
    folder.put("river/log.csv", folder.text("river/log.csv") + "\n");
    assert_eq!(statuses(&[]), ["unchanged", "done"]);
    // The cleaned log in its old form goes; what somebody else laid there stays.
    for out in ["batch", "stored"] {
        folder.put(&format!("{out}/home/notes.txt"), "invented");
    }
    assert_eq!(
        statuses(&["--export", "csv", "--units", "si"]),
        ["done", "done"]
    );
    assert!(!folder.join("stored/home/cleaned.geojson").exists());
    // A field that was done and now fails is not finished any more.
    let log = folder.text("home/log.csv");
    folder.put("home/log.csv", "time,lon\n1,2\n");
    batch(&folder, &["--export", "csv"], 3);
    assert_eq!(stored.do_season(&["--export", "csv"]).1, Some(3));
    same_season(&folder, "batch", &folder, "stored");
    assert!(!folder.join("stored/home/field.json").exists());
    folder.put("home/log.csv", log);
    assert_eq!(statuses(&["--export", "csv"]), ["done", "unchanged"]);
}

/// A step that is killed at any moment leaves a field finished, with all its files, or plainly not.
#[test]
fn a_killed_step_leaves_a_field_finished_or_plainly_not() {
    const MOMENTS: u32 = 24;
    let folder = season_of_fields(&["home"]);
    let stored = Stored::in_folder(&folder);
    batch(&folder, &[], 0);
    let files = folder.files_in("batch/home");
    let line = [
        "field",
        &stored.season,
        "home/trial.toml",
        "--out",
        &stored.out,
    ];
    // Built first: building is no part of a step.
    let _ = season_binary();
    let begun = std::time::Instant::now();
    let _ = stored.run(&line).ended(0);
    let length = begun.elapsed();
    let mut killed = 0;
    for moment in 1..=MOMENTS {
        // Over an earlier run: its files lie there, and every time the log is another one.
        let log = folder.text("home/log.csv");
        folder.put("home/log.csv", log + "\n");
        let quiet = &mut stored.command(&line);
        let mut step = quiet.stdout(Stdio::null()).spawn().expect("it starts");
        std::thread::sleep(length * moment / MOMENTS);
        step.kill().expect("it can be killed");
        killed += u32::from(step.wait().expect("it ends").code().is_none());
        if folder.join("stored/home/field.json").exists() {
            let stamp = folder.json("stored/home/field.json");
            let mut found = folder.files_in("stored/home");
            // What the disk's own store leaves under temporary names is no file of the field.
            found.retain(|file| !file.contains('#'));
            assert_eq!(found, files);
            let results = std::fs::read(folder.join("stored/home/results.json")).expect("read");
            let results: Value = serde_json::from_slice(&results).expect("whole");
            let inputs = stamp["inputs"].as_array().expect("inputs");
            let log = &results["input"]["files"][0]["sha256"];
            assert!(inputs.iter().any(|input| input["sha256"] == *log));
        }
    }
    assert!(killed > 1, "no step was killed in time");
    let outcome = stored.run(&line).ended(0).json();
    assert_eq!(outcome["folder"], "home");
    batch(&folder, &[], 0);
    let read = |out: &str| std::fs::read(folder.join(&format!("{out}/home/results.json")));
    assert!(read("batch").expect("one") == read("stored").expect("one"));
}

#[test]
fn what_cannot_be_done_is_said_in_words() {
    let folder = season_of_fields(&["home"]);
    let stored = Stored::in_folder(&folder);
    let out = ["--out", &stored.out];
    let absent = format!("file://{}/NONE.toml", folder.path().display());
    let mut said = String::new();
    let mut refuse = |line: &[&str], status: i32| {
        let run = stored.run(line).ended(status);
        said.push_str(&folder.redacted(&run.stdout));
        said.push_str(&folder.redacted(&run.stderr));
    };
    refuse(&["fields", &absent], 1);
    refuse(&["fields", "SEASON.toml"], 1);
    refuse(
        &["field", &stored.season, "none/trial.toml", out[0], out[1]],
        1,
    );
    let trial = folder.text("home/trial.toml");
    folder.put("home/trial.toml", trial.replace("log.csv", "/log.csv"));
    refuse(
        &["field", &stored.season, "home/trial.toml", out[0], out[1]],
        3,
    );
    folder.put(
        "SEASON.toml",
        "[season]\nname = \"x\"\ntrials = [\"none/*.toml\"]\n",
    );
    refuse(&["fields", &stored.season], 1);
    insta::assert_snapshot!(
        "refusals",
        said.replace(
            folder
                .path()
                .to_str()
                .expect("text")
                .trim_start_matches('/'),
            "[FOLDER]"
        )
    );
    assert_eq!(folder.files_in("stored"), [""; 0]);
}

/// Invariant: the program that growers run cannot open a connection.
#[test]
fn the_main_program_opens_no_connection() {
    let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let tree = |package: &str| {
        let line = ["tree", "--offline", "--edges", "normal", "--prefix", "none"];
        let mut command = Command::new(&cargo);
        command.current_dir(workspace()).args(line);
        ran(command.args(["--package", package]), "")
            .ended(0)
            .stdout
    };
    let (main, season) = (tree("checkstrip-cli"), tree("checkstrip-distributed"));
    for name in ["object_store ", "reqwest ", "rustls "] {
        assert!(
            season.contains(name),
            "{name}is looked for under another name"
        );
        assert!(!main.contains(name), "{name}is in checkstrip");
    }
}

/// Whether the tests on Spark are asked for; said aloud when not.
fn on_spark() -> bool {
    let asked = std::env::var_os("CHECKSTRIP_SPARK").is_some();
    if !asked {
        skipped("CHECKSTRIP_SPARK is unset: no season on Apache Spark (make test-distributed)");
    }
    asked
}

const FIELDS: [&str; 8] = ["a", "b", "c", "d", "e", "f", "g", "h"];

#[test]
#[cfg(target_os = "linux")]
fn a_season_on_spark_survives_a_killed_worker() {
    if !on_spark() {
        return;
    }
    let folder = season_of_fields(&FIELDS);
    batch(&folder, &[], 0);
    season_with_a_killed_worker(&Stored::in_folder(&folder));
    same_season(&folder, "batch", &folder, "stored");
}

#[test]
#[cfg(target_os = "linux")]
fn a_season_on_spark_out_of_a_bucket_survives_a_killed_worker() {
    if !on_spark() {
        return;
    }
    let Some(python) = python() else { return };
    let folder = season_of_fields(&FIELDS);
    let mut bucket = Bucket::of(&python, &folder);
    batch(&folder, &[], 0);
    season_with_a_killed_worker(&Stored::in_bucket(&bucket));
    same_season(&folder, "batch", &bucket.emptied(), "stored");
}

/// Does a season with two workers, one of which is killed with all its processes, as a machine that goes down,
/// while a step of it runs.
#[cfg(target_os = "linux")]
fn season_with_a_killed_worker(stored: &Stored) {
    let mut command = Command::new(workspace().join("scripts/season-on-spark.sh"));
    command
        .args([&stored.season, &stored.out, "--workers", "2"])
        .env("CHECKSTRIP_SEASON", season_binary())
        .envs(stored.variables.iter().copied())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped());
    let mut script = command.spawn().expect("it starts");
    let killed = loop {
        if script.try_wait().expect("it can be asked").is_some() {
            break None;
        }
        if let Some(worker) = processes::worker_with_a_step(script.id()) {
            break Some(processes::kill_with_children(worker));
        }
        std::thread::sleep(std::time::Duration::from_millis(20));
    };
    let output = script.wait_with_output().expect("it ends");
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{said}");
    let killed = killed.unwrap_or_else(|| panic!("no step of a worker was seen\n{said}"));
    // The worker, its executor, Python and the step.
    assert!(killed >= 4, "{killed} processes killed");
    assert!(
        said.contains("Lost task") || said.contains("Lost executor"),
        "{said}"
    );
    let words = String::from_utf8_lossy(&output.stdout);
    assert!(words.contains("8 fields: "), "{words}");
    assert!(words.contains(" 0 failed."), "{words}");
}

/// The processes of this machine, as Linux shows them in `/proc`.
#[cfg(target_os = "linux")]
mod processes {
    use std::collections::BTreeMap;
    use std::process::Command;

    /// Every process: its parent and its command line.
    fn all() -> BTreeMap<u32, (u32, String)> {
        let entries = std::fs::read_dir("/proc").expect("Linux");
        let of = |id: u32| {
            let stat = std::fs::read_to_string(format!("/proc/{id}/stat")).ok()?;
            // The name, in brackets, may hold anything; state and parent follow.
            let parent = stat.rsplit_once(')')?.1.split_whitespace().nth(1)?;
            let line = std::fs::read(format!("/proc/{id}/cmdline")).ok()?;
            let line = String::from_utf8_lossy(&line).replace('\0', " ");
            Some((id, (parent.parse().ok()?, line)))
        };
        let ids = entries.filter_map(|entry| entry.ok()?.file_name().to_str()?.parse().ok());
        ids.filter_map(of).collect()
    }

    fn below(all: &BTreeMap<u32, (u32, String)>, top: u32) -> Vec<u32> {
        let mut found = vec![top];
        let mut at = 0;
        while let Some(&parent) = found.get(at) {
            let children = all.iter().filter(|(_, (of, _))| *of == parent);
            found.extend(children.map(|(id, _)| *id));
            at += 1;
        }
        found
    }

    /// A Spark worker below `top` with a step of a field that runs.
    pub(crate) fn worker_with_a_step(top: u32) -> Option<u32> {
        let all = all();
        let is = |id: &u32, what: &str| all.get(id).is_some_and(|(_, line)| line.contains(what));
        let workers = below(&all, top);
        let mut workers = workers.iter().filter(|id| is(id, "deploy.worker.Worker"));
        workers
            .find(|worker| {
                let steps = below(&all, **worker);
                steps.iter().any(|id| is(id, "checkstrip-season field "))
            })
            .copied()
    }

    /// Kills a process and all below it, and says how many these were.
    pub(crate) fn kill_with_children(top: u32) -> usize {
        let killed = below(&all(), top);
        let ids = killed.iter().map(ToString::to_string);
        let _ = Command::new("kill").arg("-9").args(ids).status();
        killed.len()
    }
}
