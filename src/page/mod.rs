//! The local web pages, each for one run of the program on one computer: the guided session, a
//! recording that is replayed or marked by hand ([`ReplayPage`]), judging by eye ([`DrillPage`]), and the
//! clinic's desk ([`ClinicPage`]).
//!
//! Ours. The server listens on loopback only, on a current-thread runtime in a thread of its own, so
//! that the loop that counts is never kept waiting by a browser. All pages have the same doors:
//!
//! - `GET /?key=KEY` sets the cookie and redirects to `/`; everything else needs the cookie.
//! - `GET /` and the assets, embedded in the program.
//! - `GET /drawing/movement.svg`, `sensor.svg`, `stretch.svg`, `glides.svg`, `care.svg`,
//!   `turning.svg`.
//!
//! The guided session's page shows what the session's machine says and sends back what the person
//! presses; it knows nothing else:
//!
//! - `GET /events`: server-sent events. `view`: the [`View`] as JSON, at most 66 a second, at once
//!   when the screen changes. `line`: `{"id", "words", "kind"}`, something to be spoken; kind is
//!   count, second, remark (after a count) or other (at once). `over`: the session has ended and the program is about to.
//! - `POST /save`: `{"all"}`, where the session was set up for a clinic; a [`Saving`] as JSON.
//! - `POST /press`: a [`Press`] as JSON, at most 16 KiB; 204, or 400 where it does not parse.

mod app;
mod assets;
mod clinic;
mod doors;
mod drawings;
mod drill;
mod follow;
mod guests;
mod guided;
mod key;
mod replay;
mod saving;
mod server;

use std::net::SocketAddr;
use std::sync::Arc;

use thiserror::Error;
use tokio::sync::{broadcast, watch};

use crate::session::guided::line::Line;
use crate::session::guided::press::Press;
use crate::session::guided::view::View;
use app::App;
pub use clinic::ClinicPage;
pub use drill::DrillPage;
use follow::{Picture, Told};
use guided::Guided;
pub use replay::{MarksPlace, ReplayPage};
pub use saving::Saving;
use server::Server;

/// Lines that a slow page may be behind before it misses some.
const LINES_KEPT: usize = 256;

/// Why there is no page.
#[derive(Debug, Error)]
pub enum PageError {
    /// The port is taken, or may not be used.
    #[error(
        "the page cannot listen on 127.0.0.1:{port}: {said}; give another --port, or none for any free one"
    )]
    Port {
        /// The port asked for; 0 is any.
        port: u16,
        /// The system's word.
        said: std::io::Error,
    },
    /// The system gives no randomness for the key.
    #[error("the system gives no random numbers for the page's key: {said}")]
    NoKey {
        /// The system's word.
        said: String,
    },
    /// The recording cannot be written as the page reads it.
    #[error("the recording cannot be told to the page: {said}")]
    Recording {
        /// The writer's word.
        said: serde_json::Error,
    },
    /// The system gives no thread or timer.
    #[error("the page cannot be served: {said}")]
    Resources {
        /// The system's word.
        said: std::io::Error,
    },
}

/// A view, and when the latest sample in it came.
#[derive(serde::Serialize)]
struct Dated<'a> {
    #[serde(flatten)]
    view: &'a View,
    #[serde(skip_serializing_if = "Option::is_none")]
    sample_at_ms: Option<f64>,
}

/// The page of a guided session, served for as long as this lives.
#[derive(Debug)]
pub struct Page {
    server: Server,
    shown: Option<View>,
    views: watch::Sender<Arc<Picture>>,
    lines: broadcast::Sender<Told>,
    /// Of the last line.
    line_id: u64,
}

impl Page {
    /// Serves a page on 127.0.0.1; port 0 is any free one. What is pressed is told to `pressed`, in
    /// order, from the server's thread.
    ///
    /// # Errors
    /// The port is taken; the system gives no thread or no randomness.
    pub fn serve(
        port: u16,
        pressed: impl Fn(Press) + Send + Sync + 'static,
    ) -> Result<Page, PageError> {
        Page::serve_app(port, Box::new(pressed), None)
    }

    /// The same for a session that was set up for a clinic; `save` saves all again, or what is new.
    ///
    /// # Errors
    /// As [`Page::serve`].
    pub fn serve_for_clinic(
        port: u16,
        pressed: impl Fn(Press) + Send + Sync + 'static,
        save: impl Fn(bool) -> Saving + Send + Sync + 'static,
    ) -> Result<Page, PageError> {
        Page::serve_app(port, Box::new(pressed), Some(Arc::new(save)))
    }

    fn serve_app(
        port: u16,
        pressed: Box<dyn Fn(Press) + Send + Sync>,
        save: Option<saving::Save>,
    ) -> Result<Page, PageError> {
        let (views, seen) = watch::channel(Arc::new(Picture::default()));
        let (lines, _) = broadcast::channel(LINES_KEPT);
        let app = App::Guided(Guided {
            views: seen,
            lines: lines.clone(),
            pressed,
            save,
        });
        Ok(Page {
            server: Server::serve(port, app)?,
            shown: None,
            views,
            lines,
            line_id: 0,
        })
    }

    /// Where it listens.
    pub fn address(&self) -> SocketAddr {
        self.server.address()
    }

    /// The address to be opened; it holds the key.
    pub fn url(&self) -> String {
        self.server.url()
    }

    /// Shows this from now on, in every window.
    pub fn show(&mut self, view: View) {
        self.show_of(view, None);
    }

    /// Shows this from now on, in every window, with the time at which the latest sample in it came
    /// to this computer: milliseconds since 1970 by its wall clock, as the browser's. The page draws
    /// nothing of it; it is what the way from sensor to screen is measured by.
    pub fn show_of(&mut self, view: View, sample_at_ms: Option<f64>) {
        if self.shown.as_ref() == Some(&view) {
            return;
        }
        let dated = Dated {
            view: &view,
            sample_at_ms,
        };
        if let Ok(json) = serde_json::to_string(&dated) {
            let same = |before: &View| {
                std::mem::discriminant(&before.screen) == std::mem::discriminant(&view.screen)
            };
            let before = self.views.borrow().screen_count;
            let screen_count = before + u64::from(!self.shown.as_ref().is_some_and(same));
            let _nobody_looks = self
                .views
                .send_replace(Arc::new(Picture { screen_count, json }));
        }
        self.shown = Some(view);
    }

    /// Says something, in every window that is open now.
    pub fn say(&mut self, line: &Line) {
        self.line_id += 1;
        let kind = line.urgency().name();
        let json = serde_json::json!({ "id": self.line_id, "words": line.words(), "kind": kind });
        let _nobody_listens = self.lines.send(Told::Line(Arc::from(json.to_string())));
    }
}

impl Drop for Page {
    fn drop(&mut self) {
        // Before the server goes, which waits a moment so that it is heard.
        let _nobody_listens = self.lines.send(Told::Over);
    }
}
