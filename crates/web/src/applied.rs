//! Strips outlined from logs of what was done on the field, so that nobody draws what a machine logged.

use crate::page::{Page, work};
use crate::refusal::{Body, Refusal};
use axum::Json;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use checkstrip_job::{AppliedOutline, OutlineBy};
use serde::Deserialize;
use serde_json::{Value, json};
use std::sync::Arc;

/// `GET api/applied/ID`.
pub(crate) async fn passes(
    State(page): State<Arc<Page>>,
    Path(id): Path<String>,
) -> Result<Json<Value>, Refusal> {
    work(move || {
        let passes = page.field.applied_passes(&id);
        let passes = passes.ok_or_else(Refusal::nothing_here)?;
        Ok(Json(json!({ "passes": passes })))
    })
    .await
}

/// What tells treatments apart.
#[derive(Debug, Clone, Copy, Deserialize)]
#[serde(rename_all = "snake_case")]
enum By {
    Product,
    Rate,
    Treatment,
}

/// What is to be outlined.
#[derive(Debug, Deserialize)]
pub(crate) struct Wanted {
    applied: String,
    passes: Option<Vec<u32>>,
    by: By,
    name: Option<String>,
}

/// `POST api/outline`.
pub(crate) async fn outline(
    State(page): State<Arc<Page>>,
    Body(wanted): Body<Wanted>,
) -> Result<Json<AppliedOutline>, Refusal> {
    let name = wanted.name.map(|name| name.trim().to_owned());
    let by = match (wanted.by, name.filter(|name| !name.is_empty())) {
        (By::Product, _) => OutlineBy::Product,
        (By::Rate, _) => OutlineBy::Rate,
        (By::Treatment, Some(name)) => OutlineBy::Treatment(name),
        (By::Treatment, None) => {
            return Err(Refusal::new(
                StatusCode::UNPROCESSABLE_ENTITY,
                "the treatment has no name",
            )
            .hint("write what was done on the passes chosen"));
        }
    };
    work(move || {
        let passes = wanted.passes.as_deref();
        let outlined = page.field.outline_applied(&wanted.applied, passes, by)?;
        Ok(Json(outlined.ok_or_else(Refusal::nothing_here)?))
    })
    .await
}
