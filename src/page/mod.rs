//! The local web page of a guided session: one person, one computer.
//!
//! Ours. The page shows what the session's machine says and sends back what the person presses; it
//! knows nothing else. The server listens on loopback only, on a current-thread runtime in a thread
//! of its own, so that the loop that counts is never kept waiting by a browser.
//!
//! - `GET /?key=KEY` sets the cookie and redirects to `/`; everything else needs the cookie.
//! - `GET /` and the assets, embedded in the program.
//! - `GET /events`: server-sent events. `view`: the [`View`] as JSON, at most 30 a second, at once
//!   when the screen changes. `line`: `{"id", "words", "kind"}`, something to be spoken; kind is
//!   count, second, remark (after a count) or other (at once). `over`: the session has ended and the program is about to.
//! - `POST /press`: a [`Press`] as JSON, at most 16 KiB; 204, or 400 where it does not parse.
//! - `GET /drawing/movement.svg`, `sensor.svg`, `stretch.svg`, `glides.svg`, `care.svg`.

mod assets;
mod doors;
mod drawings;
mod follow;
mod guests;
mod key;

use std::net::{Ipv4Addr, SocketAddr};
use std::sync::Arc;
use std::thread::JoinHandle;
use std::time::Duration;

use axum::Router;
use thiserror::Error;
use tokio::sync::{broadcast, oneshot, watch};

use crate::session::guided::line::Line;
use crate::session::guided::press::Press;
use crate::session::guided::view::View;
use doors::Doors;
use follow::{Picture, Told};
use guests::Guests;
use key::Key;

/// Lines that a slow page may be behind before it misses some.
const LINES_KEPT: usize = 256;
/// A page is told the end before the server goes.
const FAREWELL: Duration = Duration::from_millis(300);

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

/// A page that is served for as long as this lives.
#[derive(Debug)]
pub struct Page {
    port: u16,
    key: Key,
    shown: Option<View>,
    views: watch::Sender<Arc<Picture>>,
    lines: broadcast::Sender<Told>,
    /// Of the last line.
    line_id: u64,
    stop: Option<oneshot::Sender<()>>,
    thread: Option<JoinHandle<()>>,
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
        let taken = |said| PageError::Port { port, said };
        let listener = std::net::TcpListener::bind((Ipv4Addr::LOCALHOST, port)).map_err(taken)?;
        listener.set_nonblocking(true).map_err(taken)?;
        let port = listener.local_addr().map_err(taken)?.port();
        let key = Key::random()?;
        let (views, seen) = watch::channel(Arc::new(Picture::default()));
        let (lines, _) = broadcast::channel(LINES_KEPT);
        let (stop, stopped) = oneshot::channel();
        let resources = |said| PageError::Resources { said };
        let runtime = tokio::runtime::Builder::new_current_thread()
            .enable_all()
            .build()
            .map_err(resources)?;
        let doors = Doors::new(port, key.clone(), seen, lines.clone(), Box::new(pressed));
        let app = Router::new()
            .fallback(doors::answer)
            .with_state(Arc::new(doors));
        let thread = std::thread::Builder::new()
            .name("page".to_owned())
            .spawn(move || runtime.block_on(served(listener, app, stopped)))
            .map_err(resources)?;
        Ok(Page {
            port,
            key,
            shown: None,
            views,
            lines,
            line_id: 0,
            stop: Some(stop),
            thread: Some(thread),
        })
    }

    /// Where it listens.
    pub fn address(&self) -> SocketAddr {
        SocketAddr::from((Ipv4Addr::LOCALHOST, self.port))
    }

    /// The address to be opened; it holds the key.
    pub fn url(&self) -> String {
        format!("http://127.0.0.1:{}/?key={}", self.port, self.key.text())
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
        let _nobody_listens = self.lines.send(Told::Over);
        drop(self.stop.take());
        if let Some(thread) = self.thread.take() {
            let _ended = thread.join();
        }
    }
}

async fn served(listener: std::net::TcpListener, app: Router, stopped: oneshot::Receiver<()>) {
    let Ok(listener) = tokio::net::TcpListener::from_std(listener) else {
        return;
    };
    let farewell = async {
        let _dropped = stopped.await;
        tokio::time::sleep(FAREWELL).await;
    };
    tokio::select! {
        _ = axum::serve(Guests::new(listener), app) => {}
        () = farewell => {}
    }
}
