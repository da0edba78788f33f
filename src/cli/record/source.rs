//! Where the samples come from: the radio, or an invented person.

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::Receiver;
use std::time::Instant;

use anyhow::Context;
use clap::Args;

use crate::recording::{EventKind, SetStart};
use crate::source::radio;
use crate::source::signal::Signal;
use crate::source::simulator::live::{LivePlan, play};
use crate::source::simulator::session::simulated;

/// Which source.
#[derive(Debug, Args)]
pub struct SourceArguments {
    /// The sensor's name, or its address, where several are near
    #[arg(long, value_name = "NAME", conflicts_with = "simulate")]
    sensor: Option<String>,
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
    radio: Option<radio::Stream>,
}

impl Source {
    /// Asks it to give what it still holds, and to end; whether that is worth waiting for.
    pub fn stop(&self) -> bool {
        if let Some(radio) = &self.radio {
            radio.stop();
        }
        self.radio.is_some()
    }

    /// Samples that never arrived.
    pub fn lost_count(&self) -> u64 {
        self.radio
            .as_ref()
            .map_or(0, |radio| radio.figures().lost_count)
    }
}

impl SourceArguments {
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
                seed: self.seed,
            };
            let signals = play(plan, origin, self.pace).context("starting the simulator")?;
            return Ok(Some(Source {
                signals,
                radio: None,
            }));
        }
        let wanted = radio::Wanted {
            name: self.sensor.clone(),
            ..radio::Wanted::default()
        };
        let going_on = || !stopped.load(Ordering::SeqCst);
        match radio::open_while(wanted, origin, going_on) {
            Ok(mut stream) => {
                let (_, none) = std::sync::mpsc::channel();
                let signals = std::mem::replace(&mut stream.signals, none);
                Ok(Some(Source {
                    signals,
                    radio: Some(stream),
                }))
            }
            Err(radio::RadioError::Stopped) => Ok(None),
            Err(error) => Err(error.into()),
        }
    }
}
