//! The records of the field, column by column, as bytes that a page draws from without parsing them.

use crate::page::{Page, work};
use crate::refusal::Refusal;
use axum::Json;
use axum::extract::{Path, Query, State};
use axum::http::header::CONTENT_TYPE;
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use serde_json::{Value, json};
use std::sync::Arc;

/// Which cleaning of the log is asked for.
#[derive(Debug, Deserialize)]
pub(crate) struct Wanted {
    #[serde(default)]
    cleaning: usize,
}

/// `GET api/records/KEY?cleaning=N`.
pub(crate) async fn records(
    State(page): State<Arc<Page>>,
    Path(key): Path<String>,
    Query(wanted): Query<Wanted>,
) -> Result<Response, Refusal> {
    work(move || {
        let cleaned = page.field.cleaning(wanted.cleaning)?;
        let cleaned = cleaned.ok_or_else(Refusal::nothing_here)?;
        let column = page.field.records(&key, &cleaned);
        let bytes = column.ok_or_else(Refusal::nothing_here)?.bytes();
        Ok(([(CONTENT_TYPE, "application/octet-stream")], bytes).into_response())
    })
    .await
}

/// `GET api/edges`.
pub(crate) async fn edges(State(page): State<Arc<Page>>) -> Result<Json<Value>, Refusal> {
    work(move || Ok(Json(json!({ "passes": page.field.pass_edges() })))).await
}
