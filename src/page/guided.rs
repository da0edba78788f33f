//! The guided session's own answers: events, presses, files, drawings.

use std::sync::Arc;
use std::time::Duration;

use axum::body::{Body, Bytes, to_bytes};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::sse::{KeepAlive, Sse};
use axum::response::{IntoResponse, Response};
use tokio::sync::{broadcast, watch};

use super::app::{Asked, file, not_so};
use super::assets::guided;
use super::doors::{BODY_MOST, only};
use super::follow::{Picture, Told, events};
use crate::session::guided::press::Press;

/// An event stream is sent something at least this often.
const ALIVE_EVERY: Duration = Duration::from_secs(4);

/// What its windows are told, and whom a press is told to.
pub struct Guided {
    /// Views as they change.
    pub views: watch::Receiver<Arc<Picture>>,
    /// Lines as they are said.
    pub lines: broadcast::Sender<Told>,
    /// Takes presses, in order.
    pub pressed: Box<dyn Fn(Press) + Send + Sync>,
}

impl Guided {
    /// Answers a request.
    pub async fn answer(&self, asked: Asked) -> Response {
        let path = asked.uri.path();
        match (asked.get, path) {
            (true, "/events") => {
                let alive = KeepAlive::new().interval(ALIVE_EVERY);
                Sse::new(events(self.views.clone(), self.lines.subscribe()))
                    .keep_alive(alive)
                    .into_response()
            }
            (false, "/press") => self.press(&asked.headers, asked.body).await,
            (false, path) => not_so(&asked.uri, path == "/events" || guided(path).is_some()),
            (true, "/press") => StatusCode::METHOD_NOT_ALLOWED.into_response(),
            (true, path) => file(&asked.uri, guided(path)),
        }
    }

    async fn press(&self, headers: &HeaderMap, body: Body) -> Response {
        let is_json = only(headers, &header::CONTENT_TYPE)
            .and_then(|kind| kind.split(';').next())
            .is_some_and(|kind| kind.trim().eq_ignore_ascii_case("application/json"));
        if !is_json {
            return StatusCode::UNSUPPORTED_MEDIA_TYPE.into_response();
        }
        let Ok(bytes): Result<Bytes, _> = to_bytes(body, BODY_MOST).await else {
            return StatusCode::PAYLOAD_TOO_LARGE.into_response();
        };
        match serde_json::from_slice(&bytes) {
            Ok(press) => {
                (self.pressed)(press);
                StatusCode::NO_CONTENT.into_response()
            }
            Err(error) => {
                let words = format!("This is no press: {error}\n");
                (StatusCode::BAD_REQUEST, words).into_response()
            }
        }
    }
}
