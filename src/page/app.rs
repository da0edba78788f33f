//! What is served behind the doors: the guided session, a recording, judging by eye, or the clinic's
//! desk.

use axum::body::Body;
use axum::http::{HeaderMap, StatusCode, Uri, header};
use axum::response::{IntoResponse, Response};

use super::clinic::{self, Clinic};
use super::doors::BODY_MOST;
use super::drawings::{Drawn, drawing};
use super::drill;
use super::guided::Guided;
use super::replay::Replayed;

/// What a page shows. Whoever asks has the key, and may ask.
pub enum App {
    /// The guided session.
    Guided(Guided),
    /// A recording that is over.
    Replay(Box<Replayed>),
    /// Judging by eye, without a recording.
    Drill,
    /// The clinic's desk.
    Clinic(Clinic),
}

/// What is asked of an app.
pub struct Asked {
    /// GET; else it is POST.
    pub get: bool,
    /// Path and query as they were sent.
    pub uri: Uri,
    /// The head.
    pub headers: HeaderMap,
    /// What follows the head.
    pub body: Body,
}

impl App {
    /// Answers.
    pub async fn answer(&self, asked: Asked) -> Response {
        match self {
            App::Guided(guided) => guided.answer(asked).await,
            App::Replay(replayed) => replayed.answer(asked).await,
            App::Drill => drill::answer_alone(&asked),
            App::Clinic(clinic) => clinic.answer(asked).await,
        }
    }

    /// The methods it knows, as the header has them.
    pub fn methods(&self) -> &'static str {
        match self {
            App::Guided(_) | App::Clinic(_) => "GET, POST",
            App::Replay(replayed) => replayed.methods(),
            App::Drill => "GET",
        }
    }

    /// A body is at most so long, bytes.
    pub fn body_most(&self, path: &str) -> usize {
        match self {
            App::Guided(_) | App::Drill => BODY_MOST,
            App::Replay(replayed) => replayed.body_most(path),
            App::Clinic(_) => clinic::body_most(path),
        }
    }
}

/// A file of the page, or the drawing at that address.
pub fn file(uri: &Uri, asset: Option<(&'static str, &'static str)>) -> Response {
    if let Some((kind, text)) = asset {
        return ([(header::CONTENT_TYPE, kind)], text).into_response();
    }
    match drawing(uri) {
        Drawn::Svg(svg) => ([(header::CONTENT_TYPE, "image/svg+xml")], svg).into_response(),
        Drawn::None => StatusCode::NOT_FOUND.into_response(),
        Drawn::Unclear => StatusCode::BAD_REQUEST.into_response(),
    }
}

/// Not allowed where the path is one that can be asked for otherwise, else not found.
pub fn not_so(uri: &Uri, is_known: bool) -> Response {
    if is_known || !matches!(drawing(uri), Drawn::None) {
        StatusCode::METHOD_NOT_ALLOWED.into_response()
    } else {
        StatusCode::NOT_FOUND.into_response()
    }
}
