//! Who is answered: requests that name this address and come from its own page or from nobody's, behind
//! the token. And what every answer says to a browser about what it may load.

use crate::page::Page;
use crate::refusal::Refusal;
use axum::extract::{Request, State};
use axum::http::header::{
    CACHE_CONTROL, CONTENT_SECURITY_POLICY, HOST, ORIGIN, REFERRER_POLICY, X_CONTENT_TYPE_OPTIONS,
    X_FRAME_OPTIONS,
};
use axum::http::{HeaderMap, HeaderName, HeaderValue, StatusCode};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use std::sync::Arc;

/// What the page may load: itself, and nothing from anywhere else.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; \
    img-src 'self' data: blob:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

/// The policy of a report, which carries its style and pictures in itself and runs nothing.
pub(crate) const REPORT_POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'; \
    img-src 'self' data:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'; sandbox";

/// Turns away whoever is not the page.
pub(crate) async fn admit(State(page): State<Arc<Page>>, request: Request, next: Next) -> Response {
    match check(&page, &request) {
        Ok(()) => next.run(request).await,
        Err(refusal) => {
            let mut answer = refusal.into_response();
            protect(answer.headers_mut());
            answer
        }
    }
}

fn check(page: &Page, request: &Request) -> Result<(), Refusal> {
    let refuse = |message: &str| {
        Err(Refusal::new(StatusCode::FORBIDDEN, message)
            .hint("open the address that checkstrip draw printed"))
    };
    let said = |name: HeaderName| {
        let mut values = request.headers().get_all(name).iter();
        let first = values.next().map(|value| value.to_str().unwrap_or(""));
        // Two of one header are no honest browser's.
        match values.next() {
            Some(_) => Some(""),
            None => first,
        }
    };
    let host = said(HOST).unwrap_or("");
    if !page.address.is_host(host) {
        return refuse("this page is not served under that name");
    }
    if said(ORIGIN).is_some_and(|origin| origin.strip_prefix("http://") != Some(host)) {
        return refuse("the request comes from another page");
    }
    let first = request.uri().path().split('/').nth(1).unwrap_or("");
    if !page.address.token().is(first) {
        return Err(Refusal::nothing_here());
    }
    Ok(())
}

/// Says with every answer what a browser may do with it.
pub(crate) async fn protect_answers(request: Request, next: Next) -> Response {
    let mut answer = next.run(request).await;
    protect(answer.headers_mut());
    answer
}

fn protect(headers: &mut HeaderMap) {
    let policy = HeaderValue::from_static(POLICY);
    headers.entry(CONTENT_SECURITY_POLICY).or_insert(policy);
    for (name, value) in [
        (X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (REFERRER_POLICY, "no-referrer"),
        (X_FRAME_OPTIONS, "DENY"),
        (CACHE_CONTROL, "no-store"),
        (
            HeaderName::from_static("cross-origin-opener-policy"),
            "same-origin",
        ),
        (
            HeaderName::from_static("cross-origin-resource-policy"),
            "same-origin",
        ),
    ] {
        headers.insert(name, HeaderValue::from_static(value));
    }
}
