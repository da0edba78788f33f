//! Connections that nobody is answered on do not stay.
//!
//! Ours. A browser asks at once and is answered at once, and an open stream of events is sent
//! something every few seconds. So one rule is enough against idle connections, slow headers, slow
//! bodies and readers that do not read: a connection to which nothing could be sent for a while is
//! closed. And there are never more than a few: the one that has waited longest without ever having
//! been sent anything goes first.

use std::io;
use std::net::SocketAddr;
use std::pin::Pin;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Weak};
use std::task::{Context, Poll, ready};
use std::time::Duration;

use axum::serve::Listener;
use futures_util::task::AtomicWaker;
use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::net::{TcpListener, TcpStream};
use tokio::time::{Instant, Sleep, sleep};

/// A connection to which nothing was sent for so long is closed.
const PATIENCE: Duration = Duration::from_secs(15);
/// Connections at a time.
const MOST: usize = 64;

/// Takes connections.
#[derive(Debug)]
pub struct Guests {
    listener: TcpListener,
    /// Those that are here, the eldest first.
    here: Vec<Weak<Guest>>,
}

/// What is known of a connection.
#[derive(Debug, Default)]
struct Guest {
    /// Something was sent to it.
    served: AtomicBool,
    /// It has to go.
    sent_away: AtomicBool,
    waker: AtomicWaker,
}

impl Guests {
    /// Takes connections of that listener.
    pub fn new(listener: TcpListener) -> Guests {
        Guests {
            listener,
            here: Vec::new(),
        }
    }

    /// Makes room for one more.
    fn make_room(&mut self) {
        self.here.retain(|guest| guest.strong_count() > 0);
        if self.here.len() < MOST {
            return;
        }
        let unserved = |guest: &Weak<Guest>| {
            guest
                .upgrade()
                .is_some_and(|guest| !guest.served.load(Ordering::Relaxed))
        };
        let goes = self.here.iter().position(unserved).unwrap_or(0);
        if let Some(guest) = self.here.remove(goes).upgrade() {
            guest.sent_away.store(true, Ordering::Relaxed);
            guest.waker.wake();
        }
    }
}

impl Listener for Guests {
    type Io = Connection;
    type Addr = SocketAddr;

    async fn accept(&mut self) -> (Connection, SocketAddr) {
        let (stream, address) = Listener::accept(&mut self.listener).await;
        self.make_room();
        let guest = Arc::new(Guest::default());
        self.here.push(Arc::downgrade(&guest));
        // Small events, each one at once.
        let _as_it_is = stream.set_nodelay(true);
        let connection = Connection {
            stream,
            guest,
            patience: Box::pin(sleep(PATIENCE)),
        };
        (connection, address)
    }

    fn local_addr(&self) -> io::Result<SocketAddr> {
        self.listener.local_addr()
    }
}

/// A connection that ends when nothing could be sent on it for a while.
#[derive(Debug)]
pub struct Connection {
    stream: TcpStream,
    guest: Arc<Guest>,
    patience: Pin<Box<Sleep>>,
}

impl Connection {
    /// Ready with an error where the connection has to end.
    fn poll_end(&mut self, context: &mut Context<'_>) -> Poll<io::Error> {
        self.guest.waker.register(context.waker());
        if self.guest.sent_away.load(Ordering::Relaxed) {
            return Poll::Ready(io::ErrorKind::ConnectionAborted.into());
        }
        ready!(self.patience.as_mut().poll(context));
        Poll::Ready(io::ErrorKind::TimedOut.into())
    }

    fn served(&mut self) {
        self.guest.served.store(true, Ordering::Relaxed);
        self.patience.as_mut().reset(Instant::now() + PATIENCE);
    }
}

impl AsyncRead for Connection {
    fn poll_read(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        buffer: &mut ReadBuf<'_>,
    ) -> Poll<io::Result<()>> {
        if let Poll::Ready(end) = self.poll_end(context) {
            return Poll::Ready(Err(end));
        }
        Pin::new(&mut self.stream).poll_read(context, buffer)
    }
}

impl AsyncWrite for Connection {
    fn poll_write(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        bytes: &[u8],
    ) -> Poll<io::Result<usize>> {
        if let Poll::Ready(end) = self.poll_end(context) {
            return Poll::Ready(Err(end));
        }
        let written = ready!(Pin::new(&mut self.stream).poll_write(context, bytes));
        self.served();
        Poll::Ready(written)
    }

    fn poll_flush(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_flush(context)
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_shutdown(context)
    }
}
