//! The search for the units of a guided session, each on a thread of its own, for as long as it takes.

use std::sync::atomic::Ordering;
use std::sync::mpsc::{RecvTimeoutError, Sender};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use super::source::Stopper;
use crate::sample::Place;
use crate::source::radio;
use crate::source::signal::{Signal, Told};

/// A sensor that was not found is sought again after this.
const AGAIN: Duration = Duration::from_secs(2);
/// Whether to stop is looked at this often.
const LOOK: Duration = Duration::from_millis(50);

/// Addresses of the units that were found, so that neither is taken for the other.
#[derive(Debug, Clone, Default)]
struct Found(Arc<Mutex<[Option<String>; 2]>>);

impl Found {
    fn of(&self, place: Place) -> Option<String> {
        let [hand, forearm] = &*self.0.lock().unwrap_or_else(PoisonError::into_inner);
        match place {
            Place::Hand => hand.clone(),
            Place::Forearm => forearm.clone(),
        }
    }

    fn is(&self, place: Place, address: &str) {
        let [hand, forearm] = &mut *self.0.lock().unwrap_or_else(PoisonError::into_inner);
        *match place {
            Place::Hand => hand,
            Place::Forearm => forearm,
        } = Some(address.to_owned());
    }
}

/// What the search for each of the units needs.
#[derive(Clone)]
pub struct Sought {
    /// Times are seconds since then.
    pub origin: Instant,
    /// Where all is told.
    pub signals: Sender<Signal>,
    /// Ends it.
    pub stopper: Stopper,
    /// The hand's unit by name.
    pub hand: Option<String>,
    /// The forearm's unit, where one is sought, by name.
    pub forearm: Option<Option<String>>,
}

impl Sought {
    /// Begins the search for each.
    ///
    /// # Errors
    /// Where the system gives no thread.
    pub fn start(self) -> std::io::Result<Vec<JoinHandle<()>>> {
        let found = Found::default();
        let mut wanted = vec![(Place::Hand, self.hand.clone())];
        wanted.extend(self.forearm.clone().map(|name| (Place::Forearm, name)));
        wanted
            .into_iter()
            .map(|(place, name)| {
                let (sought, found) = (self.clone(), found.clone());
                std::thread::Builder::new()
                    .name(place.name().to_owned())
                    .spawn(move || sought.seek(place, name, &found))
            })
            .collect()
    }

    /// Seeks a unit, tells what it tells, and seeks it again, until it is stopped. The forearm's is
    /// sought when the hand's is found: asking several for their places would cut a link.
    fn seek(self, place: Place, name: Option<String>, found: &Found) {
        let mut told = None;
        let mut lost = false;
        while !self.stopper.is_stopped() {
            let other = match place {
                Place::Hand => {
                    let forearm = found.of(Place::Forearm);
                    forearm.or_else(|| self.forearm.clone().flatten())
                }
                Place::Forearm => match found.of(Place::Hand) {
                    None => {
                        std::thread::sleep(LOOK);
                        continue;
                    }
                    hand => hand,
                },
            };
            let wanted = radio::Wanted {
                name: name.clone(),
                place: Some(place),
                but: other,
                ..radio::Wanted::default()
            };
            match radio::open_while(wanted, self.origin, || !self.stopper.is_stopped()) {
                Ok(stream) => {
                    found.is(place, &stream.unit.address);
                    self.stopper.open_count.fetch_add(1, Ordering::SeqCst);
                    self.pass_on(&stream, place, std::mem::replace(&mut lost, true));
                    self.stopper.open_count.fetch_sub(1, Ordering::SeqCst);
                }
                Err(radio::RadioError::Stopped) => return,
                Err(error) => {
                    let words = error.to_string();
                    if told.as_ref() != Some(&words) {
                        let whose = match place {
                            Place::Hand => "",
                            Place::Forearm => "The forearm sensor: ",
                        };
                        eprintln!("{whose}{words}. It is tried again.");
                        told = Some(words);
                    }
                    let until = Instant::now() + AGAIN;
                    while Instant::now() < until && !self.stopper.is_stopped() {
                        std::thread::sleep(LOOK);
                    }
                }
            }
        }
    }

    /// Tells what a unit tells until it ends. `back` where it was there before.
    fn pass_on(&self, stream: &radio::Stream, place: Place, mut back: bool) {
        let mut asked = false;
        loop {
            if self.stopper.is_stopped() && !std::mem::replace(&mut asked, true) {
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
                    self.tell(at_s, Told::Lost(place));
                    return;
                }
                // The hand's last words are the last of all.
                Told::Ended(_) if place == Place::Forearm => return,
                told => Signal { at_s, told },
            };
            let ends = matches!(signal.told, Told::Ended(_));
            let connects = matches!(signal.told, Told::Connected(_));
            if self.signals.send(signal).is_err() || ends {
                return;
            }
            if connects && std::mem::take(&mut back) {
                self.tell(at_s, Told::Back(place));
            }
        }
    }

    fn tell(&self, at_s: f64, told: Told) {
        let _nobody_listens = self.signals.send(Signal { at_s, told });
    }
}
