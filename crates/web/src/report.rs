//! The report, written by the same code as `checkstrip compare`, of the strips as they lie on disk; and
//! what was written, read back for the browser.

use crate::guard::REPORT_POLICY;
use crate::page::{Page, lock, work};
use crate::refusal::{Body, Refusal};
use crate::save::conflict;
use crate::settings::Choice;
use axum::Json;
use axum::extract::{Path, State};
use axum::http::header::{CONTENT_SECURITY_POLICY, CONTENT_TYPE};
use axum::response::{IntoResponse, Response};
use checkstrip_job::{WantedFiles, write_comparison};
use checkstrip_model::units::UnitSystem;
use checkstrip_words::Reader;
use serde::Deserialize;
use serde_json::{Value, json};
use std::sync::Arc;

/// What a report is asked for with.
#[derive(Debug, Deserialize)]
pub(crate) struct Asked {
    base_revision: String,
    units: Option<UnitSystem>,
    #[serde(flatten)]
    choice: Choice,
}

/// `POST api/report`.
pub(crate) async fn report(
    State(page): State<Arc<Page>>,
    Body(asked): Body<Asked>,
) -> Result<Json<Value>, Refusal> {
    work(move || {
        let _one_at_a_time = lock(&page.writing);
        let on_disk = page.on_disk()?;
        if on_disk.file().revision() != asked.base_revision {
            return Err(conflict(&page, &on_disk));
        }
        let choice = asked.choice.over(page.saved_choice())?;
        let (cleaned, compared) = page.field.compare(on_disk.file().set(), &choice)?;
        let units = asked.units.unwrap_or(page.units);
        let reader = Reader::new(units, &page.words);
        let silent = |_: &str| {};
        let usual = WantedFiles::default();
        let _ = write_comparison(&cleaned, &compared, &page.out, &usual, reader, &silent)?;
        Ok(Json(json!({
            "report": format!("/{}/report/report.html", page.address.token().as_str()),
            "folder": page.out.display().to_string(),
            "results": compared.results,
        })))
    })
    .await
}

/// What a comparison writes that a browser shows, by its path in the folder of the report.
fn kind(path: &str) -> Option<&'static str> {
    let is_name = |name: &str| {
        !name.is_empty()
            && name
                .bytes()
                .all(|byte| byte.is_ascii_alphanumeric() || byte == b'_')
    };
    match path {
        "report.html" => Some("text/html; charset=utf-8"),
        "results.json" => Some("application/json"),
        "strips.csv" => Some("text/csv; charset=utf-8"),
        path => {
            let map = path.strip_prefix("maps/")?.strip_suffix(".png")?;
            is_name(map).then_some("image/png")
        }
    }
}

/// `GET report/…`.
pub(crate) async fn written(
    State(page): State<Arc<Page>>,
    Path(path): Path<String>,
) -> Result<Response, Refusal> {
    let kind = kind(&path).ok_or_else(Refusal::nothing_here)?;
    work(move || {
        let bytes = std::fs::read(page.out.join(&path)).map_err(|_| Refusal::nothing_here())?;
        let headers = [
            (CONTENT_TYPE, kind),
            (CONTENT_SECURITY_POLICY, REPORT_POLICY),
        ];
        Ok((headers, bytes).into_response())
    })
    .await
}

#[cfg(test)]
mod tests {
    use super::kind;

    #[test]
    fn only_what_a_comparison_writes_is_read() {
        for path in [
            "report.html",
            "results.json",
            "strips.csv",
            "maps/yield_after.png",
        ] {
            assert!(kind(path).is_some(), "{path}");
        }
        for path in [
            "../trial.toml",
            "maps/../../trial.png",
            "maps/.png",
            "/etc/passwd",
            "maps\\x.png",
            "cleaned.geojson",
            "",
        ] {
            assert!(kind(path).is_none(), "{path}");
        }
    }
}
