//! The router without a socket: what a request is answered whatever carries it.

use axum::body::{Body, to_bytes};
use axum::http::{Request, StatusCode};
use checkstrip_job::read_trial_file;
use checkstrip_model::units::UnitSystem;
use checkstrip_web::{Address, Page, PageSetup, Token, app};
use serde_json::{Value, json};
use std::sync::Arc;
use tempfile::TempDir;
use tower::ServiceExt;

const HOST: &str = "127.0.0.1:4000";

/// The invented farm's page, and its path behind the host.
fn page() -> (TempDir, Arc<Page>, String) {
    let folder = tempfile::tempdir().expect("a folder");
    let season = checkstrip_invented::write_season(folder.path()).expect("a season");
    let setup = PageSetup {
        trial: read_trial_file(&season.trial).expect("a trial"),
        applied: Vec::new(),
        backgrounds: Vec::new(),
        out: folder.path().join("out"),
        units: UnitSystem::Farm,
        words: Default::default(),
    };
    let token = Token::new().expect("a token");
    let path = format!("/{}/", token.as_str());
    let address = Address::new(HOST.parse().expect("an address"), token);
    let page = Page::open(setup, address, &|_| {}).expect("a page");
    (folder, Arc::new(page), path)
}

async fn ask(page: &Arc<Page>, request: Request<Body>) -> (StatusCode, Value) {
    let answer = app(page.clone()).oneshot(request).await.expect("an answer");
    let status = answer.status();
    let body = to_bytes(answer.into_body(), usize::MAX)
        .await
        .expect("a body");
    (status, serde_json::from_slice(&body).unwrap_or(Value::Null))
}

fn get(path: &str) -> Request<Body> {
    let request = Request::get(path).header("host", HOST);
    request.body(Body::empty()).expect("a request")
}

fn post(path: &str, body: &Value) -> Request<Body> {
    let request = Request::post(path)
        .header("host", HOST)
        .header("content-type", "application/json");
    request
        .body(Body::from(body.to_string()))
        .expect("a request")
}

fn run(test: impl Future<Output = ()>) {
    let runtime = tokio::runtime::Builder::new_multi_thread().build();
    runtime.expect("a runtime").block_on(test);
}

#[test]
fn a_newer_request_of_a_page_makes_its_older_ones_superfluous() {
    let (_folder, page, path) = page();
    run(async {
        let (_, trial) = ask(&page, get(&format!("{path}api/trial"))).await;
        let strips = &trial["strips"]["strips"];
        let compare = |name: &str| {
            let body = json!({ "strips": strips, "page": name });
            ask(&page, post(&format!("{path}api/compare"), &body))
        };
        // All of a page's requests come before the first of them is done.
        let (a, b, c, other) = tokio::join!(
            compare("one"),
            compare("one"),
            compare("one"),
            compare("two")
        );
        let given_up = [&a, &b, &c]
            .iter()
            .filter(|(_, v)| v["superseded"] == true)
            .count();
        assert!(given_up >= 1, "{given_up}");
        assert_eq!(c.1["superseded"], Value::Null);
        assert!(c.1["results"]["comparisons"].is_array());
        assert!(other.1["results"]["comparisons"].is_array());
        // A page without a name has each request answered.
        let (_, unnamed) = compare("").await;
        assert!(unnamed["results"].is_object());
    });
}

#[test]
fn requests_that_name_another_host_or_no_token() {
    let (_folder, page, path) = page();
    run(async {
        let (status, _) = ask(&page, get(&path)).await;
        assert_eq!(status, StatusCode::OK);
        let (status, said) = ask(&page, get("/api/trial")).await;
        assert_eq!(
            (status, said["message"].as_str()),
            (StatusCode::NOT_FOUND, Some("there is nothing here"))
        );
        let request = Request::get(&path).header("host", "farm.example:4000");
        let (status, _) = ask(&page, request.body(Body::empty()).expect("a request")).await;
        assert_eq!(status, StatusCode::FORBIDDEN);
    });
}
