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
//! - `GET /drill` and what belongs to it: see [`super::drill`].
//!
//! A recording that is served to be marked has another page at `/`, and keeps the analysis to itself
//! until the marks are saved: before, `/recording.json` and `/whole` are forbidden.
//!
//! - `GET /marking.json`: the recording without anything that was concluded; `"saved"` once marks are.
//! - `POST /marks`: `{"marks": [{"rep", "lift_start_s", "lift_end_s", "lower_start_s", "lower_end_s"}]}`;
//!   both beside each other, or 409 and `{"words", "place"}`, the row that does not fit, from 0.
//! - `GET /compared.json`, `/marks.csv`: both beside each other, and the saved file.
//! - `GET /whole`: the replay's page.

mod blind;
mod compared;
mod marking;
mod outline;
mod told;
mod way;

use std::net::SocketAddr;
use std::sync::Arc;

use axum::body::{Body, Bytes, to_bytes};
use axum::extract::Query;
use axum::http::{HeaderMap, HeaderName, StatusCode, Uri, header};
use axum::response::{IntoResponse, Response};
use serde::Deserialize;

use super::app::{App, Asked, file, not_so};
use super::assets::{mark, replay};
use super::doors::BODY_MOST;
use super::saving::is_json;
use super::server::Server;
use super::{PageError, drill};
use crate::pipeline::Detail;
use crate::recording::Recording;
use crate::report::marks::goes_round;
use blind::blind;
use compared::as_marks;
pub use marking::MarksPlace;
use marking::{Given, Marking};
use way::Way;

const JSON: &str = "application/json";
const CSV: &str = "text/csv; charset=utf-8";
const RECORDING: &str = "/recording.json";
const CURVE: &str = "/curve.json";
const TO_MARK: &str = "/marking.json";
const MARKS: &str = "/marks";
const COMPARED: &str = "/compared.json";
const MARKS_FILE: &str = "/marks.csv";
const WHOLE: &str = "/whole";

/// Marks are at most so long, bytes: some two thousand repetitions.
const MARKS_MOST: usize = 256 * 1024;

const NOT_YET: &str = "The program's own marks are shown once yours are saved.\n";

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
        let replayed = Box::new(Replayed::new(recording, detail, None)?);
        Server::serve(port, App::Replay(replayed)).map(ReplayPage)
    }

    /// The same, to be marked by hand first: what the analysis concluded is not sent before the marks
    /// are saved, in a file of that place.
    ///
    /// # Errors
    /// As [`ReplayPage::serve`].
    pub fn serve_to_mark(
        port: u16,
        recording: &Recording,
        detail: &Detail,
        place: MarksPlace,
    ) -> Result<ReplayPage, PageError> {
        let replayed = Box::new(Replayed::new(recording, detail, Some(place))?);
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
    /// Where it is to be marked first.
    to_mark: Option<ToMark>,
}

/// What is kept of a recording that is to be marked.
struct ToMark {
    /// What is told before the marks are saved, and after.
    told_json: [Bytes; 2],
    marking: Arc<Marking>,
}

#[derive(Deserialize)]
struct PartAsked {
    set: usize,
    part: u64,
}

impl Replayed {
    fn new(
        recording: &Recording,
        detail: &Detail,
        place: Option<MarksPlace>,
    ) -> Result<Replayed, PageError> {
        let written = |said| PageError::Recording { said };
        let ways: Vec<Option<Way>> = detail.sets.iter().map(Way::of).collect();
        let told = told::told(recording, detail, &ways);
        let recording_json = serde_json::to_string(&told).map_err(written)?;
        let to_mark = place
            .map(|place| -> Result<ToMark, PageError> {
                let mut told = blind(recording, detail, &ways);
                let before = serde_json::to_string(&told).map_err(written)?;
                told.saved = true;
                let after = serde_json::to_string(&told).map_err(written)?;
                // Whole turns have no phases to mark.
                let sets = detail.analysis.sets.iter().zip(&detail.sets);
                let program = sets
                    .filter(|(_, own)| !goes_round(own))
                    .flat_map(|(set, _)| as_marks(&set.reps));
                Ok(ToMark {
                    told_json: [before.into(), after.into()],
                    marking: Arc::new(Marking::new(place, recording, program.collect())),
                })
            })
            .transpose()?;
        Ok(Replayed {
            recording_json: recording_json.into(),
            ways,
            to_mark,
        })
    }

    /// The methods it knows, as the header has them.
    pub fn methods(&self) -> &'static str {
        if self.to_mark.is_some() {
            "GET, POST"
        } else {
            "GET"
        }
    }

    /// A body is at most so long, bytes.
    pub fn body_most(&self, path: &str) -> usize {
        if self.to_mark.is_some() && path == MARKS {
            MARKS_MOST
        } else {
            BODY_MOST
        }
    }

    /// Answers a request.
    pub async fn answer(&self, asked: Asked) -> Response {
        let path = asked.uri.path();
        if let Some(to_mark) = &self.to_mark {
            match (asked.get, path) {
                (false, MARKS) => return to_mark.save(&asked.headers, asked.body).await,
                (true, MARKS) => return StatusCode::METHOD_NOT_ALLOWED.into_response(),
                (false, TO_MARK | COMPARED | MARKS_FILE | WHOLE) => {
                    return not_so(&asked.uri, true);
                }
                (true, RECORDING | WHOLE | COMPARED | MARKS_FILE)
                    if !to_mark.marking.is_saved() =>
                {
                    return (StatusCode::FORBIDDEN, NOT_YET).into_response();
                }
                (true, TO_MARK) => return json(to_mark.told()),
                (true, WHOLE) => return file(&asked.uri, replay("/")),
                (true, COMPARED) => return found(to_mark.marking.compared_json(), json),
                (true, MARKS_FILE) => return found(to_mark.marking.text(), csv),
                _ => {}
            }
        }
        let asset = || {
            let own = self.to_mark.as_ref().and_then(|_| mark(path));
            own.or_else(|| replay(path))
        };
        if !asked.get {
            let is_known = [RECORDING, CURVE].contains(&path);
            return not_so(
                &asked.uri,
                is_known || asset().is_some() || drill::knows(path),
            );
        }
        match path {
            RECORDING => json(self.recording_json.clone()),
            CURVE => self.part(&asked.uri),
            _ => drill::answer(&asked.uri).unwrap_or_else(|| file(&asked.uri, asset())),
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

fn csv(text: String) -> Response {
    let headers: [(HeaderName, &str); 2] = [
        (header::CONTENT_TYPE, CSV),
        (
            header::CONTENT_DISPOSITION,
            "attachment; filename=\"marks.csv\"",
        ),
    ];
    (headers, text).into_response()
}

fn found<T>(what: Option<T>, told: impl FnOnce(T) -> Response) -> Response {
    what.map_or_else(|| StatusCode::NOT_FOUND.into_response(), told)
}

impl ToMark {
    fn told(&self) -> Bytes {
        let [before, after] = &self.told_json;
        if self.marking.is_saved() {
            after.clone()
        } else {
            before.clone()
        }
    }

    async fn save(&self, headers: &HeaderMap, body: Body) -> Response {
        if !is_json(headers) {
            return StatusCode::UNSUPPORTED_MEDIA_TYPE.into_response();
        }
        let Ok(bytes) = to_bytes(body, MARKS_MOST).await else {
            return StatusCode::PAYLOAD_TOO_LARGE.into_response();
        };
        let Ok(given) = serde_json::from_slice::<Given>(&bytes) else {
            return StatusCode::BAD_REQUEST.into_response();
        };
        let marking = Arc::clone(&self.marking);
        // Beside the thread that answers: the file goes to the disk.
        match tokio::task::spawn_blocking(move || marking.save(given)).await {
            Ok(Ok(both)) => json(both),
            Ok(Err(refused)) => (StatusCode::CONFLICT, axum::Json(refused)).into_response(),
            Err(_) => StatusCode::INTERNAL_SERVER_ERROR.into_response(),
        }
    }
}
