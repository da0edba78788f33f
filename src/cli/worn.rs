//! Which sensors are worn: what `record` and `session` ask alike.

use clap::Args;

use super::exit::WrongArguments;
use crate::recording::EventKind;
use crate::source::simulator::session::simulated;
use crate::source::simulator::units::ForearmPlan;

/// The sensors that are listened to.
#[derive(Debug, Args)]
pub struct WornArguments {
    /// The sensor's name, or its address, where several are near
    #[arg(long, value_name = "NAME", conflicts_with = "simulate")]
    pub sensor: Option<String>,
    /// A second sensor is worn on the forearm: the one that is set to the forearm, or the one of this
    /// name or address
    #[arg(long, value_name = "NAME", num_args = 0..=1)]
    pub forearm: Option<Option<String>>,
    /// Let an invented person wear an invented sensor and do it, in real time
    #[arg(long)]
    pub simulate: bool,

    /// Which invented person
    #[arg(long, hide = true, default_value_t = 1, requires = "simulate")]
    pub seed: u64,
    /// How many times as fast as life
    #[arg(long, hide = true, default_value_t = 1.0, requires = "simulate", value_parser = pace)]
    pub pace: f64,
    /// A lost link: from when, and for how long, seconds
    #[arg(long, hide = true, value_name = "FROM:LASTING", requires = "simulate", value_parser = loss)]
    pub lose: Vec<[f64; 2]>,
    /// The same of the forearm's unit
    #[arg(long, hide = true, value_name = "FROM:LASTING", requires = "forearm", requires = "simulate", value_parser = loss)]
    lose_forearm: Vec<[f64; 2]>,
}

/// Reads how many times as fast as life.
fn pace(text: &str) -> Result<f64, String> {
    text.parse()
        .ok()
        .filter(|pace| (0.1..=100.0).contains(pace))
        .ok_or_else(|| "expected a number from 0.1 to 100".to_owned())
}

/// Reads when a link is lost and for how long, seconds.
fn loss(text: &str) -> Result<[f64; 2], String> {
    let parts = text.split_once(':');
    parts
        .and_then(|(from, lasting)| Some([from.parse().ok()?, lasting.parse().ok()?]))
        .ok_or_else(|| "expected two numbers, as in 20:1.5".to_owned())
}

impl WornArguments {
    /// Whether a unit is worn on the forearm too.
    pub fn forearm_worn(&self) -> bool {
        self.forearm.is_some()
    }

    /// The invented unit on the forearm, which loses this share of its packets; `None` where none is
    /// worn.
    pub fn invented_forearm(&self, lost_ratio: f64) -> Option<ForearmPlan> {
        self.forearm_worn().then(|| ForearmPlan {
            lost_ratio,
            losses_s: self.lose_forearm.clone(),
        })
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

    /// What a recording by this command says first.
    pub fn opening(&self, command: &str) -> Vec<EventKind> {
        if self.simulate {
            vec![simulated(&format!("carpotempo {command} --simulate"))]
        } else {
            Vec::new()
        }
    }
}
