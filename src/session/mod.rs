//! Sessions as pure state machines: inputs are steps of the pipeline, presses, the link and time;
//! outputs are prompts and events to record. No clock, file or terminal: whoever drives a machine
//! brings the time along.
//!
//! Ours. Every word that a person is told is in [`say`]; how a sensor is calibrated is in
//! [`calibrating`], for every kind of session alike.

pub mod calibrating;
pub mod guided;
pub mod machine;
pub mod quick_set;
pub mod readback;
pub mod say;
pub mod worn;

pub use calibrating::{Calibrating, CalibratingParams};
pub use machine::{Asked, Machine};
pub use quick_set::{QuickSet, QuickSetPlan, Stage};
pub use say::Say;

use crate::recording::EventKind;

/// What a person asks for while a session runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Press {
    /// Stop, now: a key, an interrupt, or the end of the program asked for.
    Stop,
}

/// What becomes of the link to the sensor.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Link {
    /// Lost; the source keeps trying.
    Lost,
    /// There, and nothing comes.
    Stalled,
    /// Samples come again.
    Back,
    /// It will not come back.
    Gone,
}

/// What becomes of the forearm's unit, where one is worn beside the hand's. A session goes on
/// without it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Second {
    /// It is connected.
    Connected,
    /// Charge of its battery, 0 to 100.
    Battery(u8),
    /// Its link changes.
    Link(Link),
}

/// What a session wants done.
#[derive(Debug, Clone, PartialEq)]
pub enum Output<S = Say> {
    /// Tell the person.
    Say(S),
    /// Keep in the recording, and let take effect.
    Record(EventKind),
    /// The session is over.
    Done,
}
