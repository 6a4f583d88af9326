//! The programs under test: built by cargo when the first test asks for it, so that no test can meet
//! a stale one, with the profile that the tests themselves were built with.

use serde_json::Value;
use std::ffi::OsStr;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::sync::OnceLock;

/// Path of the `checkstrip` binary, as cargo names it after building it.
pub fn binary() -> &'static Path {
    static BINARY: OnceLock<PathBuf> = OnceLock::new();
    BINARY.get_or_init(|| build("checkstrip"))
}

/// Path of the `checkstrip-season` binary, likewise.
pub fn season_binary() -> &'static Path {
    static BINARY: OnceLock<PathBuf> = OnceLock::new();
    BINARY.get_or_init(|| build("checkstrip-season"))
}

/// The folder of the workspace.
pub fn workspace() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .parent()
        .expect("the tests lie in the workspace")
        .to_owned()
}

// For the whole workspace, as its tests are built: with fewer features the dependencies would be built again.
fn build(name: &str) -> PathBuf {
    let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let mut command = Command::new(cargo);
    command
        .current_dir(workspace())
        .args(["build", "--workspace", "--bin", name])
        .args(["--message-format", "json-render-diagnostics", "--quiet"])
        .args(["--profile", &profile()])
        .stderr(Stdio::inherit());
    let built = command.output().expect("cargo could not be started");
    assert!(built.status.success(), "{name} does not build");
    String::from_utf8_lossy(&built.stdout)
        .lines()
        .filter_map(|line| serde_json::from_str::<Value>(line).ok())
        .filter(|message| message["target"]["name"] == name)
        .find_map(|message| message["executable"].as_str().map(PathBuf::from))
        .expect("cargo named no binary")
}

/// The profile this test was built with, from the folder it runs in: `…/PROFILE/deps/test`.
fn profile() -> String {
    let test = std::env::current_exe().expect("a running test has a path");
    let folder = test
        .parent()
        .and_then(Path::parent)
        .and_then(Path::file_name);
    match folder.and_then(OsStr::to_str) {
        Some("debug") | None => "dev".into(),
        Some(profile) => profile.into(),
    }
}

/// A finished run of the binary.
#[derive(Debug)]
pub struct Run {
    /// Exit status; `None` when a signal ended it.
    pub status: Option<i32>,
    /// Standard output.
    pub stdout: String,
    /// Standard error.
    pub stderr: String,
}

impl Run {
    pub(crate) fn of(output: Output) -> Run {
        let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("output is UTF-8");
        Run {
            status: output.status.code(),
            stdout: text(output.stdout),
            stderr: text(output.stderr),
        }
    }

    /// The run, which must have ended with `status` and without a panic.
    #[track_caller]
    #[must_use]
    pub fn ended(self, status: i32) -> Run {
        assert!(
            !self.stderr.contains("panicked") && !self.stdout.contains("panicked"),
            "panicked:\n{}",
            self.stderr
        );
        assert_eq!(
            self.status,
            Some(status),
            "exit status\n{}\n{}",
            self.stdout,
            self.stderr
        );
        self
    }

    /// Standard output as JSON.
    #[track_caller]
    pub fn json(&self) -> Value {
        serde_json::from_str(&self.stdout)
            .unwrap_or_else(|error| panic!("no JSON: {error}\n{}", self.stdout))
    }
}
