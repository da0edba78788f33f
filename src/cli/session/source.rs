//! Where a guided session's samples come from: sought when the session asks for the sensor, and
//! sought again for as long as it takes.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use clap::Args;

use crate::recording::EventKind;
use crate::sample::Place;
use crate::source::radio;
use crate::source::signal::{Signal, Told};
use crate::source::simulator::attentive::{AttentivePlan, Prompter, play};
use crate::source::simulator::mishap::Mishap;
use crate::source::simulator::session::simulated;

/// A sensor that was not found is sought again after this.
const AGAIN: Duration = Duration::from_secs(2);
/// Whether to stop is looked at this often.
const LOOK: Duration = Duration::from_millis(50);

/// Which source.
#[derive(Debug, Args)]
pub struct SourceArguments {
    /// The sensor's name, or its address, where several are near
    #[arg(long, value_name = "NAME", conflicts_with = "simulate")]
    sensor: Option<String>,
    /// Let an invented person wear an invented sensor and do what the page asks for
    #[arg(long)]
    pub simulate: bool,

    /// Which invented person
    #[arg(long, hide = true, default_value_t = 1, requires = "simulate")]
    seed: u64,
    /// How many times as fast as life
    #[arg(long, hide = true, default_value_t = 1.0, requires = "simulate", value_parser = super::super::record::pace)]
    pub pace: f64,
    /// A lost link: from when, and for how long, seconds
    #[arg(long, hide = true, value_name = "FROM:LASTING", requires = "simulate", value_parser = super::super::record::loss)]
    lose: Vec<[f64; 2]>,
    /// What goes amiss in sets, in this order: still@N, down@N, lostSECONDS@N after N repetitions
    #[arg(long, hide = true, value_name = "WHAT@N", requires = "simulate")]
    amiss: Vec<Mishap>,
}

impl SourceArguments {
    /// The arguments that choose this source, for a launcher.
    pub fn words(&self) -> Vec<String> {
        match &self.sensor {
            Some(name) => vec!["--sensor".to_owned(), name.clone()],
            None if self.simulate => vec!["--simulate".to_owned()],
            None => Vec::new(),
        }
    }

    /// What a recording from this source says first.
    pub fn opening(&self) -> Vec<EventKind> {
        if self.simulate {
            vec![simulated("carpotempo session --simulate")]
        } else {
            Vec::new()
        }
    }
}

/// A source that is sought when it is needed.
pub struct Source {
    signals: Sender<Signal>,
    wanted: Option<Wanted>,
    origin: Instant,
    stopper: Stopper,
    thread: Option<JoinHandle<()>>,
}

enum Wanted {
    Simulated {
        prompter: Prompter,
        pace_ratio: f64,
        plan: AttentivePlan,
    },
    Radio {
        name: Option<String>,
    },
}

/// Ends a source.
#[derive(Clone, Default)]
pub struct Stopper {
    stopped: Arc<AtomicBool>,
    /// A radio is open, and tells more when it is stopped.
    open: Arc<AtomicBool>,
}

impl Stopper {
    /// Asks the source to give what it still holds, and to end; whether that is worth waiting for.
    pub fn stop(&self) -> bool {
        self.stopped.store(true, Ordering::SeqCst);
        self.open.load(Ordering::SeqCst)
    }

    fn is_stopped(&self) -> bool {
        self.stopped.load(Ordering::SeqCst)
    }
}

impl Source {
    /// A source that is not sought yet, and what it will tell; times are seconds since `origin`.
    pub fn new(
        arguments: &SourceArguments,
        origin: Instant,
        prompter: Prompter,
    ) -> (Source, Receiver<Signal>) {
        let (signals, heard) = channel();
        let wanted = if arguments.simulate {
            Wanted::Simulated {
                prompter,
                pace_ratio: arguments.pace,
                plan: AttentivePlan {
                    losses_s: arguments.lose.clone(),
                    mishaps: arguments.amiss.clone(),
                    seed: arguments.seed,
                },
            }
        } else {
            Wanted::Radio {
                name: arguments.sensor.clone(),
            }
        };
        let source = Source {
            signals,
            wanted: Some(wanted),
            origin,
            stopper: Stopper::default(),
            thread: None,
        };
        (source, heard)
    }

    /// What ends it.
    pub fn stopper(&self) -> Stopper {
        self.stopper.clone()
    }

    /// Seeks the sensor from now on; again is no more.
    pub fn seek(&mut self) {
        let Some(wanted) = self.wanted.take() else {
            return;
        };
        let (signals, origin) = (self.signals.clone(), self.origin);
        let started = match wanted {
            Wanted::Simulated {
                prompter,
                pace_ratio,
                plan,
            } => play(signals, origin, pace_ratio, prompter, plan),
            Wanted::Radio { name } => {
                let stopper = self.stopper.clone();
                std::thread::Builder::new()
                    .name("sensor".to_owned())
                    .spawn(move || seek(name, origin, &signals, &stopper))
                    .map(|thread| self.thread = Some(thread))
            }
        };
        if let Err(error) = started {
            eprintln!("carpotempo: the sensor cannot be sought: {error}");
        }
    }
}

impl Drop for Source {
    fn drop(&mut self) {
        self.stopper.stop();
        if let Some(thread) = self.thread.take() {
            let _ended = thread.join();
        }
    }
}

/// Seeks a sensor, tells what it tells, and seeks it again, until it is stopped.
fn seek(name: Option<String>, origin: Instant, signals: &Sender<Signal>, stopper: &Stopper) {
    let mut told = None;
    let mut lost = false;
    while !stopper.is_stopped() {
        let wanted = radio::Wanted {
            name: name.clone(),
            ..radio::Wanted::default()
        };
        match radio::open_while(wanted, origin, || !stopper.is_stopped()) {
            Ok(stream) => {
                stopper.open.store(true, Ordering::SeqCst);
                pass_on(
                    &stream,
                    std::mem::replace(&mut lost, true),
                    signals,
                    stopper,
                );
                stopper.open.store(false, Ordering::SeqCst);
            }
            Err(radio::RadioError::Stopped) => return,
            Err(error) => {
                let words = error.to_string();
                if told.as_ref() != Some(&words) {
                    eprintln!("{words}. It is tried again.");
                    told = Some(words);
                }
                let until = Instant::now() + AGAIN;
                while Instant::now() < until && !stopper.is_stopped() {
                    std::thread::sleep(LOOK);
                }
            }
        }
    }
}

/// Tells what a sensor tells until it ends. `back` where one was there before.
fn pass_on(stream: &radio::Stream, mut back: bool, signals: &Sender<Signal>, stopper: &Stopper) {
    let mut asked = false;
    loop {
        if stopper.is_stopped() && !std::mem::replace(&mut asked, true) {
            stream.stop();
        }
        let signal = match stream.signals.recv_timeout(LOOK) {
            Ok(signal) => signal,
            Err(RecvTimeoutError::Timeout) => continue,
            Err(RecvTimeoutError::Disconnected) => return,
        };
        let at_s = signal.at_s;
        let signal = match signal.told {
            // Not the last word: it is sought again.
            Told::Ended(words) if !asked => {
                eprintln!("{words}.");
                let told = Told::Lost(Place::Hand);
                let _nobody_listens = signals.send(Signal { at_s, told });
                return;
            }
            told => Signal { at_s, told },
        };
        let ends = matches!(signal.told, Told::Ended(_));
        let connects = matches!(signal.told, Told::Connected(_));
        if signals.send(signal).is_err() || ends {
            return;
        }
        if connects && std::mem::take(&mut back) {
            let told = Told::Back(Place::Hand);
            let _nobody_listens = signals.send(Signal { at_s, told });
        }
    }
}
