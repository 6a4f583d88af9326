//! The local page: on it a grower sees the log over the field, draws and edits strips, and watches the
//! comparison change. This crate turns requests into calls of [`checkstrip_job`] and answers into JSON;
//! it computes nothing that a crate below could. The page itself is embedded, so that it works without a
//! network, and everything it asks for lies behind a random token on this machine's own address.
//!
//! [`Page::open`] reads the field, [`serve`] listens; [`app`] is all of it as a router, for tests without a
//! socket.
#![forbid(unsafe_code)]

mod address;
mod applied;
mod assets;
mod background;
mod compare;
mod guard;
mod moment;
mod page;
mod records;
mod refusal;
mod report;
mod save;
mod serve;
mod settings;
mod trial;

pub use address::{Address, Token};
pub use page::{OpenError, Page, PageSetup};
pub use serve::{ServeError, Served, serve};

use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::middleware::{from_fn, from_fn_with_state};
use axum::routing::{get, post};
use std::sync::Arc;

/// Largest body that is taken, bytes: a thousand strips of a hundred corners.
const LARGEST_BODY: usize = 8 << 20;

/// Everything that the page asks for, behind its token.
pub fn app(page: Arc<Page>) -> Router {
    let token = page.address.token().as_str().to_owned();
    let at = |path: &str| format!("/{token}/{path}");
    Router::new()
        .route(&format!("/{token}"), get(assets::to_the_page))
        .route(&at(""), get(assets::index))
        .route(&at("api/trial"), get(trial::trial))
        .route(&at("api/records/{key}"), get(records::records))
        .route(&at("api/edges"), get(records::edges))
        .route(&at("api/clean"), post(compare::clean))
        .route(&at("api/check"), post(compare::check))
        .route(&at("api/compare"), post(compare::compare))
        .route(&at("api/background/{id}"), get(background::background))
        .route(&at("api/applied/{id}"), get(applied::passes))
        .route(&at("api/outline"), post(applied::outline))
        .route(&at("api/save"), post(save::save))
        .route(&at("api/report"), post(report::report))
        .route(&at("report/{*path}"), get(report::written))
        .route(&at("{asset}"), get(assets::asset))
        .fallback(refusal::nothing_here)
        .layer(DefaultBodyLimit::max(LARGEST_BODY))
        .layer(from_fn(guard::protect_answers))
        .layer(from_fn_with_state(page.clone(), guard::admit))
        .with_state(page)
}
