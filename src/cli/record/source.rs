//! Where the samples come from: the radio, or an invented person.

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::Receiver;
use std::time::Instant;

use anyhow::Context;
use clap::Args;

use crate::cli::worn::WornArguments;
use crate::recording::SetStart;
use crate::sample::Place;
use crate::source::both::both;
use crate::source::radio;
use crate::source::signal::Signal;
use crate::source::simulator::live::{LivePlan, play};
use crate::source::unit::set_to::SetTo;

/// Which source.
#[derive(Debug, Args)]
pub struct SourceArguments {
    /// The sensors that are worn.
    #[command(flatten)]
    pub worn: WornArguments,
    /// Share of packets that never arrive
    #[arg(long, hide = true, default_value_t = 0.0, requires = "simulate")]
    drop: f64,
}

/// A source that was opened; it lives as long as this.
pub struct Source {
    /// What it tells.
    pub signals: Receiver<Signal>,
    radios: Vec<radio::Stream>,
}

impl Source {
    /// Asks it to give what it still holds, and to end; whether that is worth waiting for.
    pub fn stop(&self) -> bool {
        for radio in &self.radios {
            radio.stop();
        }
        !self.radios.is_empty()
    }

    /// Samples of the hand's unit, and of one on the forearm, that never arrived.
    pub fn lost_counts(&self) -> [u64; 2] {
        let mut counts = self.radios.iter().map(|radio| radio.figures().lost_count);
        [counts.next(), counts.next()].map(Option::unwrap_or_default)
    }
}

impl SourceArguments {
    /// Opens the source; times are seconds since `origin`.
    ///
    /// # Errors
    /// No such sensor, or trouble with the radio.
    pub fn open(
        &self,
        set: &SetStart,
        raw: bool,
        origin: Instant,
        stopped: &AtomicBool,
    ) -> anyhow::Result<Option<Source>> {
        if self.worn.simulate {
            let plan = LivePlan {
                set: set.clone(),
                calibrates: !raw,
                repetitions: None,
                lost_ratio: self.drop,
                losses_s: self.worn.lose.clone(),
                forearm: self.worn.invented_forearm(self.drop),
                seed: self.worn.seed,
            };
            let signals = play(plan, origin, self.worn.pace).context("starting the simulator")?;
            return Ok(Some(Source {
                signals,
                radios: Vec::new(),
            }));
        }
        let going_on = || !stopped.load(Ordering::SeqCst);
        // The forearm's first: what the hand's tells is not to wait while the other is sought.
        let mut forearm = None;
        if let Some(name) = &self.worn.forearm {
            let wanted = radio::Wanted {
                name: name.clone(),
                place: Some(Place::Forearm),
                but: self.worn.sensor.clone(),
                ..radio::Wanted::default()
            };
            match radio::open_while(wanted, origin, going_on) {
                Ok(stream) => forearm = Some(stream),
                Err(radio::RadioError::Stopped) => return Ok(None),
                Err(error) => {
                    return Err(anyhow::Error::from(error).context(
                        "the forearm sensor (without --forearm the hand's records alone)",
                    ));
                }
            }
        }
        let wanted = radio::Wanted {
            name: self.worn.sensor.clone(),
            place: Some(Place::Hand),
            but: forearm.as_ref().map(|stream| stream.unit.address.clone()),
            ..radio::Wanted::default()
        };
        let mut hand = match radio::open_while(wanted, origin, going_on) {
            Ok(stream) => stream,
            Err(radio::RadioError::Stopped) => return Ok(None),
            Err(error) => return Err(error.into()),
        };
        let of_hand = taken(&mut hand);
        let Some(mut forearm) = forearm else {
            hint(&hand);
            return Ok(Some(Source {
                signals: of_hand,
                radios: vec![hand],
            }));
        };
        let of_forearm = taken(&mut forearm);
        Ok(Some(Source {
            signals: both(of_hand, of_forearm).context("listening to two sensors")?,
            radios: vec![hand, forearm],
        }))
    }
}

/// The stream's signals, out of it.
fn taken(stream: &mut radio::Stream) -> Receiver<Signal> {
    let (_, none) = std::sync::mpsc::channel();
    std::mem::replace(&mut stream.signals, none)
}

/// Says that a unit for the forearm is near, where one was seen.
fn hint(hand: &radio::Stream) {
    let mut others = hand.others.iter();
    if let Some(forearm) = others.find(|near| near.set_to == SetTo::Forearm) {
        eprintln!(
            "{} is near and set to the forearm: --forearm records both.",
            forearm.shown_name()
        );
    }
}
