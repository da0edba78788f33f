//! What a live source tells, in order.
//!
//! Ours. The radio, the simulator and a playback all speak these words; whoever listens records
//! them and pushes them through the pipeline without knowing which it is.

use crate::recording::{Battery, ClockInfo, EventKind, Gap, PlaceMark, SensorInfo};
use crate::sample::{Place, Sample};

/// Something that a live source tells.
#[derive(Debug, Clone, PartialEq)]
pub struct Signal {
    /// When it reached this computer: seconds since the recording's start, on this computer's
    /// monotonic clock.
    pub at_s: f64,
    /// What is told.
    pub told: Told,
}

/// What a live source tells.
#[derive(Debug, Clone, PartialEq)]
pub enum Told {
    /// A unit is connected, at first or again, and these settings are in force.
    Connected(SensorInfo),
    /// How the unit's clock maps to the recording's, from now on or as estimated so far.
    Clock(ClockInfo),
    /// A reading; its time is on the recording's time line, by the unit's clock.
    Sample(Place, Sample),
    /// Samples are missing.
    Gap(Gap),
    /// Charge of the unit's battery.
    Battery(Battery),
    /// The link is there and nothing comes.
    Stalled(Place),
    /// The link is lost; the source keeps trying.
    Lost(Place),
    /// Samples come again after a loss or a stall.
    Back(Place),
    /// That unit will not come back, others go on: what happened and what to do, in plain words.
    Gone(Place, String),
    /// The source has ended and will not come back: what happened and what to do, in plain words.
    Ended(String),
}

impl Told {
    /// The event that a recording keeps of it, if any.
    pub fn event(&self) -> Option<EventKind> {
        let mark = |place: &Place| PlaceMark {
            place: Some(*place),
        };
        match self {
            Told::Connected(info) => Some(EventKind::Sensor(info.clone())),
            Told::Clock(clock) => Some(EventKind::Clock(clock.clone())),
            Told::Gap(gap) => Some(EventKind::Gap(gap.clone())),
            Told::Battery(battery) => Some(EventKind::Battery(battery.clone())),
            Told::Stalled(place) | Told::Lost(place) => Some(EventKind::SensorLost(mark(place))),
            Told::Back(place) => Some(EventKind::SensorBack(mark(place))),
            Told::Sample(..) | Told::Gone(..) | Told::Ended(_) => None,
        }
    }
}
