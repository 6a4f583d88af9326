//! Cleaning and comparison on each change. A newer request of a page makes its older ones superfluous:
//! those that wait are given up, so that edits never queue.

use crate::page::{Page, work};
use crate::refusal::{Body, Refusal};
use crate::settings::{self, Choice};
use axum::Json;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use checkstrip_job::{DrawingVersion, DrawnStrip, LiveAnswer, OutlineProblem};
use checkstrip_model::results::Results;
use checkstrip_model::units::UnitSystem;
use checkstrip_report::answer_in_words;
use checkstrip_words::Reader;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use std::sync::Arc;
use std::time::Instant;

/// Strips that somebody is drawing.
#[derive(Debug, Deserialize)]
pub(crate) struct Drawing {
    pub(crate) strips: Vec<DrawnStrip>,
    /// The version of the file that they are drawn over; absent: the newest.
    pub(crate) base_revision: Option<String>,
    /// A name that the page gave itself, so that its later requests are known as such.
    #[serde(default)]
    page: String,
    #[serde(flatten)]
    pub(crate) choice: Choice,
}

/// The version that a page drew over.
///
/// # Errors
/// When nothing is known of it any more.
pub(crate) fn base(page: &Page, revision: Option<&str>) -> Result<Arc<DrawingVersion>, Refusal> {
    page.version(revision).ok_or_else(|| {
        Refusal::new(
            StatusCode::CONFLICT,
            "the strips that this page rests on are not known any more",
        )
        .hint("note down what you changed, then reload the page")
    })
}

#[derive(Debug, Serialize)]
struct Answer<'a> {
    results: &'a Results,
    answer: InWords,
    cleaning: usize,
    took_ms: f64,
}

/// The answer in sentences.
#[derive(Debug, Serialize)]
struct InWords {
    farm: Vec<String>,
    si: Vec<String>,
}

/// `POST api/compare`.
pub(crate) async fn compare(
    State(page): State<Arc<Page>>,
    Body(drawing): Body<Drawing>,
) -> Result<Response, Refusal> {
    let number = page.ask(&drawing.page);
    let permit = page.comparing.clone().acquire_owned().await;
    let permit = permit.map_err(|error| Refusal::broken(&error))?;
    work(move || {
        let _until_done = permit;
        if !drawing.page.is_empty() && !page.is_last(&drawing.page, number) {
            return Ok(Json(json!({ "superseded": true })).into_response());
        }
        let started = Instant::now();
        let version = base(&page, drawing.base_revision.as_deref())?;
        let choice = drawing.choice.over(page.saved_choice())?;
        Ok(
            match page.field.answer(&version, &drawing.strips, &choice)? {
                LiveAnswer::Problems(problems) => refused(&problems),
                LiveAnswer::Compared { compared, cleaning } => {
                    let in_words = |units| {
                        let words = &page.words;
                        answer_in_words(&compared.results, Reader::new(units, words))
                    };
                    Json(Answer {
                        results: &compared.results,
                        answer: InWords {
                            farm: in_words(UnitSystem::Farm),
                            si: in_words(UnitSystem::Si),
                        },
                        cleaning,
                        took_ms: started.elapsed().as_secs_f64() * 1e3,
                    })
                    .into_response()
                }
            },
        )
    })
    .await
}

/// Strips that cannot be used.
pub(crate) fn refused(problems: &[OutlineProblem]) -> Response {
    let said = problems.first();
    let body = json!({
        "message": said.map_or("", |problem| &problem.message),
        "hint": said.map_or("", |problem| &problem.hint),
        "problems": problems,
    });
    (StatusCode::UNPROCESSABLE_ENTITY, Json(body)).into_response()
}

/// `POST api/check`.
pub(crate) async fn check(
    State(page): State<Arc<Page>>,
    Body(drawing): Body<Drawing>,
) -> Result<Json<Value>, Refusal> {
    work(move || {
        let version = base(&page, drawing.base_revision.as_deref())?;
        let problems = page.field.check(&version, &drawing.strips)?;
        Ok(Json(json!({ "problems": problems })))
    })
    .await
}

/// `POST api/clean`.
pub(crate) async fn clean(
    State(page): State<Arc<Page>>,
    Body(choice): Body<Choice>,
) -> Result<Json<Value>, Refusal> {
    let permit = page.comparing.clone().acquire_owned().await;
    let permit = permit.map_err(|error| Refusal::broken(&error))?;
    work(move || {
        let _until_done = permit;
        let choice = choice.over(page.saved_choice())?;
        let (number, cleaned) = page.field.cleaned(&choice.recipe)?;
        let mut answer =
            serde_json::to_value(cleaned.cleaning()?).map_err(|error| Refusal::broken(&error))?;
        answer["cleaning"] = number.into();
        answer["warnings"] = json!(cleaned.outcome.warnings);
        answer["shown"] = settings::shown(&choice.recipe, &cleaned.setup.crop).into();
        Ok(Json(answer))
    })
    .await
}
