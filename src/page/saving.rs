//! The door behind which sessions are saved for the clinic, where the session was set up for one.

use std::sync::Arc;

use axum::Json;
use axum::body::{Body, to_bytes};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Response};
use serde::{Deserialize, Serialize};

use super::doors::only;

/// A request is at most so long, bytes.
const ASKED_MOST: usize = 256;

/// What came of saving.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(tag = "outcome", rename_all = "kebab-case")]
pub enum Saving {
    /// A sealed file was written.
    Saved {
        /// Sessions in it.
        sessions: usize,
        /// Its name.
        file: String,
        /// The folder it lies in.
        folder: String,
    },
    /// There was nothing to save.
    Nothing,
    /// It could not be done.
    Failed {
        /// Why, in words.
        why: String,
    },
}

/// Saves, all again or what is new; it may take a while.
pub type Save = Arc<dyn Fn(bool) -> Saving + Send + Sync>;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Wish {
    all: bool,
}

/// Answers a POST to the door.
pub async fn answer(save: Option<&Save>, headers: &HeaderMap, body: Body) -> Response {
    let Some(save) = save else {
        return StatusCode::NOT_FOUND.into_response();
    };
    if !is_json(headers) {
        return StatusCode::UNSUPPORTED_MEDIA_TYPE.into_response();
    }
    let Ok(bytes) = to_bytes(body, ASKED_MOST).await else {
        return StatusCode::PAYLOAD_TOO_LARGE.into_response();
    };
    let Ok(Wish { all }) = serde_json::from_slice(&bytes) else {
        return StatusCode::BAD_REQUEST.into_response();
    };
    let save = Arc::clone(save);
    // Beside the thread that sends what is shown.
    match tokio::task::spawn_blocking(move || save(all)).await {
        Ok(saving) => Json(saving).into_response(),
        Err(_) => StatusCode::INTERNAL_SERVER_ERROR.into_response(),
    }
}

/// Whether the body is said to be JSON, which no form of another page can send.
pub fn is_json(headers: &HeaderMap) -> bool {
    only(headers, &header::CONTENT_TYPE)
        .and_then(|kind| kind.split(';').next())
        .is_some_and(|kind| kind.trim().eq_ignore_ascii_case("application/json"))
}
