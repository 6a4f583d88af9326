//! Pictures and lines that lie under the map.

use crate::page::{NamedBackground, Page};
use crate::refusal::Refusal;
use axum::Json;
use axum::extract::{Path, State};
use axum::http::header::CONTENT_TYPE;
use axum::response::{IntoResponse, Response};
use checkstrip_formats::Background;
use serde_json::{Value, json};
use std::sync::Arc;

/// What backgrounds there are, as the page lists them; they are called by their numbers from 1.
pub(crate) fn listed(backgrounds: &[NamedBackground]) -> Vec<Value> {
    let numbered = backgrounds.iter().enumerate();
    numbered
        .map(|(at, background)| {
            let (kind, extent) = match &background.content {
                Background::Image { extent, .. } => ("image", Some(extent)),
                Background::Lines(_) => ("lines", None),
            };
            json!({
                "id": (at + 1).to_string(),
                "title": background.title,
                "kind": kind,
                "extent": extent,
            })
        })
        .collect()
}

/// `GET api/background/ID`.
pub(crate) async fn background(
    State(page): State<Arc<Page>>,
    Path(id): Path<usize>,
) -> Result<Response, Refusal> {
    let found = id.checked_sub(1).and_then(|at| page.backgrounds.get(at));
    let background = found.ok_or_else(Refusal::nothing_here)?;
    Ok(match &background.content {
        Background::Image { png, .. } => {
            ([(CONTENT_TYPE, "image/png")], png.clone()).into_response()
        }
        Background::Lines(lines) => Json(json!({ "lines": lines })).into_response(),
    })
}
