//! Where the samples come from: the radio, or an invented person.

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::Receiver;
use std::time::Instant;

use anyhow::Context;
use clap::Args;

use crate::cli::exit::WrongArguments;
use crate::recording::{EventKind, SetStart};
use crate::sample::Place;
use crate::source::both::both;
use crate::source::radio;
use crate::source::signal::Signal;
use crate::source::simulator::live::{LivePlan, play};
use crate::source::simulator::session::simulated;
use crate::source::simulator::units::ForearmPlan;
use crate::source::unit::set_to::SetTo;

/// Which source.
#[derive(Debug, Args)]
pub struct SourceArguments {
    /// The sensor's name, or its address, where several are near
    #[arg(long, value_name = "NAME", conflicts_with = "simulate")]
    sensor: Option<String>,
    /// Record a second sensor on the forearm too: the one that is set to the forearm, or the one of
    /// this name or address
    #[arg(long, value_name = "NAME", num_args = 0..=1)]
    forearm: Option<Option<String>>,
    /// Let an invented person do it, with no sensor: calibration and repetitions in real time
    #[arg(long)]
    pub simulate: bool,

    /// Which invented person
    #[arg(long, hide = true, default_value_t = 1, requires = "simulate")]
    seed: u64,
    /// How many times as fast as life
    #[arg(long, hide = true, default_value_t = 1.0, requires = "simulate", value_parser = pace)]
    pub pace: f64,
    /// Share of packets that never arrive
    #[arg(long, hide = true, default_value_t = 0.0, requires = "simulate")]
    drop: f64,
    /// A lost link: from when, and for how long, seconds
    #[arg(long, hide = true, value_name = "FROM:LASTING", requires = "simulate", value_parser = loss)]
    lose: Vec<[f64; 2]>,
    /// The same of the forearm's unit
    #[arg(long, hide = true, value_name = "FROM:LASTING", requires = "forearm", requires = "simulate", value_parser = loss)]
    lose_forearm: Vec<[f64; 2]>,
}

/// Reads how many times as fast as life.
pub fn pace(text: &str) -> Result<f64, String> {
    text.parse()
        .ok()
        .filter(|pace| (0.1..=100.0).contains(pace))
        .ok_or_else(|| "expected a number from 0.1 to 100".to_owned())
}

/// Reads when a link is lost and for how long, seconds.
pub fn loss(text: &str) -> Result<[f64; 2], String> {
    let parts = text.split_once(':');
    parts
        .and_then(|(from, lasting)| Some([from.parse().ok()?, lasting.parse().ok()?]))
        .ok_or_else(|| "expected two numbers, as in 20:1.5".to_owned())
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
    /// Whether a unit is worn on the forearm too.
    pub fn forearm(&self) -> bool {
        self.forearm.is_some()
    }

    /// Whether the arguments go together.
    ///
    /// # Errors
    /// A name for an invented sensor.
    pub fn check(&self) -> Result<(), WrongArguments> {
        match (&self.forearm, self.simulate) {
            (Some(Some(name)), true) => Err(WrongArguments(format!(
                "an invented sensor has no name: leave \"{name}\" out after --forearm, or --simulate"
            ))),
            _ => Ok(()),
        }
    }

    /// What a recording from this source says first.
    pub fn opening(&self) -> Vec<EventKind> {
        if self.simulate {
            vec![simulated("carpotempo record --simulate")]
        } else {
            Vec::new()
        }
    }

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
        if self.simulate {
            let plan = LivePlan {
                set: set.clone(),
                calibrates: !raw,
                repetitions: None,
                lost_ratio: self.drop,
                losses_s: self.lose.clone(),
                forearm: self.forearm.as_ref().map(|_| ForearmPlan {
                    lost_ratio: self.drop,
                    losses_s: self.lose_forearm.clone(),
                }),
                seed: self.seed,
            };
            let signals = play(plan, origin, self.pace).context("starting the simulator")?;
            return Ok(Some(Source {
                signals,
                radios: Vec::new(),
            }));
        }
        let going_on = || !stopped.load(Ordering::SeqCst);
        // The forearm's first: what the hand's tells is not to wait while the other is sought.
        let mut forearm = None;
        if let Some(name) = &self.forearm {
            let wanted = radio::Wanted {
                name: name.clone(),
                place: Some(Place::Forearm),
                but: self.sensor.clone(),
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
            name: self.sensor.clone(),
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
