//! Units over Bluetooth Low Energy: found, connected, streamed, found again.
//!
//! Ours. Only this room knows the Bluetooth library, and with it the platform. Everything that
//! waits runs on one thread with a single-threaded runtime: the library's streams must not be
//! dropped while another thread still feeds them. What comes out is a plain channel of
//! [`Signal`]s.

mod central;
mod error;
mod finding;
mod link;
mod session;
mod thread;

use std::sync::mpsc::Receiver;
use std::time::{Duration, Instant};

pub use error::RadioError;

use tokio::sync::watch;

use super::signal::Signal;
use super::unit::profile::Description;
use super::unit::set_to::SetTo;
use super::unit::stream::Figures;
use crate::sample::Place;

/// A unit that is near.
#[derive(Debug, Clone, PartialEq)]
pub struct Near {
    /// Its advertised name, if it has one.
    pub name: Option<String>,
    /// Its address, or what the platform shows in its place.
    pub address: String,
    /// Strength of its signal at this computer, dBm; `None` while it is connected and silent.
    pub rssi_dbm: Option<i16>,
    /// Charge of its battery, 0 to 100 %, if known.
    pub battery_percent: Option<u8>,
    /// Whether this computer is connected to it already, through whichever program.
    pub connected: bool,
    /// Where it is set to be worn. That is no part of what it advertises: it has to be asked.
    pub set_to: SetTo,
}

impl Near {
    /// Its name, or words in its place.
    pub fn shown_name(&self) -> &str {
        self.name.as_deref().unwrap_or("(no name)")
    }

    /// Whether that is its name or its address; upper and lower case are the same.
    fn is(&self, wanted: &str) -> bool {
        let wanted = wanted.trim();
        self.name
            .as_deref()
            .is_some_and(|name| name.trim().eq_ignore_ascii_case(wanted))
            || self.address.eq_ignore_ascii_case(wanted)
    }
}

/// What is asked of the unit; `None` leaves what the unit has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Ask {
    /// Sampling rate, 0.1 Hz.
    pub rate_tenth_hz: Option<u16>,
    /// Accelerometer range, ± g.
    pub accel_range_g: Option<u8>,
    /// Gyroscope range, ± deg/s.
    pub gyro_range_deg_s: Option<u16>,
    /// Time in one packet, microseconds: long packets spare the battery, short ones are sooner
    /// here. Never more than 50,000, nor more than one notification holds.
    pub packet_us: Option<u32>,
}

impl Default for Ask {
    /// 200 Hz, ±8 g, ±1000 deg/s, 25 ms: fast enough for a tremor of 12 Hz, wide enough for a wrist
    /// that is thrown, soon enough to be led by (common practice, no source).
    fn default() -> Ask {
        Ask {
            rate_tenth_hz: Some(2000),
            accel_range_g: Some(8),
            gyro_range_deg_s: Some(1000),
            packet_us: Some(25_000),
        }
    }
}

/// Which unit, and what is asked of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Wanted {
    /// Its name or its address; `None` is the only one near, or the one that is set to `place`.
    pub name: Option<String>,
    /// Where it is worn; `None` is where the unit itself says, else the hand.
    pub place: Option<Place>,
    /// Name or address of one that is not meant.
    pub but: Option<String>,
    /// The settings to ask for.
    pub ask: Ask,
    /// How long to look for it.
    pub seek: Duration,
    /// How long to try again after a lost link before the source ends.
    pub patience: Duration,
}

impl Default for Wanted {
    /// The only unit near, sought for 10 s, tried again for 5 min.
    fn default() -> Wanted {
        Wanted {
            name: None,
            place: None,
            but: None,
            ask: Ask::default(),
            seek: Duration::from_secs(10),
            patience: Duration::from_secs(300),
        }
    }
}

/// The units near this computer, the strongest signal first.
///
/// Listens for that long, then connects for a moment to each unit, to ask where it is set to be worn,
/// and for its charge where it did not advertise it.
///
/// # Errors
/// Trouble with the computer's Bluetooth. That no unit is near is none: the list is empty.
pub fn near(listen: Duration) -> Result<Vec<Near>, RadioError> {
    thread::run(move || finding::near(listen))
}

/// A connected unit that streams; dropping it ends the link.
#[derive(Debug)]
pub struct Stream {
    /// What the unit tells, in order: connected, battery, clock, samples. It ends after
    /// [`Stream::stop`], or after [`crate::source::signal::Told::Ended`].
    pub signals: Receiver<Signal>,
    /// The unit's name and address as found.
    pub unit: Near,
    /// Others that were near and were asked where they are set to be worn.
    pub others: Vec<Near>,
    state: watch::Receiver<State>,
    thread: thread::Running,
}

/// How the stream stands.
#[derive(Debug, Clone, Copy)]
pub(crate) struct State {
    /// What the unit said of itself last.
    pub(crate) description: Description,
    /// What came and what did not.
    pub(crate) figures: Figures,
}

impl Stream {
    /// What the unit said of itself at the last connection.
    pub fn description(&self) -> Description {
        self.state.borrow().description
    }

    /// What came and what did not, so far; up to 50 ms behind, and whole when `signals` has ended.
    pub fn figures(&self) -> Figures {
        self.state.borrow().figures
    }

    /// Asks the source to end. What is still held back and a last estimate of the clock follow in
    /// `signals`, then the channel closes, within a few seconds.
    pub fn stop(&self) {
        self.thread.stop();
    }
}

/// Finds a unit, connects, sets it up and streams. Returns when it is connected.
///
/// Times of arrival are seconds since `origin`.
///
/// # Errors
/// Trouble with the computer's Bluetooth, with finding the unit, or with the unit itself.
pub fn open(wanted: Wanted, origin: Instant) -> Result<Stream, RadioError> {
    open_while(wanted, origin, || true)
}

/// As [`open`], asking about every 50 ms whether to go on.
///
/// # Errors
/// As [`open`]; [`RadioError::Stopped`] where `go_on` said no.
pub fn open_while(
    wanted: Wanted,
    origin: Instant,
    go_on: impl FnMut() -> bool,
) -> Result<Stream, RadioError> {
    let ((unit, others, state), signals, thread) = thread::start(
        move |ready, signals, stop| session::run(wanted, origin, ready, signals, stop),
        go_on,
    )?;
    Ok(Stream {
        signals,
        unit,
        others,
        state,
        thread,
    })
}
