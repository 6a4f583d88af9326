//! A bucket of an S3 server on this machine, filled and emptied by an outside library.

use crate::Folder;
use crate::outside::oracle_script;
use serde_json::Value;
use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Child, ChildStdout, Command, Stdio};

/// The bucket `farm`; its server ends when it is dropped.
#[derive(Debug)]
pub struct Bucket {
    server: Child,
    said: BufReader<ChildStdout>,
    endpoint: String,
}

impl Bucket {
    /// Starts the server and puts every file of `folder` into the bucket.
    ///
    /// # Panics
    /// When it does not start.
    pub fn of(python: &Path, folder: &Folder) -> Bucket {
        let mut server = Command::new(python)
            .arg(oracle_script("bucket.py"))
            .arg(folder.path())
            .env("PYTHONDONTWRITEBYTECODE", "1")
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .expect("Python starts");
        let mut said = BufReader::new(server.stdout.take().expect("it is piped"));
        let begun: Value = serde_json::from_str(&line(&mut said)).expect("an endpoint");
        let endpoint = begun["endpoint"].as_str().expect("a text").to_owned();
        Bucket {
            server,
            said,
            endpoint,
        }
    }

    /// The variables that lead a program to it.
    pub fn variables(&self) -> [(&'static str, &str); 5] {
        [
            ("AWS_ENDPOINT_URL", &self.endpoint),
            ("AWS_ALLOW_HTTP", "true"),
            ("AWS_REGION", "us-east-1"),
            ("AWS_ACCESS_KEY_ID", "invented"),
            ("AWS_SECRET_ACCESS_KEY", "invented"),
        ]
    }

    /// Everything that is in it now.
    ///
    /// # Panics
    /// When the server does not answer.
    pub fn emptied(&mut self) -> Folder {
        let folder = Folder::new();
        let input = self.server.stdin.as_mut().expect("it is piped");
        writeln!(input, "{}", folder.path().display()).expect("it reads");
        let _ = line(&mut self.said);
        folder
    }
}

impl Drop for Bucket {
    fn drop(&mut self) {
        let _ = self.server.kill();
        let _ = self.server.wait();
    }
}

fn line(said: &mut impl BufRead) -> String {
    let mut line = String::new();
    said.read_line(&mut line).expect("it answers");
    line
}
