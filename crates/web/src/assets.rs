//! The page itself, embedded in the program: no file of it is read while it is served.

use crate::page::Page;
use crate::refusal::Refusal;
use axum::extract::{Path, State};
use axum::http::header::CONTENT_TYPE;
use axum::response::{IntoResponse, Redirect, Response};
use std::sync::Arc;

const INDEX: &[u8] = include_bytes!("../assets/index.html");

/// Name, type and content of what lies beside the page.
const BESIDE: &[(&str, &str, &[u8])] = &[
    (
        "page.js",
        "text/javascript; charset=utf-8",
        include_bytes!("../assets/page.js"),
    ),
    (
        "page.css",
        "text/css; charset=utf-8",
        include_bytes!("../assets/page.css"),
    ),
    (
        "favicon.svg",
        "image/svg+xml",
        include_bytes!("../assets/favicon.svg"),
    ),
];

/// The page.
pub(crate) async fn index() -> Response {
    ([(CONTENT_TYPE, "text/html; charset=utf-8")], INDEX).into_response()
}

/// An address without its last slash.
pub(crate) async fn to_the_page(State(page): State<Arc<Page>>) -> Redirect {
    Redirect::to(&format!("/{}/", page.address.token().as_str()))
}

/// What lies beside the page.
pub(crate) async fn asset(Path(name): Path<String>) -> Result<Response, Refusal> {
    let found = BESIDE.iter().find(|(known, _, _)| *known == name);
    let (_, kind, content) = found.ok_or_else(Refusal::nothing_here)?;
    Ok(([(CONTENT_TYPE, *kind)], *content).into_response())
}
