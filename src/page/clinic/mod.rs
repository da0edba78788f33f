//! The clinic's page: everybody at a glance, prescriptions written and printed, the review.
//!
//! Ours. The browser holds the text of the prescription that is being written; here nothing is kept
//! until it is asked for. What prints or is taken along is laid on a shelf for a moment and fetched
//! from there, because a page that prints must have an address.
//!
//! - `GET /form.json`: the fields, the starting routines, today, the clinic's key if there is one.
//! - `GET /people.json`: the [caseload](crate::review::Caseload).
//! - `GET /routine.json?patient=P1`: `{"present", "last"}`, the prescription in force and what the last
//!   session was done under, each with its text or null.
//! - `POST /read`: `{"patient"}`; makes summaries anew where they are missing or stale.
//! - `POST /draft`: `{"text", "edits", "patient"}`; a [`Told`](crate::clinic::Told).
//! - `POST /keep`: `{"text", "patient"}`; `{"path", "before"}`.
//! - `POST /handout`: `{"text", "patient", "paper"}`; `{"address"}`.
//! - `POST /handover`: `{"text", "patient"}`; `{"address", "name"}`.
//! - `POST /key`: `{}`; `{"public", "path"}`.
//! - `POST /brought`: a sealed file as its bytes; `{"patient", "new_count", ...}`.
//! - `GET /shelf/N/NAME`: what was laid there.
//! - `GET /review/P1?since=&age=&sex=`: the report, made now.
//!
//! What cannot be done is answered with 409 and a line of words that says why.

mod asked;
mod brought;
mod desk;
mod shelf;
mod told;

use std::net::SocketAddr;
use std::path::PathBuf;
use std::sync::Arc;

use axum::body::to_bytes;
use axum::http::{HeaderName, HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use serde::Serialize;
use serde::de::DeserializeOwned;

use super::PageError;
use super::app::{App, Asked, file, not_so};
use super::assets;
use super::doors::only;
use super::saving::is_json;
use super::server::Server;
use crate::recording::Store;
use desk::{Desk, Refused};

/// A request is at most so long, bytes.
const ASKED_MOST: usize = 256 * 1024;

/// Where a sealed file is brought.
const BROUGHT: &str = "/brought";
/// A sealed file is at most so long, bytes.
const BROUGHT_MOST: usize = 4 << 30;

/// A body at that path is at most so long, bytes.
pub fn body_most(path: &str) -> usize {
    if path == BROUGHT {
        BROUGHT_MOST
    } else {
        ASKED_MOST
    }
}

/// Sheets carry their style and letters with them, and no script.
const SHEET_POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'; font-src data:; img-src data:; base-uri 'none'; form-action 'none'; frame-ancestors 'self'";

/// What can be asked for by POST.
const POSTS: [&str; 7] = [
    "/draft",
    "/keep",
    "/handout",
    "/handover",
    "/key",
    "/read",
    BROUGHT,
];
/// What is answered anew by GET.
const GETS: [&str; 3] = ["/form.json", "/people.json", "/routine.json"];

/// The clinic's page, served for as long as this lives.
#[derive(Debug)]
pub struct ClinicPage(Server);

impl ClinicPage {
    /// Serves the page of a store on 127.0.0.1; port 0 is any free one. `key` is the clinic's secret
    /// key file, which may not be there yet.
    ///
    /// # Errors
    /// The port is taken; the system gives no thread or no randomness.
    pub fn serve(port: u16, store: Store, key: PathBuf) -> Result<ClinicPage, PageError> {
        let app = App::Clinic(Clinic(Arc::new(Desk::new(store, key))));
        Server::serve(port, app).map(ClinicPage)
    }

    /// Where it listens.
    pub fn address(&self) -> SocketAddr {
        self.0.address()
    }

    /// The address to be opened; it holds the key of the page.
    pub fn url(&self) -> String {
        self.0.url()
    }
}

/// The clinic's answers.
pub struct Clinic(Arc<Desk>);

impl Clinic {
    /// Answers a request.
    pub async fn answer(&self, asked: Asked) -> Response {
        let path = asked.uri.path().to_owned();
        match (asked.get, path.as_str()) {
            (true, "/form.json") => self.told(|desk| Ok(desk.form())).await,
            (true, "/people.json") => self.told(Desk::people).await,
            (true, "/routine.json") => match asked::query(&asked.uri) {
                Some(whose) => self.told(move |desk| desk.present(&whose)).await,
                None => StatusCode::BAD_REQUEST.into_response(),
            },
            (false, "/draft") => self.posted(asked, Desk::draft).await,
            (false, "/keep") => self.posted(asked, Desk::keep).await,
            (false, "/handout") => self.posted(asked, Desk::handout).await,
            (false, "/handover") => self.posted(asked, Desk::handover).await,
            (false, "/read") => self.posted(asked, Desk::read).await,
            (false, "/key") => self.posted(asked, Desk::make_key).await,
            (false, BROUGHT) => self.brought(asked).await,
            (true, path) if path.starts_with("/shelf/") => self.0.laid_at(path).map_or_else(
                || StatusCode::NOT_FOUND.into_response(),
                shelf::Laid::into_response,
            ),
            (true, path) if path.starts_with("/review/") => {
                self.review(asked::review(&asked.uri)).await
            }
            (true, path) if POSTS.contains(&path) => StatusCode::METHOD_NOT_ALLOWED.into_response(),
            (true, path) => file(&asked.uri, assets::clinic(path)),
            (false, path) => not_so(
                &asked.uri,
                GETS.contains(&path) || assets::clinic(path).is_some(),
            ),
        }
    }

    /// Works it out beside the thread that answers.
    async fn at_desk<T: Send + 'static>(
        &self,
        work: impl FnOnce(&Desk) -> Result<T, Refused> + Send + 'static,
    ) -> Result<T, Refused> {
        let desk = Arc::clone(&self.0);
        tokio::task::spawn_blocking(move || work(&desk))
            .await
            .unwrap_or_else(|_| {
                Err(Refused(
                    "the program failed at this; nothing was kept".into(),
                ))
            })
    }

    async fn told<T: Serialize + Send + 'static>(
        &self,
        work: impl FnOnce(&Desk) -> Result<T, Refused> + Send + 'static,
    ) -> Response {
        match self.at_desk(work).await {
            Ok(told) => axum::Json(told).into_response(),
            Err(refused) => refused.into_response(),
        }
    }

    async fn posted<A: DeserializeOwned + Send + 'static, T: Serialize + Send + 'static>(
        &self,
        asked: Asked,
        work: fn(&Desk, A) -> Result<T, Refused>,
    ) -> Response {
        if !is_json(&asked.headers) {
            return StatusCode::UNSUPPORTED_MEDIA_TYPE.into_response();
        }
        let Ok(bytes) = to_bytes(asked.body, ASKED_MOST).await else {
            return StatusCode::PAYLOAD_TOO_LARGE.into_response();
        };
        match serde_json::from_slice(&bytes) {
            Ok(wish) => self.told(move |desk| work(desk, wish)).await,
            Err(_) => StatusCode::BAD_REQUEST.into_response(),
        }
    }

    /// Takes a sealed file in, and opens it.
    async fn brought(&self, asked: Asked) -> Response {
        let kind = only(&asked.headers, &header::CONTENT_TYPE);
        if kind != Some("application/octet-stream") {
            return StatusCode::UNSUPPORTED_MEDIA_TYPE.into_response();
        }
        let taken = match brought::take(self.0.store(), asked.body, BROUGHT_MOST).await {
            Ok(taken) => taken,
            Err(refused) => return refused.into_response(),
        };
        self.told(move |desk| desk.open(&taken)).await
    }

    async fn review(&self, wish: Option<asked::ReviewAsked>) -> Response {
        let Some(wish) = wish else {
            return StatusCode::BAD_REQUEST.into_response();
        };
        match self.at_desk(move |desk| desk.review(&wish)).await {
            Ok(page) => sheet(page),
            Err(refused) => refused.into_response(),
        }
    }
}

/// A page that brings its own style, and prints.
fn sheet(page: String) -> Response {
    let mut answer = ([(header::CONTENT_TYPE, "text/html; charset=utf-8")], page).into_response();
    let name: HeaderName = header::CONTENT_SECURITY_POLICY;
    answer
        .headers_mut()
        .insert(name, HeaderValue::from_static(SHEET_POLICY));
    answer
}
