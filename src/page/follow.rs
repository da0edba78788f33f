//! What one window is told: views as they change, not more often than a screen can show them, and
//! lines as they are said.

use std::convert::Infallible;
use std::sync::Arc;
use std::time::Duration;

use axum::response::sse::Event;
use futures_util::Stream;
use tokio::sync::{broadcast, watch};
use tokio::time::{Instant, sleep_until};

/// Time between two views of the same screen: as often as a screen draws. Samples come in packets at
/// their own pace; whoever waits longer here loses every other frame against them.
const BETWEEN: Duration = Duration::from_millis(15);

/// A view, as the page gets it.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Picture {
    /// Grows with every change of the screen.
    pub screen_count: u64,
    /// The view as JSON; empty before the first.
    pub json: String,
}

/// Told once to every window that is open.
#[derive(Debug, Clone)]
pub enum Told {
    /// A line as JSON.
    Line(Arc<str>),
    /// The session is over.
    Over,
}

/// Where one window is.
struct Follow {
    views: watch::Receiver<Arc<Picture>>,
    lines: broadcast::Receiver<Told>,
    /// There is a view that was not sent.
    unseen: bool,
    /// Screens so far, of the view that was sent last.
    screen_count: u64,
    /// When the next view of the same screen may be sent.
    due: Instant,
}

/// The events for a window that has just opened.
pub fn events(
    views: watch::Receiver<Arc<Picture>>,
    lines: broadcast::Receiver<Told>,
) -> impl Stream<Item = Result<Event, Infallible>> {
    let follow = Follow {
        views,
        lines,
        unseen: true,
        screen_count: 0,
        due: Instant::now(),
    };
    futures_util::stream::unfold(follow, |mut follow| async {
        let event = follow.next().await?;
        Some((Ok(event), follow))
    })
}

impl Follow {
    async fn next(&mut self) -> Option<Event> {
        loop {
            if let Some(event) = self.view() {
                return Some(event);
            }
            tokio::select! {
                biased;
                told = self.lines.recv() => match told {
                    Ok(Told::Line(json)) => return Some(Event::default().event("line").data(&*json)),
                    Ok(Told::Over) => return Some(Event::default().event("over").data("{}")),
                    Err(broadcast::error::RecvError::Lagged(_)) => {}
                    Err(broadcast::error::RecvError::Closed) => return None,
                },
                changed = self.views.changed() => {
                    changed.ok()?;
                    self.unseen = true;
                }
                () = sleep_until(self.due), if self.unseen => {}
            }
        }
    }

    /// The latest view, where it is due.
    fn view(&mut self) -> Option<Event> {
        if !self.unseen {
            return None;
        }
        let picture = Arc::clone(&self.views.borrow_and_update());
        let now = Instant::now();
        if picture.json.is_empty() {
            self.unseen = false;
            return None;
        }
        if picture.screen_count == self.screen_count && now < self.due {
            return None;
        }
        self.unseen = false;
        self.screen_count = picture.screen_count;
        self.due = now + BETWEEN;
        Some(Event::default().event("view").data(&picture.json))
    }
}
