//! Strips written to the trial's own file. Nothing is written over that the page did not know of.

use crate::compare::{Drawing, base, refused};
use crate::moment::Moment;
use crate::page::{Page, lock, work};
use crate::refusal::{Body, Refusal};
use crate::trial::strips_of;
use axum::Json;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use checkstrip_job::{DrawingVersion, save_choice};
use serde_json::json;
use std::path::PathBuf;
use std::sync::Arc;

/// `POST api/save`.
pub(crate) async fn save(
    State(page): State<Arc<Page>>,
    Body(drawing): Body<Drawing>,
) -> Result<Response, Refusal> {
    work(move || {
        let _one_at_a_time = lock(&page.writing);
        let wanted = drawing.base_revision.clone().unwrap_or_default();
        let on_disk = page.on_disk()?;
        if on_disk.file().revision() != wanted {
            return Err(conflict(&page, &on_disk));
        }
        let problems = page.field.outline_problems(&drawing.strips);
        if !problems.is_empty() {
            return Ok(refused(&problems));
        }
        let version = base(&page, Some(&wanted))?;
        let now = Moment::now();
        let file = version.with(&drawing.strips, page.field.plane(), &now.iso)?;
        let before = page.saved_choice();
        let choice = drawing.choice.over(before.clone())?;
        let trial = PathBuf::from(&page.field.setup().trial_file);
        let trial_kept = save_choice(&trial, &before, &choice, &now.in_names)?;
        page.remember_choice(choice);
        let kept = file.save(&now.in_names)?;
        let written = Arc::new(DrawingVersion::new(file, page.field.plane())?);
        let answer = json!({
            "revision": written.file().revision(),
            "file": written.file().given().display().to_string(),
            "kept_as": kept.map(|path| path.display().to_string()),
            "trial_kept_as": trial_kept.map(|path| path.display().to_string()),
            "strips": strips_of(&page, &written),
        });
        page.remember(written);
        Ok(Json(answer).into_response())
    })
    .await
}

/// The strips on disk are others than those that the page drew over.
pub(crate) fn conflict(page: &Page, on_disk: &DrawingVersion) -> Refusal {
    Refusal::new(
        StatusCode::CONFLICT,
        "the file of strips was changed by another page or program since this page read it",
    )
    .hint("compare both versions on the map, then save yours over it or take the one on disk")
    .with("revision", on_disk.file().revision())
    .with("strips", strips_of(page, on_disk))
}
