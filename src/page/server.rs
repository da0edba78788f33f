//! The server of a page: loopback only, on a current-thread runtime in a thread of its own, for as
//! long as its owner lives.

use std::net::{Ipv4Addr, SocketAddr};
use std::sync::Arc;
use std::thread::JoinHandle;
use std::time::Duration;

use axum::Router;
use tokio::sync::oneshot;

use super::PageError;
use super::app::App;
use super::doors::{Doors, answer};
use super::guests::Guests;
use super::key::Key;

/// A page is told the end before the server goes.
const FAREWELL: Duration = Duration::from_millis(300);

/// An app that is served; it ends when this is dropped.
#[derive(Debug)]
pub struct Server {
    port: u16,
    key: Key,
    stop: Option<oneshot::Sender<()>>,
    thread: Option<JoinHandle<()>>,
}

impl Server {
    /// Serves an app on 127.0.0.1; port 0 is any free one.
    ///
    /// # Errors
    /// The port is taken; the system gives no thread or no randomness.
    pub fn serve(port: u16, app: App) -> Result<Server, PageError> {
        let taken = |said| PageError::Port { port, said };
        let listener = std::net::TcpListener::bind((Ipv4Addr::LOCALHOST, port)).map_err(taken)?;
        listener.set_nonblocking(true).map_err(taken)?;
        let port = listener.local_addr().map_err(taken)?.port();
        let key = Key::random()?;
        let (stop, stopped) = oneshot::channel();
        let resources = |said| PageError::Resources { said };
        let runtime = tokio::runtime::Builder::new_current_thread()
            .enable_all()
            .build()
            .map_err(resources)?;
        let doors = Doors::new(port, key.clone(), app);
        let router = Router::new().fallback(answer).with_state(Arc::new(doors));
        let thread = std::thread::Builder::new()
            .name("page".to_owned())
            .spawn(move || runtime.block_on(served(listener, router, stopped)))
            .map_err(resources)?;
        Ok(Server {
            port,
            key,
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
}

impl Drop for Server {
    fn drop(&mut self) {
        drop(self.stop.take());
        if let Some(thread) = self.thread.take() {
            let _ended = thread.join();
        }
    }
}

async fn served(listener: std::net::TcpListener, router: Router, stopped: oneshot::Receiver<()>) {
    let Ok(listener) = tokio::net::TcpListener::from_std(listener) else {
        return;
    };
    let farewell = async {
        let _dropped = stopped.await;
        tokio::time::sleep(FAREWELL).await;
    };
    tokio::select! {
        _ = axum::serve(Guests::new(listener), router) => {}
        () = farewell => {}
    }
}
