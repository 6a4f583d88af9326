//! `checkstrip draw` under test: the real binary serves a field of a throwaway folder, and requests go over
//! its socket, byte for byte as a browser, or somebody with bad intentions, would send them.

use crate::Folder;
use serde_json::{Value, json};
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::process::{Child, Stdio};

/// A page that is served until it is dropped.
#[derive(Debug)]
pub struct DrawingPage {
    program: Child,
    /// Such as `127.0.0.1:40123`.
    pub host: String,
    /// What stands between the host and what is asked for: `/TOKEN/`.
    pub token_path: String,
}

/// What came back.
#[derive(Debug)]
pub struct Answer {
    /// The status.
    pub status: u16,
    /// The headers, names in lower case.
    pub headers: Vec<(String, String)>,
    /// The body.
    pub body: Vec<u8>,
}

impl Answer {
    /// The body as JSON.
    #[track_caller]
    pub fn json(&self) -> Value {
        let text = String::from_utf8_lossy(&self.body);
        serde_json::from_str(&text).unwrap_or_else(|e| panic!("{e}: {text}"))
    }

    /// The body as JSON of an answer with that status.
    #[track_caller]
    pub fn with_status(&self, status: u16) -> Value {
        assert_eq!(
            self.status,
            status,
            "{}",
            String::from_utf8_lossy(&self.body)
        );
        self.json()
    }

    /// A header.
    pub fn header(&self, name: &str) -> Option<&str> {
        let found = self.headers.iter().find(|(known, _)| known == name);
        found.map(|(_, value)| value.as_str())
    }
}

impl DrawingPage {
    /// Serves the trial `trial.toml` in `folder`, with further options.
    #[track_caller]
    pub fn serve(folder: &Folder, options: &[&str]) -> DrawingPage {
        let arguments = ["draw", "trial.toml", "--no-browser", "--json"];
        let mut program = folder
            .command(arguments.iter().chain(options))
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("checkstrip starts");
        let out = program.stdout.take().expect("it has an output");
        // The first object is all that is printed while it serves.
        let mut text = String::new();
        for line in BufReader::new(out).lines() {
            let line = line.expect("text");
            text.push_str(&line);
            if line == "}" {
                break;
            }
        }
        let printed: Value = serde_json::from_str(&text).unwrap_or_else(|e| panic!("{e}: {text}"));
        let address = printed["address"].as_str().expect("an address");
        let rest = address.strip_prefix("http://").expect("an http address");
        let (host, path) = rest.split_once('/').expect("a token");
        DrawingPage {
            program,
            host: host.to_owned(),
            token_path: format!("/{path}"),
        }
    }

    /// Sends a whole request and reads the answer.
    #[track_caller]
    pub fn send(&self, request: &[u8]) -> Answer {
        let mut stream = TcpStream::connect(&self.host).expect("the page listens");
        // A refusal may come before all is sent.
        let _ = stream.write_all(request);
        let mut bytes = Vec::new();
        let _ = stream.read_to_end(&mut bytes);
        let end = bytes
            .windows(4)
            .position(|four| four == b"\r\n\r\n")
            .unwrap_or_else(|| panic!("no answer: {}", String::from_utf8_lossy(&bytes)));
        let head = String::from_utf8_lossy(&bytes[..end]).into_owned();
        let mut lines = head.lines();
        let status = lines.next().and_then(|line| line.split(' ').nth(1));
        let headers = lines.filter_map(|line| line.split_once(": "));
        Answer {
            status: status.and_then(|s| s.parse().ok()).expect("a status"),
            headers: headers
                .map(|(name, value)| (name.to_lowercase(), value.to_owned()))
                .collect(),
            body: bytes[end + 4..].to_vec(),
        }
    }

    /// A request of `method` for `path`, with headers beside its length and end.
    #[track_caller]
    pub fn ask(&self, method: &str, path: &str, headers: &[(&str, &str)], body: &str) -> Answer {
        let mut request = format!("{method} {path} HTTP/1.1\r\n");
        for (name, value) in headers {
            request.push_str(&format!("{name}: {value}\r\n"));
        }
        request.push_str(&format!(
            "Content-Length: {}\r\nConnection: close\r\n\r\n{body}",
            body.len()
        ));
        self.send(request.as_bytes())
    }

    /// What lies at `path` behind the token.
    #[track_caller]
    pub fn get(&self, path: &str) -> Answer {
        let path = format!("{}{path}", self.token_path);
        self.ask("GET", &path, &[("Host", &self.host)], "")
    }

    /// Posts JSON to `path` behind the token, as the page does.
    #[track_caller]
    pub fn post(&self, path: &str, body: &Value) -> Answer {
        let path = format!("{}{path}", self.token_path);
        let origin = format!("http://{}", self.host);
        let headers = [
            ("Host", self.host.as_str()),
            ("Origin", &origin),
            ("Content-Type", "application/json"),
        ];
        self.ask("POST", &path, &headers, &body.to_string())
    }

    /// What the page is told first.
    #[track_caller]
    pub fn trial(&self) -> Value {
        self.get("api/trial").with_status(200)
    }

    /// Saves `strips` over the version `revision`.
    #[track_caller]
    pub fn save(&self, strips: &Value, revision: &Value) -> Answer {
        self.post(
            "api/save",
            &json!({ "strips": strips, "base_revision": revision }),
        )
    }

    /// Asks the program to end, as Ctrl-C does, and waits until it has; its exit status.
    #[cfg(unix)]
    pub fn interrupt(mut self) -> Option<i32> {
        let id = self.program.id().to_string();
        let sent = std::process::Command::new("kill")
            .args(["-INT", &id])
            .status();
        assert!(sent.expect("kill is there").success());
        self.program.wait().expect("it ends").code()
    }
}

impl Drop for DrawingPage {
    fn drop(&mut self) {
        let _ = self.program.kill();
        let _ = self.program.wait();
    }
}
