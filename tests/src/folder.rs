//! A throwaway folder that files are put in and the binary runs in.

use crate::binary::{Run, binary};
use serde_json::Value;
use std::ffi::OsStr;
use std::path::{Path, PathBuf};
use std::process::Command;
use tempfile::TempDir;

/// A folder that is gone when the test is over.
#[derive(Debug)]
pub struct Folder(TempDir);

impl Default for Folder {
    fn default() -> Folder {
        Folder(tempfile::tempdir().expect("a throwaway folder"))
    }
}

impl Folder {
    /// A new, empty one.
    pub fn new() -> Folder {
        Folder::default()
    }

    /// Where it is.
    pub fn path(&self) -> &Path {
        self.0.path()
    }

    /// The path of `name` in it.
    pub fn join(&self, name: &str) -> PathBuf {
        self.path().join(name)
    }

    /// Puts a file there, with the folders it lies in.
    #[track_caller]
    pub fn put(&self, name: &str, content: impl AsRef<[u8]>) {
        let path = self.join(name);
        std::fs::create_dir_all(path.parent().expect("a file lies in a folder")).expect("folder");
        std::fs::write(path, content).expect("write");
    }

    /// The text of a file.
    #[track_caller]
    pub fn text(&self, name: &str) -> String {
        std::fs::read_to_string(self.join(name)).unwrap_or_else(|e| panic!("{name}: {e}"))
    }

    /// A file as JSON.
    #[track_caller]
    pub fn json(&self, name: &str) -> Value {
        serde_json::from_str(&self.text(name)).unwrap_or_else(|e| panic!("{name}: {e}"))
    }

    /// The binary, about to run here with `arguments`.
    pub fn command<S: AsRef<OsStr>>(&self, arguments: impl IntoIterator<Item = S>) -> Command {
        let mut command = Command::new(binary());
        command.current_dir(self.path()).args(arguments);
        command
    }

    /// Runs the binary here to its end.
    pub fn run<S: AsRef<OsStr>>(&self, arguments: impl IntoIterator<Item = S>) -> Run {
        Run::of(self.command(arguments).output().expect("checkstrip starts"))
    }

    /// `text` without the name of this folder, for snapshots.
    pub fn redacted(&self, text: &str) -> String {
        text.replace(&self.path().display().to_string(), "[FOLDER]")
    }

    /// Every file below the folder `name`, relative to it and sorted; none when it is absent.
    pub fn files_in(&self, name: &str) -> Vec<String> {
        fn walk(dir: &Path, base: &Path, found: &mut Vec<String>) {
            let Ok(entries) = std::fs::read_dir(dir) else {
                return;
            };
            for entry in entries {
                let path = entry.expect("an entry").path();
                if path.is_dir() {
                    walk(&path, base, found);
                } else {
                    let inside = path.strip_prefix(base).expect("below");
                    found.push(inside.display().to_string());
                }
            }
        }
        let base = self.join(name);
        let mut found = Vec::new();
        walk(&base, &base, &mut found);
        found.sort();
        found
    }
}

fn fixture_path(name: &str) -> PathBuf {
    crate::binary::workspace().join("fixtures").join(name)
}

/// The text of a committed file below `fixtures/`.
#[track_caller]
pub fn fixture(name: &str) -> String {
    std::fs::read_to_string(fixture_path(name)).unwrap_or_else(|e| panic!("fixtures/{name}: {e}"))
}

/// Writes a file below `fixtures/`, when a test is told to.
#[track_caller]
pub fn write_fixture(name: &str, content: &str) {
    let path = fixture_path(name);
    std::fs::create_dir_all(path.parent().expect("a file lies in a folder")).expect("folder");
    std::fs::write(path, content).expect("write");
}
