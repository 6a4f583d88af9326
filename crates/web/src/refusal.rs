//! What is said when a request cannot be answered: in a grower's words, as JSON, with the status that
//! fits.

use axum::Json;
use axum::extract::rejection::JsonRejection;
use axum::extract::{FromRequest, Request};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use checkstrip_formats::FormatError;
use checkstrip_job::JobError;
use serde::de::DeserializeOwned;
use serde_json::{Map, Value};

/// An answer that is none.
#[derive(Debug)]
pub(crate) struct Refusal {
    status: StatusCode,
    members: Map<String, Value>,
}

impl Refusal {
    pub(crate) fn new(status: StatusCode, message: impl Into<String>) -> Refusal {
        let mut members = Map::new();
        members.insert("message".to_owned(), message.into().into());
        Refusal { status, members }
    }

    pub(crate) fn hint(self, hint: &str) -> Refusal {
        self.with("hint", hint)
    }

    /// The same with a member more.
    pub(crate) fn with(mut self, name: &str, value: impl Into<Value>) -> Refusal {
        self.members.insert(name.to_owned(), value.into());
        self
    }

    pub(crate) fn nothing_here() -> Refusal {
        Refusal::new(StatusCode::NOT_FOUND, "there is nothing here")
            .hint("open the address that checkstrip draw printed")
    }

    /// Input that cannot be used, as another crate says it: a sentence, and perhaps a hint on a line of
    /// its own.
    pub(crate) fn said(error: &dyn std::fmt::Display) -> Refusal {
        let text = error.to_string();
        let (message, hint) = match text.split_once("\nhint: ") {
            Some((message, hint)) => (message, Some(hint)),
            None => (text.as_str(), None),
        };
        let refusal = Refusal::new(StatusCode::UNPROCESSABLE_ENTITY, message);
        match hint {
            Some(hint) => refusal.hint(hint),
            None => refusal,
        }
    }

    /// Work that ended without an answer.
    pub(crate) fn broken(error: &dyn std::fmt::Display) -> Refusal {
        Refusal::new(
            StatusCode::INTERNAL_SERVER_ERROR,
            format!("the work ended without an answer: {error}"),
        )
        .hint("save your strips, end checkstrip draw with Ctrl-C and start it again")
    }
}

impl From<JobError> for Refusal {
    fn from(error: JobError) -> Refusal {
        Refusal::said(&error)
    }
}

impl From<FormatError> for Refusal {
    fn from(error: FormatError) -> Refusal {
        Refusal::said(&error)
    }
}

impl IntoResponse for Refusal {
    fn into_response(self) -> Response {
        (self.status, Json(self.members)).into_response()
    }
}

/// What is said of a path that nothing lies at.
pub(crate) async fn nothing_here() -> Refusal {
    Refusal::nothing_here()
}

/// A body of JSON.
pub(crate) struct Body<T>(pub(crate) T);

impl<T: DeserializeOwned, S: Send + Sync> FromRequest<S> for Body<T> {
    type Rejection = Refusal;

    async fn from_request(request: Request, state: &S) -> Result<Self, Refusal> {
        match Json::<T>::from_request(request, state).await {
            Ok(Json(body)) => Ok(Body(body)),
            Err(rejection) => Err(refusal_of(&rejection)),
        }
    }
}

fn refusal_of(rejection: &JsonRejection) -> Refusal {
    let status = rejection.status();
    let (message, hint) = match status {
        StatusCode::PAYLOAD_TOO_LARGE => (
            "the request is larger than 8 MB".to_owned(),
            "simplify the outlines: a strip needs few corners",
        ),
        StatusCode::UNSUPPORTED_MEDIA_TYPE => (
            "expected a body of JSON".to_owned(),
            "send it as application/json",
        ),
        _ => (
            format!(
                "the request cannot be understood: {}",
                rejection.body_text()
            ),
            "reload the page",
        ),
    };
    Refusal::new(status, message).hint(hint)
}
