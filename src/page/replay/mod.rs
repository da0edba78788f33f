//! The page of a recording that is over: it draws the refined analysis, and plays it in the
//! browser.
//!
//! Ours. Nothing is worked out in the browser: what it shows are the numbers of `replay --json`, and
//! the same curve that charts draw. What is sent is bounded whatever the recording's length: an
//! outline of each set, and the curve in parts of a minute, which the page asks for as it needs them.
//!
//! - `GET /recording.json`: the [analysis](crate::pipeline::Analysis) as `replay --json` prints it,
//!   and beside it names, times of phases and outlines.
//! - `GET /curve.json?set=0&part=0`: `{"step_s", "runs": [{"start_s", "angles_deg"}]}`, a minute of a
//!   set's curve without its gaps; sets and parts are counted from 0.

mod outline;
mod told;
mod way;

use std::net::SocketAddr;

use axum::body::Bytes;
use axum::extract::Query;
use axum::http::{StatusCode, Uri, header};
use axum::response::{IntoResponse, Response};
use serde::Deserialize;

use super::PageError;
use super::app::{App, Asked, file, not_so};
use super::assets::replay;
use super::server::Server;
use crate::pipeline::Detail;
use crate::recording::Recording;
use way::Way;

const JSON: &str = "application/json";
const RECORDING: &str = "/recording.json";
const CURVE: &str = "/curve.json";

/// The page of a recording, served for as long as this lives.
#[derive(Debug)]
pub struct ReplayPage(Server);

impl ReplayPage {
    /// Serves a recording's analysis on 127.0.0.1; port 0 is any free one. Recording and analysis
    /// are not needed any more afterwards.
    ///
    /// # Errors
    /// The port is taken; the system gives no thread or no randomness.
    pub fn serve(
        port: u16,
        recording: &Recording,
        detail: &Detail,
    ) -> Result<ReplayPage, PageError> {
        let replayed = Box::new(Replayed::new(recording, detail)?);
        Server::serve(port, App::Replay(replayed)).map(ReplayPage)
    }

    /// Where it listens.
    pub fn address(&self) -> SocketAddr {
        self.0.address()
    }

    /// The address to be opened; it holds the key.
    pub fn url(&self) -> String {
        self.0.url()
    }
}

/// What is kept of a recording for its page.
pub struct Replayed {
    recording_json: Bytes,
    /// The curve of each set; `None` where nothing moved.
    ways: Vec<Option<Way>>,
}

#[derive(Deserialize)]
struct PartAsked {
    set: usize,
    part: u64,
}

impl Replayed {
    fn new(recording: &Recording, detail: &Detail) -> Result<Replayed, PageError> {
        let ways: Vec<Option<Way>> = detail.sets.iter().map(Way::of).collect();
        let told = told::told(recording, detail, &ways);
        let recording_json =
            serde_json::to_string(&told).map_err(|said| PageError::Recording { said })?;
        Ok(Replayed {
            recording_json: recording_json.into(),
            ways,
        })
    }

    /// Answers a request.
    pub fn answer(&self, asked: &Asked) -> Response {
        let path = asked.uri.path();
        if !asked.get {
            let is_known = [RECORDING, CURVE].contains(&path) || replay(path).is_some();
            return not_so(&asked.uri, is_known);
        }
        match path {
            RECORDING => json(self.recording_json.clone()),
            CURVE => self.part(&asked.uri),
            _ => file(&asked.uri, replay(path)),
        }
    }

    fn part(&self, uri: &Uri) -> Response {
        let Ok(Query(PartAsked { set, part })) = Query::try_from_uri(uri) else {
            return StatusCode::BAD_REQUEST.into_response();
        };
        let way = self.ways.get(set).and_then(Option::as_ref);
        let text = way
            .and_then(|way| way.part(part))
            .and_then(|part| serde_json::to_string(&part).ok());
        text.map_or_else(
            || StatusCode::NOT_FOUND.into_response(),
            |text| json(text.into()),
        )
    }
}

fn json(text: Bytes) -> Response {
    ([(header::CONTENT_TYPE, JSON)], text).into_response()
}
