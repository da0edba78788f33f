//! What a sitting shows while it goes on, and what came of it.

use crate::pipeline::Analysis;
use crate::pipeline::live::Step;
use crate::recording::{RecordingError, SensorInfo};
use crate::session::Machine;

/// Something to show.
pub enum Shown<'a, M: Machine> {
    /// A prompt.
    Say(&'a M::Say),
    /// A sensor is connected.
    Connected(&'a SensorInfo),
    /// Where things are; many times a second, samples or not.
    Now(&'a Now<'a, M>),
    /// The recording is in trouble; once until it is over or turns into another.
    Trouble(&'a str),
    /// Everything so far is written after all.
    TroubleOver,
    /// A unit will not come back and others go on, in the source's own words.
    UnitGone(&'a str),
    /// The source has ended, in its own words.
    SourceEnded(&'a str),
}

/// Where things are.
pub struct Now<'a, M> {
    /// Time since the recording's start by this computer's clock, seconds.
    pub now_s: f64,
    /// The session.
    pub machine: &'a M,
    /// The latest step, if any.
    pub step: Option<Step>,
    /// When the hand's latest sample came, if any, by the same clock, seconds.
    pub heard_s: Option<f64>,
    /// For how long no sample came, seconds, where that is long.
    pub silent_s: Option<f64>,
}

/// What came of a sitting.
#[derive(Debug)]
pub struct Outcome {
    /// What the live pipeline found, with its own warnings.
    pub analysis: Analysis,
    /// Whether a sensor was ever connected.
    pub connected: bool,
    /// Whether there is a recording: of a sensor, or of answers where the session keeps those alone.
    /// Else nothing is left behind.
    pub kept: bool,
    /// Samples of the hand sensor.
    pub samples_count: usize,
    /// Why the recording is not whole, if it is not.
    pub trouble: Option<RecordingError>,
    /// The source's last words, if it ended before the sitting did.
    pub source_ended: Option<String>,
}
