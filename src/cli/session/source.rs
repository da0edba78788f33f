//! Where a guided session's samples come from: sought when the session asks for the sensor, and
//! sought again for as long as it takes.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::thread::JoinHandle;
use std::time::Instant;

use clap::Args;

use super::sought::Sought;
use crate::cli::worn::WornArguments;
use crate::source::signal::Signal;
use crate::source::simulator::attentive::{AttentivePlan, Prompter, play};
use crate::source::simulator::mishap::Mishap;

/// Which source.
#[derive(Debug, Args)]
pub struct SourceArguments {
    /// The sensors that are worn.
    #[command(flatten)]
    pub worn: WornArguments,
    /// What goes amiss in sets, in this order: still@N, down@N, lostSECONDS@N after N repetitions
    #[arg(long, hide = true, value_name = "WHAT@N", requires = "simulate")]
    amiss: Vec<Mishap>,
}

impl SourceArguments {
    /// The arguments that choose this source, for a launcher.
    pub fn words(&self) -> Vec<String> {
        let mut words = match &self.worn.sensor {
            Some(name) => vec!["--sensor".to_owned(), name.clone()],
            None if self.worn.simulate => vec!["--simulate".to_owned()],
            None => Vec::new(),
        };
        if let Some(name) = &self.worn.forearm {
            words.push("--forearm".to_owned());
            words.extend(name.clone());
        }
        words
    }
}

/// A source that is sought when it is needed.
pub struct Source {
    signals: Sender<Signal>,
    wanted: Option<Wanted>,
    origin: Instant,
    stopper: Stopper,
    threads: Vec<JoinHandle<()>>,
}

enum Wanted {
    Simulated {
        prompter: Prompter,
        pace_ratio: f64,
        plan: AttentivePlan,
    },
    Radio {
        hand: Option<String>,
        forearm: Option<Option<String>>,
    },
}

/// Ends a source.
#[derive(Clone, Default)]
pub struct Stopper {
    stopped: Arc<AtomicBool>,
    /// So many radios are open, and tell more when they are stopped.
    pub(super) open_count: Arc<AtomicUsize>,
}

impl Stopper {
    /// Asks the source to give what it still holds, and to end; whether that is worth waiting for.
    pub fn stop(&self) -> bool {
        self.stopped.store(true, Ordering::SeqCst);
        self.open_count.load(Ordering::SeqCst) > 0
    }

    pub(super) fn is_stopped(&self) -> bool {
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
        let wanted = if arguments.worn.simulate {
            Wanted::Simulated {
                prompter,
                pace_ratio: arguments.worn.pace,
                plan: AttentivePlan {
                    losses_s: arguments.worn.lose.clone(),
                    mishaps: arguments.amiss.clone(),
                    forearm: arguments.worn.invented_forearm(0.0),
                    seed: arguments.worn.seed,
                },
            }
        } else {
            Wanted::Radio {
                hand: arguments.worn.sensor.clone(),
                forearm: arguments.worn.forearm.clone(),
            }
        };
        let source = Source {
            signals,
            wanted: Some(wanted),
            origin,
            stopper: Stopper::default(),
            threads: Vec::new(),
        };
        (source, heard)
    }

    /// What ends it.
    pub fn stopper(&self) -> Stopper {
        self.stopper.clone()
    }

    /// Seeks the sensors from now on; again is no more.
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
            Wanted::Radio { hand, forearm } => {
                let sought = Sought {
                    origin,
                    signals,
                    stopper: self.stopper.clone(),
                    hand,
                    forearm,
                };
                sought.start().map(|threads| self.threads = threads)
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
        for thread in self.threads.drain(..) {
            let _ended = thread.join();
        }
    }
}
