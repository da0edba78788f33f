//! The guided session's own answers: events, presses, files, drawings.

use std::sync::Arc;
use std::time::Duration;

use axum::body::{Body, Bytes, to_bytes};
use axum::http::{HeaderMap, StatusCode};
use axum::response::sse::{KeepAlive, Sse};
use axum::response::{IntoResponse, Response};
use tokio::sync::{broadcast, watch};

use super::app::{Asked, file, not_so};
use super::assets::guided;
use super::doors::BODY_MOST;
use super::follow::{Picture, Told, events};
use super::saving::{self, Save, is_json};
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
    /// Saves for the clinic, where there is one.
    pub save: Option<Save>,
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
            (false, "/save") => {
                saving::answer(self.save.as_ref(), &asked.headers, asked.body).await
            }
            (true, "/save") if self.save.is_some() => {
                StatusCode::METHOD_NOT_ALLOWED.into_response()
            }
            (false, path) => not_so(&asked.uri, path == "/events" || guided(path).is_some()),
            (true, "/press") => StatusCode::METHOD_NOT_ALLOWED.into_response(),
            (true, path) => file(&asked.uri, guided(path)),
        }
    }

    async fn press(&self, headers: &HeaderMap, body: Body) -> Response {
        if !is_json(headers) {
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
