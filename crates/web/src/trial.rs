//! What the page is told of the field when it opens.

use crate::background::listed;
use crate::page::{Page, work};
use crate::refusal::Refusal;
use crate::settings;
use axum::Json;
use axum::extract::State;
use checkstrip_job::DrawingVersion;
use checkstrip_model::Status;
use checkstrip_model::results::Field;
use checkstrip_trial::COST_FIELDS;
use serde_json::{Value, json};
use std::sync::Arc;

/// `GET api/trial`.
pub(crate) async fn trial(State(page): State<Arc<Page>>) -> Result<Json<Value>, Refusal> {
    work(move || {
        let version = page.on_disk()?;
        Ok(Json(told(&page, &version)?))
    })
    .await
}

fn told(page: &Page, version: &DrawingVersion) -> Result<Value, Refusal> {
    let field = &page.field;
    let setup = field.setup();
    let crop = &setup.log.crop;
    let outcome = &field.first().outcome;
    let saved = page.saved_choice();
    let statuses: Vec<Value> = std::iter::once(&Status::Kept)
        .chain(Status::REASONS)
        .map(|status| json!({ "key": status.key(), "title": checkstrip_words::Words::english().status(*status) }))
        .collect();
    let (cleaning, _) = field.cleaned(&saved.recipe)?;
    Ok(json!({
        "field": Field::new(&setup.name, crop),
        "crop": crop,
        "units": page.units,
        "tool": { "name": "checkstrip", "version": env!("CARGO_PKG_VERSION") },
        "north_up": true,
        "extent": field.extent(),
        "direction_deg": field.direction_deg(),
        "header_width_m": field.header_width_m(),
        "records": outcome.log.len(),
        "machines": outcome.machines,
        "passes": field.passes(),
        "quantities": field.quantities(),
        "statuses": statuses,
        "settings": settings::shown(&saved.recipe, crop),
        "cleaning": cleaning,
        "strips": strips_of(page, version),
        "backgrounds": listed(&page.backgrounds),
        "applied": field.applied(),
        "money": saved.money,
        "money_fields": COST_FIELDS,
        "out": page.out.display().to_string(),
    }))
}

/// The strips of a version of their file, with what the trial file says of them.
pub(crate) fn strips_of(page: &Page, version: &DrawingVersion) -> Value {
    let saved = page.saved_choice();
    let strips = version.strips();
    let priced = saved.money.iter().flat_map(|money| money.treatments.keys());
    let mut treatments: Vec<&str> = Vec::new();
    let named = strips.iter().map(|strip| &strip.treatment);
    for name in named.chain(&saved.check).chain(priced) {
        if !treatments.contains(&name.as_str()) {
            treatments.push(name);
        }
    }
    json!({
        "file": version.file().given().display().to_string(),
        "format": version.file().format(),
        "revision": version.file().revision(),
        "check": saved.check,
        "inset_m": saved.inset_m,
        "treatments": treatments,
        "strips": strips,
    })
}
