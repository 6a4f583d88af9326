//! Things outside the project that some tests compare with, each of which may be absent: the open
//! corn log, the generator of synthetic fields, and Python with the libraries of
//! `tests/requirements.txt`. A test that misses one says so aloud and ends.

use crate::Folder;
use crate::binary::workspace;
use serde_json::Value;
use std::ffi::OsStr;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::Command;

/// Says that the running test is skipped, past the test runner, which would hide it.
pub fn skipped(why: &str) {
    let test = std::thread::current().name().unwrap_or("a test").to_owned();
    // One write, so that tests side by side do not mix their lines. A message nobody can read is no
    // reason to fail.
    let line = format!("\nSKIPPED: {test}: {why}\n");
    let _ = std::io::stderr().write_all(line.as_bytes());
}

/// A folder from `variable` or, when that is unset, beside the workspace; it must hold `proof`.
fn place(variable: &str, usual: &str, proof: &str) -> Option<PathBuf> {
    let found = std::env::var_os(variable).map_or_else(|| workspace().join(usual), PathBuf::from);
    let found = workspace().join(found);
    if found.join(proof).is_file() {
        return Some(found);
    }
    skipped(&format!(
        "{proof} is not here; {variable} says where it lies"
    ));
    None
}

/// The folder of the open corn log; `None`, said aloud, when it is not here.
pub fn open_data() -> Option<PathBuf> {
    place(
        "CHECKSTRIP_OPEN_DATA",
        "../shared/data/open",
        "corn_log_raw.tsv",
    )
}

/// Python with the pinned libraries; `None`, said aloud, when `CHECKSTRIP_PYTHON` is unset.
pub fn python() -> Option<PathBuf> {
    let python = std::env::var_os("CHECKSTRIP_PYTHON");
    if python.is_none() {
        skipped("CHECKSTRIP_PYTHON is unset: no Python with tests/requirements.txt");
    }
    python.map(PathBuf::from)
}

/// Node and a Chromium for the page's own tests, whose packages must be there; `None`, said aloud, when
/// something is not.
pub fn browser() -> Option<(PathBuf, PathBuf)> {
    let Some(chromium) = std::env::var_os("CHECKSTRIP_CHROMIUM") else {
        skipped("CHECKSTRIP_CHROMIUM is unset: no browser to try the page in");
        return None;
    };
    let page = workspace().join("crates/web/page");
    if !page.join("node_modules/playwright-core").is_dir() {
        skipped("the page's packages are not here: run npm ci in crates/web/page");
        return None;
    }
    Some((page, chromium.into()))
}

/// Runs a script of `tests/oracles` and returns the JSON it prints.
#[track_caller]
pub fn oracle<S: AsRef<OsStr>>(
    python: &Path,
    script: &str,
    arguments: impl IntoIterator<Item = S>,
) -> Value {
    let script = oracle_script(script);
    let text = run(python, &script, arguments);
    serde_json::from_str(&text).unwrap_or_else(|e| panic!("{}: {e}\n{text}", script.display()))
}

/// Where a script of `tests/oracles` lies.
pub(crate) fn oracle_script(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("oracles")
        .join(name)
}

#[track_caller]
fn run<S: AsRef<OsStr>>(
    python: &Path,
    script: &Path,
    arguments: impl IntoIterator<Item = S>,
) -> String {
    let mut command = Command::new(python);
    command
        .arg(script)
        .args(arguments)
        .env("PYTHONDONTWRITEBYTECODE", "1");
    let ran = command.output().expect("Python starts");
    assert!(
        ran.status.success(),
        "{}:\n{}",
        script.display(),
        String::from_utf8_lossy(&ran.stderr)
    );
    String::from_utf8(ran.stdout).expect("UTF-8")
}

/// The generator's folder and Python; `None`, said aloud, when one of them is not here.
pub fn peer() -> Option<(PathBuf, PathBuf)> {
    let peer = place("CHECKSTRIP_PEER", "../shared/peer", "gen_field.py")?;
    Some((peer, python()?))
}

/// A synthetic field of the outside generator, in a throwaway folder with `log.csv`,
/// `strips.geojson`, `truth.json` and `truth_points.parquet`; with the Python that made it. `None`,
/// said aloud, when the generator or Python is not here.
pub fn peer_field(options: &[&str]) -> Option<(Folder, PathBuf)> {
    let (peer, python) = peer()?;
    let folder = Folder::new();
    let out = folder.path().display().to_string();
    let arguments = options.iter().copied().chain(["--out", &out]);
    run(&python, &peer.join("gen_field.py"), arguments);
    Some((folder, python))
}

/// Runs the outside script on a field made by [`peer_field`]; what it keeps lies in `baseline/`.
#[track_caller]
pub fn peer_baseline(field: &Folder, python: &Path, options: &[&str]) {
    let peer = place("CHECKSTRIP_PEER", "../shared/peer", "baseline.py");
    let peer = peer.expect("the script lies beside the generator");
    let paths = ["log.csv", "strips.geojson", "baseline"];
    let [log, strips, out] = paths.map(|name| field.join(name).into_os_string());
    let options = options.iter().map(|option| (*option).into());
    let arguments = [log, strips, "--out".into(), out]
        .into_iter()
        .chain(options);
    run(python, &peer.join("baseline.py"), arguments);
}
