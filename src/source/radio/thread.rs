//! The one thread on which the radio lives.

use std::future::Future;
use std::sync::Once;
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use tokio::sync::watch;

use super::{Near, RadioError, State};
use crate::source::signal::Signal;

/// How often a caller who waits for a connection is asked whether to go on.
const ASKED_EVERY: Duration = Duration::from_millis(50);
/// How long an ending thread is waited for.
const PATIENCE: Duration = Duration::from_secs(6);

/// A thread that streams.
#[derive(Debug)]
pub(super) struct Running {
    stop: watch::Sender<bool>,
    thread: Option<JoinHandle<()>>,
}

impl Running {
    /// Asks it to end.
    pub(super) fn stop(&self) {
        self.stop.send_replace(true);
    }
}

impl Drop for Running {
    /// Ends the link before the program goes on: the unit is then free for the next one.
    fn drop(&mut self) {
        self.stop();
        let Some(thread) = self.thread.take() else {
            return;
        };
        let began = Instant::now();
        while !thread.is_finished() {
            if began.elapsed() > PATIENCE {
                return;
            }
            std::thread::sleep(Duration::from_millis(5));
        }
        // It ended; how is of no interest any more.
        let _ended = thread.join();
    }
}

fn runtime() -> Result<tokio::runtime::Runtime, RadioError> {
    quieten();
    tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()
        .map_err(|error| RadioError::Resources {
            said: error.to_string(),
        })
}

fn spawn(work: impl FnOnce() + Send + 'static) -> Result<JoinHandle<()>, RadioError> {
    std::thread::Builder::new()
        .name("radio".to_owned())
        .spawn(work)
        .map_err(|error| RadioError::Resources {
            said: error.to_string(),
        })
}

/// The library takes its match rules back in tasks of their own, and such a task panics where the
/// bus is gone. Nothing is lost by it and nobody can do anything about it: it is not told.
fn quieten() {
    static ONCE: Once = Once::new();
    ONCE.call_once(|| {
        let before = std::panic::take_hook();
        std::panic::set_hook(Box::new(move |panic| {
            let known = panic
                .location()
                .is_some_and(|place| place.file().ends_with("messagestream.rs"));
            if !known {
                before(panic);
            }
        }));
    });
}

fn died() -> RadioError {
    RadioError::Failed {
        doing: "looking for the sensor",
        said: "the part of this program that speaks to it broke".to_owned(),
    }
}

/// Runs something to its end.
pub(super) fn run<T, Work>(work: impl FnOnce() -> Work + Send + 'static) -> Result<T, RadioError>
where
    T: Send + 'static,
    Work: Future<Output = Result<T, RadioError>>,
{
    let (done, result) = channel();
    spawn(move || {
        let _nobody_waits = done.send(runtime().and_then(|runtime| runtime.block_on(work())));
    })?;
    result.recv().unwrap_or_else(|_| Err(died()))
}

/// The unit as found, others that were asked, and how its stream stands.
pub(super) type Connected = (Near, Vec<Near>, watch::Receiver<State>);

/// Says that the unit is connected, or why not.
pub(super) type Ready = Sender<Result<Connected, RadioError>>;

/// Starts something that streams, and waits until it is connected.
pub(super) fn start<Work>(
    work: impl FnOnce(Ready, Sender<Signal>, watch::Receiver<bool>) -> Work + Send + 'static,
    mut go_on: impl FnMut() -> bool,
) -> Result<(Connected, Receiver<Signal>, Running), RadioError>
where
    Work: Future<Output = ()>,
{
    let (ready, connected) = channel();
    let (tell, signals) = channel();
    let (stop, stopped) = watch::channel(false);
    let thread = spawn(move || match runtime() {
        Ok(runtime) => runtime.block_on(work(ready, tell, stopped)),
        Err(error) => {
            let _nobody_waits = ready.send(Err(error));
        }
    })?;
    let running = Running {
        stop,
        thread: Some(thread),
    };
    loop {
        match connected.recv_timeout(ASKED_EVERY) {
            Ok(Ok(unit)) => return Ok((unit, signals, running)),
            Ok(Err(error)) => return Err(error),
            Err(RecvTimeoutError::Disconnected) => return Err(died()),
            Err(RecvTimeoutError::Timeout) => {}
        }
        if !go_on() {
            return Err(RadioError::Stopped);
        }
    }
}
